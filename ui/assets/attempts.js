/** The list of recordings, newest first. */
import { checkOf } from "./capture_check.js";
import { ConsentDialog } from "./consent.js";
import { h, setText } from "./dom.js";
import { erasing } from "./erasing.js";
import { Files } from "./files.js";
import { analysisText, clockText } from "./format.js";
import { MaskedDialog } from "./masked.js";
import { stillUrl } from "./row.js";
import { ShareDialog } from "./share.js";
import { still } from "./stills.js";

export class Attempts {
  /** @param {(deed: string, id: string) => void} wish */
  constructor(wish) {
    this.wish = wish;
    this.list = h("ol", { class: "attempts", "aria-label": "Recordings, newest first", hidden: true });
    this.none = h("p", { class: "none", hidden: true, data: { testid: "no-recordings" } },
      "No recordings yet. Where to put the phone, and what to have in the picture, is in the ",
      h("a", { class: "guide", href: "/filming", text: "filming guide" }), ".");
    this.bare = h("ol", { class: "attempts", "aria-label": "Recordings that are not shown any more", hidden: true });
    this.consent = new ConsentDialog(() => wish("look again", ""));
    this.more = h("button", { type: "button", class: "plain more", hidden: true, data: { testid: "more" }, onclick: () => wish("show more", "") });
    this.share = new ShareDialog(() => wish("look again", ""));
    this.masked = new MaskedDialog();
    this.element = h("div", {}, this.none, this.list, this.more, this.bare, this.consent.element, this.share.element, this.masked.element);
    this.shown = new Map();
    this.files = new Map();
  }

  /**
   * @param {object[]} rows
   * @param {string} code whom one works as
   * @param {string|null} [asked] recording whose capture check is asked for
   * @param {number} [more] how many further ones there are
   */
  show(rows, code, asked = null, more = 0) {
    this.more.hidden = !more;
    setText(this.more, `Show more (${more} further)`);
    const items = rows.map((row) => this.item(row, code));
    items.forEach((item, at) => {
      if (this.list.children[at] !== item) this.list.insertBefore(item, this.list.children[at] ?? null);
    });
    while (this.list.children.length > items.length) this.list.lastElementChild.remove();
    this.list.hidden = !items.length;
    this.none.hidden = items.length > 0;
    this.openCheck(asked);
  }

  /**
   * Show the bare rows of recordings whose consent was taken back: they can be erased, or consent be noted anew.
   * @param {{id: string, attempt: number, added: string, words: string}[]} rows
   * @param {string} code whom one works as
   */
  showBare(rows, code) {
    const signature = JSON.stringify([rows, code]);
    if (signature === this.bareShown) return;
    this.bareShown = signature;
    this.bare.hidden = !rows.length;
    if (rows.length) this.none.hidden = true;
    this.bare.replaceChildren(...rows.map((row) => h("li", { class: "attempt bare", data: { testid: "bare", id: row.id } },
      h("p", { class: "what" }, `Attempt ${row.attempt}, added ${dateText(row.added)}: ${row.words}`),
      h("button", { type: "button", class: "plain", text: "Consent", "aria-label": `Consent to attempt ${row.attempt}, added ${dateText(row.added)}`, data: { testid: "consent-of" }, onclick: () => this.consent.open(row.id, code) }),
      erasing({ ...row, name: `attempt ${row.attempt}, added ${dateText(row.added)}` }, code, () => this.wish("look again", "")))));
  }

  /** Whom an attempt is shown to, for those who may change that. */
  sharingOf(row, code) {
    if (!row.shared) return null;
    return h("p", { class: "consent-line", data: { testid: "share-line" } }, `Attempt: ${row.shared}`,
      h("button", { type: "button", class: "quiet", text: "Share", "aria-label": `Share ${row.name}`, data: { testid: "share-of" }, onclick: () => this.share.open(row.id, code) }));
  }

  /** What the examined person agreed to, for those who may note it. */
  consentOf(row, code) {
    if (!row.consent) return null;
    return h("p", { class: "consent-line", data: { testid: "consent-line" } }, `Examined person: ${row.consent}`,
      h("button", { type: "button", class: "quiet", text: "Consent", "aria-label": `Consent to ${row.name}`, data: { testid: "consent-of" }, onclick: () => this.consent.open(row.id, code) }));
  }

