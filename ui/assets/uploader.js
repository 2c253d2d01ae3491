/** The way in for films: choose or drop a file, say what must be known of it, watch it arrive. */
import { Camera } from "./camera.js";
import { CHOICES, Terms } from "./consent_terms.js";
import { h, setText } from "./dom.js";
import { Line } from "./send_line.js";
import { addFilm, Refusal, sendFilm, uploadName } from "./send.js";

export class Uploader {
  /** @param {(id: string) => void} added told which recording was added */
  constructor(added) {
    this.added = added;
    this.files = [];
    this.input = h("input", { type: "file", multiple: true, id: "film", accept: "video/*,.mkv,.mov,.mp4,.webm,.gif", data: { testid: "film-file" } });
    this.input.addEventListener("change", () => this.choose([...this.input.files]));
    this.camera = new Camera((file) => this.wishes(file), added);
    this.headline = h("h2", {});
    this.lead = h("p", {});
    this.drop = h("div", { class: "drop" }, h("div", {}, this.headline, this.lead),
      h("div", { class: "pick" }, this.input, h("label", { class: "strong", for: "film", text: "Choose films" }), this.camera.begin));
    this.form = this.makeForm();
    this.going = h("div", { class: "going" });
    this.element = h("section", { class: "uploader", "aria-label": "Add recording" }, this.drop, this.camera.element, this.form, this.going);
    this.listenToDrops();
  }

