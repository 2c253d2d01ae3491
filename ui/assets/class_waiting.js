/** Attempts that wait for an instructor's grade, those that wait longest first. */
import { dayText, reviewAt } from "./chooser.js";
import { h } from "./dom.js";

/** @param {object} told @param {object} page @returns {(HTMLElement|null)[]} */
export function waitingPanel({ waiting }, page) {
  const text = waiting.length
    ? "At any sheet, those that wait longest first. An attempt leaves this list with the first grade that an instructor gives it."
    : "Nothing waits: every attempt has an instructor's grade.";
  return [
    h("div", { class: "panel-head" }, h("p", { class: "quiet-line", text }), page.file("waiting", "What waits")),
    waiting.length ? table(waiting, page.as) : null,
  ].filter(Boolean);
}

function table(rows, code) {
  const head = ["Waits for", "Learner", "Attempt", "Recording", "State"].map((text) => h("th", { scope: "col", text }));
  return h("div", { class: "scrolled", tabindex: "0", role: "group", "aria-label": "Attempts that wait" },
    h("table", { class: "grades", data: { testid: "waiting" } }, h("thead", {}, h("tr", {}, ...head)), h("tbody", {}, ...rows.map((row) => line(row, code)))));
}

function line({ recording, name, learner, attempt, since, days, words }, code) {
  return h("tr", { data: { testid: "waits", id: recording } },
    h("td", {}, h("b", { text: daysText(days) }), h("small", { text: `since ${dayText(since)}` })),
    h("th", { scope: "row", text: learner }), h("td", { text: String(attempt) }),
    h("td", {}, h("a", { href: reviewAt(recording, code), text: name, "aria-label": `Review ${name}, ${learner}, attempt ${attempt}` })),
    h("td", { text: words }));
}

/** @param {number} days @returns {string} */
export function daysText(days) {
  return days === 0 ? "today" : days === 1 ? "1 day" : `${days} days`;
}
