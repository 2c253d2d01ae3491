/** The Checklists page: which of its views is shown is told by the address, so that back and reload lead where they should. */
import { followTheme, h, keeping, offerPeople } from "./dom.js";
import { ask, places, where } from "./sheets_ask.js";
import { SheetEditor } from "./sheets_edit.js";
import { SheetImport } from "./sheets_import.js";
import { SheetList } from "./sheets_list.js";
import { SheetReading } from "./sheets_read.js";

class Page {
  /** @param {HTMLElement} root */
  constructor(root) {
    this.root = root;
    this.person = h("select", { data: { testid: "person" }, onchange: () => {
      this.as = this.person.value; // at once: what is stored from now on is theirs
      this.setState("person", this.as);
    } });
    this.title = h("h1", { text: "Checklists", tabindex: "-1" });
    this.status = h("p", { class: "status", role: "status", data: { testid: "status" } });
    this.body = h("div", { class: "sheets-body" });
    const heading = h("header", { class: "heading" }, this.title, h("label", { class: "who" }, "Working as", this.person));
    root.replaceChildren(heading, this.status, this.body);
    this.followed = () => this.show();
    window.addEventListener("hashchange", this.followed);
  }

  update({ data, setStateValue }) {
    this.setState = setStateValue;
    followTheme(this.root);
    const people = JSON.stringify([data.people, data.as]);
    if (people === this.people) return;
    this.people = people;
    const known = this.as === data.as;
    this.as = data.as;
    // The page writes the person into the address and may drop the view from it.
    if (this.view && !location.hash) history.replaceState(null, "", `${location.pathname}${location.search}${this.view}`);
    offerPeople(this.person, data.people, data.as);
    if (!known) this.show();
  }

  /** Show what the address asks for. */
  async show() {
    const turn = (this.turn = (this.turn ?? 0) + 1);
    this.body.inert = true; // nothing of the view before may be pressed any more
    const asked = where();
    this.view = location.hash;
    const { said } = await ask("/api/sheets", this.as);
    if (turn !== this.turn || this.gone) return;
    if (!said.sheets) {
      this.body.inert = false;
      return this.say(said.message);
    }
    this.choices = said.choices;
    const view = await this.viewOf(asked, said.sheets);
    if (turn !== this.turn || this.gone) return;
    this.body.inert = false;
    this.title.textContent = view.title ?? "Checklists";
    this.body.replaceChildren(view.element);
    if (this.shown) this.title.focus({ preventScroll: false });
    this.shown = true;
  }

  async viewOf(asked, sheets) {
    if (asked.view === "import") return new SheetImport(this);
    if (asked.view === "new") return new SheetEditor(this, null);
    if (asked.view === "list") return new SheetList(this, sheets);
    const version = asked.version ? `?version=${asked.version}` : "";
    const { ok, said } = await ask(`/api/sheet/${encodeURIComponent(asked.id)}${version}`, this.as);
    if (!ok) {
      this.say(said.message);
      return new SheetList(this, sheets);
    }
    return asked.view === "change" ? new SheetEditor(this, said) : new SheetReading(this, said);
  }

  /**
   * Go to another view, and tell something once it is there.
   * @param {string} view @param {string} [id] @param {string} [text]
   */
  async go(view, id, text = "") {
    this.say("");
    history.pushState(null, "", `${location.pathname}${location.search}${places(view, id)}`);
    await this.show();
    this.say(text);
  }

  /** Tell what came of something. @param {string} text */
  say(text) {
    this.status.textContent = text;
  }

  destroy() {
    this.gone = true;
    window.removeEventListener("hashchange", this.followed);
  }
}

export default keeping("[data-sheets]", Page);
