/** Plays a stretch again and again: the step in hand, or what is compared with it. */

/**
 * Tell whether playing on has just come to the end of a stretch. Who went beyond it on purpose is left there.
 * @param {number} before seconds, at the last look
 * @param {number} now seconds
 * @param {number} end seconds
 */
export function cameToEnd(before, now, end) {
  return before < end && now >= end;
}

export class Loop {
  /**
   * @param {object} player
   * @param {() => {onset_s: number, offset_s: number}|null} span the stretch to be played, if there is one
   * @param {() => boolean} [always] whether it is repeated without having been switched on
   */
  constructor(player, span, always = () => false) {
    this.player = player;
    this.span = span;
    this.always = always;
    this.on = false;
    this.before = Infinity;
  }

  /** The stretch that is being repeated, or null. */
  get held() {
    const span = this.on || this.always() ? this.span() : null;
    return span && span.offset_s > span.onset_s ? span : null;
  }

  /** Playing begins: from the start of the stretch, if one is not in it. */
  started() {
    const span = this.held;
    this.before = this.player.time;
    if (span && (this.before < span.onset_s - 1e-6 || this.before >= this.endOf(span))) this.begin(span);
  }

  /** The film plays and is here now. @param {number} time seconds */
  passed(time) {
    const span = this.held;
    const before = this.before;
    this.before = time;
    if (span && this.player.wanted === null && cameToEnd(before, time, this.endOf(span))) this.begin(span);
  }

  /** The film came to its end. */
  ended() {
    const span = this.held;
    if (!span || this.endOf(span) < this.player.clock.last - 0.5) return;
    this.begin(span);
    this.player.play();
  }

  begin(span) {
    this.before = span.onset_s;
    this.player.toTime(span.onset_s);
  }

  /** The middle of the stretch's last frame, so that the one after it is never shown. */
  endOf(span) {
    const { clock } = this.player;
    return clock.middle(clock.frameAt(span.offset_s + 1e-6)) - clock.start;
  }
}
