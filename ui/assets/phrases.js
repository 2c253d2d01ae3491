/** Quick phrases of a person's own: put into the comment by a button or a key, kept and dropped. */
import { h } from "./dom.js";

/** Keys go as far as there are digits. */
const KEYED = 9;

/**
 * A text with a phrase put in where the cursor is, with blanks around it where words would touch.
 * @param {string} text @param {number} from @param {number} to @param {string} phrase
 * @returns {{text: string, at: number}} `at`: where the cursor is then
 */
export function inserted(text, from, to, phrase) {
  const [before, after] = [text.slice(0, from), text.slice(to)];
  const lead = before && !/\s$/.test(before) ? " " : "";
  const trail = after && !/^\s/.test(after) ? " " : "";
  const head = before + lead + phrase;
  return { text: head + trail + after, at: head.length + trail.length };
}

/** The phrase that a key press asks for, from 0; null for none. @param {KeyboardEvent} press */
export function phraseOf(press) {
  const digit = Number(/^Digit([1-9])$/.exec(press.code)?.[1] ?? 0);
  return press.altKey && !press.ctrlKey && !press.metaKey && digit ? digit - 1 : null;
}

export class PhraseBar {
  /** @param {{insert: (text: string) => void, drop: (id: string) => void, keep: () => void}} deeds */
  constructor(deeds) {
    this.deeds = deeds;
    this.list = h("ul", { class: "phrase-list", "aria-label": "Your phrases", data: { testid: "phrases" } });
    const keep = h("button", { type: "button", class: "quiet", text: "Keep text as phrase", data: { testid: "phrase-keep" }, onclick: deeds.keep });
    this.element = h("div", { class: "phrases" }, this.list, keep);
    this.phrases = [];
  }

  /** @param {{id: string, text: string}[]} phrases */
  show(phrases) {
    const signature = JSON.stringify(phrases);
    if (signature === this.signature) return;
    this.signature = signature;
    this.phrases = phrases;
    this.list.replaceChildren(...phrases.map((phrase, at) => this.item(phrase, at)));
    this.list.hidden = !phrases.length;
  }

  item(phrase, at) {
    const key = at < KEYED ? h("kbd", { text: `Alt ${at + 1}` }) : null;
    const put = h("button", { type: "button", class: "plain phrase", title: phrase.text, data: { testid: "phrase" }, onclick: () => this.deeds.insert(phrase.text) },
      h("span", { text: phrase.text }), key);
    const drop = h("button", { type: "button", class: "quiet drop", "aria-label": `Drop the phrase ${phrase.text}`, text: "Drop", onclick: () => this.deeds.drop(phrase.id) });
    return h("li", {}, put, drop);
  }
}
