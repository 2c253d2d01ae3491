/** Curves of measures: reading the packed traces, thinning them to pixels, drawing them with their targets. */
import { numberText } from "./format.js";

/** Number of the reason "not analysed yet". */
const NOT_LOOKED = 1;

/** Two looks nearer than this have no gap between them, in seconds. */
const BETWEEN_LOOKS_S = 0.7;

/**
 * Unpack a trace: uint32 length of the head, head (JSON), float64 times, float32 values row by row, int8 reasons.
 * @param {ArrayBuffer} buffer
 * @returns {{columns: string[], unit: string, reasons: Record<string, string>, times: Float64Array,
 *            values: Float32Array[], reason: Int8Array}}
 */
export function unpack(buffer) {
  const length = new DataView(buffer).getUint32(0, true);
  const head = JSON.parse(new TextDecoder().decode(new Uint8Array(buffer, 4, length)));
  const width = head.columns.length;
  let at = 4 + length;
  const times = new Float64Array(buffer.slice(at, (at += 8 * head.samples)));
  const flat = new Float32Array(buffer.slice(at, (at += 4 * head.samples * width)));
  const reason = new Int8Array(buffer, at, head.samples);
  const kept = lookedAt(times, reason);
  const values = head.columns.map((_, column) => Float32Array.from(kept, (row) => flat[row * width + column]));
  return {
    columns: head.columns, unit: head.unit, reasons: head.reasons, values,
    times: Float64Array.from(kept, (row) => times[row]), reason: Int8Array.from(kept, (row) => reason[row]),
  };
}

/**
 * Which samples to keep: films are looked at a few times a second, and the frames between two looks are no gap.
 * @param {Float64Array} times
 * @param {Int8Array} reason
 * @returns {number[]} indices
 */
export function lookedAt(times, reason) {
  const kept = [];
  for (let at = 0; at < times.length; at++) {
    const begin = at;
    while (reason[begin] === NOT_LOOKED && reason[at + 1] === NOT_LOOKED) at++;
    const between = begin > 0 && at + 1 < times.length && times[at + 1] - times[begin - 1] < BETWEEN_LOOKS_S;
    if (reason[begin] === NOT_LOOKED && between) continue;
    for (let one = begin; one <= at; one++) kept.push(one);
  }
  return kept;
}

/**
 * First index whose time is not before `time`.
 * @param {Float64Array} times rising
 * @param {number} time
 * @returns {number}
 */
export function firstAt(times, time) {
  let low = 0;
  let high = times.length;
  while (low < high) {
    const half = (low + high) >> 1;
    if (times[half] < time) low = half + 1;
    else high = half;
  }
  return low;
}

/**
 * Lowest and highest value in every pixel column; a NaN breaks the line, and `broken` tells where it begins anew.
 * @param {Float64Array} times
 * @param {Float32Array} values
 * @param {number} from seconds at the left end
 * @param {number} to seconds at the right end
 * @param {number} width pixel columns
 * @returns {{low: Float32Array, high: Float32Array, broken: Uint8Array, min: number, max: number}}
 */
export function thin(times, values, from, to, width) {
  const low = new Float32Array(width).fill(NaN);
  const high = new Float32Array(width).fill(NaN);
  const broken = new Uint8Array(width);
  let gap = true;
  let min = Infinity;
  let max = -Infinity;
  const scale = width / (to - from);
  const end = Math.min(times.length, firstAt(times, to) + 1);
  for (let at = Math.max(0, firstAt(times, from) - 1); at < end; at++) {
    const value = values[at];
    if (Number.isNaN(value)) {
      gap = true;
      continue;
    }
    const column = Math.max(0, Math.min(width - 1, Math.floor((times[at] - from) * scale)));
    if (!(value >= low[column])) low[column] = value;
    if (!(value <= high[column])) high[column] = value;
    if (gap) broken[column] = 1;
    gap = false;
    min = Math.min(min, value);
    max = Math.max(max, value);
  }
  return { low, high, broken, min, max };
}

/**
 * Stretches in which nothing can be said, with the number of their reason.
 * @param {Float64Array} times
 * @param {Int8Array} reason 0 where usable
 * @returns {{from: number, to: number, reason: number}[]}
 */
export function lostStretches(times, reason) {
  const found = [];
  for (let at = 0; at < times.length; at++) {
    if (reason[at] === 0) continue;
    const begin = at;
    while (at + 1 < times.length && reason[at + 1] === reason[begin]) at++;
    const to = at + 1 < times.length ? times[at + 1] : times[at];
    found.push({ from: times[begin], to, reason: reason[begin] });
  }
  return found;
}

/** Keeps the traces that were fetched. */
export class Traces {
  /** @param {() => void} arrived called when a trace has come */
  constructor(arrived) {
    this.arrived = arrived;
    this.kept = new Map();
  }

  /**
   * The trace at an address, null while it is on its way, undefined when it could not be had.
   * @param {string} url
   */
  get(url) {
    if (!this.kept.has(url)) {
      this.kept.set(url, null);
      this.fetch(url).then((trace) => {
        this.kept.set(url, trace);
        this.arrived();
      });
    }
    return this.kept.get(url);
  }

  async fetch(url) {
    try {
      const answer = await fetch(url, { credentials: "same-origin" });
      return answer.ok ? unpack(await answer.arrayBuffer()) : undefined;
    } catch {
      return undefined;
    }
  }
}

/**
 * The range of values to draw: the curve and the ends of its target, with a margin.
 * @param {{min: number, max: number}[]} parts
 * @param {{low: number|null, high: number|null}[]} targets
 * @returns {[number, number]}
 */
