/** The Recordings page: heading, the way in for films, the list of recordings. */
import { Attempts } from "./attempts.js";
import { followTheme, h, keeping, offerPeople } from "./dom.js";
import { WordSearch } from "./word_search.js";
import { Uploader } from "./uploader.js";

class Shelf {
  /** @param {HTMLElement} root */
  constructor(root) {
    this.root = root;
    const wish = (deed, id) => this.setState("wish", { deed, id, at: Date.now() });
    this.person = h("select", { data: { testid: "person" }, onchange: () => wish("work as", this.person.value) });
    this.learner = h("select", { data: { testid: "whose" }, onchange: () => wish("show those of", this.learner.value) });
    this.whose = h("label", { class: "who", hidden: true }, "Recordings of", this.learner);
    const heading = h("header", { class: "heading" }, h("h1", { text: "Recordings" }),
      h("div", { class: "choices" }, this.whose, h("label", { class: "who" }, "Working as", this.person)));
    this.uploader = new Uploader((id) => wish("added", id));
    this.attempts = new Attempts(wish);
    this.words = new WordSearch();
    root.replaceChildren(heading, this.uploader.element, this.words.element, this.attempts.element);
  }

  update({ data, setStateValue }) {
    this.setState = setStateValue;
    followTheme(this.root);
    const people = JSON.stringify([data.people, data.as]);
    if (people !== this.people) {
      this.people = people;
      offerPeople(this.person, data.people, data.as);
    }
    this.showWhose(data);
    this.uploader.show(data);
    this.words.show(data);
    this.attempts.show(data.rows, data.as, data.check, data.more);
    this.attempts.showBare(data.bare, data.as);
  }

  /** Whose recordings are shown is only asked where several people have some. */
  showWhose({ learners, whose }) {
    const choice = JSON.stringify([learners, whose]);
    if (choice === this.choice) return;
    this.choice = choice;
    this.whose.hidden = learners.length < 2;
    this.learner.replaceChildren(h("option", { value: "", text: "everybody" }),
      ...learners.map((code) => h("option", { value: code, text: code, selected: code === whose })));
  }

  destroy() {
    this.gone = true;
    this.uploader.destroy();
  }
}

export default keeping("[data-shelf]", Shelf);
