/**
 * The timeline: an overview with a window, a ruler, a lane a section with its marks, a lane of comments, curves of the
 * step in hand. While the film plays only the playhead moves; all else is drawn when something changes.
 */
import { Dragging } from "./dragging.js";
import { h } from "./dom.js";
import { clockText, ticks } from "./format.js";
import { Lanes } from "./lanes.js";
import { Overview } from "./overview.js";
import { Plots } from "./plots.js";
import { Roving } from "./roving.js";
import { timelineParts } from "./timeline_parts.js";
import { Tips } from "./tips.js";
import { View } from "./view.js";

/** How much closer one press of a key or one notch of a wheel looks. */
const CLOSER = 1.5;

/** Seconds between two places of the playhead from which on it was sent there rather than played there. */
const JUMP_S = 0.6;

export class Timeline {
  /**
   * @param {HTMLElement} place
   * @param {object} deeds seek, follow, select, act, push, say, leave, pause, looking, newName, clock, traces
   */
  constructor(place, deeds) {
    this.place = place;
    this.deeds = deeds;
    this.view = new View();
    this.time = 0;
    this.draft = null;
    this.build();
    this.lanes = new Lanes(this.parts.lanes, this.parts.foot, { go: (time, key) => deeds.seek(time, key) });
    this.plots = new Plots(this.parts.curves, { traces: deeds.traces, go: (time) => deeds.seek(time) });
    this.roving = new Roving(this.parts.body, {
      rows: () => [...this.lanes.rows, ...this.plots.rows], first: () => this.firstItem(), leave: () => deeds.leave(),
      reveal: (item) => this.reveal(item.from, item.to),
    });
    this.dragging = new Dragging(place, this.parts.body, this.dragDeeds());
    this.tips = new Tips(this);
    this.listen();
  }

  build() {
    this.overview = new Overview(this.view, () => this.looked());
    const zooms = { further: () => this.zoom(1 / CLOSER), closer: () => this.zoom(CLOSER) };
    this.parts = timelineParts(this.place, this.overview.element, this.deeds.act, zooms);
  }

  listen() {
    const { parts } = this;
    for (const area of [parts.slider, parts.curves]) {
      const drag = (event) => event.buttons & 1 && this.deeds.seek(this.timeAt(event.clientX));
      area.addEventListener("pointerdown", (event) => {
        if (event.button !== 0 || event.target.closest("button")) return;
        area.setPointerCapture(event.pointerId);
        drag(event);
      });
      area.addEventListener("pointermove", drag);
    }
    parts.slider.addEventListener("keydown", (event) => this.scrub(event));
    this.place.addEventListener("keydown", (event) => this.key(event));
    this.place.addEventListener("wheel", (event) => this.wheel(event), { passive: false });
    this.resizer = new ResizeObserver(() => this.measure());
    this.resizer.observe(parts.time);
    this.resizer.observe(parts.curves);
  }

  /**
   * Show a state.
   * @param {object} scene sections, rows, marks, proposals, comments (as seen), inHand, inHandRow, ofHand, curves, covered,
   *   uncover, duration
   */
  show(scene) {
    const before = this.scene;
    this.scene = scene;
    this.view.setEnd(scene.duration);
    this.lanes.show(scene);
    this.plots.show(scene);
    this.roving.settle();
    if (this.fits && before && before.inHand !== scene.inHand) this.fit();
    this.draw();
  }

  measure() {
    this.size = null;
    this.draw();
  }

  /** Left end and width of the lanes, kept until the size changes: reading them each frame would cost a layout. */
  get box() {
    if (this.size) return this.size;
    const names = parseFloat(getComputedStyle(this.place).getPropertyValue("--names")) || 0;
    const width = Math.max(1, this.parts.time.clientWidth - names);
    this.size = { names, width };
    const slide = [{ transform: `translateX(${names}px)` }, { transform: `translateX(${names + width}px)` }];
    this.slide?.cancel();
    this.slide = this.parts.head.animate(slide, { duration: 1000, fill: "both" });
    this.slide.pause();
    this.overview.measure();
    return this.size;
  }

  /** @param {number} time @returns {number} pixels from the left end of the lanes */
  x(time) {
    return ((time - this.view.from) / this.view.span) * this.box.width;
  }

  timeAt(clientX) {
    const share = (clientX - this.parts.time.getBoundingClientRect().left - this.box.names) / this.box.width;
    return this.view.from + Math.max(0, Math.min(1, share)) * this.view.span;
  }

  /** @param {number} time seconds; moves the playhead, and turns the page where it leaves it */
  move(time) {
    const jumped = Math.abs(time - this.time) > JUMP_S;
    this.time = time;
    if (!this.scene || !this.place.clientWidth) return;
    if (!this.dragging.active && this.view.follow(time, jumped)) this.draw();
    else this.placeHead();
  }

