/** Draws landmarks and constructions on a canvas: the corners come from the server, nothing is measured here. */
import { rowAt } from "./packs.js";
import { numberText } from "./format.js";

const TRAIL_S = 1;
const COLOURS = ["#f0e442", "#56b4e9", "#ff9f6b", "#7ee0b8", "#f3b5dc"];
const PLAIN = { body: "#ffffff", face: "#ffffff", hand: "#ffd9a0" };

/**
 * The corners of a row in CSS pixels.
 * @param {{places: Float32Array, points: number}} layer @param {number} row @param {{k: number, dx: number, dy: number}} placing
 * @returns {({x: number, y: number}|null)[]} null where there is none
 */
export function cornersOf(layer, row, { k, dx, dy }) {
  return Array.from({ length: layer.points }, (_, point) => {
    const at = 2 * (row * layer.points + point);
    const [x, y] = [layer.places[at], layer.places[at + 1]];
    return Number.isNaN(x) || Number.isNaN(y) ? null : { x: k * x + dx, y: k * y + dy };
  });
}

/** Draw plain landmarks: all lines of a layer in one go, and all its points. @param {CanvasRenderingContext2D} pen */
export function drawLandmarks(pen, pack, time, placing) {
  for (const layer of pack.layers) {
    const row = rowAt(layer, time, pack.hold);
    if (row < 0) continue;
    const corners = cornersOf(layer, row, placing);
    const fine = layer.name === "face";
    const [lines, points] = [new Path2D(), new Path2D()];
    for (const [one, other] of layer.links.map((link) => link.map((point) => corners[point]))) {
      if (!one || !other) continue;
      lines.moveTo(one.x, one.y);
      lines.lineTo(other.x, other.y);
    }
    const radius = fine ? 1 : 2.5;
    for (const { x, y } of corners.filter(Boolean)) {
      points.moveTo(x + radius, y);
      points.arc(x, y, radius, 0, 2 * Math.PI);
    }
    edged(pen, lines, PLAIN[layer.name], fine ? 1 : 1.5);
    filled(pen, points, PLAIN[layer.name]);
  }
}

/**
 * Draw what measures rest on, and return what is written beside it.
 * @returns {{colour: string, words: string, reading: string}[]} a line for each thing that has a number; where none has, for each
 */
export function drawConstructions(pen, pack, time, placing) {
  const names = [...new Set(pack.layers.map((layer) => layer.words))];
  const said = new Map();
  for (const layer of pack.layers) {
    const row = rowAt(layer, time, pack.hold);
    if (row < 0) continue;
    const colour = COLOURS[names.indexOf(layer.words) % COLOURS.length];
    const corners = cornersOf(layer, row, placing);
    if (layer.kind === "trail") drawTrail(pen, layer, row, placing, colour);
    else if (corners.every(Boolean)) DRAW[layer.kind](pen, corners, colour);
    else if (layer.kind === "points") DRAW.points(pen, corners.filter(Boolean), colour);
    const seen = layer.kind === "points" ? corners.some(Boolean) : corners.every(Boolean);
    const value = layer.readings?.[row];
    const reading = Number.isFinite(value) ? `${numberText(value)} ${layer.unit}` : "";
    if (seen && (reading || !said.has(layer.words))) said.set(layer.words, { colour, words: layer.words, reading });
  }
  const lines = [...said.values()];
  const read = lines.filter((line) => line.reading);
  return read.length ? read : lines;
}

const DRAW = {
  line: (pen, corners, colour) => {
    stroke(pen, corners, colour, 2.5);
    for (const corner of corners) dot(pen, corner, colour, 4);
  },
  ring: (pen, corners, colour) => stroke(pen, [...corners, corners[0]], colour, 2),
  points: (pen, corners, colour) => corners.forEach((corner) => dot(pen, corner, colour, 4.5)),
  arrow: (pen, [from, to], colour) => {
    stroke(pen, [from, to], colour, 3);
    const way = Math.atan2(to.y - from.y, to.x - from.x);
    const size = Math.min(14, 0.6 * Math.hypot(to.x - from.x, to.y - from.y));
    const barb = (turn) => ({ x: to.x - size * Math.cos(way + turn), y: to.y - size * Math.sin(way + turn) });
    stroke(pen, [barb(0.5), to, barb(-0.5)], colour, 3);
  },
  arc: (pen, [near, vertex, far], colour) => {
    stroke(pen, [near, vertex, far], colour, 2.5);
    const angle = (point) => Math.atan2(point.y - vertex.y, point.x - vertex.x);
    const length = (point) => Math.hypot(point.x - vertex.x, point.y - vertex.y);
    const [from, to] = [angle(near), angle(far)];
    const turn = ((to - from + 3 * Math.PI) % (2 * Math.PI)) - Math.PI;
    const radius = 0.4 * Math.min(length(near), length(far));
    const steps = Array.from({ length: 25 }, (_, step) => from + (turn * step) / 24);
    stroke(pen, steps.map((at) => ({ x: vertex.x + radius * Math.cos(at), y: vertex.y + radius * Math.sin(at) })), colour, 3);
    for (const corner of [near, vertex, far]) dot(pen, corner, colour, 4);
  },
};

/** The way of the last second, thinner the longer ago. */
function drawTrail(pen, layer, row, placing, colour) {
  const since = layer.times[row] - TRAIL_S;
  let before = null;
  for (let one = row; one >= 0 && layer.times[one] >= since; one--) {
    const [corner] = cornersOf(layer, one, placing);
    const share = (layer.times[one] - since) / TRAIL_S;
    if (corner && before) stroke(pen, [before, corner], colour, 0.5 + 2.5 * share);
    before = corner;
  }
  const [here] = cornersOf(layer, row, placing);
  if (here) dot(pen, here, colour, 4.5);
}

function stroke(pen, corners, colour, width) {
  const path = new Path2D();
  corners.forEach((corner, at) => (at ? path.lineTo(corner.x, corner.y) : path.moveTo(corner.x, corner.y)));
  edged(pen, path, colour, width);
}

/** Draw lines with a dark edge, to be seen on light and dark pictures alike. */
function edged(pen, path, colour, width) {
  pen.lineJoin = pen.lineCap = "round";
  for (const [look, wide] of [["rgb(0 0 0 / 65%)", width + 2], [colour, width]]) {
    pen.strokeStyle = look;
    pen.lineWidth = wide;
    pen.stroke(path);
  }
}

function dot(pen, { x, y }, colour, radius) {
  const path = new Path2D();
  path.arc(x, y, radius, 0, 2 * Math.PI);
  filled(pen, path, colour);
}

function filled(pen, path, colour) {
  pen.fillStyle = colour;
  pen.fill(path);
  pen.strokeStyle = "rgb(0 0 0 / 75%)";
  pen.lineWidth = 1;
  pen.stroke(path);
}
