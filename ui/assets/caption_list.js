/** What is said, as a list: search, jump there, correct; the caption at this moment stands out. */
import { CaptionForm } from "./caption_form.js";
import { h, setText } from "./dom.js";
import { clockText } from "./format.js";
import { markedText } from "./marked_text.js";
import { ask } from "./sheets_ask.js";

const WAIT_MS = 200;

export class CaptionList {
  /** @param {{seek: (time: number) => void, corrected: (state: string) => void}} deeds */
  constructor(deeds) {
    this.deeds = deeds;
    this.field = h("input", { type: "search", "aria-label": "Search what is said", placeholder: "Search what is said", maxlength: 200, data: { testid: "caption-search" }, oninput: () => this.wait() });
    this.status = h("p", { class: "quiet-line", role: "status", data: { testid: "caption-status" } });
    this.list = h("ol", { class: "caption-list", "aria-label": "Captions" });
    this.form = new CaptionForm((target, said) => this.store(target, said), () => this.render());
    this.element = h("div", { class: "captions-panel", role: "tabpanel", "aria-label": "Captions", tabindex: "-1", hidden: true, data: { testid: "captions-panel" } },
      h("div", { class: "caption-bar" }, this.field, this.status), this.list);
    this.captions = [];
  }

  /** @param {{recording: {id: string}, me: {code: string}}} data of the board */
  show({ recording, me }) {
    const place = `${recording.id} ${me.code}`;
    if (place === this.place) return;
    [this.place, this.recording, this.code] = [place, recording.id, me.code];
    this.told = null;
    this.form.close();
    if (!this.element.hidden) this.load();
  }

  /** Ask for the captions anew: they may have changed since. */
  async load() {
    const asked = this.question = {};
    const { ok, said } = await ask(this.address(), this.code);
    if (asked === this.question) this.take(ok, said);
  }

  wait() {
    clearTimeout(this.later);
    this.later = setTimeout(() => this.load(), WAIT_MS);
  }

  address(rest = "") {
    return `/api/captions/${encodeURIComponent(this.recording)}${rest}?q=${encodeURIComponent(this.field.value)}`;
  }

  take(ok, said) {
    if (ok) this.told = said;
    else setText(this.status, said.message);
    if (ok) this.render();
  }

  render() {
    const { captions, listened, found } = this.told;
    const sought = this.field.value.trim() !== "";
    this.captions = sought ? captions.filter((one) => one.sought || this.form.isOf(one)) : captions;
    setText(this.status, statusText(captions.length, listened, sought, found));
    this.items = this.captions.map((one) => this.item(one));
    this.list.replaceChildren(...this.items);
    this.current = null;
    this.at(this.time ?? 0);
    this.form.ready();
  }

  item(one) {
    const words = one.text ? markedText(one.text, one.places, one.unsure) : [h("i", { text: `nothing is shown here; heard: ${one.heard}` })];
    const jump = h("button", { type: "button", class: "quiet time", text: clockText(one.onset_s, 0), "aria-label": `Go to ${clockText(one.onset_s, 0)}`, onclick: () => this.deeds.seek(one.onset_s) });
    const by = one.by && h("small", { text: `corrected by ${one.by}` });
    const change = this.told.may_correct && h("button", { type: "button", class: "quiet change", text: "Correct", "aria-label": `Correct the caption at ${clockText(one.onset_s, 0)}`, data: { testid: "caption-correct" }, onclick: () => this.correct(one) });
    if (this.form.isOf(one)) return h("li", { data: { testid: "caption-line" } }, jump, this.form.over(one));
    return h("li", { data: { testid: "caption-line" } }, jump, h("p", {}, ...words, by), change);
  }

  correct(one) {
    this.form.open(one);
    this.render();
    this.form.focus();
  }

  /** Send a correction; what was typed stays until the server has it. @returns {Promise<string>} what is wrong, if anything is */
  async store(target, said) {
    const { ok, said: told } = await ask(this.address("/correct"), this.code, said);
    if (!ok) {
      await this.load();
      return told.message;
    }
    this.form.close();
    this.take(true, told);
    this.deeds.corrected(told.captions.map((one) => `${one.id}${one.revision}`).join(" "));
    this.items[this.captions.findIndex((one) => one.onset_s >= target.onset_s - 0.001)]?.querySelector("button.change")?.focus();
    return "";
  }

  /** The film is at another moment. @param {number} time seconds */
  at(time) {
    this.time = time;
    if (this.element.hidden || !this.items) return;
    const at = this.captions.findLastIndex((one) => one.onset_s <= time + 0.001);
    const current = at >= 0 && time < this.captions[at].offset_s ? this.items[at] : null;
    if (current === this.current) return;
    this.current?.removeAttribute("aria-current");
    this.current = current;
    current?.setAttribute("aria-current", "true");
    if (current && !this.form.target && !this.list.matches(":focus-within")) this.reveal(current);
  }

  reveal(item) {
    const box = this.list.getBoundingClientRect();
    const { top, bottom } = item.getBoundingClientRect();
    if (top < box.top || bottom > box.bottom) this.list.scrollTop += top - box.top - box.height / 3;
  }

  /** The list comes into sight. */
  open() {
    if (this.recording) this.load();
  }
}

function statusText(count, listened, sought, found) {
  if (!count) return listened ? "Nothing was heard in this film." : "This film was not listened to yet: its analysis has not come so far, it has no sound, or words are left out here.";
  if (!sought) return `${count} ${count === 1 ? "caption" : "captions"}. Words with a dotted line are unsure.`;
  return found ? `Found in ${found} ${found === 1 ? "place" : "places"}` : "Not found in this film.";
}
