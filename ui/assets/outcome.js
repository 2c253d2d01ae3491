/** What the grades come to, and the sign-off: the third part of the contact sheet. */
import { h, setText } from "./dom.js";
import { SignOff } from "./sign_off.js";

const LOOKS = { passed: ["good", "\u2713"], "not passed": ["off", "\u25B2"], open: ["unknown", "?"], "no rule": ["unknown", "?"] };

export class Outcome {
  /** @param {{send: (operation: object) => number}} deeds */
  constructor(deeds) {
    this.sums = h("div", { class: "sums" });
    this.signOff = new SignOff(deeds);
    this.element = h("div", { class: "outcome", role: "tabpanel", "aria-label": "Outcome", tabindex: "-1", hidden: true, data: { testid: "outcome" } },
      this.sums, this.signOff.element);
  }

  /**
   * @param {object} data the board's
   * @param {{waiting: number[], faults: {seq: number, message: string}[]}} sent numbers of the operations that are still on
   *   their way, and what was wrong with those that could not be done
   */
  show(data, sent) {
    this.signOff.show(data, sent);
    const { outcome } = data;
    const shown = JSON.stringify(outcome);
    if (shown === this.shown) return;
    this.shown = shown;
    const covered = outcome.covered && h("p", { class: "quiet-line", text: "What others' grades come to is covered until you have graded their steps, or uncovered them." });
    this.sums.replaceChildren(...outcome.raters.map(sumOf), covered || "", h("p", { class: "quiet-line", text: outcome.rule }));
  }

  /** What the tab says behind its word. @param {object} data the board's @returns {string} */
  static words({ outcome, sign_off }) {
    const own = outcome.raters.find((one) => one.mine)?.outcome;
    if (!sign_off.versions.length) return own === "no rule" ? "" : own;
    return sign_off.faults.length || sign_off.changed ? "changed since signed" : sign_off.versions.at(-1).words === "taken back" ? "taken back" : "signed";
  }
}

function sumOf({ person, role, mine, outcome, words, reasons, sections }) {
  const [look, sign] = LOOKS[outcome];
  const parts = sections.length > 1 ? sections.map((one) => h("li", {}, h("span", { text: one.title }), ` ${one.won} of ${one.possible}`)) : [];
  return h("section", { class: "sum", data: { testid: "sum", person } },
    h("h3", {}, h("span", { class: `sum-sign ${look}`, "aria-hidden": "true", text: sign }), mine ? "Your grades" : `${person} (${role})`),
    h("p", { class: "sum-words", text: words }),
    h("ul", { class: "reasons" }, ...reasons.map((reason) => h("li", { text: reason }))),
    parts.length ? h("ul", { class: "parts", "aria-label": "Points by section" }, ...parts) : null);
}

/** Set the words of a tab, with what it says of the attempt. @param {HTMLElement} tab @param {object} data */
export function showTab(tab, data) {
  const words = Outcome.words(data);
  setText(tab, words ? `Outcome: ${words}` : "Outcome");
}
