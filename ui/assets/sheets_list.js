/** All sheets as rows: those offered for new attempts first, retired ones below. */
import { h } from "./dom.js";
import { counted, places } from "./sheets_ask.js";

export class SheetList {
  /** @param {object} page @param {object[]} sheets */
  constructor(page, sheets) {
    const tools = h("div", { class: "tools" },
      h("button", { class: "strong", type: "button", text: "New checklist", data: { testid: "new" }, onclick: () => page.go("new") }),
      h("button", { class: "plain", type: "button", text: "Import from a spreadsheet", data: { testid: "import" }, onclick: () => page.go("import") }),
      h("p", { class: "quiet-line", text: "A checklist is the sheet an attempt is marked and graded against. A stored version never changes." }));
    const offered = sheets.filter((sheet) => !sheet.retired);
    const retired = sheets.filter((sheet) => sheet.retired);
    this.element = h("div", {}, tools,
      offered.length ? listOf("Offered for new attempts", offered) : h("p", { text: "No checklist is offered. Make a new one, import one, or bring a retired one back." }),
      retired.length > 0 && h("h2", { class: "part-title", text: "Retired: not offered, kept by the attempts that have them" }),
      retired.length > 0 && listOf("Retired", retired));
  }
}

function listOf(name, sheets) {
  return h("ol", { class: "sheet-rows", "aria-label": name }, ...sheets.map((sheet) => h("li", { class: "sheet-row", data: { testid: "sheet", id: sheet.id } },
    h("div", {},
      h("h2", {}, h("a", { class: "name", href: places("sheet", sheet.id), text: sheet.title })),
      h("p", { class: "facts" },
        h("span", { text: counted(sheet.steps, "step") }), h("span", { text: counted(sheet.points, "point") }),
        sheet.critical > 0 && h("span", { text: `${sheet.critical} critical` }), h("span", { text: sheet.scale.join(" / ") }),
        h("span", { text: `version ${sheet.version}` }), h("span", { text: counted(sheet.attempts, "attempt") })),
      h("p", { class: "summary", text: sheet.summary })),
    h("p", { class: "quiet-line rule", text: sheet.rule }))));
}
