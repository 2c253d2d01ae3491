/**
 * The stage: shows a part of the picture larger. Only the picture grows; what is drawn over it is drawn anew and
 * stays sharp.
 */
import { h, keepFromBrowser, setText } from "./dom.js";

/** How much nearer one can go: an eye in a film of a whole body then fills the stage. */
export const NEAREST = 16;

const STEP = 1.5;
const WHEEL = 0.0016;
const PINCH = 0.012;
const DRAG_PX = 4;
const TWICE_MS = 230;

/**
 * Where the whole picture lies in a box, as large as it fits, with empty bars beside or above.
 * @param {{width: number, height: number}} box CSS pixels
 * @param {{width: number, height: number}} picture pixels of the upright picture
 * @returns {{left: number, top: number, width: number, height: number}} CSS pixels
 */
export function letterbox(box, picture) {
  const scale = Math.min(box.width / picture.width, box.height / picture.height);
  const [width, height] = [picture.width * scale, picture.height * scale];
  return { left: (box.width - width) / 2, top: (box.height - height) / 2, width, height };
}

/**
 * Bring a view into its bounds: no farther than whole, and no bar beside the picture where it could fill the box.
 * @param {{scale: number, x: number, y: number}} view how much larger, and the share of the picture in the middle
 * @param {{width: number, height: number}} box
 * @param {{width: number, height: number}} picture
 */
export function bounded(view, box, picture) {
  const fit = letterbox(box, picture);
  const scale = Math.min(NEAREST, Math.max(1, view.scale));
  const within = (share, room, length) => {
    const half = room / 2 / (scale * length);
    return half >= 0.5 ? 0.5 : Math.min(1 - half, Math.max(half, share));
  };
  return { scale, x: within(view.x, box.width, fit.width), y: within(view.y, box.height, fit.height) };
}

/**
 * From pixels of the picture to CSS pixels of the box: `css = k * pixel + (dx, dy)`.
 * @param {{scale: number, x: number, y: number}} view as from `bounded`
 * @returns {{k: number, dx: number, dy: number}}
 */
export function placing(view, box, picture) {
  const fit = letterbox(box, picture);
  const k = (view.scale * fit.width) / picture.width;
  return { k, dx: box.width / 2 - k * view.x * picture.width, dy: box.height / 2 - k * view.y * picture.height };
}

/**
 * The view after going nearer or further while one point of the box keeps its place in the picture.
 * @param {{x: number, y: number}} at CSS pixels from the box's corner
 */
export function zoomed(view, factor, at, box, picture) {
  const { k, dx, dy } = placing(view, box, picture);
  const scale = Math.min(NEAREST, Math.max(1, view.scale * factor));
  const grown = (k * scale) / view.scale;
  const x = (at.x - dx) / k / picture.width - (at.x - box.width / 2) / grown / picture.width;
  const y = (at.y - dy) / k / picture.height - (at.y - box.height / 2) / grown / picture.height;
  return bounded({ scale, x, y }, box, picture);
}

export class Stage {
  /**
   * @param {HTMLElement} film the box the picture is seen through
   * @param {HTMLElement} lens holds the film's video and is what grows
   * @param {{changed: () => void, clicked: () => void}} listeners
   */
  constructor(film, lens, listeners) {
    this.film = film;
    this.lens = lens;
    this.listeners = listeners;
    this.picture = { width: 16, height: 9 };
    this.view = { scale: 1, x: 0.5, y: 0.5 };
    /** Fingers and buttons that are down, by their id. @type {Map<number, {x: number, y: number}>} */
    this.down = new Map();
    this.part = h("i");
    this.map = h("div", { class: "zoom-map", "aria-hidden": "true" }, this.part);
    this.words = h("span", { data: { testid: "zoom-words" } });
    this.hint = h("div", { class: "zoom-hint", hidden: true }, this.map, this.words);
    film.append(this.hint);
    this.stop = new AbortController();
    this.listen();
    this.resizer = new ResizeObserver(() => this.apply());
    this.resizer.observe(film);
  }

  listen() {
    const on = (type, listener, more = {}) => this.lens.addEventListener(type, listener, { signal: this.stop.signal, ...more });
    on("wheel", (event) => this.wheel(event), { passive: false });
    on("pointerdown", (event) => this.press(event));
    on("pointermove", (event) => this.drag(event));
    for (const type of ["pointerup", "pointercancel"]) on(type, (event) => this.down.delete(event.pointerId));
    on("click", (event) => this.click(event));
    on("touchstart", keepFromBrowser, { passive: false });
  }

  /** @returns {{width: number, height: number}} the box in CSS pixels */
  get box() {
    return { width: Math.max(1, this.film.clientWidth), height: Math.max(1, this.film.clientHeight) };
  }

  /** Take the size of the upright picture. */
  show(width, height) {
    if (!(width > 0 && height > 0) || (width === this.picture.width && height === this.picture.height)) return;
    this.picture = { width, height };
    this.apply();
  }

