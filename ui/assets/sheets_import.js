/** Import of a sheet from a spreadsheet: the table with what each column and row is taken for, then the preview. */
import { h } from "./dom.js";
import { ask, counted, places } from "./sheets_ask.js";
import { textField } from "./sheets_fields.js";

export class SheetImport {
  /** @param {object} page */
  constructor(page) {
    this.page = page;
    this.title = "Import a checklist";
    this.said = { roles: {}, kinds: {} };
    const choose = h("input", { type: "file", accept: ".csv,.tsv,.txt,.xlsx,.xlsm", id: "sheet-file", data: { testid: "file" }, onchange: () => this.take(choose.files[0]) });
    this.body = h("div", { class: "import-body" });
    this.element = h("div", {}, h("div", { class: "tools" }, h("a", { class: "guide", href: places("list"), text: "All checklists" }),
      h("label", { for: "sheet-file", text: "Spreadsheet (CSV or XLSX)" }), choose),
    h("p", { class: "quiet-line", text: "First the table is shown with a guess of what each column and row is. Put right what is wrong. Nothing is stored before you say so." }), this.body);
  }

  async take(file) {
    if (!file) return;
    this.file = file;
    this.said = { roles: {}, kinds: {} };
    await this.look();
  }

  /** Ask what the table makes, as said so far. */
  async look(typing = false) {
    clearTimeout(this.waiting);
    this.waiting = null;
    const turn = (this.turn = (this.turn ?? 0) + 1);
    const body = new Blob([JSON.stringify(this.said), "\n", this.file]);
    const { ok, said } = await ask(`/api/sheets/look?name=${encodeURIComponent(this.file.name)}`, this.page.as, body);
    if (turn !== this.turn) return;
    this.page.say("");
    if (ok) this.draw(said, typing);
    else this.body.replaceChildren(h("div", { class: "faults", role: "alert", data: { testid: "faults" } }, h("p", { text: said.message })));
  }

  say(change) {
    Object.assign(this.said, change);
    return this.look();
  }

  /** Note what is being typed; it is looked at once the typing rests, and the fields stay as they are. */
  type(change) {
    Object.assign(this.said, change);
    clearTimeout(this.waiting);
    this.waiting = setTimeout(() => this.look(true), 500);
  }

  /** Show what came; while somebody types, all but the fields. */
  draw(told, typing) {
    this.told = told;
    if (typing && this.body.children.length === 3) {
      this.body.children[0].replaceWith(this.outcome(told));
      this.body.children[2].replaceWith(this.table(told));
      const id = this.body.querySelector('[data-testid="import-id"]');
      if (!this.said.id && id !== id.getRootNode().activeElement) id.value = told.id;
      return;
    }
    const focused = this.body.getRootNode().activeElement?.dataset?.testid;
    this.body.replaceChildren(this.outcome(told), this.choices(told), this.table(told));
    if (focused) this.body.querySelector(`[data-testid="${focused}"]`)?.focus();
  }

  outcome(told) {
    const parts = [counted(told.sections, "section"), counted(told.steps, "step")];
    if (told.criteria) parts.push(counted(told.criteria, "criterion").replace("criterions", "criteria"));
    if (told.points !== null) parts.push(counted(told.points, "point"));
    const store = h("button", { class: "strong", type: "button", text: "Store this checklist", disabled: told.faults.length > 0, data: { testid: "import-store" }, onclick: () => this.store() });
    const remarks = h("ul", { class: "remarks" }, ...told.remarks.map((text) => h("li", { text })));
    const faults = told.faults.length > 0 && h("div", { class: "faults", role: "alert", data: { testid: "faults" } },
      h("p", { text: `${counted(told.faults.length, "fault")}: mend them here or in the file.` }),
      h("ul", {}, ...told.faults.map((fault) => h("li", {}, h("b", { text: `${fault.where}: ` }), fault.text))));
    return h("section", { class: "outcome", "aria-label": "What the table makes" },
      h("h2", { class: "part-title", data: { testid: "outcome" }, text: `${told.title}: ${parts.join(", ")}` }), faults, remarks, store);
  }

  choices(told) {
    const late = (key) => (value) => this.type({ [key]: value });
    const tables = told.tables.length > 1 && selectOf("Worksheet", told.tables.map((name, at) => [at, name]), told.table, (value) => this.say({ table: Number(value), roles: {}, kinds: {}, head: null }), "table");
    const heads = [["0", "none"], ...told.rows.slice(0, 40).map((_, at) => [at + 1, `row ${at + 1}`])];
    return h("section", { class: "fields import-fields", "aria-label": "About the sheet" },
      textField("Name", told.title, late("title"), { key: "import-title" }), textField("Id", told.id, late("id"), { key: "import-id" }),
      tables, selectOf("Last row of the headings", heads, told.head, (value) => this.say({ head: Number(value) }), "head"),
      textField("Caution for steps that have none", told.caution, late("caution"), { rows: 2, key: "import-caution" }),
      textField("Expected, where nothing is said", told.expected, late("expected"), { rows: 2, key: "import-expected" }),
      this.levels(told));
  }

