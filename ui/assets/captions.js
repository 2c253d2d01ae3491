/** Comments as captions: the browser's own track tells when, the words stand on a line of ours that is never enlarged. */
import { h, setText } from "./dom.js";
import { TextTrack } from "./text_track.js";

export class Captions {
  /** @param {HTMLVideoElement} video @param {HTMLElement} film the box in which the line stands */
  constructor(video, film) {
    this.on = false;
    this.line = h("p", { class: "caption", hidden: true, data: { testid: "caption" } });
    this.track = new TextTrack(video, { kind: "captions", label: "Comments" }, () => this.tell());
    film.append(this.line);
  }

  set(on) {
    this.on = on;
    this.tell();
  }

  tell() {
    const texts = this.on ? this.track.texts : [];
    setText(this.line, texts.join("\n"));
    this.line.hidden = !texts.length;
  }
}
