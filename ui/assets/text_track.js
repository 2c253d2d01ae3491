/** A text track of the film whose address changes with what it says; the browser tells which of its cues are current. */
import { h } from "./dom.js";

export class TextTrack {
  /**
   * @param {HTMLVideoElement} video
   * @param {{kind: "captions"|"chapters", label: string}} what
   * @param {() => void} changed other cues are current now
   */
  constructor(video, what, changed) {
    this.video = video;
    this.what = what;
    this.changed = changed;
    video.addEventListener("seeked", changed); // after a jump the browser may be late with its own word
  }

  /** @param {string} url changes whenever what it tells does */
  show(url) {
    if (url === this.url) return;
    this.url = url;
    this.track?.remove();
    this.track = h("track", { ...this.what, srclang: "en", src: url });
    this.video.append(this.track);
    this.track.track.mode = "hidden";
    this.track.track.addEventListener("cuechange", () => this.changed());
    this.track.addEventListener("load", () => this.changed());
  }

  /** The texts that are current, in the order in which they began. @returns {string[]} */
  get texts() {
    return [...(this.track?.track.activeCues ?? [])].map((cue) => cue.getCueAsHTML().textContent);
  }
}
