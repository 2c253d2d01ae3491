/** The stretch of the film that the timeline shows. Arithmetic only; nothing here touches the page. */

/** The shortest stretch shown, in seconds. */
export const SHORTEST_S = 0.4;

/** Where the playhead stands after the timeline has turned its page, as a share of the stretch. */
const AFTER_TURN = 0.08;

export class View {
  constructor() {
    this.end = 1;
    this.from = 0;
    this.to = 1;
    /** Whether the stretch goes along with the playhead; ends when a person looks elsewhere. */
    this.follows = true;
  }

  /** @param {number} end last second of the film; a whole view stays whole */
  setEnd(end) {
    if (end === this.end || !(end > 0)) return;
    const whole = this.whole;
    this.end = end;
    if (whole) this.showAll();
    else this.show(this.from, this.to);
  }

  get span() {
    return this.to - this.from;
  }

  get whole() {
    return this.from <= 0 && this.to >= this.end;
  }

  /** How much closer than the whole film. @returns {number} */
  get closeness() {
    return this.end / this.span;
  }

  showAll() {
    this.from = 0;
    this.to = this.end;
    this.follows = true;
  }

  /**
   * Show a stretch, moved into the film where it reaches beyond.
   * @param {number} from seconds
   * @param {number} to seconds
   */
  show(from, to) {
    const span = Math.min(this.end, Math.max(to - from, Math.min(SHORTEST_S, this.end)));
    const middle = (from + to) / 2;
    this.from = Math.max(0, Math.min(this.end - span, middle - span / 2));
    this.to = this.from + span;
  }

  /**
   * Look closer or from further away; a time keeps its place.
   * @param {number} time seconds
   * @param {number} factor above 1 closer, below 1 further
   */
  zoom(time, factor) {
    const share = (time - this.from) / this.span;
    const span = Math.min(this.end, Math.max(Math.min(SHORTEST_S, this.end), this.span / factor));
    const from = time - share * span;
    this.show(from, from + span);
  }

  /** @param {number} seconds later (negative: earlier) */
  pan(seconds) {
    const moved = Math.max(-this.from, Math.min(this.end - this.to, seconds));
    this.from += moved;
    this.to += moved;
  }

  /** Show a moment or a stretch with some of its surroundings, as closely as now. @param {number} from @param {number} [to] */
  reveal(from, to = from) {
    const room = this.span * 0.1;
    if (to - from > this.span - 2 * room) this.show(from - room, from - room + this.span);
    else if (from < this.from + room) this.show(from - room, from - room + this.span);
    else if (to > this.to - room) this.show(to + room - this.span, to + room);
  }

  /** A person looked elsewhere: go along again when the playhead is back. @param {number} time of the playhead */
  looked(time) {
    this.follows = this.holds(time);
  }

  holds(time) {
    return time >= this.from && time <= this.to;
  }

  /**
   * Turn the page when the playhead leaves it.
   * @param {number} time seconds of the playhead
   * @param {boolean} jumped whether it was sent there, rather than played there
   * @returns {boolean} whether the stretch is another one now
   */
  follow(time, jumped) {
    if (jumped || this.holds(time)) this.follows = true;
    if (!this.follows || this.whole || this.holds(time)) return false;
    const from = time - (jumped ? 0.5 : AFTER_TURN) * this.span;
    this.show(from, from + this.span);
    return true;
  }
}