export function valueRange(parts, targets) {
  const ends = targets.flatMap((target) => [target.low, target.high]).filter((end) => end !== null && end !== undefined);
  const all = [...parts.flatMap((part) => [part.min, part.max]), ...ends].filter(Number.isFinite);
  if (!all.length) return [0, 1];
  const low = Math.min(...all);
  const high = Math.max(...all);
  const margin = (high - low || Math.abs(high) || 1) * 0.12;
  return [low - margin, high + margin];
}

/**
 * Draw one curve.
 * @param {HTMLCanvasElement} canvas
 * @param {ReturnType<typeof unpack>} trace
 * @param {{from: number, to: number, targets: object[], stretch: number[]|null, colours: object}} look
 */
export function drawCurve(canvas, trace, look) {
  const density = window.devicePixelRatio || 1;
  const width = canvas.clientWidth;
  const height = canvas.clientHeight;
  if (!width || !height) return;
  canvas.width = Math.round(width * density);
  canvas.height = Math.round(height * density);
  const pen = canvas.getContext("2d");
  pen.setTransform(density, 0, 0, density, 0, 0);
  const columns = Math.max(1, Math.round(width));
  const parts = trace.values.map((values) => thin(trace.times, values, look.from, look.to, columns));
  const [bottom, top] = valueRange(parts, look.targets);
  const y = (value) => height - ((value - bottom) / (top - bottom)) * height;
  const x = (time) => ((time - look.from) / (look.to - look.from)) * width;
  for (const target of look.targets) drawTarget(pen, target, y, width, height, look.colours);
  if (look.stretch) drawStretch(pen, look.stretch, x, height, look.colours);
  for (const lost of lostStretches(trace.times, trace.reason)) hatch(pen, x(lost.from), x(lost.to), height, look.colours);
  parts.forEach((part, index) => drawLine(pen, part, y, index, look.colours));
  drawEnds(pen, [bottom, top], height, look.colours);
}

function drawTarget(pen, target, y, width, height, colours) {
  const upper = target.high === null || target.high === undefined ? 0 : y(target.high);
  const lower = target.low === null || target.low === undefined ? height : y(target.low);
  pen.fillStyle = colours.band;
  pen.fillRect(0, upper, width, Math.max(2, lower - upper));
  pen.strokeStyle = colours.bandEdge;
  pen.setLineDash([5, 3]);
  pen.lineWidth = 1;
  for (const edge of [target.high === null ? null : upper, target.low === null ? null : lower]) {
    if (edge === null) continue;
    pen.beginPath();
    pen.moveTo(0, Math.round(edge) + 0.5);
    pen.lineTo(width, Math.round(edge) + 0.5);
    pen.stroke();
  }
  pen.setLineDash([]);
}

function drawStretch(pen, [onset, offset], x, height, colours) {
  pen.strokeStyle = colours.mine;
  pen.lineWidth = 1.5;
  for (const time of [onset, offset]) {
    pen.beginPath();
    pen.moveTo(x(time), 0);
    pen.lineTo(x(time), height);
    pen.stroke();
  }
}

function hatch(pen, from, to, height, colours) {
  const width = Math.max(1, to - from);
  pen.save();
  pen.beginPath();
  pen.rect(from, 0, width, height);
  pen.clip();
  pen.strokeStyle = colours.hatch;
  pen.lineWidth = 1;
  pen.beginPath();
  for (let at = Math.floor((from - height) / 7) * 7; at < from + width; at += 7) {
    pen.moveTo(at, height);
    pen.lineTo(at + height, 0);
  }
  pen.stroke();
  pen.restore();
}

function drawLine(pen, part, y, index, colours) {
  pen.strokeStyle = colours.lines[index % colours.lines.length];
  pen.lineWidth = 1.6;
  pen.setLineDash(index % 2 ? [4, 2] : []);
  pen.beginPath();
  for (let column = 0; column < part.low.length; column++) {
    if (Number.isNaN(part.low[column])) continue;
    const upper = y(part.high[column]);
    const lower = y(part.low[column]);
    if (part.broken[column]) pen.moveTo(column, lower);
    pen.lineTo(column + 0.5, lower);
    if (lower - upper > 1) pen.lineTo(column + 0.5, upper);
  }
  pen.stroke();
  pen.setLineDash([]);
}

function drawEnds(pen, [bottom, top], height, colours) {
  pen.fillStyle = colours.faint;
  pen.font = `11px ${colours.font}`;
  pen.strokeStyle = colours.paper;
  pen.lineWidth = 4;
  pen.lineJoin = "round";
  for (const [value, at, line] of [[top, 3, "top"], [bottom, height - 2, "bottom"]]) {
    pen.textBaseline = line;
    pen.strokeText(numberText(value), 4, at);
    pen.fillText(numberText(value), 4, at);
  }
}

/**
 * What a curve says at a time, in words.
 * @param {ReturnType<typeof unpack>} trace
 * @param {number} time seconds
 * @returns {string}
 */
export function saidAt(trace, time) {
  const at = Math.max(0, Math.min(trace.times.length - 1, firstAt(trace.times, time + 1e-9) - 1));
  if (trace.reason[at] !== 0) return `no value here: ${trace.reasons[trace.reason[at]] ?? "not usable"}`;
  const unit = trace.unit === "1" ? "" : ` ${trace.unit}`;
  return trace.columns
    .map((name, column) => `${trace.columns.length > 1 ? `${name} ` : ""}${numberText(trace.values[column][at])}${unit}`)
    .join(", ");
}
