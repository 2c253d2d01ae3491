/** Where the line would lie on the sheet: two methods, what they rest on, and one's own part in them. */
import { reviewAt, sentences } from "./chooser.js";
import { h } from "./dom.js";

/** @param {object} told @param {object} page @returns {HTMLElement[]} */
export function cutPanel({ cut, sheet, course }, page) {
  const head = h("div", { class: "panel-head" }, h("p", { class: "quiet-line", text: cut ? cut.caution : "Nothing at this sheet is graded yet, as far as you may see." }), page.file("cut", "Cut scores"));
  if (!cut) return [head];
  return [head, h("div", { class: "halves cuts" }, regression(cut, page), angoff(cut, sheet, course, page))];
}

function regression({ regression: told, rated, levels }, page) {
  const rows = rated.map((row) => h("tr", {},
    h("th", { scope: "row", text: row.learner }),
    h("td", {}, h("a", { href: reviewAt(row.recording, page.as), text: `Attempt ${row.attempt}`, "aria-label": `Review attempt ${row.attempt} of ${row.learner}` })),
    h("td", {}, rating(row, levels, page))));
  return h("section", { class: "box", "aria-label": "Borderline regression", data: { testid: "regression" } }, h("h2", { text: "Borderline regression" }),
    sentences(told.words, "sentences strong-first"),
    h("p", { class: "quiet-line", text: "A straight line of points on overall ratings; the cut is where it meets “borderline”. Say of each attempt you graded how it was as a whole, without looking at its points." }),
    rows.length ? h("div", { class: "long", tabindex: "0", role: "group", "aria-label": "Overall ratings" }, h("table", { class: "counts" },
      h("thead", {}, h("tr", {}, ...["Learner", "Attempt", "As a whole"].map((text) => h("th", { scope: "col", text })))), h("tbody", {}, ...rows)))
      : h("p", { text: "You have graded none of the attempts that count." }));
}

function rating({ recording, learner, rating: own }, levels, page) {
  const choice = h("select", { "aria-label": `${learner} as a whole`, data: { testid: "rating" }, onchange: () =>
    page.deed("/api/class/rate", { recording, rating: choice.value ? Number(choice.value) : null }) },
    h("option", { value: "", text: "no rating" }), ...levels.map((one) => h("option", { value: String(one.rating), text: `${one.rating} ${one.words}`, selected: one.rating === own })));
  return choice;
}

function angoff({ angoff: told, expected }, sheet, course, page) {
  const inputs = expected.map((row) => h("input", { type: "number", min: "0", max: "100", step: "5", value: row.chance === null ? "" : String(Math.round(row.chance)), "aria-label": `${row.title}, percent`, data: { testid: "chance" } }));
  const store = h("button", { type: "button", class: "strong", text: "Store these chances", data: { testid: "store-chances" }, onclick: () => {
    const chances = expected.flatMap(({ step, side }, at) => (inputs[at].value === "" ? [] : [{ step, side, percent: Number(inputs[at].value) }]));
    page.deed("/api/class/expect", { course, checklist: sheet.id, chances });
  } });
  const rows = expected.map((row, at) => h("tr", {}, h("th", { scope: "row", text: row.title }), h("td", { text: String(row.points) }), h("td", {}, inputs[at], " %")));
  return h("section", { class: "box", "aria-label": "Angoff", data: { testid: "angoff" } }, h("h2", { text: "Angoff" }),
    sentences(told.words, "sentences strong-first"),
    h("p", { class: "quiet-line", text: "Think of a learner of whom one cannot say whether it is enough: of a hundred such, how many do this step fully? The cut is the mean over judges of the points that gives; who judged every step counts." }),
    h("div", { class: "long", tabindex: "0", role: "group", "aria-label": "Chances of a borderline learner" }, h("table", { class: "counts" },
      h("thead", {}, h("tr", {}, ...["Step", "Points", "Done fully"].map((text) => h("th", { scope: "col", text })))), h("tbody", {}, ...rows))),
    h("div", {}, store));
}
