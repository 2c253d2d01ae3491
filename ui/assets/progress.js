/** The Progress page: what to practise next and why, attempts over time, and every step by attempt. */
import { attemptChart } from "./attempt_chart.js";
import { dayText, emptyPage, heading, reviewAt } from "./chooser.js";
import { h, redrawn } from "./dom.js";
import { clockText, SIGNS } from "./format.js";

const FIRST_SHOWN = 5;

export default redrawn("[data-progress]", (data, set) => {
  const wish = (asked) => set("wish", { ...asked, at: Date.now() });
  return [heading("Progress", data, wish), ...(data.empty ? [emptyPage(data.empty)] : content(data))];
});

function content(data) {
  return [
    h("p", { class: "lead", text: data.notice }),
    h("div", { class: "halves" },
      h("section", { class: "main", "aria-label": "What to practise next" }, h("h2", { text: "What to practise next" }), ...plan(data)),
      h("div", { class: "aside" }, overTime(data))),
    matrix(data),
  ];
}

function plan({ next, later, untried, rule, me }) {
  const first = next.slice(0, FIRST_SHOWN);
  const more = [...next.slice(FIRST_SHOWN), ...later];
  const parts = [first.length
    ? h("ol", { class: "plan", data: { testid: "next" } }, ...first.map((one) => practice(one, me.code)))
    : h("p", { text: later.length ? `Nothing is due today. Next is ${later[0].title}, ${later[0].due}.` : "Nothing graded is due." })];
  if (more.length) {
    parts.push(h("details", { data: { testid: "later" } }, h("summary", { text: more.length === 1 ? "1 further step" : `${more.length} further steps` }),
      h("ol", { class: "plan" }, ...more.map((one) => practice(one, me.code)))));
  }
  if (untried.length) {
    parts.push(h("details", { data: { testid: "untried" } }, h("summary", { text: untried.length === 1 ? "1 step has no grade in any attempt" : `${untried.length} steps have no grade in any attempt` }),
      h("p", { text: untried.join("; ") })));
  }
  return [...parts, h("details", {}, h("summary", { text: "How this is chosen" }), h("p", { class: "rule", text: rule }))];
}

function practice({ title, critical, due, why, caution, recording, attempt, at }, code) {
  const where = at === null ? `attempt ${attempt}` : `attempt ${attempt}, ${clockText(at, 1)}`;
  return h("li", {},
    h("div", { class: "plan-head" }, h("b", { text: title }), critical ? h("span", { class: "critical", text: "\u25C6 critical" }) : null,
      h("span", { class: "due", text: due })),
    h("p", {}, why.join(" "), " ", h("a", { href: reviewAt(recording, code, at), text: `See ${where}`, "aria-label": `See ${where}: ${title}` })),
    h("p", { class: "caution-line" }, h("span", { class: "caution-sign", "aria-hidden": "true", text: "!" }), caution));
}

function overTime({ attempts, covered }) {
  const series = [{ name: "", look: "learner", points: attempts.map((one) => one.points) }];
  const rows = attempts.toReversed().map((one) => h("tr", {}, h("th", { scope: "row", text: `${one.attempt}, ${dayText(one.added)}` }),
    h("td", { text: one.points === null ? "no points" : `${Math.round(one.points)} of 100` }), h("td", { text: `${one.steps} of ${one.of}` }), h("td", { text: one.by.join(", ") })));
  return h("section", { class: "box", "aria-label": "Attempts over time" }, h("h2", { text: "Attempts over time" }),
    attemptChart("Points of 100 on the steps that are graded", attempts.map((one) => one.attempt), series),
    h("table", { class: "counts" }, h("thead", {}, h("tr", {}, ...["Attempt", "Points", "Steps graded", "By"].map((text) => h("th", { scope: "col", text })))), h("tbody", {}, ...rows)),
    h("p", { class: "quiet-line", text: "The instructor's grade counts, else a peer's, else one's own. Attempts in which other steps were graded cannot be compared by their points." }),
    covered ? h("p", { class: "quiet-line", text: covered === 1 ? "1 grade of others is covered until you have graded the step yourself." : `${covered} grades of others are covered until you have graded the steps yourself.` }) : null);
}

function matrix({ rows, attempts, me }) {
  const columns = attempts.map((one) => h("th", { scope: "col" }, `Attempt ${one.attempt}`, h("small", { text: dayText(one.added) })));
  let section = "";
  const lines = rows.flatMap((row) => {
    const line = h("tr", {}, h("th", { scope: "row" }, row.title, row.critical ? h("span", { class: "critical", text: "\u25C6 critical" }) : null), ...row.cells.map((one) => h("td", {}, cell(one, row.title, me.code))));
    const started = row.section === section ? [] : [h("tr", { class: "section" }, h("th", { scope: "colgroup", colspan: String(attempts.length + 1), text: row.section }))];
    section = row.section;
    return [...started, line];
  });
  return h("section", { "aria-label": "Step by step" }, h("h2", { text: "Step by step" }),
    h("div", { class: "scrolled", tabindex: "0", role: "group", "aria-label": "Grades by step and attempt" },
      h("table", { class: "grades course-table", data: { testid: "course" } }, h("thead", {}, h("tr", {}, h("th", { scope: "col", text: "Step" }), ...columns)), h("tbody", {}, ...lines))));
}

function cell(one, title, code) {
  if (!one) return h("span", { class: "quiet-line", text: "no grade" });
  const look = one.own ? "learner" : one.role;
  const part = one.own ? "own" : one.role;
  const sign = one.share === null ? "?" : one.share >= 1 ? "\u2713" : one.share > 0 ? "\u25D0" : "\u2717";
  return h("a", { class: `result ${one.share === null ? "unknown" : one.share >= 1 ? "good" : "off"}`, href: reviewAt(one.recording, code, one.at), "aria-label": `${title}: ${one.word}, ${one.person}, ${part}` },
    h("span", { class: "mark", "aria-hidden": "true", text: sign }), one.word, h("small", { class: `role-${look}` }, h("span", { class: "sign", "aria-hidden": "true", text: SIGNS[look] }), one.person));
}
