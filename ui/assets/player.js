/** The film: plays, seeks to exact frames, and tells which frame is on the screen. */
import { Clock } from "./clock.js";

/** How fast the film can play, in times the speed of the film; the pitch of voices is kept. */
export const SPEEDS = [0.25, 0.5, 0.75, 1, 1.25, 1.5, 2, 3];

export class Player {
  /**
   * @param {HTMLVideoElement} video
   * @param {{moved: (frame: number, time: number) => void, trouble: (message: string) => void,
   *          state: () => void, ready: () => void, shown: (frame: number) => void, ended: () => void}} listeners
   *   `moved` tells the frame in hand, which may be on its way; `shown` the one on the screen
   */
  constructor(video, listeners) {
    this.video = video;
    this.listeners = listeners;
    this.clock = new Clock(new Float64Array(0));
    this.source = "";
    this.frame = 0;
    /** Whether the times of a film's frames are on their way. */
    this.fetching = false;
    /** Frame that is on the screen. */
    this.onScreen = 0;
    this.mediaTime = 0;
    video.preservesPitch = true;
    /** Frame asked for and not shown yet, or null. @type {number|null} */
    this.wanted = null;
    this.stop = new AbortController();
    const on = (type, listener) => video.addEventListener(type, listener, { signal: this.stop.signal });
    on("loadedmetadata", () => this.checkPicture());
    on("error", () => this.tellError());
    on("seeked", () => this.arrived());
    for (const type of ["play", "pause", "ended", "ratechange"]) on(type, () => listeners.state());
    on("play", () => this.glide());
    on("ended", () => listeners.ended());
    this.watch();
  }

  /**
   * Show a film; the same film again changes nothing.
   * @param {string} source address of the film
   * @param {string} timesUrl address of the presentation times, float64
   * @param {number} start time of the first frame in the playback file
   */
  async load(source, timesUrl, start) {
    if (source === this.source) return;
    this.source = source;
    this.wanted = null;
    this.frame = 0;
    this.clock = new Clock(new Float64Array(0), start);
    this.video.src = source;
    this.fetching = true;
    const times = await timesAt(timesUrl);
    if (source !== this.source) return;
    this.fetching = false;
    if (!times) {
      this.listeners.trouble("The times of the frames could not be read. Reload the page.");
      return;
    }
    this.clock = new Clock(times, start);
    this.onScreen = this.clock.nearest(this.mediaTime - start);
    this.listeners.moved(this.frame, this.time);
    this.listeners.ready();
  }

  /** Presentation time of the frame in hand, in seconds. @returns {number} */
  get time() {
    return this.clock.timeOf(this.wanted ?? this.frame);
  }

  get playing() {
    return !this.video.paused && !this.video.ended;
  }

  get speed() {
    return this.video.playbackRate;
  }

  /** @param {number} speed one of `SPEEDS`; another film that is loaded later keeps it */
  set speed(speed) {
    this.video.defaultPlaybackRate = speed;
    this.video.playbackRate = speed;
  }

  toggle() {
    if (this.playing) this.video.pause();
    else this.play();
  }

  play() {
    this.wanted = null;
    this.video.play().catch(() => this.listeners.trouble("The browser did not start the film. Press Play again."));
  }

  /** @param {number} count frames forward (negative: back) */
  step(count) {
    this.video.pause();
    this.toFrame((this.wanted ?? this.frame) + count);
  }

  /** @param {number} seconds forward (negative: back) */
  skip(seconds) {
    this.toTime(this.time + seconds);
  }

  /** @param {number} time seconds from the first frame */
  toTime(time) {
    this.toFrame(this.clock.frameAt(Math.max(0, time) + 1e-6));
  }

  /** @param {number} frame index */
  toFrame(frame) {
    if (!this.clock.count) return;
    this.wanted = this.clock.clamp(frame);
    this.listeners.moved(this.wanted, this.time);
    if (!this.video.seeking) this.go();
  }

  go() {
    this.going = this.wanted;
    this.video.currentTime = this.clock.middle(this.wanted);
  }

  /** A seek ended: go on to the newest wish if it changed on the way. */
  arrived() {
    if (this.wanted === null) return;
    if (this.wanted !== this.going) {
      this.go();
      return;
    }
    this.frame = this.wanted;
    this.wanted = null;
    this.listeners.moved(this.frame, this.time);
  }

  /** Follow the frames as the browser shows them. */
  watch() {
    const shown = (_now, facts) => {
      if (this.stop.signal.aborted) return;
      this.mediaTime = facts.mediaTime;
      if (this.clock.count) this.show(this.clock.nearest(facts.mediaTime - this.clock.start));
      this.watcher = this.video.requestVideoFrameCallback(shown);
    };
    this.watcher = this.video.requestVideoFrameCallback(shown);
  }

  /** @param {number} frame that is now on the screen */
  show(frame) {
    this.onScreen = frame;
    if (this.wanted === null) {
      this.frame = frame;
      this.listeners.moved(this.frame, this.time);
    }
    this.listeners.shown(frame);
  }

  /** Keep the playhead smooth between frames. */
  glide() {
    if (this.stop.signal.aborted || this.video.paused) return;
    if (this.wanted === null) this.listeners.moved(this.frame, this.video.currentTime - this.clock.start);
    requestAnimationFrame(() => this.glide());
  }

  /** A film in a codec this browser lacks gives sound and a black picture, but no error. */
  checkPicture() {
    if (this.video.videoWidth) return;
    this.listeners.trouble("This browser plays the sound but not the picture of this film. Add the film again.");
  }

  /** Say why the film does not play: what the server says of it, if it answers at all. */
  async tellError() {
    const source = this.video.getAttribute("src");
    if (!source) return;
    const told = await refusalOf(source);
    if (source === this.video.getAttribute("src")) {
      this.listeners.trouble(told ?? "The film cannot be played. Is Runthrough still running? Reload the page.");
    }
  }

  /** Let go of the film: nothing of it stays on the screen or in the video element. */
  unload() {
    this.source = "";
    this.wanted = null;
    this.clock = new Clock(new Float64Array(0));
    this.video.pause();
    this.video.removeAttribute("src");
    this.video.load();
  }

  destroy() {
    this.stop.abort();
    this.video.cancelVideoFrameCallback(this.watcher);
    this.unload();
  }
}

/** @param {string} url @returns {Promise<Float64Array|null>} presentation times; null where they cannot be had */
async function timesAt(url) {
  try {
    const answer = await fetch(url, { credentials: "same-origin" });
    return answer.ok ? new Float64Array(await answer.arrayBuffer()) : null;
  } catch {
    return null;
  }
}

/** @param {string} url of a film @returns {Promise<string|null>} why the server refuses it; null if it does not, or is away */
async function refusalOf(url) {
  try {
    const answer = await fetch(url, { credentials: "same-origin", headers: { Range: "bytes=0-0" } });
    return answer.ok ? null : (await answer.json()).message ?? null;
  } catch {
    return null;
  }
}
