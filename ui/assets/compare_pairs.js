/** Cards that tell how alike people grade: counts, a bar with the interval, then the coefficient. */
import { sentences } from "./chooser.js";
import { h } from "./dom.js";
import { SIGNS } from "./format.js";
import { s } from "./sparkline.js";

const WIDTH = 254;

/** @param {object[]} pairs @param {object|null} everybody @returns {HTMLElement} */
export function pairCards(pairs, everybody) {
  const all = everybody && card("All together", everybody, []);
  return h("div", { class: "cards" }, ...pairs.map((pair) => card(pairTitle(pair.people), pair, pair.left_out, pair)), all);
}

function pairTitle(people) {
  return people.map(({ code, role }) => `${SIGNS[role]} ${code}`).join(" and ");
}

function card(title, told, leftOut, pair = null) {
  return h("article", { class: "card", data: { testid: "pair" } }, h("h3", { text: title }), told.share.value === null ? null : shareBar(told.share),
    sentences([...told.words, ...(pair?.totals.words ?? [])], "sentences strong-first"),
    leftOut.length ? sentences(leftOut, "sentences quiet-line") : null, pair?.of ? crossTable(pair) : null);
}

/** A share between none and all, with its interval where it has one. */
function shareBar({ value, low, high }) {
  const x = (share) => (share * WIDTH).toFixed(1);
  const parts = [s("rect", { class: "rail", x: 0, y: 5, width: WIDTH, height: 6, rx: 3 })];
  if (low !== null) parts.push(s("rect", { class: "span", x: x(low), y: 5, width: x(high - low), height: 6, rx: 3 }));
  parts.push(s("rect", { class: "point", x: x(value) - 2, y: 1, width: 4, height: 14, rx: 1 }));
  const words = `Raw agreement ${Math.round(100 * value)} %${low === null ? "" : `, 95 % ${Math.round(100 * low)} to ${Math.round(100 * high)} %`}`;
  return h("div", { class: "share" }, s("svg", { viewBox: `-3 0 ${WIDTH + 6} 16`, preserveAspectRatio: "xMinYMid", role: "img", "aria-label": words }, ...parts),
    h("span", { class: "ends", "aria-hidden": "true" }, h("span", { text: "none alike" }), h("span", { text: "all alike" })));
}

/** The counts behind it: rows the first one's grades, columns the other one's. */
function crossTable({ people: [first, second], levels, table }) {
  const head = h("tr", {}, h("th", { scope: "col", text: `${first.code} \\ ${second.code}` }), ...levels.map((word) => h("th", { scope: "col", text: word })));
  const rows = table.map((counts, row) => h("tr", {}, h("th", { scope: "row", text: levels[row] }),
    ...counts.map((count, column) => h("td", { class: row === column ? "same" : null, text: String(count) }))));
  return h("details", {}, h("summary", { text: "Counts by grade" }),
    h("table", { class: "counts" }, h("caption", { text: `Rows ${first.code}, columns ${second.code}` }), h("thead", {}, head), h("tbody", {}, ...rows)));
}
