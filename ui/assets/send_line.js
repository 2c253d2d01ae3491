/** One line of the list of films on their way. */
import { h, setText } from "./dom.js";

/** How far one film is: its name, a bar, a sentence. */
export class Line {
  /** @param {string} name of the film */
  constructor(name) {
    this.bar = h("progress", { max: "1", "aria-label": `Progress of ${name}` });
    this.words = h("p", { class: "said", role: "status", data: { testid: "upload-status" } });
    this.element = h("div", { class: "line" }, h("p", { class: "which", text: name }), this.bar, this.words);
  }

  /** @param {string} stage @param {number} share done, 0 to 1 */
  tell(stage, share) {
    this.bar.hidden = false;
    this.bar.value = share;
    setText(this.words, `${stage}, ${Math.floor(100 * share)} %`);
    this.words.className = "said";
  }

  /** @param {string} text how far it is, where nobody knows how long it will be */
  count(text) {
    this.bar.removeAttribute("value");
    setText(this.words, text);
  }

  /** @param {string} text @param {"good"|"bad"} look */
  say(text, look) {
    this.bar.hidden = true;
    setText(this.words, text);
    this.words.className = `said ${look}`;
  }
}
