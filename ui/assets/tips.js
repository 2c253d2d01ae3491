/** What is said beside the pointer, beside an edge that is dragged, and of an unusable stretch that has the focus. */
import { setText } from "./dom.js";
import { clockText } from "./format.js";

export class Tips {
  /** @param {object} timeline */
  constructor(timeline) {
    this.timeline = timeline;
    const { tip, curves, body } = timeline.parts;
    curves.addEventListener("pointermove", (event) => this.follow(event));
    curves.addEventListener("pointerleave", () => (tip.hidden = true));
    body.addEventListener("focusin", (event) => this.showLost(event.target));
    body.addEventListener("focusout", () => (tip.hidden = true));
  }

  /** Say what the curve under the pointer says there. */
  follow(event) {
    const { parts, box, plots } = this.timeline;
    const rect = parts.time.getBoundingClientRect();
    const time = this.timeline.timeAt(event.clientX);
    const said = event.clientX - rect.left < box.names ? null : plots.saidAt(event.target, time);
    parts.tip.hidden = said === null;
    if (said !== null) this.place(`${clockText(time)}  ${said}`, event.clientX - rect.left + 12, event.clientY - rect.top - 30);
  }

  /** Say why a stretch is unusable when it has the focus. */
  showLost(target) {
    const { parts, box, plots } = this.timeline;
    const lost = plots.lostWords(target);
    if (!lost) return;
    plots.layout((time) => this.timeline.x(time), box.width);
    parts.tip.hidden = false;
    const top = lost.element.getBoundingClientRect().top - parts.time.getBoundingClientRect().top;
    this.place(lost.words, box.names + this.timeline.x(lost.time), top - 26);
  }

  place(words, x, y) {
    const { parts, box } = this.timeline;
    setText(parts.tip, words);
    const most = box.names + box.width - parts.tip.offsetWidth - 4;
    parts.tip.style.transform = `translate(${Math.max(0, Math.min(x, most))}px, ${Math.max(0, y)}px)`;
  }

  /** Say beside a dragged edge where it is. @param {number} time seconds @param {string} words */
  beside(time, words) {
    const { parts, box, lanes } = this.timeline;
    const { label } = parts;
    label.hidden = false;
    setText(label, words);
    const at = Math.max(0, Math.min(box.width - label.offsetWidth, this.timeline.x(time) - label.offsetWidth / 2));
    const lane = (lanes.open?.element ?? parts.lanes).getBoundingClientRect();
    const above = Math.max(0, lane.top - parts.time.getBoundingClientRect().top - label.offsetHeight - 2);
    label.style.transform = `translate(${box.names + at}px, ${above}px)`;
  }
}
