/** The dialog for copies of a film with masked faces: making one, looking at it, taking it out, removing it. */
import { dayText } from "./chooser.js";
import { h, setText } from "./dom.js";
import { stretchText } from "./format.js";
import { ask } from "./sheets_ask.js";

const EVERY_MS = 1000;

export class MaskedDialog {
  constructor() {
    this.about = h("p", { class: "quiet-line" });
    this.kinds = h("fieldset", { class: "kinds" }, h("legend", { text: "Whose faces are masked" }));
    this.sound = h("input", { type: "checkbox", data: { testid: "masked-sound" } });
    this.withSound = h("label", {}, this.sound, "Keep the sound (voices tell who people are)");
    this.begin = h("button", { type: "submit", class: "strong", text: "Make the copy", data: { testid: "masked-make" } });
    this.form = h("form", {}, this.kinds, this.withSound, h("div", { class: "deeds" }, this.begin,
      h("span", { class: "quiet-line", text: "It takes several times as long as the film. You can close this and come back." })));
    this.form.addEventListener("submit", (event) => {
      event.preventDefault();
      this.make();
    });
    this.stage = h("span", {});
    this.bar = h("progress", { max: "1", "aria-label": "Making the copy" });
    this.making = h("div", { class: "deeds", data: { testid: "masked-making" } }, this.stage, this.bar,
      h("button", { type: "button", class: "plain", text: "Stop", data: { testid: "masked-stop" }, onclick: () => this.order("/stop") }));
    this.status = h("p", { class: "said", role: "status", data: { testid: "masked-said" } });
    this.copies = h("div", { class: "copies" });
    this.stays = h("p", { class: "caution" });
    const close = h("button", { type: "button", class: "plain", text: "Close", data: { testid: "masked-close" }, onclick: () => this.element.close() });
    this.element = h("dialog", { class: "masked", "aria-label": "Copy with masked faces", data: { testid: "masked" }, onclose: () => this.left() },
      h("header", {}, h("h2", { text: "Copy with masked faces" }), close), this.about, this.form, this.making, this.status, this.copies, this.stays);
  }

  /** @param {string} recording id @param {string} name of the recording @param {string} code whom one works as */
  async open(recording, name, code) {
    [this.recording, this.code] = [recording, code];
    setText(this.about, `${name}: a copy of the film to share, in which heads are filled with grey. It holds no place, date or device.`);
    this.clear();
    this.element.showModal();
    await this.look();
  }

  clear() {
    this.shown = "";
    this.copies.replaceChildren();
    setText(this.stays, "");
    this.say("");
    this.form.hidden = this.making.hidden = true;
  }

  address(rest = "") {
    return `/api/masked/${encodeURIComponent(this.recording)}${rest}`;
  }

  async make() {
    const heads = this.kinds.querySelector("input:checked").value;
    await this.order(`/${heads}?sound=${this.sound.checked ? 1 : 0}`);
  }

  async order(rest) {
    await this.look(rest, {});
  }

  /** Ask the server, or give it an order, and show what it says unless another recording was opened meanwhile. */
  async look(rest, order) {
    const { recording } = this;
    const answer = await ask(this.address(rest), this.code, order);
    if (recording === this.recording) this.take(answer);
  }

  /** Show what the server said, and ask again while a copy is being made. */
  take({ ok, said }) {
    if (!ok) {
      this.say(said.message, true);
      return;
    }
    const going = said.making?.state === "making";
    this.choices(said);
    this.form.hidden = going;
    this.making.hidden = !going;
    if (going) {
      setText(this.stage, said.making.stage);
      this.bar.value = said.making.share;
    }
    const ended = { failed: said.making?.message, stopped: said.making?.message, done: "The copy is made. Look at it before you share it." };
    this.say(ended[said.making?.state] ?? "", said.making?.state === "failed");
    this.show(said.copies);
    setText(this.stays, said.stays);
    clearTimeout(this.timer);
    if (going && this.element.open) this.timer = setTimeout(() => this.look(), EVERY_MS);
  }

  choices({ kinds, has_sound: hasSound }) {
    this.withSound.hidden = !hasSound;
    if (this.kinds.querySelector("input")) return;
    this.kinds.append(...kinds.map(({ heads, words }, at) => h("label", {},
      h("input", { type: "radio", name: "heads", value: heads, checked: at === 0, data: { testid: `masked-${heads}` } }), sentence(words))));
  }

  show(copies) {
    const signature = JSON.stringify([this.recording, copies]);
    if (signature === this.shown) return;
    this.shown = signature;
    this.copies.replaceChildren(...copies.map((copy) => this.copyOf(copy)));
  }

  copyOf(copy) {
    const address = `${this.address(`/${copy.heads}.mp4`)}?as=${encodeURIComponent(this.code)}&made=${encodeURIComponent(copy.made_at)}`;
    const film = h("video", { src: address, controls: true, preload: "metadata", playsinline: true, "aria-label": `Film with ${copy.words} masked` });
    const sure = h("button", { type: "button", class: "plain", text: "Remove", "aria-label": `Remove the copy with ${copy.words} masked`, data: { testid: "masked-remove" }, onclick: () => this.order(`/${copy.heads}/remove`) });
    return h("section", { data: { testid: "masked-copy", heads: copy.heads } },
      h("h3", { text: `${sentence(copy.words)} masked` }),
      h("p", { class: "quiet-line", text: `${dayText(copy.made_at)}, ${copy.sound ? "with its sound" : "without sound"}, ${sizeText(copy.size_bytes)}` }),
      copy.outdated && h("p", { class: "caution", text: "Somebody pointed at the examined person after this copy was made: make it anew." }),
      h("div", { class: "look" }, film, h("div", {}, ...doubts(copy.doubtful, film))),
      h("div", { class: "deeds" }, h("a", { href: address, download: copy.name, class: "plain get", text: "Download", "aria-label": `Download ${copy.name}`, data: { testid: "masked-get" } }), sure));
  }

  left() {
    clearTimeout(this.timer);
    this.copies.replaceChildren();
    this.shown = "";
  }

  say(text, bad = false) {
    setText(this.status, text);
    this.status.dataset.look = bad ? "bad" : "";
  }
}

/** The seconds to look at, as buttons that take the film there. */
function doubts(doubtful, film) {
  if (!doubtful.length) return [h("p", { text: "Heads were found in every second. Look through the film all the same before you share it." })];
  const items = doubtful.map(({ start_s: start, stop_s: stop, words }) => h("li", {},
    h("button", { type: "button", class: "quiet", text: stretchText(start, stop), onclick: () => { film.currentTime = start; } }), ` ${words}`));
  return [h("p", { class: "caution", text: "Look at these seconds before you share it:" }), h("ul", { data: { testid: "masked-doubts" } }, ...items)];
}

function sentence(words) {
  return words[0].toUpperCase() + words.slice(1);
}

function sizeText(bytes) {
  return bytes >= 1e9 ? `${(bytes / 1e9).toFixed(2)} GB` : `${Math.max(bytes / 1e6, 0.1).toFixed(1)} MB`;
}
