/** The table of an attempt's steps: a column a person, and under a step what was said of it. */
import { reviewAt } from "./chooser.js";
import { h } from "./dom.js";
import { clockText, SIGNS } from "./format.js";

const SURE = ["unsure", "fairly sure", "sure"];

/**
 * @param {{raters: object[], rows: object[], recording: string}} attempt
 * @param {string} code whom one works as
 * @returns {HTMLElement}
 */
export function stepTable(attempt, code) {
  const { raters, rows } = attempt;
  const columns = raters.map((rater) => h("th", { scope: "col", class: `role-${rater.own ? "learner" : rater.role}` }, who(rater)));
  return h("div", { class: "scrolled", tabindex: "0", role: "group", "aria-label": "Grades by step and person" },
    h("table", { class: "grades", data: { testid: "grades" } },
      h("thead", {}, h("tr", {}, h("th", { scope: "col", text: "Step" }), ...columns, h("th", { scope: "col", text: "In the film" }))),
      ...rows.map((row) => body(row, attempt, code))));
}

function who({ code, role, own }) {
  const part = own ? "own" : role;
  return h("span", {}, h("span", { class: "sign", "aria-hidden": "true", text: SIGNS[own ? "learner" : role] }), `${code}, ${part}`);
}

function body(row, attempt, code) {
  const parted = row.parted ? h("span", { class: "parted", text: partedText(row) }) : null;
  const name = h("th", { scope: "row" }, row.title, row.critical ? h("span", { class: "critical", text: "\u25C6 critical" }) : null, parted);
  const seconds = h("td", {}, row.at === null ? h("span", { class: "quiet-line", text: "not marked" }) : second(attempt.recording, code, row.at, row.title));
  const cells = row.grades.map((grade) => h("td", {}, grade ? given(grade) : none(row)));
  const lines = [h("tr", { class: row.parted ? "apart" : null, data: { testid: "step", key: `${row.step}|${row.side ?? ""}` } }, name, ...cells, seconds)];
  if (row.comments.length) {
    const said = row.comments.map((comment) => h("li", { class: comment.reply ? "reply" : null },
      h("b", { text: comment.person }), " ", second(attempt.recording, code, comment.onset_s, `the comment of ${comment.person}`), " ", comment.text));
    lines.push(h("tr", { class: "said" }, h("td", { colspan: String(cells.length + 2) }, h("ul", {}, ...said))));
  }
  return h("tbody", {}, ...lines);
}

function partedText({ levels_apart: apart }) {
  if (!apart) return "\u25B2 part: not judged by all";
  return apart === 1 ? "\u25B2 part by one level" : `\u25B2 part by ${apart} levels`;
}

function given({ word, confidence, judged, before, blind }) {
  const sure = confidence ? SURE[confidence - 1] : "";
  const late = before ? `was ${before} before seeing others'` : blind ? "" : "given after seeing others'";
  return h("span", { class: judged ? "level" : "level unjudged" }, h("b", { text: word }), ...[sure, late].filter(Boolean).map((text) => h("small", { text })));
}

function none({ covered }) {
  return h("span", { class: "quiet-line", text: covered ? "covered or none" : "no grade" });
}

/** A link to a second of the film. */
export function second(recording, code, time, of) {
  return h("a", { href: reviewAt(recording, code, time), text: clockText(time, 1), "aria-label": `${clockText(time, 1)}, ${of}` });
}
