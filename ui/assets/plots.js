/** The curves of the step in hand, one under the other: each is drawn once for a stretch and then only shown. */
import { gathered, saidAt } from "./curves.js";
import { h, setText } from "./dom.js";
import { drawCurve } from "./drawing.js";
import { stretchText } from "./format.js";
import { TAKES } from "./lanes.js";

export class Plots {
  /**
   * @param {HTMLElement} place
   * @param {{traces: object, go: (time: number) => void}} deeds
   */
  constructor(place, deeds) {
    this.place = place;
    this.deeds = deeds;
    /** @type {Map<string, object>} */
    this.blocks = new Map();
    this.shown = [];
  }

  /** @param {object} scene curves, covered, uncover, inHandRow */
  show(scene) {
    this.scene = scene;
    const wanted = JSON.stringify([scene.covered, scene.inHandRow?.key, scene.curves.map((curve) => curve.measure)]);
    if (wanted !== this.wanted) this.build();
    this.wanted = wanted;
    for (const block of this.shown) {
      block.curve = scene.curves.find((curve) => curve.measure === block.curve.measure);
      this.fetch(block);
    }
  }

  build() {
    const { curves, covered, inHandRow, uncover } = this.scene;
    this.shown = [];
    this.place.classList.toggle("several", !covered && curves.length > 2);
    if (covered || !curves.length) {
      this.place.replaceChildren(covered ? note("Curves and values stay covered until you have graded this step and said how sure you are.", uncover) : note(whyNone(inHandRow)));
      return;
    }
    this.shown = curves.map((curve) => blockOf(curve, inHandRow, (block) => this.deeds.go(block.lost[block.at].from)));
    this.place.replaceChildren(...this.shown.map((block) => block.element));
  }

  fetch(block) {
    const trace = this.deeds.traces.get(block.curve.url);
    setText(block.state, trace === null ? "Fetching the curve" : trace === undefined ? "The curve could not be read" : "");
    if (trace === block.trace) return;
    block.trace = trace;
    if (trace) nameColumns(block, trace);
    block.lost = trace ? gathered(trace.lost) : [];
    block.at = 0;
    block.button.hidden = !block.lost.length;
    if (block.lost.length) block.button.setAttribute("aria-label", lostWords(block));
  }

  /**
   * Draw what has changed: a curve is drawn anew only for another stretch, size, theme or trace.
   * @param {{from: number, to: number}} view
   * @param {object} colours
   */
  draw(view, colours) {
    for (const block of this.shown) {
      const { canvas, trace } = block;
      if (!trace) continue;
      const [width, height] = [canvas.clientWidth, canvas.clientHeight];
      const kept = block.drawn;
      const same = kept && kept.trace === trace && kept.from === view.from && kept.to === view.to && kept.width === width && kept.height === height && kept.colours === colours;
      if (same) continue;
      drawCurve(canvas, trace, { from: view.from, to: view.to, targets: block.targets, colours });
      block.drawn = { trace, from: view.from, to: view.to, width, height, colours };
    }
  }

  /** Put the frames around the unusable stretches in hand where they belong. @param {(time: number) => number} x */
  layout(x, width) {
    for (const { button, lost, at } of this.shown) {
      const stretch = lost[at];
      if (!stretch) continue;
      const left = Math.max(0, x(stretch.from));
      button.style.left = `${left}px`;
      button.style.width = `${Math.max(6, Math.min(width, x(stretch.to)) - left)}px`;
    }
  }

  /** The unusable stretches of each curve, for the arrow keys. */
  get rows() {
    return this.shown.map((block) => block.lost.map((stretch, at) => ({
      id: `l:${block.curve.measure}:${at}`, from: stretch.from, to: stretch.to, enter: () => point(block, at),
    })));
  }

  /** What the curve under a pointer says at a time, or null. @param {Node} target @param {number} time */
  saidAt(target, time) {
    const block = this.shown.find((one) => one.element.contains(target));
    return block?.trace ? saidAt(block.trace, time) : null;
  }

  /** The words of the unusable stretch that has the focus, or null. @param {Element} target */
  lostWords(target) {
    const block = this.shown.find((one) => one.button === target);
    return block ? { words: lostWords(block), time: block.lost[block.at].from, element: block.element } : null;
  }
}

function blockOf(curve, row, go) {
  const canvas = h("canvas", { role: "img", "aria-label": `Curve of ${curve.title}` });
  const target = row.targets.find((one) => one.measure === curve.measure);
  const [unit, legend] = [h("span"), h("div", { class: "legend", hidden: true })];
  const state = h("span", { class: "curve-state" });
  const button = h("button", { type: "button", class: "unusable", tabindex: "-1", hidden: true, data: { takes: TAKES }, onclick: () => go(block) });
  const element = h(
    "div", { class: "curve" },
    h("div", { class: "curve-name" }, h("b", { text: curve.words ?? curve.title }),
      target ? h("span", { class: "expected", text: `expected ${target.words}` }) : null, unit),
    h("div", { class: "curve-track" }, canvas, legend, state, button),
  );
  const targets = row.targets.filter((one) => isBand(curve, one));
  const block = { element, canvas, state, unit, legend, button, curve, targets, trace: null, lost: [], at: 0 };
  return block;
}

/** Say the unit and the columns of a curve, which its trace brings along. */
function nameColumns({ unit, legend }, { unit: of, columns }) {
  setText(unit, of && of !== "1" ? `curve in ${of}` : "");
  legend.hidden = columns.length < 2;
  legend.replaceChildren(...columns.map((name, index) => h("span", { class: `key key-${index}`, text: name })));
}

/** Take an unusable stretch in hand. */
function point(block, at) {
  block.at = at;
  block.button.dataset.item = `l:${block.curve.measure}:${at}`;
  block.button.setAttribute("aria-label", lostWords(block));
  return block.button;
}

function lostWords({ curve, trace, lost, at }) {
  const { from, to, reason } = lost[at];
  return `${curve.words ?? curve.title}, no value ${stretchText(from, to)}: ${trace.reasons[reason] ?? "not usable"}. Unusable stretch ${at + 1} of ${lost.length}`;
}

function whyNone(row) {
  return row?.measures?.length ? "No curve yet: the film has not been analysed." : "This step has no measure: your eyes decide.";
}

/**
 * Whether a target can be drawn as a band: only where the curve shows the very quantity that the target is about. A
 * target on a longest closure (s) is none on a curve of lid closure, one on a range is none on a curve of angles.
 * @param {{measure: string, band: boolean}} curve `band` tells whether its values are levels of the curve
 * @param {{measure: string}} target
 */
export function isBand(curve, target) {
  return target.measure === curve.measure && curve.band;
}

function note(text, uncover) {
  const button = uncover && h("button", { type: "button", class: "quiet", text: "Uncover this step", onclick: uncover });
  return h("p", { class: "curve-note" }, h("span", {}, text, " ", button ?? null));
}
