/**
 * What comments draw on the picture: a point, a circle or an arrow; shown while the film is at their time, and drawn by
 * pointer or keys. Places are shares of the upright, unmirrored picture, so that they stay where they were at every size.
 */
import { h } from "./dom.js";
import { s } from "./sparkline.js";

/** How long a drawing of a moment stays on while the film plays on, in seconds. */
const LINGERS_S = 0.8;
const STEP = 0.01;
const FIRST = { x: 0.5, y: 0.5, x2: 0.58, y2: 0.5 };
const LEAST = 0.01;

export const KINDS = ["point", "circle", "arrow"];

/**
 * Whether a comment's drawing is on at a time.
 * @param {{onset_s: number, offset_s: number}} comment
 * @param {number} time seconds
 * @param {boolean} playing a drawing of a moment lingers while the film plays
 */
export function isOn({ onset_s, offset_s }, time, playing) {
  return time >= onset_s - 0.002 && time <= Math.max(offset_s, onset_s + (playing ? LINGERS_S : 0)) + 0.002;
}

/**
 * A shape moved by shares of the picture, kept inside.
 * @param {object} shape @param {number} right @param {number} down
 * @param {boolean} end whether only its second place moves: the rim of a circle, the tip of an arrow
 */
export function moved(shape, right, down, end) {
  const within = (share) => Math.min(1, Math.max(0, Math.round(share * 1e4) / 1e4));
  if (end && shape.kind !== "point") return { ...shape, x2: within(shape.x2 + right), y2: within(shape.y2 + down) };
  const whole = { ...shape, x: within(shape.x + right), y: within(shape.y + down) };
  return shape.kind === "point" ? whole : { ...whole, x2: within(shape.x2 + right), y2: within(shape.y2 + down) };
}

/** What is stored of a shape. @param {object} shape */
export function stored({ kind, x, y, x2, y2 }) {
  return kind === "point" ? { kind, x, y } : { kind, x, y, x2, y2 };
}

export class Shapes {
  /**
   * @param {HTMLElement} film the box the picture is seen through
   * @param {() => {placing: object, picture: object, shareAt: Function}} stage
   * @param {{changed: (shape: object|null) => void, done: () => void}} deeds
   */
  constructor(film, stage, deeds) {
    this.stage = stage;
    this.deeds = deeds;
    this.layer = s("svg", { class: "shapes", "aria-hidden": "true" });
    this.pad = h("div", {
      class: "pad", hidden: true, tabindex: "0", role: "group", data: { ownKeys: "", testid: "pad" },
      "aria-label": "Drawing. Arrow keys move it, with Shift its rim or tip; Enter: done; Escape: nothing drawn",
      onpointerdown: (event) => this.press(event), onpointermove: (event) => this.drag(event), onpointerup: (event) => this.release(event),
      onkeydown: (event) => this.key(event),
    });
    this.shown = [];
    this.shape = null;
    film.append(this.layer, this.pad);
  }

  /** @param {object[]} comments those whose drawings are on */
  show(comments) {
    const signature = JSON.stringify(comments.map((comment) => [comment.id, comment.shape]));
    if (signature === this.signature) return;
    this.signature = signature;
    this.shown = comments;
    this.draw();
  }

  /** Begin to draw. @param {"point"|"circle"|"arrow"} kind */
  begin(kind) {
    const { kind: _, ...place } = this.shape ?? FIRST;
    this.shape = { ...FIRST, ...place, kind };
    this.pad.hidden = false;
    this.changed();
    this.pad.focus({ preventScroll: true });
  }

  /** Draw nothing any more. */
  clear() {
    this.shape = null;
    this.end();
  }

  end() {
    this.pad.hidden = true;
    this.changed();
  }

  changed() {
    this.draw();
    this.deeds.changed(this.shape);
  }

  press(event) {
    if (event.button) return;
    event.preventDefault();
    const { x, y } = this.at(event);
    this.pad.setPointerCapture(event.pointerId);
    this.pulled = { ...this.shape, x, y, x2: Math.min(1, x + 0.06), y2: y };
    this.shape = this.pulled;
    this.changed();
    this.pad.focus({ preventScroll: true });
  }

  drag(event) {
    if (!this.pulled) return;
    const { x, y } = this.at(event);
    if (this.shape.kind === "point") this.shape = { ...this.shape, x, y };
    else if (Math.hypot(x - this.shape.x, y - this.shape.y) > LEAST) this.shape = { ...this.shape, x2: x, y2: y };
    this.changed();
  }

  release(event) {
    this.drag(event);
    this.pulled = null;
  }

  at(event) {
    const { x, y } = this.stage().shareAt(event.clientX, event.clientY);
    const within = (share) => Math.min(1, Math.max(0, Math.round(share * 1e4) / 1e4));
    return { x: within(x), y: within(y) };
  }

  key(event) {
    const way = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
    if (way) this.shape = moved(this.shape, way[0] * STEP, way[1] * STEP, event.shiftKey);
    else if (event.key === "Escape") this.clear();
    else if (event.key === "Enter") this.end();
    else return;
    event.preventDefault();
    event.stopPropagation();
    if (way) this.changed();
    else this.deeds.done();
  }

  /** Draw all anew, where the picture is now. */
  draw() {
    const { placing, picture } = this.stage();
    const place = (x, y) => ({ x: placing.k * x * picture.width + placing.dx, y: placing.k * y * picture.height + placing.dy });
    const drawn = this.shown.map((comment) => figure(comment.shape, place, `role-${comment.role}`, comment.person));
    if (this.shape) drawn.push(figure(this.shape, place, "draft", ""));
    this.layer.replaceChildren(...drawn);
  }
}

/** One shape, with a dark line below the light one so that it is seen on every picture. */
function figure(shape, place, look, words) {
  const from = place(shape.x, shape.y);
  const to = shape.kind === "point" ? from : place(shape.x2, shape.y2);
  const path = PATHS[shape.kind](from, to);
  const label = s("text", { x: from.x + 10, y: from.y - 8, class: "words" });
  label.textContent = words;
  return s("g", { class: `shape ${look}`, "data-kind": shape.kind }, s("path", { class: "under", d: path }), s("path", { class: "over", d: path }), label);
}

const PATHS = {
  point: ({ x, y }) => `M${x - 9} ${y} H${x + 9} M${x} ${y - 9} V${y + 9}`,
  circle: (from, to) => {
    const radius = Math.max(3, Math.hypot(to.x - from.x, to.y - from.y));
    return `M${from.x - radius} ${from.y} a${radius} ${radius} 0 1 0 ${2 * radius} 0 a${radius} ${radius} 0 1 0 ${-2 * radius} 0`;
  },
  arrow: (from, to) => {
    const way = Math.atan2(to.y - from.y, to.x - from.x);
    const wing = (turn) => `L${to.x - 12 * Math.cos(way + turn)} ${to.y - 12 * Math.sin(way + turn)}`;
    return `M${from.x} ${from.y} L${to.x} ${to.y} ${wing(0.5)} M${to.x} ${to.y} ${wing(-0.5)}`;
  },
};