  levels(told) {
    const levels = told.levels.map((level) => ({ ...level }));
    const tell = () => this.say({ levels });
    const line = (level, at) => h("div", { class: "fields line" },
      h("input", { value: level.word, "aria-label": `Word of level ${at + 1}`, data: { testid: `level-${at}` }, onchange: (event) => { level.word = event.target.value; tell(); } }),
      h("input", { type: "number", step: "any", min: "0", value: String(level.worth), "aria-label": `${level.counted ? "Points" : "Share"} of level ${at + 1}`, data: { testid: `worth-${at}` }, onchange: (event) => { level.worth = Number(event.target.value); tell(); } }),
      h("button", { type: "button", class: "quiet", text: "Remove", "aria-label": `Remove level ${at + 1}`, onclick: () => { levels.splice(at, 1); tell(); } }));
    const counts = h("input", { type: "checkbox", checked: levels.some((level) => level.counted), data: { testid: "import-counts" }, onchange: () => { for (const level of levels) level.counted = counts.checked; tell(); } });
    return h("fieldset", { class: "rows" }, h("legend", { text: "Grades, best first" }), ...levels.map(line),
      h("label", { class: "switch" }, counts, "Numbers are points of the scale; else shares from 0 to 1"),
      h("button", { type: "button", class: "quiet", text: "Add a level", onclick: () => { levels.push({ word: "new level", worth: 0, counted: counts.checked }); tell(); } }));
  }

  table(told) {
    const roles = this.page.choices.roles.map((role) => [role.key, role.words]);
    const head = told.columns.map((column, at) => h("th", { scope: "col" }, h("span", { class: "letter", text: letter(at) }),
      selectOf(`Column ${letter(at)} holds`, roles, column.role, (value) => this.say({ roles: { ...this.said.roles, [at]: value } }), `role-${at}`, true)));
    const rows = told.rows.map((row, at) => h("tr", { class: `as-${row.kind}`, data: { kind: row.kind } }, h("th", { scope: "row", text: String(at + 1) }),
      h("td", { class: "is" }, row.kind === "blank" ? null : this.kindOf(row, at)),
      ...row.cells.map((cell) => h("td", { class: "cell", text: cell })), h("td", { class: "became", text: row.became })));
    return h("div", { class: "table-frame", tabindex: "0", role: "region", "aria-label": "The table" }, h("table", { data: { testid: "preview" } },
      h("thead", {}, h("tr", {}, h("th", { scope: "col", text: "Row" }), h("th", { scope: "col", text: "is" }), ...head, h("th", { scope: "col", text: "Became" }))), h("tbody", {}, ...rows)));
  }

  kindOf(row, at) {
    const kinds = this.page.choices.kinds.map((kind) => [kind.key, kind.words]);
    const own = kinds.some(([key]) => key === row.kind);
    const options = own ? kinds : [["", row.kind_words], ...kinds];
    return selectOf(`Row ${at + 1} is`, options, own ? row.kind : "", (value) => {
      const said = { ...this.said.kinds, [at]: value };
      if (!value) delete said[at];
      return this.say({ kinds: said });
    }, `kind-${at}`, true);
  }

  async store() {
    if (this.waiting) await this.look(true);
    if (this.told.faults.length) return this.page.say("Nothing was stored: mend the faults first.");
    const { ok, said } = await ask("/api/sheets/store", this.page.as, { values: this.told.values, based_on: null });
    if (!ok) return this.page.say(said.message);
    this.page.go("sheet", said.id, "Stored as version 1. Read it through once; Change makes it better.");
  }
}

function selectOf(label, options, value, set, key, bare = false) {
  const made = h("select", { "aria-label": label, data: { testid: key }, onchange: () => set(made.value) },
    ...options.map(([name, words]) => h("option", { value: String(name), text: words, selected: String(name) === String(value) })));
  return bare ? made : h("div", { class: "field" }, h("span", { class: "label", "aria-hidden": "true", text: label }), made);
}

function letter(at) {
  return (at >= 26 ? letter(Math.floor(at / 26) - 1) : "") + String.fromCharCode(65 + (at % 26));
}
