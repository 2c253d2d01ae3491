/** Landmarks over the picture, on the very frame that is on the screen, and what the measures of the step rest on. */
import { h, setText } from "./dom.js";
import { drawConstructions, drawLandmarks } from "./landmarks.js";
import { LONGEST_S, Packs, STRETCH_S } from "./packs.js";

export class Overlay {
  /**
   * @param {HTMLElement} film the box of the picture
   * @param {HTMLElement} lens holds the video; the canvas lies over it, not in it, and so is never enlarged
   * @param {object} stage tells where the picture lies
   */
  constructor(film, lens, stage) {
    this.stage = stage;
    this.on = false;
    this.scene = null;
    this.canvas = h("canvas", { class: "overlay", "aria-hidden": "true", data: { testid: "overlay-canvas" } });
    this.legend = h("ul", { class: "overlay-legend", "aria-label": "What is drawn", hidden: true, data: { testid: "overlay-legend" } });
    this.packs = new Packs(() => this.draw());
    lens.after(this.canvas, this.legend);
  }

  /**
   * @param {object|null} scene `recording` (id), `person` (code), `state` (changes with the analysis), `end` of the film,
   *   `step`, `side`, `covered`, `measured` and the step's `span` in seconds, where it has one
   */
  show(scene) {
    if (this.scene && scene.state !== this.scene.state) this.packs.clear();
    this.scene = scene;
    this.draw();
  }

  /** @param {number} time presentation time of the frame on the screen */
  at(time) {
    if (time === this.time) return;
    this.time = time;
    if (this.on) this.draw();
  }

  set(on) {
    this.on = on;
    this.draw();
  }

  draw() {
    const { width, height } = this.stage.box;
    const scale = window.devicePixelRatio || 1;
    this.canvas.hidden = !this.on;
    this.legend.hidden = !this.on;
    if (!this.on || !this.scene || this.time === undefined) return;
    const [wide, high] = [Math.round(width * scale), Math.round(height * scale)];
    if (this.canvas.width !== wide || this.canvas.height !== high) [this.canvas.width, this.canvas.height] = [wide, high];
    const pen = this.canvas.getContext("2d");
    pen.setTransform(scale, 0, 0, scale, 0, 0);
    pen.clearRect(0, 0, width, height);
    this.tell(this.drawAll(pen));
  }

  /** @returns {object[]} the lines of the legend */
  drawAll(pen) {
    const plain = this.packs.get(this.plainUrl());
    if (typeof plain === "string") return [{ words: plain }];
    if (plain) drawLandmarks(pen, plain, this.time, this.stage.placing);
    this.canvas.dataset.time = plain ? this.time.toFixed(6) : "";
    const { measured, covered, span } = this.scene;
    if (!measured) return [{ words: "Landmarks. No measure looks at this step." }];
    if (covered) return [{ words: "Landmarks. What the measures rest on is covered until you have graded this step." }];
    if (span && (this.time < span.onset_s || this.time > span.offset_s)) {
      return [{ words: "Landmarks. What the measures rest on is drawn within the step's seconds." }];
    }
    const built = this.packs.get(this.builtUrl());
    if (typeof built === "string") return [{ words: built }];
    if (!built || !plain) return [{ words: "Fetching the landmarks" }];
    return drawConstructions(pen, built, this.time, this.stage.placing);
  }

  url(from, to, more = "") {
    const { recording, person, state } = this.scene;
    const query = `from=${from.toFixed(4)}&to=${to.toFixed(4)}&as=${encodeURIComponent(person)}&state=${encodeURIComponent(state)}`;
    return `/api/landmarks/${recording}?${query}${more}`;
  }

  plainUrl() {
    const stretch = Math.floor(this.time / STRETCH_S);
    return this.url(Math.max(0, stretch * STRETCH_S - 0.5), (stretch + 1) * STRETCH_S);
  }

  /** The step's own seconds, so that what is drawn is what its values were read from; else some around the frame. */
  builtUrl() {
    const { step, side, span } = this.scene;
    const more = `&step=${encodeURIComponent(step)}${side ? `&side=${side}` : ""}`;
    if (span && span.offset_s - span.onset_s <= LONGEST_S) return this.url(span.onset_s, span.offset_s, more);
    const stretch = Math.floor(this.time / STRETCH_S);
    return this.url(stretch * STRETCH_S, (stretch + 1) * STRETCH_S, more);
  }

  /** @param {{colour?: string, words: string, reading?: string}[]} lines */
  tell(lines) {
    while (this.legend.children.length > lines.length) this.legend.lastChild.remove();
    while (this.legend.children.length < lines.length) this.legend.append(h("li", {}, h("i"), h("span"), h("b")));
    lines.forEach(({ colour, words, reading }, at) => {
      const [mark, name, value] = this.legend.children[at].children;
      mark.hidden = !colour;
      mark.style.background = colour ?? "";
      setText(name, words);
      setText(value, reading ?? "");
    });
  }
}