  placeHead() {
    const share = (this.time - this.view.from) / this.view.span;
    if (!this.slide) return;
    this.slide.currentTime = 1000 * share;
    const away = share < -0.002 || share > 1.002;
    if (away !== this.away) this.parts.head.hidden = away;
    this.away = away;
    this.overview.move(this.time);
    const now = performance.now();
    if (now - (this.told ?? -1e9) < 250) return;
    this.told = now;
    this.parts.slider.setAttribute("aria-valuenow", this.time.toFixed(2));
    this.parts.slider.setAttribute("aria-valuetext", clockText(this.time));
  }

  draw() {
    if (!this.scene || !this.place.clientWidth) return;
    const { view, lanes, plots, overview, parts } = this;
    const x = (time) => this.x(time);
    const { width } = this.box;
    parts.slider.setAttribute("aria-valuemax", this.scene.duration.toFixed(2));
    this.drawRuler();
    lanes.layout(x, width, this.draft);
    plots.draw(view, this.colours());
    plots.layout(x, width);
    this.placeStretch();
    overview.place();
    overview.draw(this.scene, this.colours());
    this.placeHead();
    this.deeds.looking(this.closeUp);
  }

  /** Draw at most once a frame, however often something moves in it. */
  drawSoon() {
    this.soon ??= requestAnimationFrame(() => {
      this.soon = null;
      this.draw();
    });
  }

  drawRuler() {
    const { view, box } = this;
    const drawn = `${view.from} ${view.to} ${box.width}`;
    if (drawn === this.ruled) return;
    this.ruled = drawn;
    const { times, digits } = ticks(view.from, view.to, Math.floor(box.width / 64));
    this.parts.ruler.replaceChildren(...times.map((time) =>
      h("span", { class: "tick", style: `left:${box.names + this.x(time)}px`, text: clockText(time, digits) })));
  }

  /** The edges of the mark in hand, across all curves. */
  placeStretch() {
    const { stretch } = this.parts;
    const mark = this.draft ?? this.scene.ofHand.mark;
    const here = mark && mark.offset_s > mark.onset_s && this.plots.shown.length && mark.offset_s >= this.view.from && mark.onset_s <= this.view.to;
    stretch.hidden = !here;
    if (!here) return;
    const from = Math.max(-4, this.x(mark.onset_s));
    stretch.style.left = `${this.box.names + from}px`;
    stretch.style.width = `${Math.min(this.box.width + 4, this.x(mark.offset_s)) - from}px`;
  }

  /** A person looked at another stretch. */
  looked() {
    this.fits = false;
    this.view.looked(this.time);
    this.drawSoon();
  }

  /** @param {number} factor above 1 closer @param {number} [time] that keeps its place; the playhead where it is seen */
  zoom(factor, time = this.view.holds(this.time) ? this.time : (this.view.from + this.view.to) / 2) {
    this.view.zoom(time, factor);
    this.looked();
  }

  get closeUp() {
    return !this.view.whole;
  }

  /** Look closer at the step in hand, or at the whole film again. */
  toggle() {
    if (this.closeUp) {
      this.fits = false;
      this.view.showAll();
    } else this.fit();
    this.draw();
  }

  fit() {
    const { mark, otherMarks } = this.scene.ofHand;
    const seconds = mark ?? otherMarks[0] ?? { onset_s: this.time, offset_s: this.time };
    const span = Math.max(4, (seconds.offset_s - seconds.onset_s) * 1.5);
    const middle = (seconds.onset_s + seconds.offset_s) / 2;
    this.view.show(middle - span / 2, middle + span / 2);
    this.view.looked(this.time);
    this.fits = true;
  }

  /** The wheel alone scrolls as everywhere; with Ctrl or Alt it looks closer, and sideways it moves the stretch. */
  wheel(event) {
    const closer = event.ctrlKey || event.altKey;
    const sideways = event.shiftKey ? event.deltaX || event.deltaY : event.deltaX;
    if (closer) {
      event.preventDefault();
      const notches = Math.max(-3, Math.min(3, -event.deltaY / (event.deltaMode ? 3 : 100)));
      this.zoom(CLOSER ** notches, this.timeAt(event.clientX));
    } else if (sideways && Math.abs(sideways) >= Math.abs(event.deltaY) * (event.shiftKey ? 0 : 1) && !this.view.whole) {
      event.preventDefault();
      this.view.pan((sideways / this.box.width) * this.view.span);
      this.looked();
    }
  }

  key(event) {
    if (event.ctrlKey || event.metaKey || event.altKey || !event.target.closest("[data-takes]")) return;
    const factor = { "+": CLOSER, "=": CLOSER, "-": 1 / CLOSER }[event.key];
    if (factor) this.zoom(factor, this.itemTime());
    else if (event.key === "0") {
      this.fits = false;
      this.view.showAll();
      this.drawSoon();
    } else return;
    event.preventDefault();
  }

