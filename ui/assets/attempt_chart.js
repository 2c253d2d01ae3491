/** A small chart of points over attempts: one or two series, each with a sign of its own. */
import { h } from "./dom.js";
import { SIGNS } from "./format.js";
import { s } from "./sparkline.js";

const SIZE = { width: 360, height: 150, left: 30, right: 12, top: 12, bottom: 22 };

/**
 * @param {string} title
 * @param {number[]} attempts their numbers
 * @param {{name: string, look: string, points: (number|null)[]}[]} series points of 100, by attempt
 * @returns {HTMLElement}
 */
export function attemptChart(title, attempts, series) {
  const { width, height, left, right, top, bottom } = SIZE;
  const x = (place) => (attempts.length === 1 ? (left + width - right) / 2 : left + ((width - left - right) * place) / (attempts.length - 1));
  const y = (points) => top + (height - top - bottom) * (1 - points / 100);
  const told = series.map(({ name, points }) => `${name}: ${points.map((one, at) => (one === null ? `attempt ${attempts[at]} none` : `attempt ${attempts[at]} ${Math.round(one)}`)).join(", ")}`);
  const drawing = s("svg", { viewBox: `0 0 ${width} ${height}`, role: "img", "aria-label": `${title}. ${told.join(". ")}` });
  for (const grid of [0, 50, 100]) {
    drawing.append(s("line", { class: "grid", x1: left, x2: width - right, y1: y(grid), y2: y(grid) }), text(grid, left - 6, y(grid) + 4, "end"));
  }
  attempts.forEach((number, place) => drawing.append(text(number, x(place), height - 6, "middle")));
  series.forEach(({ look, points }) => drawing.append(...courseOf(look, points, x, y)));
  const named = series.filter(({ name }) => name).map(({ name, look }) =>
    h("span", { class: `role-${look}` }, h("span", { class: "sign", "aria-hidden": "true", text: SIGNS[look] }), name));
  return h("figure", { class: "chart" }, drawing, h("figcaption", {}, h("span", { text: title }), ...named));
}

function courseOf(look, points, x, y) {
  const known = points.map((one, place) => [place, one]).filter(([, one]) => one !== null);
  const path = known.map(([place, one], at) => `${at ? "L" : "M"}${x(place).toFixed(1)} ${y(one).toFixed(1)}`).join(" ");
  return [s("path", { class: `course look-${look}`, d: path || "M0 0" }), ...known.map(([place, one]) => sign(look, x(place), y(one)))];
}

function sign(look, x, y) {
  const shapes = { learner: "M-5 0 a5 5 0 1 0 10 0 a5 5 0 1 0 -10 0", peer: "M0 -6 L6 0 L0 6 L-6 0 Z", instructor: "M0 -6 L6 5 L-6 5 Z" };
  return s("path", { class: `dot look-${look}`, d: shapes[look], transform: `translate(${x.toFixed(1)} ${y.toFixed(1)})` });
}

function text(words, x, y, anchor) {
  const element = s("text", { x: x.toFixed(1), y: y.toFixed(1), "text-anchor": anchor });
  element.textContent = String(words);
  return element;
}
