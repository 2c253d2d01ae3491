/** Words over the film: the browser's own track tells when, they stand on a line of ours that is never enlarged. */
import { h, setText } from "./dom.js";
import { TextTrack } from "./text_track.js";

export class Captions {
  /**
   * @param {HTMLVideoElement} video
   * @param {HTMLElement} place the box in which the line stands
   * @param {{label: string, testid: string}} what
   */
  constructor(video, place, { label, testid }) {
    this.on = false;
    this.line = h("p", { class: "caption", hidden: true, data: { testid } });
    this.track = new TextTrack(video, { kind: "captions", label }, () => this.tell());
    place.append(this.line);
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
