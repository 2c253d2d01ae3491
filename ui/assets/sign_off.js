/** The sign-off of an attempt: what is signed, to be read by all who may; and for instructors the form that signs. */
import { h, setText } from "./dom.js";

const ASKED_MS = 6000;
const MARKS = { passed: "\u2713", passed_with_conditions: "\u2713", not_passed: "\u25B2", to_be_repeated: "\u25B2" };

export class SignOff {
  /** @param {{send: (operation: object) => number}} deeds `send` puts an operation on its way and gives its number */
  constructor(deeds) {
    this.deeds = deeds;
    this.seq = null;
    this.signed = h("div", { class: "signed", data: { testid: "signed" } });
    this.findings = h("div", { class: "findings" });
    this.words = h("textarea", { id: "sign-words", rows: "3", maxlength: "2000", "aria-describedby": "sign-said", data: { testid: "sign-words" }, oninput: () => this.ask(null) });
    this.signButton = h("button", { type: "submit", class: "strong", data: { testid: "sign" } });
    this.backButton = h("button", { type: "button", class: "plain", data: { testid: "sign-back" }, onclick: () => this.twice("back") });
    this.said = h("p", { id: "sign-said", class: "sign-said", role: "status", data: { testid: "sign-said" } });
    this.form = h("form", { class: "sign-form", data: { testid: "sign-form" }, hidden: true, onsubmit: (event) => this.submit(event) },
      h("fieldset", {}, h("legend", { text: "Sign this attempt" }), this.findings,
        h("label", { for: "sign-words", text: "Conditions; or why, where you sign against the sheet\u2019s rule or take back" }), this.words),
      h("div", { class: "sign-buttons" }, this.signButton, this.backButton), this.said);
    this.element = h("section", { class: "sign-off", "aria-label": "Sign-off", data: { testid: "sign-off" } }, h("h3", { text: "Sign-off" }), this.signed, this.form);
  }

  submit(event) {
    event.preventDefault();
    if (!this.chosen) this.say("Choose first what you find.", true);
    else this.twice("sign");
  }

  get chosen() {
    return this.findings.querySelector("input:checked")?.value ?? null;
  }

  /** What is signed stays for good: a button asks once more. @param {"sign"|"back"} what */
  twice(what) {
    if (this.asked === what) this.send(what);
    else this.ask(what);
  }

  /** @param {"sign"|"back"|null} what is asked for once more */
  ask(what) {
    clearTimeout(this.patience);
    this.asked = what;
    if (what) this.patience = setTimeout(() => this.ask(null), ASKED_MS);
    this.showButtons();
  }

  send(what) {
    const { signing, versions } = this.told;
    const seen = { versions: versions.length };
    const text = this.words.value;
    this.seq = what === "sign"
      ? this.deeds.send({ op: "sign_off", result: this.chosen, conditions: text, ground: signing.ground, ...seen })
      : this.deeds.send({ op: "take_back_sign_off", reason: text, ...seen });
    this.say(what === "sign" ? "Signing." : "Taking back.");
    this.ask(null);
  }

  /**
   * @param {object} data the board's
   * @param {{waiting: number[], faults: {seq: number, message: string}[]}} sent numbers of the operations that are still on
   *   their way, and what was wrong with those that could not be done
   */
  show(data, { waiting, faults }) {
    this.told = data.sign_off;
    this.waiting = waiting.length > 0;
    const owner = `${data.recording.id} ${data.me.id}`;
    if (owner !== this.owner) this.begin(owner);
    this.answer(faults, waiting);
    const shown = JSON.stringify([this.told, data.me.code]);
    if (shown !== this.shown) {
      this.shown = shown;
      this.signed.replaceChildren(...standing(this.told, data));
      this.offer(this.told.signing);
    }
    this.showButtons();
  }

  /** Another attempt, or another person: nothing of a draft goes along. @param {string} owner */
  begin(owner) {
    this.owner = owner;
    this.seq = null;
    this.words.value = "";
    this.findings.replaceChildren();
    this.say("");
    this.ask(null);
  }

