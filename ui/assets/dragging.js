/** Drawing, trimming and moving marks with mouse, finger or pen, and pinching; everything lands on frames. */
import { keepFromBrowser } from "./dom.js";
import { clockText } from "./format.js";

/** How far from an edge it can still be taken hold of, in pixels. */
const NEAR = { mouse: 6, pen: 8, touch: 14 };

/** How far a press may wander and still be a click, in pixels. */
const STILL = { mouse: 3, pen: 4, touch: 8 };

/** Width at either end of the lanes in which a drag moves the stretch shown, in pixels. */
const BRINK = 22;

/**
 * What a place in a mark is taken for.
 * @param {number} at pixels
 * @param {number} left edge of the mark, pixels
 * @param {number} right edge of the mark, pixels
 * @param {number} near how far from an edge counts as the edge
 * @returns {"start"|"end"|"move"|null} null outside
 */
export function partAt(at, left, right, near) {
  const inner = Math.min(near, (right - left) / 4);
  if (at < left - near || at > right + near) return null;
  if (at > left + inner && at < right - inner) return "move";
  return at - left < right - at ? "start" : "end";
}

/**
 * Where a drag has brought a mark: its edges on frames, in the film, at least a frame apart.
 * @param {{part: "start"|"end"|"move"|"new", at: number, mark: {onset_s: number, offset_s: number}|null}} grip what was
 *   taken hold of and where, in seconds
 * @param {number} time where the pointer is now, in seconds
 * @param {{nearest: Function, timeOf: Function, count: number, last: number}} clock
 * @returns {{onset_s: number, offset_s: number, edge_s: number}} with the edge that the film follows
 */
export function dragged(grip, time, clock) {
  const frame = clock.nearest(time);
  if (grip.part === "new") {
    const [one, two] = [clock.timeOf(clock.nearest(grip.at)), clock.timeOf(frame)];
    return { onset_s: Math.min(one, two), offset_s: Math.max(one, two), edge_s: two };
  }
  const { onset_s, offset_s } = grip.mark;
  const endless = offset_s <= onset_s;
  if (grip.part === "end") {
    const end = clock.timeOf(Math.max(frame, clock.nearest(onset_s) + 1));
    return { onset_s, offset_s: end, edge_s: end };
  }
  if (grip.part === "start") {
    const start = clock.timeOf(endless ? frame : Math.min(frame, Math.max(0, clock.nearest(offset_s) - 1)));
    return { onset_s: start, offset_s: endless ? start : offset_s, edge_s: start };
  }
  const length = offset_s - onset_s;
  const start = clock.nearest(Math.max(0, Math.min(clock.last - length, onset_s + time - grip.at)));
  const end = endless ? start : Math.max(start + 1, clock.nearest(clock.timeOf(start) + length));
  return { onset_s: clock.timeOf(start), offset_s: clock.timeOf(end), edge_s: clock.timeOf(start) };
}

export class Dragging {
  /**
   * @param {HTMLElement} place the timeline
   * @param {HTMLElement} lanes those in which marks are dragged
   * @param {object} deeds timeAt, x, view, clock, markInHand, step, draft, follow, drop, back, seek, say
   */
  constructor(place, lanes, deeds) {
    this.lanes = lanes;
    this.deeds = deeds;
    this.pointers = new Map();
    lanes.addEventListener("pointerdown", (event) => this.press(event));
    lanes.addEventListener("pointermove", (event) => this.hover(event));
    lanes.addEventListener("click", (event) => this.click(event));
    place.addEventListener("pointerdown", (event) => this.pinchBegins(event), { capture: true });
    place.addEventListener("touchstart", keepFromBrowser, { passive: false });
  }

  get active() {
    return Boolean(this.begun);
  }

  press(event) {
    if (event.button !== 0 || !event.isPrimary || !event.target.closest(".lane-track")) return;
    const grip = this.gripOf(event);
    const ends = new AbortController();
    this.dragged = false;
    this.held = { grip, id: event.pointerId, x: event.clientX, type: event.pointerType, ends };
    const on = (type, listener) => window.addEventListener(type, listener, { signal: ends.signal, capture: true });
    on("pointermove", (moved) => moved.pointerId === event.pointerId && this.moved(moved));
    on("pointerup", (up) => up.pointerId === event.pointerId && this.finish(true));
    on("pointercancel", (lost) => lost.pointerId === event.pointerId && this.finish(false));
    on("keydown", (key) => this.escape(key));
  }

  /** What is under the pointer: part of an own mark, room for a new one, or only film. */
  gripOf(event) {
    const at = this.deeds.timeAt(event.clientX);
    const target = event.target.closest(".mark");
    const hand = this.deeds.markInHand();
    const mine = target?.classList.contains("mine") ? target.own.mark : null;
    const mark = mine ?? (event.target.closest(".lane.open") && !target ? hand : null);
    const part = mark && this.partOf(mark, event);
    if (part) return { part, at, mark, row: mine ? target.own.row : null };
    if (target) return { part: null, at };
    return { part: event.target.closest(".lane.open") ? "new" : "film", at, mark: null };
  }

