/** The overview: the whole film in one bar, with a window on the stretch that the timeline shows. */
import { h } from "./dom.js";
import { stretchText } from "./format.js";
import { TAKES } from "./lanes.js";

/** How near an edge of the window can be taken hold of, in pixels. */
const NEAR = 7;

export class Overview {
  /**
   * @param {object} view the stretch shown
   * @param {() => void} changed called when the stretch was changed here
   */
  constructor(view, changed) {
    this.view = view;
    this.changed = changed;
    this.canvas = h("canvas", { "aria-hidden": "true" });
    this.window = h("div", { class: "window" }, h("i"), h("i"));
    this.head = h("div", { class: "playhead", "aria-hidden": "true" });
    this.element = h("div", {
      class: "overview", role: "slider", tabindex: "0", "aria-label": "Stretch of the film that the timeline shows", "aria-valuemin": "0",
      title: "Drag the window, or its ends. Ctrl or Alt with the wheel over the timeline looks closer.", data: { takes: `${TAKES} PageUp PageDown`, testid: "overview" },
    }, this.canvas, this.window, this.head);
    this.element.addEventListener("pointerdown", (event) => this.press(event));
    this.element.addEventListener("pointermove", (event) => this.moved(event));
    for (const type of ["pointerup", "pointercancel"]) this.element.addEventListener(type, () => (this.grip = null));
    this.element.addEventListener("keydown", (event) => this.key(event));
  }

  /** Measure anew; call it when the size may have changed. */
  measure() {
    this.width = Math.max(1, this.element.clientWidth);
    this.height = this.element.clientHeight;
    const slide = [{ transform: "translateX(0)" }, { transform: `translateX(${this.width}px)` }];
    this.slide?.cancel();
    this.slide = this.head.animate(slide, { duration: 1000, fill: "both" });
    this.slide.pause();
  }

  x(time) {
    return (time / this.view.end) * this.width;
  }

  timeAt(clientX) {
    return ((clientX - this.element.getBoundingClientRect().left) / this.width) * this.view.end;
  }

  /** @param {number} time of the playhead */
  move(time) {
    if (this.slide) this.slide.currentTime = (1000 * time) / this.view.end;
  }

  press(event) {
    if (event.button !== 0) return;
    this.element.setPointerCapture(event.pointerId);
    const { from, to } = this.view;
    const time = this.timeAt(event.clientX);
    const near = (NEAR / this.width) * this.view.end;
    const edge = this.view.whole ? Infinity : Math.min(Math.abs(time - from), Math.abs(time - to));
    if (edge < near) this.grip = Math.abs(time - from) < Math.abs(time - to) ? "from" : "to";
    else this.grip = "both";
    if (this.grip === "both" && !this.view.holds(time)) this.view.pan(time - (from + to) / 2);
    this.at = time;
    this.changed();
  }

  moved(event) {
    const time = this.timeAt(event.clientX);
    if (!this.grip) return;
    const { from, to } = this.view;
    if (this.grip === "both") this.view.pan(time - this.at);
    else if (this.grip === "from") this.view.show(Math.min(time, to - 0.4), to);
    else this.view.show(from, Math.max(time, from + 0.4));
    this.at = time;
    this.changed();
  }

  key(event) {
    const part = { ArrowLeft: -0.1, ArrowDown: -0.1, ArrowRight: 0.1, ArrowUp: 0.1, PageDown: -0.9, PageUp: 0.9, Home: -Infinity, End: Infinity }[event.key];
    if (part === undefined || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    this.view.pan(Number.isFinite(part) ? part * this.view.span : part);
    this.changed();
  }

  /** Show where the window is. */
  place() {
    const { from, to, end, whole } = this.view;
    this.window.style.left = `${this.x(from)}px`;
    this.window.style.width = `${Math.max(6, this.x(to) - this.x(from))}px`;
    this.window.classList.toggle("whole", whole);
    this.element.setAttribute("aria-valuemax", end.toFixed(2));
    this.element.setAttribute("aria-valuenow", from.toFixed(2));
    this.element.setAttribute("aria-valuetext", whole ? "the whole film" : stretchText(from, to));
  }

  /**
   * Draw marks and comments over the whole film, when they or the size have changed.
   * @param {object} scene marks, comments, inHandRow
   * @param {object} colours
   */
  draw(scene, colours) {
    const { marks, comments, inHandRow } = scene;
    const said = JSON.stringify([this.width, this.height, this.view.end, colours.mine, colours.faint, inHandRow?.key,
      marks.map((mark) => [mark.onset_s, mark.offset_s, mark.mine, mark.step]), comments.map((comment) => comment.onset_s)]);
    if (said === this.drawn || !this.height) return;
    this.drawn = said;
    const density = window.devicePixelRatio || 1;
    this.canvas.width = Math.round(this.width * density);
    this.canvas.height = Math.round(this.height * density);
    const pen = this.canvas.getContext("2d");
    pen.setTransform(density, 0, 0, density, 0, 0);
    const tall = this.height;
    for (const mark of [...marks].sort((one, two) => Number(one.mine) - Number(two.mine))) {
      const hand = mark.mine && mark.step === inHandRow?.step && (mark.side ?? null) === (inHandRow.side ?? null);
      pen.fillStyle = mark.mine ? colours.mine : colours.faint;
      pen.globalAlpha = hand ? 1 : mark.mine ? 0.55 : 0.4;
      const [top, height] = mark.mine ? [tall * 0.2, tall * 0.38] : [tall * 0.64, tall * 0.14];
      pen.fillRect(this.x(mark.onset_s), top, Math.max(2, this.x(mark.offset_s) - this.x(mark.onset_s)), height);
    }
    pen.globalAlpha = 1;
    pen.fillStyle = colours.faint;
    for (const comment of comments) pen.fillRect(this.x(comment.onset_s) - 1, tall * 0.82, 2, tall * 0.18);
  }
}
