/** A small curve in a row: the step's first measure over its own seconds; what cannot be used is hatched. */
import { numberText } from "./format.js";
import { h } from "./dom.js";

const SVG = "http://www.w3.org/2000/svg";
const HEIGHT = 24;
let patterns = 0;

/** @param {string} tag @param {Record<string, any>} props @param {...Node} children @returns {SVGElement} */
export function s(tag, props = {}, ...children) {
  const element = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(props)) element.setAttribute(name, String(value));
  element.append(...children);
  return element;
}

/**
 * Runs of points that are there, and of those that are not.
 * @param {(number|null)[]} points
 * @returns {{there: boolean, from: number, to: number}[]} `to` is one behind the last
 */
export function runsOf(points) {
  const runs = [];
  points.forEach((point, at) => {
    const there = point !== null;
    if (runs.length && runs.at(-1).there === there) runs.at(-1).to = at + 1;
    else runs.push({ there, from: at, to: at + 1 });
  });
  return runs;
}

/** What the curve shows, in words. @param {object} spark @returns {string} */
export function sparkWords({ title, column, unit, points, why }) {
  const known = points.filter((point) => point !== null);
  const share = Math.round((100 * (points.length - known.length)) / points.length);
  const said = unit ? ` ${unit}` : "";
  const range = known.length ? `from ${numberText(Math.min(...known))} to ${numberText(Math.max(...known))}${said}` : "nothing usable";
  const missing = share ? `, ${share} % unusable${why ? `: ${why}` : ""}` : "";
  return `${title}${column ? `, ${column}` : ""}: ${range}${missing}`;
}

/**
 * Make the small curve.
 * @param {{title: string, column: string, unit: string, points: (number|null)[], low: number|null, high: number|null, why: string}} spark
 * @returns {HTMLElement}
 */
export function sparkline(spark) {
  const { points, low, high } = spark;
  const known = points.filter((point) => point !== null);
  const ends = [...known, ...[low, high].filter((end) => end !== null)];
  const [least, most] = ends.length ? [Math.min(...ends), Math.max(...ends)] : [0, 1];
  const span = most - least || 1;
  const y = (value) => HEIGHT - 2 - ((value - least) / span) * (HEIGHT - 4);
  const name = `hatch-${++patterns}`;
  const drawing = s("svg", { class: "spark-line", viewBox: `0 0 ${points.length} ${HEIGHT}`, preserveAspectRatio: "none", role: "img", "aria-label": sparkWords(spark) });
  drawing.append(hatch(name), ...band(low, high, y, points.length));
  for (const run of runsOf(points)) {
    if (run.there) drawing.append(line(points, run, y));
    else drawing.append(s("rect", { class: "unusable", x: run.from, y: 0, width: run.to - run.from, height: HEIGHT, fill: `url(#${name})` }));
  }
  return h("figure", { class: "spark", title: sparkWords(spark), data: { testid: "spark" } }, drawing, h("figcaption", { text: spark.title }));
}

function hatch(name) {
  return s("defs", {}, s("pattern", { id: name, width: 1.2, height: 6, patternUnits: "userSpaceOnUse" },
    s("path", { class: "hatch", d: "M0 6 L1.2 0", "vector-effect": "non-scaling-stroke" })));
}

function band(low, high, y, width) {
  if (low === null && high === null) return [];
  const [top, bottom] = [high === null ? 0 : Math.max(0, y(high)), low === null ? HEIGHT : Math.min(HEIGHT, y(low))];
  return [s("rect", { class: "target", x: 0, y: top, width, height: Math.max(0.8, bottom - top) })];
}

function line(points, run, y) {
  const at = (place) => `${(place + 0.5).toFixed(2)} ${y(points[place]).toFixed(2)}`;
  const places = Array.from({ length: run.to - run.from }, (_, step) => run.from + step);
  const single = places.length === 1 ? ` l0.4 0` : "";
  return s("path", { class: "course", d: `M${places.map(at).join(" L")}${single}`, "vector-effect": "non-scaling-stroke" });
}
