/** The line in which a comment is written: its text, phrases, how long it lasts and what is drawn with it. */
import { clockText } from "./format.js";
import { h, setText } from "./dom.js";
import { inserted, PhraseBar, phraseOf } from "./phrases.js";
import { KINDS } from "./shapes.js";

export class Compose {
  /**
   * @param {HTMLElement} place
   * @param {{keep: (text: string) => void, left: () => void, draw: (kind: string|null) => void,
   *          keepPhrase: (text: string) => void, dropPhrase: (id: string) => void}} deeds
   */
  constructor(place, deeds) {
    this.deeds = deeds;
    this.place = place;
    this.label = h("label", { for: "comment-text" });
    this.box = h("textarea", { id: "comment-text", rows: "2", maxlength: "2000", data: { testid: "comment-box" } });
    this.phrases = new PhraseBar({
      insert: (text) => this.insert(text), drop: deeds.dropPhrase,
      keep: () => this.box.value.trim() && deeds.keepPhrase(this.box.value.trim()),
    });
    this.form = h("form", {}, this.label, this.box, this.phrases.element, this.extras());
    place.replaceChildren(this.form, this.drawingBar());
    place.hidden = true;
    this.listen();
  }

  /** How long it lasts, and what is drawn. */
  extras() {
    this.lasts = h("input", { type: "number", min: "0", step: "0.1", value: "0", data: { testid: "comment-lasts" } });
    this.whole = h("button", { type: "button", class: "plain", text: "Whole step", data: { testid: "comment-whole" }, onclick: () => this.overStep() });
    this.kinds = KINDS.map((kind) => h("button", {
      type: "button", class: "plain", "aria-pressed": "false", text: `${kind[0].toUpperCase()}${kind.slice(1)}`, data: { testid: `draw-${kind}` },
      onclick: () => this.deeds.draw(kind),
    }));
    this.nothing = h("button", { type: "button", class: "quiet", text: "Draw nothing", hidden: true, onclick: () => this.deeds.draw(null) });
    const lasts = h("label", {}, "Lasts ", this.lasts, " s");
    const draw = h("span", { class: "draw", role: "group", "aria-label": "Draw on the picture" }, h("span", { text: "Draw" }), ...this.kinds, this.nothing);
    this.more = [lasts, this.whole, draw];
    return h("div", { class: "compose-more" }, this.ends(), ...this.more);
  }

  ends() {
    const keep = h("button", { type: "submit", class: "strong", data: { testid: "comment-save" } }, "Keep ", h("kbd", { text: "Enter" }));
    const leave = h("button", { type: "button", class: "plain", onclick: () => this.close() }, "Leave ", h("kbd", { text: "Esc" }));
    return h("span", { class: "ends" }, keep, leave);
  }

  /** What stands there while something is drawn, so that the whole picture can be reached. */
  drawingBar() {
    const words = h("span", { text: "Drag on the picture, or use the arrow keys; with Shift they move the rim or the tip." });
    const done = h("button", { type: "button", class: "strong", data: { testid: "draw-done" }, onclick: () => this.drawn() }, "Done ", h("kbd", { text: "Enter" }));
    const nothing = h("button", { type: "button", class: "plain", onclick: () => this.deeds.draw(null) }, "Draw nothing ", h("kbd", { text: "Esc" }));
    return (this.bar = h("div", { class: "drawing-bar", hidden: true }, words, done, nothing));
  }

  drawn() {
    this.deeds.draw("done");
  }

  listen() {
    this.form.addEventListener("submit", (event) => {
      event.preventDefault();
      this.keep();
    });
    this.box.addEventListener("keydown", (event) => {
      const phrase = this.phrases.phrases[phraseOf(event) ?? -1];
      if (phrase) this.insert(phrase.text);
      if (phrase) event.preventDefault();
      if (event.key === "Escape") this.close();
      if (event.key === "Enter" && !event.shiftKey && !event.isComposing) {
        event.preventDefault();
        this.keep();
      }
    });
    this.lasts.addEventListener("keydown", (event) => event.key === "Escape" && this.close());
  }

  /**
   * @param {{time: number, about: string, answer: boolean, span: {onset_s: number, offset_s: number}|null}} scene
   */
  open({ time, about, answer, span }) {
    this.scene = { time, about, answer, span };
    for (const part of this.more) part.hidden = answer;
    this.whole.hidden = answer || !span;
    this.lasts.value = "0";
    this.tell();
    this.place.hidden = false;
    this.box.focus({ preventScroll: true });
  }

  tell() {
    setText(this.label, `Comment at ${clockText(this.scene.time)}, ${this.scene.about}`);
  }

  /** Let the comment speak of the whole step. */
  overStep() {
    const { span } = this.scene;
    this.scene.time = span.onset_s;
    this.lasts.value = (span.offset_s - span.onset_s).toFixed(2);
    this.tell();
    this.box.focus({ preventScroll: true });
  }

  /** @returns {{onset_s: number, offset_s: number}} what the comment speaks of */
  get seconds() {
    const lasts = Number(this.lasts.value);
    const { time } = this.scene;
    return { onset_s: time, offset_s: time + (lasts > 0 && Number.isFinite(lasts) ? lasts : 0) };
  }

  /** Put a phrase in where the cursor is. @param {string} phrase */
  insert(phrase) {
    const { text, at } = inserted(this.box.value, this.box.selectionStart, this.box.selectionEnd, phrase);
    this.box.value = text;
    this.box.focus({ preventScroll: true });
    this.box.setSelectionRange(at, at);
  }

  /** @param {object|null} shape what is drawn @param {boolean} drawing whether it is being drawn */
  showShape(shape, drawing) {
    this.bar.hidden = !drawing;
    this.form.hidden = drawing;
    this.nothing.hidden = !shape;
    this.kinds.forEach((button, at) => button.setAttribute("aria-pressed", String(shape?.kind === KINDS[at])));
  }

  keep() {
    const text = this.box.value.trim();
    if (text) this.deeds.keep(text);
    if (text) this.box.value = "";
    this.close();
  }

  /** Close the line; what was written stays in it. */
  close() {
    this.place.hidden = true;
    this.deeds.left();
  }
}