  makeForm() {
    this.name = h("input", { type: "text", id: "name", maxlength: "120" });
    this.sheet = h("select", { id: "sheet" });
    this.course = h("select", { id: "course", data: { testid: "course" } });
    this.courseField = field("Course", this.course);
    this.height = h("input", { type: "number", id: "height", min: "50", max: "250", step: "0.5", placeholder: "cm" });
    const choice = (name, value, text, checked) =>
      h("label", {}, h("input", { type: "radio", name, value, checked }), text);
    this.mirror = h("fieldset", { class: "field" }, h("legend", { text: "Is the picture mirrored, as some selfie cameras do?" }),
      h("div", { class: "options" }, choice("mirrored", "no", "No, as others see it", true), choice("mirrored", "yes", "Yes, like in a mirror", false)));
    this.times = h("input", {
      type: "number", min: "1.1", max: "40", step: "any", placeholder: "8", "aria-label": "How many times slower than life", data: { testid: "slow-times" },
      oninput: () => this.slowTo("yes"),
    });
    this.slow = h("fieldset", { class: "field", onchange: () => this.slowTo() }, h("legend", { text: "Is the film slowed down (slow motion)?" }),
      h("div", { class: "options" }, choice("slow", "no", "No", true), choice("slow", "yes", "Yes,", false), h("label", {}, this.times, "times slower")));
    this.makeTerms();
    const add = h("button", { type: "submit", class: "strong", text: "Add recording", data: { testid: "add-recording" } });
    const leave = h("button", { type: "button", class: "plain", text: "Leave it", onclick: () => this.choose([]) });
    this.named = field("Name shown", this.name);
    const form = h("form", { class: "form", hidden: true },
      this.named, field("Checklist", this.sheet), this.courseField, this.mirror, this.slow,
      field("Examined person's height in cm, if known", this.height), this.asked, this.termsPlace, h("div", { class: "deed" }, add, leave),
      h("p", { class: "hint", text: "Left and right are the examined person's own: a mirrored picture swaps them. Filmed at 240 frames a second and played at 30, a film is 8 times slower. The height turns body lengths into millimetres. The film stays on this machine." }));
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      this.send();
    });
    return form;
  }

  /** The question whether the examined person agreed; it may be left, and answered later. */
  makeTerms() {
    this.agreed = h("input", { type: "checkbox", data: { testid: "agreed" }, onchange: () => {
      this.termsPlace.hidden = !this.agreed.checked;
    } });
    this.asked = h("label", { class: "agreed" }, this.agreed, "The examined person was asked: note what was agreed");
    this.termsPlace = h("div", { class: "wide", hidden: true });
    this.forgetTerms();
  }

  /** What was agreed for one film is not taken for the next. */
  forgetTerms() {
    this.agreed.checked = false;
    this.terms = new Terms(CHOICES);
    this.termsPlace.hidden = true;
    this.termsPlace.replaceChildren(this.terms.element);
  }

  /** @param {"no"|"yes"} [answer] whether the film is slowed down; without one, what is chosen stays */
  slowTo(answer) {
    const chosen = answer && this.slow.querySelector(`input[value="${answer}"]`);
    if (chosen) chosen.checked = true;
    this.times.required = this.isSlow();
    if (answer === "no") this.times.value = "";
  }

  isSlow() {
    return this.slow.querySelector("input:checked").value === "yes";
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
      if (!this.busy) this.choose([...event.dataTransfer.files]);
    });
  }

  /** @param {{sheets: object[], sheet: string, courses: object[], as: string, rows: object[]}} data */
  show(data) {
    this.data = data;
    if (!this.files.length) this.invite();
    const courses = data.courses ?? [];
    this.courseField.hidden = courses.length < 2;
    if (this.course.options.length !== courses.length) {
      this.course.replaceChildren(...courses.map(({ id, title }) => h("option", { value: id, text: title })));
    }
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
      : "Drop films here, or choose some. They are copied, looked at and measured on this machine only.");
  }

  /** @param {File[]} files newly chosen */
  choose(files) {
    this.hold(files);
    if (!files.length) return;
    this.slowTo("no");
    this.forgetTerms();
    this.going.replaceChildren();
    this.sheet.focus({ preventScroll: true });
  }

  /** @param {File[]} files all of them get the same answers of the form, and each its own file's name if they are several */
  hold(files) {
    this.files = files;
    this.form.hidden = !files.length;
    this.input.value = "";
    if (!files.length) {
      this.invite();
      return;
    }
    this.named.hidden = files.length > 1;
    this.name.value = plainName(files[0]);
    const bytes = files.reduce((sum, file) => sum + file.size, 0);
    setText(this.headline, `${files.length > 1 ? `${files.length} films` : files[0].name}, ${sizeText(bytes)}`);
  }

  async send() {
    if (!this.files.length || this.busy) return;
    this.busy = true;
    this.form.hidden = true;
    this.stop = new AbortController();
    const lines = this.files.map((file) => new Line(file.name));
    this.going.replaceChildren(...lines.map((line) => line.element));
    const orders = this.files.map((file) => [file, this.wishes(file)]);
    const left = [];
    for (const [place, [file, wishes]] of orders.entries()) {
      if (!(await this.sendOne(file, wishes, lines[place]))) left.push(file);
    }
    this.busy = false;
    this.hold(left);
  }

  /** @returns {Promise<boolean>} whether the film was added */
  async sendOne(file, wishes, line) {
    try {
      if (!file.size) throw new Refusal(`${file.name}: the file is empty (0 bytes). Copy it again from the phone or camera, and choose it then.`);
      const uid = await uploadName(file);
      await sendFilm(file, uid, (share) => line.tell("Copying the film", share), this.stop.signal, wishes.course);
      const id = await addFilm(uid, wishes, (stage, share) => line.tell(stage, share));
      line.say("Added. Its analysis has begun; you can start marking now.", "good");
      this.added(id);
      return true;
    } catch (error) {
      line.say(error instanceof Refusal ? error.message : "The film could not be sent. Is Runthrough still running?", "bad");
      return false;
    }
  }

  wishes(file) {
    const height = this.height.valueAsNumber;
    return {
      file: file.name, size: file.size, name: (this.files.length > 1 ? plainName(file) : this.name.value.trim()) || null,
      checklist: this.sheet.value || null, course: this.course.value || null, mirrored: this.mirror.querySelector("input:checked").value === "yes",
      slow_motion: this.isSlow() ? this.times.valueAsNumber : 1, partner_height_mm: Number.isFinite(height) ? height * 10 : null, consent: this.agreed.checked ? this.terms.said : null, as: this.data.as,
    };
  }

  destroy() {
    this.stop?.abort();
    this.camera.destroy();
  }
}

/** @param {File} file @returns {string} its name without the ending */
function plainName(file) {
  return file.name.replace(/\.[^.]+$/, "");
}

function field(text, input) {
  return h("div", { class: "field" }, h("label", { for: input.id, text }), input);
}

/** @param {number} bytes @returns {string} */
function sizeText(bytes) {
  return bytes >= 1e9 ? `${(bytes / 1e9).toFixed(2)} GB` : `${(bytes / 1e6).toFixed(1)} MB`;
}