  /** Look at a part: how much larger, and which share of the picture is in the middle. */
  look(view) {
    this.view = { scale: Number(view?.scale) || 1, x: Number(view?.x ?? 0.5), y: Number(view?.y ?? 0.5) };
    this.apply();
  }

  whole() {
    this.look({ scale: 1, x: 0.5, y: 0.5 });
  }

  /** @param {number} steps nearer (negative: further) @param {{x: number, y: number}} [at] what keeps its place */
  nearer(steps, at = { x: this.box.width / 2, y: this.box.height / 2 }) {
    this.by(STEP ** steps, at);
  }

  by(factor, at) {
    this.view = zoomed(this.view, factor, at, this.box, this.picture);
    this.apply();
  }

  /** From pixels of the picture to CSS pixels of the box. @returns {{k: number, dx: number, dy: number}} */
  get placing() {
    return placing(this.view, this.box, this.picture);
  }

  /**
   * Where a place of the window lies in the picture, in shares of its width and height.
   * @param {number} clientX @param {number} clientY
   */
  shareAt(clientX, clientY) {
    const { x, y } = this.within({ clientX, clientY });
    const { k, dx, dy } = this.placing;
    return { x: (x - dx) / k / this.picture.width, y: (y - dy) / k / this.picture.height };
  }

  within(event) {
    const around = this.film.getBoundingClientRect();
    return { x: event.clientX - around.left, y: event.clientY - around.top };
  }

  apply() {
    if (!this.film.clientWidth) return;
    const { box, picture } = this;
    this.view = bounded(this.view, box, picture);
    const { scale, x, y } = this.view;
    const fit = letterbox(box, picture);
    const left = box.width / 2 - scale * (fit.left + x * fit.width);
    const top = box.height / 2 - scale * (fit.top + y * fit.height);
    this.lens.style.transform = scale === 1 ? "" : `translate(${left}px, ${top}px) scale(${scale})`;
    this.lens.classList.toggle("near", scale > 1);
    this.showHint(box, fit);
    this.listeners.changed();
  }

  /** A small picture of where one is, while not all is seen. */
  showHint(box, fit) {
    const { scale, x, y } = this.view;
    this.hint.hidden = scale === 1;
    if (this.hint.hidden) return;
    const [width, height] = [Math.min(1, box.width / scale / fit.width), Math.min(1, box.height / scale / fit.height)];
    this.map.style.aspectRatio = `${fit.width} / ${fit.height}`;
    const percent = (share) => `${(100 * share).toFixed(2)}%`;
    this.part.style.cssText = `left:${percent(x - width / 2)};top:${percent(y - height / 2)};width:${percent(width)};height:${percent(height)}`;
    setText(this.words, `${scale.toFixed(1)} times nearer`);
  }

  wheel(event) {
    event.preventDefault();
    const rows = event.deltaMode === WheelEvent.DOM_DELTA_LINE ? 18 : 1;
    const way = Math.max(-240, Math.min(240, event.deltaY * rows));
    this.by(Math.exp(-way * (event.ctrlKey ? PINCH : WHEEL)), this.within(event));
  }

  press(event) {
    if (event.button) return;
    this.down.set(event.pointerId, this.within(event));
    this.begun = this.within(event);
    this.dragged = this.down.size > 1;
  }

  drag(event) {
    const before = this.down.get(event.pointerId);
    if (!before) return;
    const here = this.within(event);
    const other = [...this.down].find(([id]) => id !== event.pointerId)?.[1];
    if (!this.dragged && Math.hypot(here.x - this.begun.x, here.y - this.begun.y) < DRAG_PX) return;
    if (!this.dragged) this.lens.setPointerCapture(event.pointerId);
    this.dragged = true;
    this.down.set(event.pointerId, here);
    if (other) this.pinch(before, here, other);
    else this.pan(here.x - before.x, here.y - before.y);
  }

  /** One of two fingers moved: the picture grows about the place between them, and goes along with it. */
  pinch(before, here, other) {
    const apart = (one) => Math.max(12, Math.hypot(one.x - other.x, one.y - other.y));
    this.by(apart(here) / apart(before), { x: (before.x + other.x) / 2, y: (before.y + other.y) / 2 });
    this.pan((here.x - before.x) / 2, (here.y - before.y) / 2);
  }

  pan(right, down) {
    const { k } = this.placing;
    const { scale, x, y } = this.view;
    this.look({ scale, x: x - right / k / this.picture.width, y: y - down / k / this.picture.height });
  }

  /** One click plays or pauses; two in a row go nearer, or back to the whole. */
  click(event) {
    clearTimeout(this.once);
    if (this.dragged) this.dragged = false;
    else if (event.detail < 2) this.once = setTimeout(() => this.listeners.clicked(), TWICE_MS);
    else if (this.view.scale > 1) this.whole();
    else this.nearer(2.5, this.within(event));
  }

  destroy() {
    clearTimeout(this.once);
    this.stop.abort();
    this.resizer.disconnect();
  }
}