  /** The moment of the thing that has the focus, so that looking closer looks at it. */
  itemTime() {
    const item = this.parts.body.contains(this.place.getRootNode().activeElement) ? this.roving.find(this.roving.id) : null;
    return item && this.view.holds(item.from) ? item.from : undefined;
  }

  scrub(event) {
    const to = { Home: 0, End: this.scene.duration, PageUp: this.time + 10, PageDown: this.time - 10 }[event.key];
    if (to === undefined) return;
    event.preventDefault();
    this.deeds.seek(Math.max(0, Math.min(this.scene.duration, to)));
  }

  firstItem() {
    const { mark } = this.scene.ofHand;
    return mark ? `m:${mark.id}` : null;
  }

  /** Go into the timeline by keyboard: to the mark of the step in hand, else to what had the focus last. */
  enter() {
    if (!this.roving.enter(this.firstItem() ?? this.roving.id)) this.parts.slider.focus({ preventScroll: true });
  }

  reveal(from, to) {
    if (this.view.holds(from) && this.view.holds(to)) return;
    this.view.reveal(from, to);
    this.view.follows = false;
    this.draw();
  }

  dragDeeds() {
    const { deeds } = this;
    return {
      timeAt: (clientX) => this.timeAt(clientX), x: (time) => this.x(time), box: () => this.screenBox(),
      clock: deeds.clock, markInHand: () => this.scene?.ofHand.mark ?? null, hasStep: () => Boolean(this.scene?.inHandRow),
      say: deeds.say, seek: (time) => deeds.seek(time),
      begin: (grip) => this.beginDrag(grip), draft: (draft, words) => this.showDraft(draft, words),
      drop: (grip, draft) => this.drop(grip, draft), back: () => this.endDrag(true),
      drift: (side) => this.drift(side), pinch: (before, now, factor) => this.pinch(before, now, factor),
    };
  }

  screenBox() {
    const left = this.parts.time.getBoundingClientRect().left + this.box.names;
    return { left, right: left + this.box.width };
  }

  beginDrag(grip) {
    this.cameFrom = this.time;
    this.deeds.pause();
    if (grip.row) this.deeds.select(grip.row.key);
  }

  showDraft(draft, words) {
    this.draft = draft;
    this.deeds.follow(draft.edge_s);
    this.tips.beside(draft.edge_s, words);
    this.drawSoon();
  }

  drop(grip, draft) {
    const row = grip.row ?? this.scene.inHandRow;
    const operation = { op: "mark", mark_id: grip.mark?.id ?? this.deeds.newName(), step: row.step, side: row.side ?? null };
    const moved = !grip.mark || draft.onset_s !== grip.mark.onset_s || draft.offset_s !== grip.mark.offset_s;
    this.endDrag(!moved);
    if (moved) this.deeds.push({ ...operation, onset_s: draft.onset_s, offset_s: draft.offset_s });
  }

  /** @param {boolean} back whether the film goes back to where it was */
  endDrag(back) {
    this.draft = null;
    this.parts.label.hidden = true;
    if (back) this.deeds.follow(this.cameFrom);
    this.drawSoon();
  }

  drift(side) {
    if (this.view.whole) return false;
    const before = this.view.from;
    this.view.pan(side * this.view.span * 0.012);
    this.drawSoon();
    return this.view.from !== before;
  }

  pinch(before, now, factor) {
    const time = this.timeAt(before);
    this.view.zoom(time, factor);
    this.view.pan(-((now - before) / this.box.width) * this.view.span);
    this.looked();
  }

  /** Colours of the theme; read anew only when the theme changes. */
  colours() {
    const theme = this.place.closest("[data-theme]")?.dataset.theme ?? "";
    if (this.palette && theme === this.theme) return this.palette;
    this.theme = theme;
    const style = getComputedStyle(this.place);
    const read = (name) => style.getPropertyValue(name).trim();
    this.palette = {
      lines: [read("--curve-1"), read("--curve-2"), read("--curve-3")], band: read("--band"), bandEdge: read("--band-edge"),
      hatch: read("--hatch"), mine: read("--mine"), faint: read("--quiet"), paper: read("--paper"), font: style.fontFamily || "sans-serif",
    };
    return this.palette;
  }

  /** @param {boolean} undo @param {boolean} redo whether there is anything to undo or redo */
  showHistory(undo, redo) {
    this.parts.undo.disabled = !undo;
    this.parts.redo.disabled = !redo;
  }

  destroy() {
    this.resizer.disconnect();
    cancelAnimationFrame(this.soon);
  }
}
