/** Keeps a second film in step with the first: both begin at the start of the step and go on at one speed. */

/** Seconds apart from which the second film is sent where it belongs rather than hurried or held back. */
const FAR_S = 0.3;
/** Seconds apart that are let be. */
const NEAR_S = 0.006;
const GAIN = 2;
const MOST = 0.25;

/**
 * How fast the second film must run to come back into step.
 * @param {number} speed of the first film
 * @param {number} ahead seconds by which the second is ahead
 * @returns {number|null} null where it is too far off for that
 */
export function paceFor(speed, ahead) {
  if (Math.abs(ahead) > FAR_S * Math.max(1, speed)) return null;
  if (Math.abs(ahead) < NEAR_S) return speed;
  return speed * (1 - Math.max(-MOST, Math.min(MOST, (GAIN * ahead) / Math.max(1, speed))));
}

export class Lockstep {
  /**
   * @param {object} first player of one's own film
   * @param {object} second player of the film beside it
   */
  constructor(first, second) {
    this.first = first;
    this.second = second;
    this.pair = null;
  }

  /** @param {{from: number, beside: {onset_s: number, offset_s: number}}|null} pair start of the step here, and its stretch there */
  begin(pair) {
    this.pair = pair;
    this.settle();
  }

  /** Where the second film belongs, by a time of the first. */
  wanted(time) {
    const { from, beside } = this.pair;
    return Math.min(beside.offset_s, Math.max(beside.onset_s, beside.onset_s + time - from));
  }

  get ready() {
    return Boolean(this.pair && this.first.clock.count && this.second.clock.count);
  }

  /** At rest: show the frame that belongs to the one in hand. */
  settle() {
    if (!this.ready || this.first.playing) return;
    if (this.second.playing) this.second.video.pause();
    this.second.toTime(this.wanted(this.first.time));
  }

  /** Let the second run; one that is stopped again at once says so, which is no trouble here. */
  start() {
    this.second.video.play().catch(() => this.settle());
  }

  /** While the first plays: keep the second with it. */
  follow() {
    if (!this.ready || !this.first.playing) return;
    const { video } = this.second;
    const here = this.first.video.currentTime - this.first.clock.start;
    const wanted = this.wanted(here);
    const { from, beside } = this.pair;
    const waits = here < from || here - from >= beside.offset_s - beside.onset_s;
    if (this.first.video.seeking || this.second.wanted !== null) return;
    if (waits) {
      if (this.second.playing) video.pause();
      if (Math.abs(this.second.time - wanted) > 0.1) this.second.toTime(wanted);
      return;
    }
    const pace = paceFor(this.first.speed, video.currentTime - this.second.clock.start - wanted);
    if (pace === null) this.second.toTime(wanted);
    else if (Math.abs(video.playbackRate - pace) > 0.004) video.playbackRate = pace;
    if (!this.second.playing) this.start();
  }
}
