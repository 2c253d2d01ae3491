/** The field of the step in hand for a result that a film cannot show; what it is read as stands below it at once. */
import { h, setText } from "./dom.js";

const PAUSE_MS = 150;
const SCALE_KEPT = "runthrough.scale";

export class EntryField {
  /**
   * @param {HTMLElement} place
   * @param {(deed: string, argument?: any) => void} act
   */
  constructor(place, act) {
    this.place = place;
    this.act = act;
    this.drafts = new Map();
    this.title = h("span");
    this.box = h("input", {
      id: "entry-text", type: "text", maxlength: "200", autocomplete: "off", spellcheck: "false",
      "aria-describedby": "entry-said", data: { testid: "entry-box" },
    });
    this.scale = h("select", { "aria-label": "Scale of the grade", data: { testid: "entry-scale" } });
    this.keep = h("button", { type: "submit", class: "plain", text: "Keep", data: { testid: "entry-keep" } });
    this.back = h("button", { type: "button", class: "quiet", text: "Take back", data: { testid: "entry-back" }, onclick: () => this.withdraw() });
    this.said = h("p", { id: "entry-said", class: "entry-said", role: "status", data: { testid: "entry-said" } });
    this.form = h("form", {},
      h("label", { for: "entry-text" }, this.title, h("kbd", { text: "E" })), this.box, this.scale, this.keep, this.back);
    place.replaceChildren(this.form, this.said);
    this.listen();
  }

  listen() {
    this.form.addEventListener("submit", (event) => {
      event.preventDefault();
      this.enter();
    });
    this.box.addEventListener("input", () => this.changed());
    this.box.addEventListener("keydown", (event) => event.key === "Escape" && this.leave());
    this.scale.addEventListener("change", () => {
      remember(this.scale.value);
      this.changed();
    });
  }

  /**
   * @param {object} row the step in hand
   * @param {object|null} kept one's own entry on it
   * @param {{recording: object, me: object}} data
   */
  show(row, kept, data) {
    this.place.hidden = !row.entry;
    if (!row.entry) return;
    this.asked = { id: data.recording.id, step: row.step, side: row.side ?? "", as: data.me.code };
    this.back.hidden = !kept;
    const shown = JSON.stringify([row.key, data.me.id, data.recording.id, kept?.text, kept?.words]);
    if (shown === this.shown) return;
    const moved = this.key !== row.key || this.owner !== data.me.id;
    [this.shown, this.key, this.owner, this.kept] = [shown, row.key, data.me.id, kept];
    setText(this.title, row.entry.title);
    this.box.placeholder = row.entry.example;
    this.offer(row.entry.scales);
    if (moved || !this.drafts.has(this.draftKey)) this.fill();
  }

  get draftKey() {
    return `${this.owner} ${this.key}`;
  }

  /** Show the draft of the step, else what was kept. */
  fill() {
    const draft = this.drafts.get(this.draftKey);
    const { text, scale } = parted(this.kept?.text ?? "", this.scales);
    if (this.scales.length) this.scale.value = draft?.scale ?? scale ?? remembered(this.scales);
    this.box.value = draft?.text ?? text;
    if (draft) this.changed();
    else this.tell(this.kept ? this.kept.words || this.kept.text : "", []);
  }

  /** @param {string[]} scales */
  offer(scales) {
    this.scales = scales;
    this.scale.hidden = !scales.length;
    const names = JSON.stringify(scales);
    if (names === this.offered) return;
    this.offered = names;
    this.scale.replaceChildren(h("option", { value: "", text: "scale?" }), ...scales.map((name) => h("option", { value: name, text: name })));
  }

  get text() {
    const text = this.box.value.trim();
    return text && this.scales.length && this.scale.value ? `${text} on ${this.scale.value}` : text;
  }

  open() {
    if (this.place.hidden) return false;
    this.box.focus({ preventScroll: true });
    this.box.select();
    return true;
  }

  changed() {
    this.drafts.set(this.draftKey, { text: this.box.value, scale: this.scale.value });
    clearTimeout(this.pause);
    if (this.text) this.pause = setTimeout(() => this.ask(), PAUSE_MS);
    else this.tell("", []);
  }

  /** Ask what the text is read as. @returns {Promise<{words: string, faults: string[]}|null>} null without an answer */
  async ask() {
    clearTimeout(this.pause);
    this.asking?.abort();
    this.asking = new AbortController();
    const { signal } = this.asking;
    const { id, ...place } = this.asked;
    const key = this.draftKey;
    try {
      const answer = await fetch(`/api/entry/${encodeURIComponent(id)}?${new URLSearchParams({ ...place, text: this.text })}`, { signal });
      const told = answer.ok ? await answer.json() : null;
      if (told && key === this.draftKey) this.tell(told.words, told.faults);
      return told;
    } catch {
      return null; // another question took its place, or the server is away: then it tells when the entry arrives
    }
  }

  async enter() {
    if (!this.text) {
      this.tell("", ["Nothing is entered yet."]);
      return;
    }
    const [text, key, { step, side }] = [this.text, this.draftKey, this.asked];
    const told = await this.ask();
    const here = key === this.draftKey;
    if (here && (told?.faults.length || text !== this.text)) return; // told beside the field; elsewhere the store tells it
    if (!told?.faults.length) this.drafts.delete(key);
    this.act("enter", { step, side: side || null, text });
    if (here) this.act("focus");
  }

  withdraw() {
    this.drafts.delete(this.draftKey);
    this.act("unenter");
  }

  leave() {
    clearTimeout(this.pause);
    this.drafts.delete(this.draftKey);
    this.fill();
    this.act("focus");
  }

  /** @param {string} words @param {string[]} faults */
  tell(words, faults) {
    this.box.setAttribute("aria-invalid", String(faults.length > 0));
    this.said.dataset.look = faults.length ? "bad" : "";
    setText(this.said, faults.join(" ") || words);
  }
}

/** Part a kept text into what stands in the box and its scale. */
function parted(text, scales) {
  const scale = scales.find((name) => text.endsWith(` on ${name}`));
  return scale ? { text: text.slice(0, -` on ${scale}`.length), scale } : { text };
}

function remember(scale) {
  try {
    sessionStorage.setItem(SCALE_KEPT, scale);
  } catch {
    return; // a browser without storage asks again
  }
}

function remembered(scales) {
  try {
    const kept = sessionStorage.getItem(SCALE_KEPT) ?? "";
    return scales.includes(kept) ? kept : "";
  } catch {
    return "";
  }
}

/**
 * The results of a step, for its row: one's own, and those of others once they are uncovered.
 * @param {{covers: {entries: number}}} row
 * @param {{entry: object|null, otherEntries: object[], covered: boolean, inHand: boolean}} facts
 * @returns {HTMLElement|null}
 */
export function enteredLine(row, { entry, otherEntries, covered, inHand }) {
  const own = entry && h("span", { class: "entered-own" }, h("b", { text: "Entered " }), entry.words || entry.text);
  const others = covered
    ? [inHand && row.covers.entries ? h("span", { class: "quiet-line", text: "Results of others are covered until you have graded." }) : null]
    : otherEntries.map((one) => h("span", { class: `other role-${one.role}` }, h("b", { text: `${one.person} (${one.role})` }), ` ${one.words}`));
  const parts = [own, ...others].filter(Boolean);
  return parts.length ? h("p", { class: "entered", data: { testid: "entered" } }, ...parts) : null;
}
