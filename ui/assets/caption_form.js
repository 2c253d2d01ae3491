/** Correcting one caption in its place in the list. */
import { h, setText } from "./dom.js";
import { newName } from "./queue.js";

export class CaptionForm {
  /**
   * @param {(target: object, said: object) => Promise<string>} store sends a correction; returns what is wrong, if anything is
   * @param {() => void} left called when the form was closed without a change
   */
  constructor(store, left) {
    this.store = store;
    this.left = left;
    this.target = null;
    this.text = h("textarea", { rows: 2, maxlength: 300, "aria-label": "What is said", data: { testid: "caption-text" } });
    this.heard = h("p", { class: "quiet-line" });
    this.fault = h("p", { class: "fault", role: "alert", data: { testid: "caption-fault" } });
    this.again = h("button", { type: "button", class: "plain", text: "As heard", data: { testid: "caption-as-heard" }, onclick: () => this.send(null) });
    this.element = h("form", { class: "caption-form" }, this.text, this.heard, this.fault,
      h("div", { class: "deeds" }, h("button", { type: "submit", class: "strong", text: "Keep", data: { testid: "caption-keep" } }), this.again,
        h("button", { type: "button", class: "plain", text: "Cancel", onclick: () => this.cancel() })));
    this.element.addEventListener("submit", (event) => {
      event.preventDefault();
      this.send(this.text.value);
    });
    this.element.addEventListener("keydown", (event) => {
      if (event.key === "Escape") this.cancel();
      if (event.key !== "Enter" || event.shiftKey || event.target !== this.text || event.isComposing) return;
      event.preventDefault();
      this.send(this.text.value);
    });
  }

  /** @param {object} caption */
  open(caption) {
    this.target = caption;
    this.text.value = caption.text;
    setText(this.fault, "");
  }

  /** Whether a caption, as it is told now, is the one that is being corrected. */
  isOf({ onset_s: onset, offset_s: offset }) {
    return this.target !== null && onset < this.target.offset_s && this.target.onset_s < offset;
  }

  /** Stand in the place of a caption as it is told now; what was typed stays. @returns {HTMLElement} */
  over(caption) {
    this.target = { ...caption, name: this.target.name };
    setText(this.heard, caption.id && caption.heard ? `Heard: ${caption.heard}` : "");
    this.again.hidden = !caption.id;
    return this.element;
  }

  /** The list was drawn anew around it. */
  ready() {
    if (this.target && this.typing) this.text.focus({ preventScroll: true });
  }

  focus() {
    this.text.focus();
    this.text.select();
  }

  async send(text) {
    if (this.busy || !this.target) return;
    const { id, name, revision, onset_s, offset_s } = this.target;
    this.busy = this.typing = true;
    this.target.name = name ?? newName();
    const fault = await this.store(this.target, { id: id ?? this.target.name, revision, onset_s, offset_s, text });
    this.busy = this.typing = false;
    setText(this.fault, fault);
  }

  cancel() {
    this.close();
    this.left();
  }

  close() {
    this.target = null;
    setText(this.fault, "");
  }
}
