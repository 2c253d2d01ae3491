/** Curves of measures: reading the packed traces, and thinning them to pixels. */
import { numberText } from "./format.js";

/** Number of the reason "not analysed yet". */
const NOT_LOOKED = 1;

/** Two looks nearer than this have no gap between them, in seconds. */
const BETWEEN_LOOKS_S = 0.7;

/**
 * Unpack a trace: uint32 length of the head, head (JSON), float64 times, float32 values row by row, int8 reasons.
 * @param {ArrayBuffer} buffer
 * @returns {{columns: string[], unit: string, reasons: Record<string, string>, times: Float64Array,
 *            values: Float32Array[], reason: Int8Array, summaries: object[][], lost: object[]}}
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
  const looked = { times: Float64Array.from(kept, (row) => times[row]), reason: Int8Array.from(kept, (row) => reason[row]) };
  return {
    columns: head.columns, unit: head.unit, reasons: head.reasons, values, ...looked,
    summaries: values.map(summary), lost: lostStretches(looked.times, looked.reason),
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

/** Samples in a block of the summary; each level sums up as many blocks of the one before. */
const BLOCK = 16;

/** What a block holds: any number; a number after a gap within it; a gap at its end. */
const SOME = 1;
const BREAK = 2;
const GAP = 4;

/**
 * Lowest and highest value of every run of 16 and of 256 samples, so that a long film is thinned without reading it all.
 * @param {Float32Array} values NaN for gaps
 * @returns {{size: number, low: Float32Array, high: Float32Array, holds: Uint8Array}[]} biggest blocks first
 */
export function summary(values) {
  return [BLOCK * BLOCK, BLOCK].map((size) => {
    const count = Math.floor(values.length / size);
    const level = { size, low: new Float32Array(count), high: new Float32Array(count), holds: new Uint8Array(count) };
    for (let block = 0; block < count; block++) sumUp(values, block * size, size, level, block);
    return level;
  });
}

function sumUp(values, first, size, level, block) {
  let [low, high, holds, gap] = [Infinity, -Infinity, 0, false];
  for (let at = first; at < first + size; at++) {
    const value = values[at];
    if (Number.isNaN(value)) {
      gap = true;
      continue;
    }
    holds |= gap ? SOME | BREAK : SOME;
    gap = false;
    if (value < low) low = value;
    if (value > high) high = value;
  }
  level.low[block] = low;
  level.high[block] = high;
  level.holds[block] = holds | (gap ? GAP : 0);
}

/**
 * Lowest and highest value in every pixel column; a NaN breaks the line, and `broken` tells where it begins anew.
 * @param {Float64Array} times
 * @param {Float32Array} values
 * @param {number} from seconds at the left end
 * @param {number} to seconds at the right end
 * @param {number} width pixel columns
 * @param {ReturnType<typeof summary>} [levels] summary of the values; the answer is the same without, but slower
 * @returns {{low: Float32Array, high: Float32Array, broken: Uint8Array, min: number, max: number}}
 */
export function thin(times, values, from, to, width, levels = []) {
  const part = { low: new Float32Array(width).fill(NaN), high: new Float32Array(width).fill(NaN), broken: new Uint8Array(width), min: Infinity, max: -Infinity };
  const scale = width / (to - from);
  const columnOf = (at) => Math.max(0, Math.min(width - 1, Math.floor((times[at] - from) * scale)));
  const end = Math.min(times.length, firstAt(times, to) + 1);
  let gap = true;
  for (let at = Math.max(0, firstAt(times, from) - 1); at < end; ) {
    const column = columnOf(at);
    const level = levels.find(({ size }) => at % size === 0 && at + size <= end && columnOf(at + size - 1) === column);
    const block = level ? at / level.size : 0;
    const holds = level ? level.holds[block] : Number.isNaN(values[at]) ? GAP : SOME;
    if (holds & SOME) widen(part, column, level ? level.low[block] : values[at], level ? level.high[block] : values[at]);
    if (holds & BREAK || (gap && holds & SOME)) part.broken[column] = 1;
    gap = Boolean(holds & GAP) || (gap && !(holds & SOME));
    at += level ? level.size : 1;
  }
  return part;
}

function widen(part, column, low, high) {
  if (!(low >= part.low[column])) part.low[column] = low;
  if (!(high <= part.high[column])) part.high[column] = high;
  if (low < part.min) part.min = low;
  if (high > part.max) part.max = high;
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

/** How many traces are kept; those asked for longest ago go first. */
const MOST = 24;

/** Keeps the traces that were fetched. */
export class Traces {
  /** @param {() => void} arrived called when a trace has come */
  constructor(arrived) {
    this.arrived = arrived;
    this.kept = new Map();
  }

  /**
   * The trace at an address, null while it is on its way, undefined when it could not be had.
   *
   * While an analysis goes on the address changes behind its `?`; until the new trace is here, the old one is given.
   * @param {string} url
   */
  get(url) {
    const name = url.split("?")[0];
    const known = this.kept.get(name) ?? { url: null, trace: null };
    this.kept.delete(name);
    this.kept.set(name, known);
    if (known.url !== url) {
      known.url = url;
      this.fetch(url).then((trace) => {
        if (known.url !== url) return;
        known.trace = trace ?? (known.trace || undefined);
        this.arrived();
      });
    }
    if (this.kept.size > MOST) this.kept.delete(this.kept.keys().next().value);
    return known.trace;
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
 * Unusable stretches as one goes through them: those of one reason with less than half a second between them are one.
 * @param {{from: number, to: number, reason: number}[]} lost
 * @returns {{from: number, to: number, reason: number}[]}
 */
export function gathered(lost) {
  const found = [];
  for (const stretch of lost) {
    const last = found.at(-1);
    if (last && last.reason === stretch.reason && stretch.from - last.to < 0.5) last.to = stretch.to;
    else found.push({ ...stretch });
  }
  return found;
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
