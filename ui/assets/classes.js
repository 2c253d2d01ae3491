/** The Class page: what waits, how each step goes over the class, and where each learner stands. */
import { Tabs } from "./class_tabs.js";
import { cutPanel } from "./class_cut.js";
import { learnersPanel } from "./class_learners.js";
import { stepsPanel } from "./class_steps.js";
import { waitingPanel } from "./class_waiting.js";
import { emptyPage, sentences } from "./chooser.js";
import { followTheme, h, keeping, offerPeople } from "./dom.js";
import { ask } from "./sheets_ask.js";

const NOT_FOR = "This page is for instructors: it shows the attempts of a whole class. Work as an instructor to see it, or look at your own attempts on the page Progress.";
const WHICH = [["newest", "the newest graded attempt of each learner"], ["all", "all graded attempts"]];

class Page {
  /** @param {HTMLElement} root */
  constructor(root) {
    this.root = root;
    this.asked = { course: "", checklist: "", which: "newest" };
    this.person = h("select", { data: { testid: "person" }, onchange: () => this.setState("person", this.person.value) });
    this.course = this.choice("course", "course");
    this.inCourse = label("Course", this.course);
    this.sheet = this.choice("sheet", "checklist");
    this.which = this.choice("which", "which", WHICH);
    this.status = h("p", { class: "status", role: "status", data: { testid: "status" } });
    this.body = h("div", { class: "class-body" });
    this.choices = [label("Sheet", this.sheet), label("Steps told of", this.which)];
    const heading = h("header", { class: "heading" }, h("h1", { text: "Class" }),
      h("div", { class: "choices" }, this.inCourse, ...this.choices, label("Working as", this.person)));
    root.replaceChildren(heading, this.status, this.body);
    this.tabs = new Tabs("Parts of the class");
  }

  choice(testid, part, options = []) {
    const select = h("select", { data: { testid }, onchange: () => {
      this.asked[part] = select.value;
      if (part === "course") this.asked.checklist = "";
      this.show();
    } }, ...options.map(([value, text]) => h("option", { value, text })));
    return select;
  }

  update({ data, setStateValue }) {
    this.setState = setStateValue;
    followTheme(this.root);
    const people = JSON.stringify([data.people, data.as, data.allowed]);
    if (people === this.people) return;
    this.people = people;
    this.as = data.as;
    this.notice = data.notice;
    offerPeople(this.person, data.people, data.as);
    for (const one of [this.inCourse, ...this.choices]) one.hidden = true;
    if (data.allowed) this.show();
    else this.body.replaceChildren(emptyPage(NOT_FOR));
  }

  /** The address of one of the server's answers about the class that is chosen. */
  address(path) {
    return `${path}?${new URLSearchParams(this.asked)}`;
  }

  /** Ask for the class anew and show it. @param {string} [text] what is told once it is there */
  async show(text = "") {
    const turn = (this.turn = (this.turn ?? 0) + 1);
    this.body.setAttribute("aria-busy", "true");
    const { ok, said } = await ask(this.address("/api/class"), this.as);
    if (turn !== this.turn || this.gone) return;
    this.body.removeAttribute("aria-busy");
    this.say(ok ? text : said.message);
    if (ok) this.draw(said);
  }

  /** Do something to the class, then show what it is like now. @param {string} path @param {object} body */
  async deed(path, body) {
    this.body.setAttribute("aria-busy", "true");
    const { ok, said } = await ask(path, this.as, body);
    if (ok) return this.show(said.done);
    this.body.removeAttribute("aria-busy");
    this.say(said.message);
  }

  draw(told) {
    this.inCourse.hidden = !told.courses.length;
    this.course.replaceChildren(...told.courses.map(({ id, title }) => h("option", { value: id, text: title, selected: id === told.course })));
    if (told.empty) return this.body.replaceChildren(emptyPage(told.empty));
    this.sheet.replaceChildren(...told.sheets.map(({ id, title, attempts }) =>
      h("option", { value: id, text: `${title} (${attempts === 1 ? "1 attempt" : `${attempts} attempts`})`, selected: id === told.sheet.id })));
    for (const one of this.choices) one.hidden = false;
    this.tabs.show([
      ["waiting", "Waiting", told.waiting.length, () => waitingPanel(told, this)],
      ["steps", "Steps", null, () => stepsPanel(told, this)],
      ["learners", "Learners", told.learners.length, () => learnersPanel(told, this)],
      ["cut", "Cut score", null, () => cutPanel(told, this)],
    ]);
    this.body.replaceChildren(h("p", { class: "lead", text: this.notice }), sentences([...told.words, ...coveredWords(told)], "sentences quiet-line rests"), this.tabs.element);
  }

  /** A link that stores a table of the class. @param {string} name @param {string} what */
  file(name, what) {
    const address = `${this.address(`/api/class/table/${name}`)}&as=${encodeURIComponent(this.as)}`;
    return h("a", { class: "file", href: address, download: "", data: { testid: `file-${name}` }, text: `${what} as CSV` });
  }

  /** @param {string} text */
  say(text) {
    this.status.textContent = text;
  }

  destroy() {
    this.gone = true;
  }
}

function coveredWords({ covered }) {
  if (!covered) return [];
  return [`${covered === 1 ? "1 grade of another instructor is" : `${covered} grades of other instructors are`} left out: covered until you have graded those steps yourself.`];
}

function label(text, choice) {
  return h("label", { class: "who" }, text, choice);
}

export default keeping("[data-classes]", Page);
