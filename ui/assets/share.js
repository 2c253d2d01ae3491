/** The Share dialog: handing an attempt in, and asking fellow learners to grade it, as far as the examined person agreed. */
import { h, setText } from "./dom.js";
import { dayText } from "./chooser.js";
import { ask } from "./sheets_ask.js";

export class ShareDialog {
  /** @param {() => void} changed told when something was changed */
  constructor(changed) {
    this.changed = changed;
    this.about = h("p", { class: "quiet-line", data: { testid: "share-about" } });
    this.agreed = h("ul", { class: "agreed", "aria-label": "What the examined person agreed to" });
    this.handing = h("button", { type: "button", class: "strong", data: { testid: "hand-in" } });
    this.handed = h("p", { class: "now", data: { testid: "handed-in" } });
    this.peers = h("ul", { class: "asked", "aria-label": "Peers who are asked" });
    this.code = h("input", { type: "text", name: "code", autocomplete: "off", maxlength: "9", required: true, data: { testid: "peer-code" } });
    const form = h("form", { class: "asking" }, h("label", {}, "Code of a fellow learner", this.code), h("button", { type: "submit", class: "plain", text: "Ask", data: { testid: "ask-peer" } }));
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      this.do("ask", this.code.value);
    });
    this.status = h("p", { class: "said", role: "status", data: { testid: "share-said" } });
    const close = h("button", { type: "button", class: "plain", text: "Close", data: { testid: "share-close" }, onclick: () => this.element.close() });
    this.element = h("dialog", { class: "consent share", "aria-label": "Share this attempt", data: { testid: "share" }, onclose: () => this.done && this.changed() },
      h("header", {}, h("h2", { text: "Share this attempt" }), close), this.about, this.agreed,
      h("h3", { text: "Instructors of the course" }), this.handed, h("p", {}, this.handing),
      h("h3", { text: "Peers" }), h("p", { class: "quiet-line", text: "A peer sees this one attempt, and nothing else of yours." }), this.peers, form, this.status);
  }

  /** @param {string} recording id @param {string} me whom one works as */
  async open(recording, me) {
    [this.recording, this.me, this.done] = [recording, me, false];
    this.say("");
    this.handing.disabled = true;
    setText(this.handing, "Hand in");
    this.element.showModal();
    this.take(await ask(this.address(), me));
  }

  address() {
    return `/api/share/${encodeURIComponent(this.recording)}`;
  }

  async do(deed, code = "") {
    const answer = await ask(this.address(), this.me, { deed, code });
    this.done = this.done || answer.ok;
    if (answer.ok) this.code.value = "";
    this.take(answer, DONE[deed]);
  }

  take({ ok, said }, text = "") {
    this.say(ok ? text : said.message, !ok);
    if (!ok) return;
    setText(this.about, `${said.name}, in ${said.course}`);
    this.agreed.replaceChildren(...Object.values(said.agreed).map(({ words, covers }) =>
      h("li", { data: { look: covers ? "yes" : "no" }, text: `${covers ? "Agreed" : "Not agreed"}: shown to ${words}` })));
    setText(this.handed, said.handed_in ? `Handed in on ${dayText(said.handed_in)}.` : "Not handed in: no instructor sees it.");
    setText(this.handing, said.handed_in ? "Take back" : "Hand in");
    this.handing.disabled = false;
    this.handing.onclick = () => this.do(said.handed_in ? "take back" : "hand in");
    this.handing.className = said.handed_in ? "plain" : "strong";
    this.peers.hidden = !said.peers.length;
    this.peers.replaceChildren(...said.peers.map((code) => h("li", {}, h("b", { text: code }),
      h("button", { type: "button", class: "quiet", text: "No longer ask", "aria-label": `No longer ask ${code}`, onclick: () => this.do("no longer ask", code) }))));
  }

  say(text, bad = false) {
    setText(this.status, text);
    this.status.dataset.look = bad ? "bad" : "";
  }
}

const DONE = {
  "hand in": "Handed in. Instructors of the course see it now.", "take back": "Taken back. Instructors no longer see it.",
  ask: "Asked. The peer sees this attempt now.", "no longer ask": "No longer asked. What the peer said stays.",
};