  /** Say what came of the last press. */
  answer(faults, waiting) {
    if (this.seq === null || waiting.includes(this.seq)) return;
    const fault = faults.find((one) => one.seq === this.seq);
    this.seq = null;
    if (fault) this.say(fault.message, true);
    else {
      this.words.value = "";
      this.findings.querySelectorAll("input").forEach((one) => { one.checked = false; });
      this.say("Kept.");
    }
  }

  /** @param {object|null} signing what it takes to sign; null for whoever may not */
  offer(signing) {
    this.form.hidden = !signing;
    if (!signing || this.findings.firstChild) return;
    this.findings.append(...signing.findings.map(({ key, words }) => h("label", { class: "finding" },
      h("input", { type: "radio", name: "finding", value: key, data: { testid: "finding" }, onchange: () => this.ask(null) }), words)));
  }

  showButtons() {
    const { signing, versions } = this.told;
    if (!signing) return;
    const missing = signing.ungraded.length;
    this.signButton.disabled = missing > 0 || this.waiting;
    this.backButton.disabled = this.waiting;
    this.backButton.hidden = !versions.length || versions.at(-1).words === "taken back";
    const words = signing.findings.find((one) => one.key === this.chosen)?.words;
    setText(this.signButton, this.asked === "sign" ? `Sure? Sign as ${words}` : "Sign");
    setText(this.backButton, this.asked === "back" ? "Sure? Take back" : "Take back");
    if (missing && this.seq === null) this.say(`It rests on your own grades. Not graded yet: ${signing.ungraded.join("; ")}.`);
    else if (this.said.textContent.startsWith("It rests")) this.say("");
  }

  say(text, bad = false) {
    setText(this.said, text);
    this.said.dataset.look = bad ? "bad" : "";
  }
}

/** What is signed, whether it holds, and what was signed before. */
function standing(told, { recording, me }) {
  const last = told.versions.at(-1);
  if (!last) return [h("p", { class: "quiet-line", text: "Nothing is signed yet. An instructor of the course signs." })];
  const before = told.versions.slice(0, -1).reverse();
  const address = `/api/paper/${encodeURIComponent(recording.id)}?${new URLSearchParams({ by: last.person, as: me.code })}`;
  return [
    ...warnings(told),
    version(last, true),
    before.length ? h("details", { class: "earlier" }, h("summary", { text: `${before.length} earlier` }), ...before.map((one) => version(one, false))) : "",
    h("a", { class: "quiet", href: address, target: "_blank", rel: "noopener", text: "Sheet with sign-off, to print", data: { testid: "sign-print" } }),
  ];
}

function warnings({ changed, changes, faults }) {
  if (faults.length) return [warning("Not as it was signed", faults)];
  return changed ? [warning("Changed since it was signed", changes)] : [];
}

function warning(words, sentences) {
  return h("div", { class: "sign-warning", data: { testid: "sign-warning" } }, h("b", { text: words }),
    ...(sentences.length ? [h("ul", {}, ...sentences.map((one) => h("li", { text: one })))] : []));
}

function version(one, first) {
  const found = one.covered ? "Result covered until you have graded" : one.words[0].toUpperCase() + one.words.slice(1);
  const who = `Version ${one.version}, signed by ${one.person} (${one.role}) on ${new Date(one.at).toLocaleString(undefined, { dateStyle: "medium", timeStyle: "short" })}`;
  return h("div", { class: `version${first ? " last" : ""}`, data: { testid: "version" } },
    h("p", { class: "found" }, MARKS[one.result] ? h("span", { "aria-hidden": "true", text: `${MARKS[one.result]} ` }) : null, found),
    one.conditions ? h("p", { class: "conditions", text: one.conditions }) : null,
    one.sum ? h("p", { class: "quiet-line", text: one.sum }) : null,
    h("p", { class: "quiet-line", text: who }),
    h("p", { class: "quiet-line digest", title: one.digest, text: `Digest ${one.digest.slice(0, 12)}` }));
}
