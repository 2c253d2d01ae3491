/** One's own marks as chapters of the film: tells which step the film is in, the innermost where they are nested. */
import { h, setText } from "./dom.js";
import { TextTrack } from "./text_track.js";

export class Chapters {
  /** @param {HTMLVideoElement} video @param {HTMLElement} place where the step is named */
  constructor(video, place) {
    this.place = place;
    this.title = h("b");
    place.replaceChildren(h("span", { text: "Here: " }), this.title);
    place.hidden = true;
    this.track = new TextTrack(video, { kind: "chapters", label: "Steps" }, () => this.tell());
  }

  tell() {
    const title = this.track.texts.at(-1) ?? "";
    setText(this.title, title);
    this.place.title = title;
    this.place.hidden = !title;
  }
}
