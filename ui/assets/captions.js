/** Comments as captions: the browser's own track tells when, the words stand on a line of ours that is never enlarged. */
import { h, setText } from "./dom.js";

export class Captions {
  /** @param {HTMLVideoElement} video @param {HTMLElement} film the box in which the line stands */
  constructor(video, film) {
    this.video = video;
    this.on = false;
    this.line = h("p", { class: "caption", hidden: true, data: { testid: "caption" } });
    film.append(this.line);
  }

  /** @param {string} url changes whenever the comments do */
  show(url) {
    if (url === this.url) return;
    this.url = url;
    this.track?.remove();
    this.track = h("track", { kind: "captions", label: "Comments", srclang: "en", src: url });
    this.video.append(this.track);
    this.track.track.mode = "hidden";
    this.track.track.addEventListener("cuechange", () => this.tell());
    this.track.addEventListener("load", () => this.tell());
  }

  set(on) {
    this.on = on;
    this.tell();
  }

  tell() {
    const cues = this.on ? [...(this.track?.track.activeCues ?? [])] : [];
    setText(this.line, cues.map((cue) => cue.getCueAsHTML().textContent).join("\n"));
    this.line.hidden = !cues.length;
  }
}
