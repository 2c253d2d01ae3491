/** Dividers between parts of the page: dragged, or moved by the arrow keys; where they were put is remembered. */
import { h } from "./dom.js";
import { keep, recall } from "./memory.js";

const STEP = 0.02;

export class Divider {
  /**
   * @param {{way: "columns"|"rows", label: string, least: number, most: number, key: string, testid: string,
   *          sized: (share: number|null) => void, share: () => number, around: () => DOMRect}} facts
   *   `share` tells the share of `around` before the divider as it is now, `sized` sets it, null for the usual one
   */
  constructor(facts) {
    this.facts = facts;
    this.element = h("div", {
      class: `divider ${facts.way}`, role: "separator", tabindex: "0", "aria-label": facts.label, data: { testid: facts.testid },
      "aria-orientation": facts.way === "columns" ? "vertical" : "horizontal", title: `${facts.label}: drag, or use the arrow keys; double click for the usual place`,
      "aria-valuemin": Math.round(100 * facts.least), "aria-valuemax": Math.round(100 * facts.most), "aria-valuenow": "50",
    });
    const { element } = this;
    element.addEventListener("pointerdown", (event) => {
      element.setPointerCapture(event.pointerId);
      this.grip = facts.share() - this.shareAt(event);
    });
    element.addEventListener("pointermove", (event) => {
      if (event.buttons & 1 && element.hasPointerCapture(event.pointerId)) this.put(this.shareAt(event) + this.grip);
    });
    element.addEventListener("dblclick", () => this.put(null));
    element.addEventListener("keydown", (event) => this.key(event));
  }

  /** Put it where it was left the last time. */
  recall() {
    this.put(recall(this.facts.key).share ?? null, false);
  }

  shareAt(event) {
    const around = this.facts.around();
    return this.facts.way === "columns" ? (event.clientX - around.left) / around.width : (event.clientY - around.top) / around.height;
  }

  key(event) {
    const back = event.key === "ArrowLeft" || event.key === "ArrowUp";
    const on = event.key === "ArrowRight" || event.key === "ArrowDown";
    const { least, most, share } = this.facts;
    const asked = { Home: least, End: most }[event.key] ?? (back || on ? share() + (on ? STEP : -STEP) : null);
    if (asked === null) return;
    event.preventDefault();
    this.put(asked);
  }

  /** @param {number|null} share of the room before the divider; null for the usual one */
  put(share, kept = true) {
    const { least, most, key, sized } = this.facts;
    const within = share === null ? null : Math.min(most, Math.max(least, share));
    sized(within);
    if (kept) keep(key, { share: within });
    this.tell();
  }

  tell() {
    const share = this.facts.share();
    if (Number.isFinite(share)) this.element.setAttribute("aria-valuenow", String(Math.round(100 * share)));
  }
}
