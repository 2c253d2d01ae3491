/**
 * The clock of a recording: the presentation times of its frames, in seconds from the first one.
 * Nothing here divides by a frame rate: films of phones have none.
 */
export class Clock {
  /**
   * @param {Float64Array} times presentation times, rising
   * @param {number} [start] time of the first frame in the playback file
   */
  constructor(times, start = 0) {
    this.times = times;
    this.start = start;
  }

  /** Number of frames. @returns {number} */
  get count() {
    return this.times.length;
  }

  /** Presentation time of the last frame. @returns {number} */
  get last() {
    return this.count ? this.times[this.count - 1] : 0;
  }

  /**
   * The frame on the screen at a time: the last one that has begun.
   * @param {number} time seconds
   * @returns {number} index, 0 before the first frame
   */
  frameAt(time) {
    let low = 0;
    let high = this.count - 1;
    while (low < high) {
      const half = (low + high + 1) >> 1;
      if (this.times[half] <= time) low = half;
      else high = half - 1;
    }
    return low;
  }

  /**
   * The frame whose presentation time is nearest, for times the browser reports with its own rounding.
   * @param {number} time seconds
   * @returns {number} index
   */
  nearest(time) {
    const frame = this.frameAt(time);
    const next = frame + 1;
    return next < this.count && this.times[next] - time < time - this.times[frame] ? next : frame;
  }

  /**
   * Presentation time of a frame; an index beyond either end gives that end.
   * @param {number} frame
   * @returns {number} seconds
   */
  timeOf(frame) {
    return this.count ? this.times[this.clamp(frame)] : 0;
  }

  /**
   * Where to send the player so that it shows a frame and never its neighbour: the middle of the frame.
   * @param {number} frame
   * @returns {number} seconds on the playback file's own time line
   */
  middle(frame) {
    const at = this.clamp(frame);
    const begin = this.times[at] ?? 0;
    const end = at + 1 < this.count ? this.times[at + 1] : begin + 0.004;
    return this.start + (begin + end) / 2;
  }

  /** @param {number} frame @returns {number} the index inside the film */
  clamp(frame) {
    return Math.max(0, Math.min(this.count - 1, frame));
  }
}
