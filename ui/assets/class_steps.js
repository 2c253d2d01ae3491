/** The steps of a sheet over a class: how often each was done fully, how well it separates, how alike it is graded. */
import { h } from "./dom.js";
import { s } from "./sparkline.js";

const WIDTH = 96;
const HEADS = { fully: "Done fully", partly: "Partly", "not done": "Not done", "not assessable": "Not assessable" };
const ORDERS = [
  ["sheet", "as on the sheet"], ["fully", "least often done fully first"], ["separates", "separates least first"],
  ["unseen", "most often not assessable first"], ["apart", "graded least alike first"],
];

/** @param {object} told @param {object} page @returns {HTMLElement[]} */
export function stepsPanel({ steps, sheet, which }, page) {
  const order = h("select", { data: { testid: "order" }, onchange: () => {
    page.order = order.value;
    body.replaceChildren(...lines(steps, page.order));
  } }, ...ORDERS.map(([value, text]) => h("option", { value, text, selected: value === page.order })));
  const body = h("tbody", {}, ...lines(steps, page.order ?? "sheet"));
  const kinds = steps[0]?.kinds.map((one) => one.kind) ?? [];
  const heads = ["Step", ...kinds.map((kind) => HEADS[kind]), "Mean points", "Separates", "Graded alike"];
  const notes = h("details", {}, h("summary", { text: "What the columns say" }), h("ul", { class: "sentences rule" }, ...NOTES.map((text) => h("li", { text }))));
  return [
    h("div", { class: "panel-head" }, h("label", { class: "who" }, "Order", order), h("span", { class: "files-of" }, page.file("steps", "Steps"), page.file("codebook", "Codebook"))),
    notes,
    steps.length ? h("div", { class: "scrolled", tabindex: "0", role: "group", "aria-label": `Steps of ${sheet.title}, ${which}` },
      h("table", { class: "grades step-table", data: { testid: "steps" } }, h("thead", {}, h("tr", {}, ...heads.map((text) => h("th", { scope: "col", text })))), body))
      : h("p", { data: { testid: "no-steps" }, text: "No attempt at this sheet has an instructor's grade that you may see yet." }),
  ];
}

const NOTES = [
  "Shares are of all grades of the step, with Wilson's 95 % interval: fully is the best level of the scale, not done the lowest, partly what lies between.",
  "Mean points: the mean share of the step's points where it could be judged.",
  "Separates: the correlation of the step with the rest of the sheet. Near 0 or below, those who do the rest well do not do this step better: its words may be unclear, or everybody does it alike.",
  "Graded alike: pairs of instructors' grades of one attempt, each given before seeing the other's, that are the same; over all attempts.",
];

function lines(steps, order) {
  const keyed = { fully: (row) => kindOf(row, "fully").share ?? 2, separates: (row) => row.discrimination.value ?? 2, unseen: (row) => -(kindOf(row, "not assessable").share ?? -1), apart: (row) => (row.of ? row.agreed / row.of : 2) };
  const by = keyed[order];
  const rows = by ? steps.toSorted((one, other) => by(one) - by(other)) : steps;
  let section = "";
  return rows.flatMap((row) => {
    const begun = by || row.section === section ? [] : [h("tr", { class: "section" }, h("th", { scope: "colgroup", colspan: String(row.kinds.length + 4), text: row.section }))];
    section = row.section;
    return [...begun, line(row)];
  });
}

function kindOf(row, kind) {
  return row.kinds.find((one) => one.kind === kind);
}

function line(row) {
  const covered = row.covered ? h("small", { text: row.covered === 1 ? "1 grade covered" : `${row.covered} grades covered` }) : null;
  return h("tr", { data: { testid: "class-step", key: `${row.step}|${row.side ?? ""}` } },
    h("th", { scope: "row" }, row.title, row.critical ? h("span", { class: "critical", text: "\u25C6 critical" }) : null, covered),
    ...row.kinds.map((one) => h("td", {}, share(one, row.graded))),
    h("td", { text: row.mean === null ? "none" : percent(row.mean) }),
    h("td", {}, separates(row.discrimination)),
    h("td", { text: row.of ? `${row.agreed} of ${row.of}` : "no pair" }));
}

function percent(value) {
  return `${Math.round(100 * value)} %`;
}

/** A share with its count and interval; of the first kind with a bar as well. */
function share({ kind, count, share: value, low, high }, graded) {
  if (!graded) return h("span", { class: "quiet-line", text: "no grade" });
  const words = h("small", { text: `${count} of ${graded}, ${Math.round(100 * low)} to ${percent(high)}` });
  return h("span", { class: "share-cell" }, h("b", { text: percent(value) }), kind === "fully" ? bar(value, low, high) : null, words);
}

function bar(value, low, high) {
  const x = (part) => (part * WIDTH).toFixed(1);
  return s("svg", { viewBox: `-2 0 ${WIDTH + 4} 12`, class: "bar", "aria-hidden": "true" },
    s("rect", { class: "rail", x: 0, y: 4, width: WIDTH, height: 4, rx: 2 }),
    s("rect", { class: "span", x: x(low), y: 4, width: x(high - low), height: 4, rx: 2 }),
    s("rect", { class: "point", x: x(value) - 1.5, y: 0, width: 3, height: 12, rx: 1 }));
}

function separates({ value, low, high, count, note }) {
  if (value === null) return h("span", { class: "quiet-line", text: note });
  const interval = low === null ? note : `${low.toFixed(2)} to ${high.toFixed(2)}, ${count} attempts`;
  return h("span", { class: "share-cell" }, h("b", { text: value.toFixed(2) }), h("small", { text: interval }));
}
