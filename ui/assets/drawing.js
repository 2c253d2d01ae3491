/** Drawing a curve with its target, its unusable stretches hatched, and the ends of its scale. */
import { thin } from "./curves.js";
import { numberText } from "./format.js";

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
 * @param {{from: number, to: number, targets: object[], colours: object}} look
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
  const parts = trace.values.map((values, index) => thin(trace.times, values, look.from, look.to, columns, trace.summaries[index]));
  const [bottom, top] = valueRange(parts, look.targets);
  const y = (value) => height - ((value - bottom) / (top - bottom)) * height;
  const x = (time) => ((time - look.from) / (look.to - look.from)) * width;
  for (const target of look.targets) drawTarget(pen, target, y, width, height, look.colours);
  hatch(pen, trace.lost.filter((lost) => lost.to >= look.from && lost.from <= look.to), x, width, height, look.colours);
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

/** All unusable stretches are hatched in one go: one outline, one set of lines. */
function hatch(pen, stretches, x, width, height, colours) {
  if (!stretches.length) return;
  pen.save();
  pen.beginPath();
  for (const { from, to } of stretches) {
    const left = Math.max(0, x(from));
    pen.rect(left, 0, Math.max(1, Math.min(width, x(to)) - left), height);
  }
  pen.clip();
  pen.strokeStyle = colours.hatch;
  pen.lineWidth = 1;
  pen.beginPath();
  for (let at = -Math.ceil(height / 7) * 7; at < width; at += 7) {
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
  pen.font = `12px ${colours.font}`;
  pen.strokeStyle = colours.paper;
  pen.lineWidth = 4;
  pen.lineJoin = "round";
  for (const [value, at, line] of [[top, 3, "top"], [bottom, height - 2, "bottom"]]) {
    pen.textBaseline = line;
    pen.strokeText(numberText(value), 4, at);
    pen.fillText(numberText(value), 4, at);
  }
}

