/** The files that can be made of an attempt, and the way in for marks and comments that were taken out before. */
import { h, setText } from "./dom.js";

export class Files {
  /**
   * @param {string} recording id
   * @param {string} name of the recording
   * @param {string} code whom one works as
   * @param {() => void} changed called when something was read in
   * @param {() => void} mask called when a copy with masked faces is asked for
   */
  constructor(recording, name, code, changed, mask) {
    this.recording = recording;
    this.code = code;
    this.changed = changed;
    this.list = h("ul", { "aria-label": `Files of ${name}` });
    this.warning = h("p", { class: "note", hidden: true, data: { testid: "files-warning" } });
    this.said = h("p", { class: "said", role: "status", data: { testid: "files-said" } });
    this.captions = h("input", { type: "file", hidden: true, accept: ".vtt", onchange: () => this.readCaptions(), data: { testid: "captions-file" } });
    this.replace = h("button", { type: "button", class: "quiet", hidden: true, data: { testid: "captions-replace" }, onclick: () => this.sendCaptions(true) });
    this.input = h("input", { type: "file", hidden: true, accept: ".vtt,.jsonld,.json,.csv,.zip", onchange: () => this.read() });
    const choose = h("button", {
      type: "button", class: "quiet", text: "Read in marks and comments from a file", data: { testid: "read-in" }, onclick: () => this.input.click(),
    });
    const captions = h("button", {
      type: "button", class: "quiet", text: "Read in captions from a WebVTT file", data: { testid: "captions-in" }, onclick: () => this.captions.click(),
    });
    this.element = h("details", { class: "files", data: { testid: "files" }, ontoggle: () => this.open() },
      h("summary", { text: "Files", "aria-label": `Files of ${name}` }), this.warning, this.list,
      h("button", { type: "button", class: "quiet", text: "Copy of the film with masked faces", data: { testid: "masked-of" }, onclick: mask }), choose, captions, this.input, this.captions, this.said, this.replace);
  }

  /** Say what is to be known before a file is handed on. @param {string} [text] nothing for nothing */
  warn(text = "") {
    setText(this.warning, text);
    this.warning.hidden = !text;
  }

  /** Ask once which files there are. */
  async open() {
    if (!this.element.open || this.list.firstChild) return;
    const kinds = await this.ask("/api/exports");
    if (!kinds || this.list.firstChild) return;
    this.list.append(...kinds.map((kind) => h("li", {}, this.linkOf(kind))));
  }

  linkOf({ kind, words, shown }) {
    const address = `/api/export/${this.recording}/${kind}?as=${encodeURIComponent(this.code)}`;
    if (shown) return h("a", { href: address, target: "_blank", rel: "noopener", text: words, data: { kind } });
    return h("button", { type: "button", class: "quiet", text: words, data: { kind }, onclick: () => this.store(address, words) });
  }

  /** Have a file made and hand it to the browser; what cannot be made says why. */
  async store(address, words) {
    this.say(`Making: ${words} ...`);
    const answer = await this.fetched(address);
    if (!answer) return;
    const name = /filename="([^"]+)"/.exec(answer.headers.get("content-disposition") ?? "")?.[1] ?? "attempt";
    const place = URL.createObjectURL(await answer.blob());
    h("a", { href: place, download: name }).click();
    setTimeout(() => URL.revokeObjectURL(place), 60_000);
    this.say(`${name} is in your downloads.`);
  }

  /** Send the file that was chosen, and say what came of it. */
  async read() {
    const file = this.input.files[0];
    if (!file) return;
    this.say(`Reading ${file.name} ...`);
    const asked = new URLSearchParams({ as: this.code, name: file.name });
    const answer = await this.ask(`/api/import/${this.recording}?${asked}`, { method: "POST", body: file });
    this.input.value = "";
    if (!answer) return;
    this.say(answer.told.join(" "));
    this.changed();
  }

  /** Captions take the place of those that stand here: where some were corrected, only after that was asked. */
  async readCaptions() {
    this.chosen = this.captions.files[0];
    this.captions.value = "";
    if (!this.chosen) return;
    const here = await this.ask(`/api/captions/${this.recording}?as=${encodeURIComponent(this.code)}`);
    if (!here) return;
    if (!here.corrected) {
      await this.sendCaptions(false);
      return;
    }
    this.say(`${here.corrected} ${here.corrected === 1 ? "caption was" : "captions were"} corrected here and would give way to those of ${this.chosen.name} where they differ. Nothing was changed yet.`);
    setText(this.replace, `Replace them by ${this.chosen.name}`);
    this.replace.hidden = false;
  }

  /** @param {boolean} replaces whether corrected captions may give way */
  async sendCaptions(replaces) {
    this.replace.hidden = true;
    this.say(`Reading ${this.chosen.name} ...`);
    const asked = new URLSearchParams({ as: this.code, name: this.chosen.name, replaces: replaces ? "1" : "0" });
    const answer = await this.ask(`/api/captions/${this.recording}/file?${asked}`, { method: "POST", body: this.chosen });
    if (!answer) return;
    this.say(answer.told.join(" "));
    this.changed();
  }

  async ask(address, how) {
    return (await this.fetched(address, how))?.json();
  }

  /** @returns {Promise<Response|null>} the answer, or null after saying why there is none */
  async fetched(address, how) {
    try {
      const answer = await fetch(address, how);
      if (answer.ok) return answer;
      const told = await answer.json().catch(() => ({}));
      this.say(told.message ?? `The server answered ${answer.status}. Try again.`, true);
    } catch {
      this.say("No answer from Runthrough. Is it still running? Nothing was changed; try again.", true);
    }
    return null;
  }

  say(text, bad = false) {
    setText(this.said, text);
    this.said.dataset.look = bad ? "bad" : "";
  }
}
