/** Attempts that wait for an instructor's grade, those that wait longest first; several are asked of somebody at once. */
import { dayText, reviewAt } from "./chooser.js";
import { h, setText } from "./dom.js";

/** @param {object} told @param {object} page @returns {(HTMLElement|null)[]} */
export function waitingPanel({ waiting, instructors }, page) {
  const text = waiting.length
    ? "At any sheet, those that wait longest first. An attempt waits as long as an instructor who was asked has given it no grade; where nobody was asked, as long as no instructor has."
    : "Nothing waits: every attempt has a grade of the instructor who was asked.";
  const head = h("div", { class: "panel-head" }, h("p", { class: "quiet-line", text }), page.file("waiting", "What waits"));
  if (!waiting.length) return [head];
  const boxes = waiting.map((row) => h("input", { type: "checkbox", value: row.recording, "aria-label": `Choose ${row.learner}, attempt ${row.attempt}`, data: { testid: "choose" } }));
  return [head, asking(boxes, instructors, page), table(waiting, boxes, page.as)];
}

/** Whom to ask for the chosen attempts. */
function asking(boxes, instructors, page) {
  const chosen = () => boxes.filter((box) => box.checked);
  const whom = h("select", { data: { testid: "whom" } }, h("option", { value: "", text: "at random, evenly" }), ...instructors.map((code) => h("option", { value: code, text: code })));
  const ask = h("button", { type: "button", class: "strong", data: { testid: "ask" }, onclick: () =>
    page.deed("/api/class/assign", { recordings: chosen().map((box) => box.value), code: whom.value || null }) });
  const all = h("input", { type: "checkbox", data: { testid: "choose-all" }, onchange: () => {
    for (const box of boxes) box.checked = all.checked;
    count();
  } });
  const count = () => {
    const number = chosen().length;
    setText(ask, !number ? "Choose attempts first" : number === 1 ? "Ask for 1 attempt" : `Ask for ${number} attempts`);
    ask.disabled = !number;
    all.checked = number === boxes.length;
  };
  for (const box of boxes) box.addEventListener("change", count);
  count();
  return h("div", { class: "asking", role: "group", "aria-label": "Ask instructors to grade" },
    h("label", { class: "who" }, all, "all"), h("label", { class: "who" }, "Ask", whom), ask);
}

function table(rows, boxes, code) {
  const heads = ["Waits", "Learner", "Attempt", "Recording", "Of whom"].map((text) => h("th", { scope: "col", text }));
  return h("div", { class: "scrolled", tabindex: "0", role: "group", "aria-label": "Attempts that wait" },
    h("table", { class: "grades waiting-table", data: { testid: "waiting" } },
      h("thead", {}, h("tr", {}, h("td", {}), ...heads)), h("tbody", {}, ...rows.map((row, at) => line(row, boxes[at], code)))));
}

function line({ recording, name, learner, attempt, since, days, words }, box, code) {
  return h("tr", { data: { testid: "waits", id: recording } },
    h("td", {}, box),
    h("td", {}, h("b", { text: daysText(days) }), h("small", { text: `since ${dayText(since)}` })),
    h("th", { scope: "row", text: learner }), h("td", { text: String(attempt) }),
    h("td", {}, h("a", { href: reviewAt(recording, code), text: name, "aria-label": `Review ${name}, ${learner}, attempt ${attempt}` })),
    h("td", { text: words }));
}

/** @param {number} days @returns {string} */
export function daysText(days) {
  return days === 0 ? "today" : days === 1 ? "1 day" : `${days} days`;
}
