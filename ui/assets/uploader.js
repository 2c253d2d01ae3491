/** The way in for films: choose or drop a file, say what must be known of it, watch it arrive. */
import { h, setText } from "./dom.js";
import { addFilm, Refusal, sendFilm, uploadName } from "./send.js";

export class Uploader {
  /** @param {(id: string) => void} added told which recording was added */
  constructor(added) {
    this.added = added;
    this.file = null;
    this.input = h("input", { type: "file", id: "film", accept: "video/*,.mkv,.mov,.mp4,.webm", data: { testid: "film-file" } });
    this.input.addEventListener("change", () => this.choose(this.input.files[0]));
    this.headline = h("h2", {});
    this.lead = h("p", {});
    this.drop = h("div", { class: "drop" }, h("div", {}, this.headline, this.lead),
      h("div", { class: "pick" }, this.input, h("label", { class: "strong", for: "film", text: "Choose a film" })));
    this.form = this.makeForm();
    this.bar = h("progress", { max: "1", "aria-label": "Progress" });
    this.words = h("p", { class: "said", role: "status", data: { testid: "upload-status" } });
    this.going = h("div", { class: "going", hidden: true }, this.bar, this.words);
    this.element = h("section", { class: "uploader", "aria-label": "Add recording" }, this.drop, this.form, this.going);
    this.listenToDrops();
  }

  makeForm() {
    this.name = h("input", { type: "text", id: "name", maxlength: "120" });
    this.sheet = h("select", { id: "sheet" });
    this.height = h("input", { type: "number", id: "height", min: "50", max: "250", step: "0.5", placeholder: "cm" });
    const mirror = (value, text, checked) =>
      h("label", {}, h("input", { type: "radio", name: "mirrored", value, checked }), text);
    this.mirror = h("fieldset", { class: "field" }, h("legend", { text: "Is the picture mirrored, as some selfie cameras do?" }),
      h("div", { class: "options" }, mirror("no", "No, as others see it", true), mirror("yes", "Yes, like in a mirror", false)));
    const add = h("button", { type: "submit", class: "strong", text: "Add recording", data: { testid: "add-recording" } });
    const leave = h("button", { type: "button", class: "plain", text: "Leave it", onclick: () => this.choose(null) });
    const form = h("form", { class: "form", hidden: true },
      field("Name shown", this.name), field("Checklist", this.sheet), this.mirror,
      field("Examined person's height in cm, if known", this.height), h("div", { class: "deed" }, add, leave),
      h("p", { class: "hint", text: "Left and right are the examined person's own: a mirrored picture swaps them. The height turns body lengths into millimetres. The film stays on this machine." }));
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      this.send();
    });
    return form;
  }

  listenToDrops() {
    const over = (on) => (event) => {
      event.preventDefault();
      this.drop.classList.toggle("over", on);
    };
    for (const type of ["dragenter", "dragover"]) this.element.addEventListener(type, over(true));
    this.element.addEventListener("dragleave", over(false));
    this.element.addEventListener("drop", (event) => {
      over(false)(event);
      if (!this.busy) this.choose(event.dataTransfer.files[0]);
    });
  }

  /** @param {{sheets: object[], sheet: string, as: string, rows: object[]}} data */
  show(data) {
    this.data = data;
    if (!this.file) this.invite();
    const sheets = JSON.stringify(data.sheets);
    if (sheets === this.sheets) return;
    this.sheets = sheets;
    this.sheet.replaceChildren(...data.sheets.map((sheet) =>
      h("option", { value: sheet.id, text: sheet.title, selected: sheet.id === data.sheet })));
  }

  /** Say what to do first, in the place where it is done. */
  invite() {
    const first = !this.data.rows.length;
    setText(this.headline, first ? "Add your first film" : "Add recording");
    setText(this.lead, first
      ? "Film an attempt with a lab partner, then drop the film here. Next: mark the steps, grade yourself, and only then look at the values."
      : "Drop a film here, or choose one. It is copied, looked at and measured on this machine only.");
  }

  /** @param {File|null|undefined} file */
  choose(file) {
    this.file = file ?? null;
    this.form.hidden = !file;
    this.input.value = "";
    if (!file) {
      this.invite();
      return;
    }
    this.name.value = file.name.replace(/\.[^.]+$/, "");
    this.going.hidden = true;
    this.sheet.focus({ preventScroll: true });
    setText(this.headline, `${file.name}, ${sizeText(file.size)}`);
  }

  async send() {
    const file = this.file;
    if (!file || this.busy) return;
    this.busy = true;
    this.form.hidden = true;
    this.going.hidden = false;
    this.stop = new AbortController();
    try {
      const uid = await uploadName(file);
      await sendFilm(file, uid, (share) => this.tell("Copying the film", share), this.stop.signal);
      const id = await addFilm(uid, this.wishes(file), (stage, share) => this.tell(stage, share));
      this.say("Added. Its analysis has begun; you can start marking now.", "good");
      this.choose(null);
      this.added(id);
    } catch (error) {
      this.say(error instanceof Refusal ? error.message : "The film could not be sent. Is Runthrough still running?", "bad");
      this.form.hidden = false;
    } finally {
      this.busy = false;
    }
  }

  wishes(file) {
    const height = this.height.valueAsNumber;
    return {
      file: file.name, size: file.size, name: this.name.value.trim() || null,
      checklist: this.sheet.value || null, mirrored: this.mirror.querySelector("input:checked").value === "yes",
      partner_height_mm: Number.isFinite(height) ? height * 10 : null, as: this.data.as,
    };
  }

  tell(stage, share) {
    this.bar.hidden = false;
    this.bar.value = share;
    setText(this.words, `${stage}, ${Math.floor(100 * share)} %`);
    this.words.className = "said";
  }

  say(text, look) {
    this.bar.hidden = true;
    setText(this.words, text);
    this.words.className = `said ${look}`;
  }

  destroy() {
    this.stop?.abort();
  }
}

function field(text, input) {
  return h("div", { class: "field" }, h("label", { for: input.id, text }), input);
}

/** @param {number} bytes @returns {string} */
function sizeText(bytes) {
  return bytes >= 1e9 ? `${(bytes / 1e9).toFixed(2)} GB` : `${(bytes / 1e6).toFixed(1)} MB`;
}
