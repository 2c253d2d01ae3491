/** One sheet to read, with what can be done with it. */
import { h } from "./dom.js";
import { ask, counted, places, slug } from "./sheets_ask.js";

export class SheetReading {
  /** @param {object} page @param {object} sheet what `/api/sheet` gives */
  constructor(page, sheet) {
    this.page = page;
    this.sheet = sheet;
    this.title = sheet.title;
    const { values } = sheet;
    this.element = h("div", { class: "reading", data: { testid: "reading" } },
      h("a", { class: "guide", href: places("list"), text: "All checklists" }),
      this.tools(), this.copying(),
      h("p", { class: "summary", text: values.summary }),
      h("p", { class: "quiet-line", text: `${sheet.rule} Grades: ${values.scale.levels.map(worthOf).join("; ")}.` }),
      ...(values.notes ?? []).map((note) => h("p", { class: "quiet-line", text: note })),
      this.graded(), ...values.section.map(sectionOf));
  }

  /** Attempts that were graded with this version: each rater's grades and points, to print. */
  graded() {
    const { graded } = this.sheet;
    if (!graded.length) return null;
    const link = (one, code) => h("a", { class: "plain link", target: "_blank", rel: "noopener", text: code, "aria-label": `Print ${one.name} with the grades of ${code}`,
      href: `/api/paper/${one.id}?by=${encodeURIComponent(code)}&as=${encodeURIComponent(this.page.as)}` });
    return h("details", { class: "graded" }, h("summary", { text: `Print filled: ${counted(graded.length, "graded attempt")}` }),
      h("ul", {}, ...graded.map((one) => h("li", { class: "tools" }, h("span", { text: `${one.name}, attempt ${one.attempt}, as graded by` }), ...one.raters.map((code) => link(one, code))))));
  }

  get newest() {
    return this.sheet.version === this.sheet.stored[0].version;
  }

  tools() {
    const { sheet, page } = this;
    const address = `/api/sheet/${encodeURIComponent(sheet.id)}`;
    const file = (kind, name) => h("a", { class: "plain link", href: `${address}/file/${kind}?version=${sheet.version}`, download: "", text: name });
    const versions = h("select", { "aria-label": "Version", data: { testid: "version" }, onchange: () => { location.hash = `#sheet=${sheet.id}&version=${versions.value}`; } },
      ...sheet.stored.map((one) => h("option", { value: one.version, text: versionText(one), selected: one.version === sheet.version })));
    return h("div", { class: "tools" },
      this.newest && h("button", { class: "strong", type: "button", text: "Change", data: { testid: "change" }, onclick: () => page.go("change", sheet.id) }),
      h("button", { class: "plain", type: "button", text: "Copy", data: { testid: "copy" }, "aria-expanded": "false", onclick: (event) => this.openCopy(event.currentTarget) }),
      h("button", { class: "plain", type: "button", text: sheet.retired ? "Bring back" : "Retire", data: { testid: "retire" }, onclick: () => this.retire() }),
      h("a", { class: "plain link", href: `${address}/paper?version=${sheet.version}`, target: "_blank", rel: "noopener", text: "Print blank", data: { testid: "print" } }),
      h("span", { class: "group", role: "group", "aria-label": "Export as" }, "Export", file("csv", "CSV"), file("xlsx", "XLSX"), file("toml", "TOML")),
      h("label", { class: "who" }, "Version", versions));
  }

  copying() {
    const title = h("input", { value: `${this.sheet.title}, copy`, data: { testid: "copy-title" } });
    const id = h("input", { value: slug(`${this.sheet.id} copy`, "sheet"), data: { testid: "copy-id" } });
    title.addEventListener("input", () => { id.value = slug(title.value, "sheet"); });
    this.copy = h("form", { class: "copying", hidden: true, onsubmit: (event) => {
      event.preventDefault();
      this.store(title.value, id.value);
    } }, h("label", {}, "Name", title), h("label", {}, "Id", id), h("button", { class: "strong", text: "Store the copy", data: { testid: "copy-store" } }));
    return this.copy;
  }

  openCopy(button) {
    this.copy.hidden = !this.copy.hidden;
    button.setAttribute("aria-expanded", String(!this.copy.hidden));
    if (!this.copy.hidden) this.copy.querySelector("input").select();
  }

  async store(title, newId) {
    const { ok, said } = await ask("/api/sheets/copy", this.page.as, { id: this.sheet.id, new_id: newId, title });
    if (!ok) return this.page.say(said.message);
    this.page.go("sheet", said.id, "The copy is stored, as version 1.");
  }

  async retire() {
    const back = Boolean(this.sheet.retired);
    const { ok, said } = await ask("/api/sheets/retire", this.page.as, { id: this.sheet.id, back });
    if (!ok) return this.page.say(said.message);
    this.page.go("sheet", this.sheet.id, back ? "Offered for new attempts again." : "Not offered for new attempts any more. Attempts that have it keep it; it can be brought back.");
  }
}

function versionText(one) {
  const who = [one.by, one.at.slice(0, 10)].filter(Boolean).join(", ");
  return `${one.version}${who ? `: ${who}` : ""} (${counted(one.attempts, "attempt")})`;
}

function worthOf(level) {
  return level.points === undefined ? `${level.word} ${Number((100 * level.share).toFixed(1))} %` : `${level.word} ${level.points}`;
}

function sectionOf(section) {
  const more = [section.weight !== undefined && `weight ${section.weight}`, section.pass_share !== undefined && `${Number((100 * section.pass_share).toFixed(1))} % to pass`, section.limit_s && `at most ${section.limit_s} s`].filter(Boolean);
  return h("section", { class: "sheet-section" }, h("h2", { class: "part-title", text: [section.title, ...more].join(", ") }),
    h("ol", { class: "sheet-steps" }, ...section.step.map(stepOf)));
}

function stepOf(step) {
  const facts = [counted(step.points, "point"), step.weight && `counts ${step.weight} times`, step.critical && "critical", (step.sides ?? []).join(" and "), step.limit_s && `at most ${step.limit_s} s`].filter(Boolean);
  const line = (word, text) => text && h("p", { class: word.toLowerCase() }, h("b", { text: `${word} ` }), text);
  return h("li", { data: { testid: "sheet-step" } },
    h("div", { class: "step-head" }, h("h3", { text: step.title }), h("p", { class: "facts" }, ...facts.map((text) => h("span", { class: text === "critical" ? "critical" : "", text })))),
    step.action !== step.title && h("p", { text: step.action }),
    line("Expected", step.expected), line("Say", (step.finding ?? []).map((text) => `\u201c${text}\u201d`).join("; ")),
    step.criteria && h("ul", { class: "criteria" }, ...step.criteria.map((one) => h("li", { text: one.points === undefined ? one.text : `${one.text} (${counted(one.points, "point")})` }))),
    line("Caution", step.caution));
}