  /** Open a capture check once, when it is there. */
  openCheck(asked) {
    const check = asked !== this.asked && this.shown.get(asked)?.element.querySelector(".check");
    if (!check) return;
    this.asked = asked;
    check.open = true;
    check.scrollIntoView({ block: "center" });
  }

  item(row, code) {
    const { analysis, ...fixed } = row;
    const signature = JSON.stringify([fixed, code, analysis.state]);
    let kept = this.shown.get(row.id);
    if (kept?.signature !== signature) {
      const open = kept?.element.querySelector(".check")?.open;
      kept = { signature, ...this.make(row, code) };
      this.shown.set(row.id, kept);
      if (open) kept.element.querySelector(".check")?.setAttribute("open", "");
    }
    this.progress(kept, analysis);
    return kept.element;
  }

  /** The files of an attempt; they outlive their row, so that they stay open and what was said stays. */
  filesOf(row, code) {
    const key = `${row.id} ${code}`;
    if (!this.files.has(key)) this.files.set(key, new Files(row.id, row.name, code, () => this.wish("look again", row.id), () => this.masked.open(row.id, row.name, code)));
    this.files.get(key).warn(row.unconsented);
    return this.files.get(key).element;
  }

  make(row, code) {
    const address = `/review?recording=${encodeURIComponent(row.id)}&as=${encodeURIComponent(code)}`;
    const stills = row.stills.map((time) => still(stillUrl(row.id, time), {}, "seen"));
    const link = h("a", { href: address, class: "name", text: row.name, data: { testid: "open" }, onclick: (event) => {
      if (event.ctrlKey || event.metaKey || event.shiftKey || event.button) return;
      event.preventDefault();
      this.wish("open", row.id);
    } });
    const bar = h("progress", { max: "1", "aria-label": `Analysis of ${row.name}` });
    const state = h("span", { class: "state" });
    const again = h("button", { type: "button", class: "plain", text: "Analyse", onclick: () => this.wish("analyse", row.id) });
    const halt = h("button", { type: "button", class: "plain", text: "Stop", "aria-label": `Stop analysing ${row.name}`, onclick: () => this.wish("stop", row.id) });
    const facts = [row.learner, row.checklist || "No checklist chosen", `attempt ${row.attempt}`, dateText(row.added), `${clockText(row.duration_s, 0)} min`];
    const element = h(
      "li", { class: "attempt", data: { testid: "recording", id: row.id } },
      h("div", { class: "strip", "aria-hidden": "true", onclick: () => this.wish("open", row.id) }, ...stills),
      h("div", { class: "what" }, h("h2", {}, link),
        h("p", { class: "facts" }, ...facts.map((fact) => h("span", { text: fact }))),
        ...row.notes.map((note) => h("p", { class: "note" }, h("b", { text: "Note " }), note)),
        row.soon && h("p", { class: "note", data: { testid: "soon" } }, h("b", { text: "Soon " }), row.soon),
        checkOf(row.check, row.name, code), this.consentOf(row, code), this.sharingOf(row, code), this.filesOf(row, code)),
      h("div", { class: "waiting" }, h("p", { class: "over", text: "Waiting for you" }), waitingList(row.waiting),
        h("div", { class: "analysis" }, state, bar, again, halt)),
    );
    return { element, bar, state, again, halt };
  }

  progress({ bar, state, again, halt }, analysis) {
    const going = analysis.state === "running" || analysis.state === "waiting";
    bar.hidden = analysis.state !== "running";
    bar.value = analysis.total ? analysis.done / analysis.total : 0;
    setText(state, analysisText(analysis));
    state.dataset.look = analysis.state;
    again.hidden = going || analysis.state === "done";
    halt.hidden = !going;
  }
}

function waitingList(waiting) {
  if (!waiting.length) return h("p", { class: "quiet-line", text: "Nothing" });
  return h("ul", {}, ...waiting.map((text) => h("li", { text })));
}

/** @param {string} iso @returns {string} day and time in the reader's own way */
function dateText(iso) {
  const when = new Date(iso);
  return Number.isNaN(when.getTime()) ? iso : when.toLocaleString(undefined, { dateStyle: "medium", timeStyle: "short" });
}
