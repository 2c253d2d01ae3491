/** Where each learner stands by the sheet's own rule, in the newest attempt that instructors graded. */
import { dayText, reviewAt } from "./chooser.js";
import { h } from "./dom.js";

const LOOKS = { passed: ["good", "\u2713"], "not passed": ["off", "\u25B2"], open: ["unknown", "?"], "no rule": ["unknown", "\u2013"] };
const FILTERS = [
  ["everybody", () => true], ["not passing yet", (row) => row.outcome === "not passed"], ["critical step missed", (row) => row.critical.length > 0],
  ["passing", (row) => row.outcome === "passed"], ["open or not graded", (row) => row.outcome !== "passed" && row.outcome !== "not passed"],
];

/** @param {object} told @param {object} page @returns {HTMLElement[]} */
export function learnersPanel({ learners }, page) {
  const chosen = () => learners.filter(FILTERS.find(([name]) => name === (page.filter ?? "everybody"))[1]);
  const filter = h("select", { data: { testid: "learner-filter" }, onchange: () => {
    page.filter = filter.value;
    body.replaceChildren(...lines(chosen(), page.as));
  } }, ...FILTERS.map(([name, fits]) => h("option", { value: name, text: `${name} (${learners.filter(fits).length})`, selected: name === page.filter })));
  const body = h("tbody", {}, ...lines(chosen(), page.as));
  const heads = ["Learner", "By the sheet's rule", "Points of 100", "What is missing", "Last passed", "Attempts"].map((text) => h("th", { scope: "col", text }));
  return [
    h("div", { class: "panel-head" }, h("label", { class: "who" }, "Show", filter), page.file("learners", "Learners")),
    h("p", { class: "quiet-line", text: "What is, by the newest attempt that instructors graded; never what will be. The course's own rules and the instructor decide who is ready." }),
    h("div", { class: "scrolled", tabindex: "0", role: "group", "aria-label": "Where each learner stands" },
      h("table", { class: "grades learner-table", data: { testid: "learners" } }, h("thead", {}, h("tr", {}, ...heads)), body)),
  ];
}

function lines(rows, code) {
  if (!rows.length) return [h("tr", {}, h("td", { colspan: "6", text: "Nobody." }))];
  return rows.map((row) => h("tr", { data: { testid: "class-learner", key: row.learner } },
    h("th", { scope: "row" }, row.learner),
    h("td", {}, stands(row, code)), h("td", { text: points(row) }), h("td", {}, missing(row)),
    h("td", {}, row.last_good ? h("span", {}, `Attempt ${row.last_good.attempt}`, h("small", { text: dayText(row.last_good.day) })) : h("span", { class: "quiet-line", text: row.outcome ? "never" : "" })),
    h("td", {}, String(row.attempts), row.waits ? h("small", { text: row.waits === 1 ? "1 waits" : `${row.waits} wait` }) : null)));
}

function stands(row, code) {
  if (!row.outcome) return h("span", { class: "quiet-line", text: row.covered ? `covered (${row.covered})` : "not graded yet" });
  const [look, sign] = LOOKS[row.outcome];
  return h("a", { class: `result ${look}`, href: reviewAt(row.recording, code) }, h("span", { class: "mark", "aria-hidden": "true", text: sign }), row.stands,
    h("small", { text: `attempt ${row.attempt}, ${dayText(row.day)}` }));
}

function points({ least, most }) {
  if (least === null) return "";
  const [low, high] = [Math.floor(least + 1e-9), Math.floor(most + 1e-9)];
  return low === high ? String(low) : `${low} to ${high}`;
}

function missing(row) {
  const missed = row.critical.map((title) => h("li", { class: "missed", text: `\u25C6 Critical step missed: ${title}` }));
  const other = row.missing.filter((text) => !text.startsWith("Critical step missed: ")).map((text) => h("li", { text }));
  if (!row.outcome) return h("span", { class: "quiet-line", text: row.words });
  if (!missed.length && !other.length) return h("span", { class: "quiet-line", text: "nothing" });
  const all = [...missed, ...other];
  if (all.length <= 3) return h("ul", { class: "lacks" }, ...all);
  return h("div", {}, h("ul", { class: "lacks" }, ...all.slice(0, 2)), h("details", {}, h("summary", { text: `${all.length - 2} more` }), h("ul", { class: "lacks" }, ...all.slice(2))));
}
