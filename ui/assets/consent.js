/** The Consent dialog: the text to read to the examined person, what was agreed to, and taking it back. */
import { h, setText } from "./dom.js";
import { ask } from "./sheets_ask.js";
import { Terms } from "./consent_terms.js";
import { dayText } from "./chooser.js";

export class ConsentDialog {
  /** @param {() => void} changed told when something was noted */
  constructor(changed) {
    this.changed = changed;
    this.about = h("p", { class: "quiet-line", data: { testid: "consent-about" } });
    this.now = h("p", { class: "now", data: { testid: "consent-now" } });
    this.text = h("div", { class: "to-read" });
    this.paper = h("a", { class: "quiet", target: "_blank", rel: "noopener", text: "Page to print and sign" });
    this.form = h("form", {});
    this.form.addEventListener("submit", (event) => {
      event.preventDefault();
      this.note();
    });
    this.back = h("button", { type: "button", class: "plain", data: { testid: "consent-back" }, onclick: () => this.takeBack() });
    this.history = h("details", {}, h("summary", { text: "What was noted so far" }), h("ol", { class: "history" }));
    this.status = h("p", { class: "said", role: "status", data: { testid: "consent-said" } });
    const close = h("button", { type: "button", class: "plain", text: "Close", data: { testid: "consent-close" }, onclick: () => this.element.close() });
    this.element = h("dialog", { class: "consent", "aria-label": "Consent of the examined person", data: { testid: "consent" }, onclose: () => this.left() },
      h("header", {}, h("h2", { text: "Consent of the examined person" }), close), this.about, this.now,
      h("details", { class: "reading" }, h("summary", { text: "Text to read to the examined person" }), this.text), h("p", {}, this.paper),
      this.form, this.status, this.history,
      h("div", { class: "taking-back" }, this.back, h("span", { class: "quiet-line", text: "From then on nobody sees the film or what was said of it; it can still be erased." })));
  }

  /** @param {string} recording id @param {string} code whom one works as */
  async open(recording, code) {
    [this.recording, this.code, this.noted] = [recording, code, false];
    this.say("");
    this.form.replaceChildren();
    setText(this.now, "Asking ...");
    this.element.showModal();
    this.take(await ask(this.address(), code));
  }

  address(rest = "") {
    return `/api/consent/${encodeURIComponent(this.recording)}${rest}`;
  }

  take({ ok, said }, text = "") {
    this.say(ok ? text : said.message, !ok);
    if (!ok) return;
    setText(this.about, said.title);
    setText(this.now, `Now: ${said.words}`);
    this.now.dataset.look = said.withdrawn ? "off" : "";
    this.paper.href = `${this.address("/paper")}?as=${encodeURIComponent(this.code)}`;
    this.text.replaceChildren(...said.text.flatMap((one) => [h("h3", { text: one.title }), h("p", { text: one.text })]));
    this.terms = new Terms(said, said.terms);
    const words = said.terms ? "Note as changed" : said.withdrawn ? "Note consent anew" : "Note consent";
    this.form.replaceChildren(this.terms.element, h("button", { type: "submit", class: "strong", text: words, data: { testid: "consent-note" } }));
    this.sure = false;
    setText(this.back, "Consent taken back");
    this.back.parentElement.hidden = said.withdrawn;
    this.history.hidden = !said.history.length;
    this.history.lastElementChild.replaceChildren(...said.history.map(({ at, by, words: told }) => h("li", { text: `${dayText(at)}, ${by}: ${told}` })));
  }

  async note() {
    this.take(await ask(this.address(), this.code, this.terms.said), "Noted.");
    this.noted = true;
  }

  async takeBack() {
    if (!this.sure) {
      this.sure = true;
      setText(this.back, "Sure? Take it back now");
      return;
    }
    this.take(await ask(this.address("/withdraw"), this.code, {}), "Taken back. The film is no longer shown to anybody.");
    this.noted = true;
  }

  left() {
    if (this.noted) this.changed();
  }

  say(text, bad = false) {
    setText(this.status, text);
    this.status.dataset.look = bad ? "bad" : "";
  }
}