  partOf(mark, event) {
    const box = this.deeds.box();
    const left = box.left + this.deeds.x(mark.onset_s);
    const right = Math.max(left + 4, box.left + this.deeds.x(mark.offset_s));
    return partAt(event.clientX, left, right, NEAR[event.pointerType] ?? NEAR.mouse);
  }

  hover(event) {
    if (this.held || event.pointerType === "touch") return;
    const onTrack = event.target.closest(".lane-track");
    const part = onTrack ? this.gripOf(event).part : null;
    this.lanes.dataset.grip = part === "start" || part === "end" ? "edge" : part ?? "";
  }

  moved(event) {
    const { held } = this;
    held.last = event.clientX;
    if (!this.begun && Math.abs(event.clientX - held.x) <= (STILL[held.type] ?? STILL.mouse)) return;
    if (!this.begun && !this.begin(held)) return;
    event.preventDefault();
    this.track();
  }

  begin(held) {
    const { grip } = held;
    if (grip.part === null) return false;
    if (grip.part === "new" && !this.mayDraw()) grip.part = "film";
    this.begun = true;
    this.dragged = true;
    try {
      this.lanes.setPointerCapture(held.id);
    } catch {
      return true; // a pointer that is gone already ends the drag by itself
    }
    this.lanes.dataset.grip = grip.part === "move" ? "moving" : this.lanes.dataset.grip;
    if (grip.part !== "film") this.deeds.begin(grip);
    this.drift();
    return true;
  }

  mayDraw() {
    if (!this.deeds.clock().count || !this.deeds.hasStep()) return false;
    if (!this.deeds.markInHand()) return true;
    this.deeds.say("This step has its mark already. Drag its ends or its middle, or clear it first.");
    return false;
  }

  track() {
    const { grip, last } = this.held;
    const time = this.deeds.timeAt(last);
    if (grip.part === "film") {
      this.deeds.seek(time);
      return;
    }
    const draft = dragged(grip, time, this.deeds.clock());
    if (this.draft && draft.edge_s === this.draft.edge_s) return;
    this.draft = { id: grip.mark?.id ?? null, ...draft };
    this.deeds.draft(this.draft, wordsOf(this.draft));
  }

  /** While the pointer is held at either end, the stretch shown moves on. */
  drift() {
    const step = () => {
      if (!this.begun) return;
      const box = this.deeds.box();
      const { last } = this.held;
      const side = last < box.left + BRINK ? -1 : last > box.right - BRINK ? 1 : 0;
      if (side && this.deeds.drift(side)) this.track();
      requestAnimationFrame(step);
    };
    requestAnimationFrame(step);
  }

  escape(event) {
    if (event.key !== "Escape" || !this.begun) return;
    event.preventDefault();
    event.stopPropagation();
    this.finish(false);
  }

  /** @param {boolean} keep whether what was dragged is kept */
  finish(keep) {
    const { held, draft, begun } = this;
    if (!held) return;
    held.ends.abort();
    [this.held, this.draft, this.begun] = [null, null, false];
    this.lanes.dataset.grip = "";
    if (!begun || held.grip.part === "film") return;
    const real = draft && (draft.offset_s > draft.onset_s || held.grip.part !== "new");
    if (keep && real) this.deeds.drop(held.grip, draft);
    else this.deeds.back();
  }

  /** A click beside all marks goes to that moment of the film. */
  click(event) {
    if (this.dragged) this.dragged = false;
    else if (event.target.closest(".lane-track") && !event.target.closest("button")) this.deeds.seek(this.deeds.timeAt(event.clientX));
  }

  pinchBegins(event) {
    if (event.pointerType !== "touch") return;
    this.pointers.set(event.pointerId, event.clientX);
    if (this.pointers.size === 1) this.watchPointers();
    if (this.pointers.size !== 2) return;
    this.finish(false);
    this.pinch = this.spread();
  }

  watchPointers() {
    const ends = new AbortController();
    const on = (type, listener) => window.addEventListener(type, listener, { signal: ends.signal, capture: true });
    on("pointermove", (event) => this.pinched(event));
    const gone = (event) => {
      this.pointers.delete(event.pointerId);
      this.pinch = null;
      if (!this.pointers.size) ends.abort();
    };
    on("pointerup", gone);
    on("pointercancel", gone);
  }

  pinched(event) {
    if (!this.pointers.has(event.pointerId)) return;
    this.pointers.set(event.pointerId, event.clientX);
    if (!this.pinch || this.pointers.size !== 2) return;
    event.stopPropagation();
    const now = this.spread();
    this.deeds.pinch(this.pinch.middle, now.middle, now.width / this.pinch.width);
    this.pinch = now;
  }

  spread() {
    const [one, two] = [...this.pointers.values()];
    return { middle: (one + two) / 2, width: Math.max(20, Math.abs(one - two)) };
  }
}

function wordsOf({ onset_s, offset_s, edge_s }) {
  const length = offset_s - onset_s;
  return `${clockText(edge_s)}${length > 0 ? `, ${length.toFixed(2)} s long` : ""}`;
}
