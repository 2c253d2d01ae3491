/** The timeline: a ruler, a lane a section with its marks, a lane of comments, curves of the step in hand. */
import { drawCurve, saidAt } from "./curves.js";
import { h, setText } from "./dom.js";
import { clockText, stretchText, ticks } from "./format.js";
import { rowKey } from "./state.js";

const WHO = { learner: "learner", peer: "peer", instructor: "instructor" };

export class Timeline {
  /**
   * @param {HTMLElement} place
   * @param {{seek: (time: number) => void, select: (key: string) => void, traces: object}} deeds
   */
  constructor(place, deeds) {
    this.place = place;
    this.deeds = deeds;
    this.view = [0, 1];
    this.time = 0;
    this.ruler = h("div", { class: "ruler" });
    this.lanes = h("div", { class: "lanes" });
    this.curves = h("div", { class: "curves" });
    this.head = h("div", { class: "playhead", "aria-hidden": "true" });
    this.slider = h("div", {
      class: "scrub", role: "slider", tabindex: "0", "aria-label": "Place in the film", "aria-valuemin": "0",
    });
    this.tip = h("div", { class: "tip", hidden: true });
    this.place.replaceChildren(this.ruler, this.lanes, this.curves, this.slider, this.head, this.tip);
    this.listen();
  }

  listen() {
    const drag = (event) => {
      if (event.buttons & 1) this.deeds.seek(this.timeAt(event.clientX));
    };
    for (const area of [this.slider, this.curves]) {
      area.addEventListener("pointerdown", (event) => {
        area.setPointerCapture(event.pointerId);
        drag(event);
      });
      area.addEventListener("pointermove", drag);
    }
    this.curves.addEventListener("pointermove", (event) => this.showTip(event));
    this.curves.addEventListener("pointerleave", () => (this.tip.hidden = true));
    this.resizer = new ResizeObserver(() => this.draw());
    this.resizer.observe(this.place);
  }

  /**
   * Show a state.
   * @param {object} scene sections, rows, marks, comments (as seen), inHand, ofHand, curves, covered, duration, view
   */
  show(scene) {
    this.scene = scene;
    this.view = scene.view;
    this.draw();
  }

  get left() {
    return parseFloat(getComputedStyle(this.place).getPropertyValue("--names")) || 0;
  }

  get width() {
    return Math.max(1, this.place.clientWidth - this.left);
  }

  /** @param {number} time @returns {number} pixels from the left end of the lanes */
  x(time) {
    return ((time - this.view[0]) / (this.view[1] - this.view[0])) * this.width;
  }

  timeAt(clientX) {
    const share = (clientX - this.place.getBoundingClientRect().left - this.left) / this.width;
    return this.view[0] + Math.max(0, Math.min(1, share)) * (this.view[1] - this.view[0]);
  }

  /** @param {number} time seconds; moves the playhead only */
  move(time) {
    this.time = time;
    const x = this.x(time);
    this.head.hidden = x < -1 || x > this.width + 1;
    this.head.style.transform = `translateX(${this.left + x}px)`;
    const now = performance.now();
    if (now - (this.told ?? -1e9) < 250) return;
    this.told = now;
    this.slider.setAttribute("aria-valuenow", time.toFixed(2));
    this.slider.setAttribute("aria-valuetext", clockText(time));
  }

  draw() {
    if (!this.scene || !this.place.clientWidth) return;
    this.slider.setAttribute("aria-valuemax", this.scene.duration.toFixed(2));
    this.drawRuler();
    this.drawLanes();
    this.drawCurves();
    this.move(this.time);
  }

  drawRuler() {
    const { times, digits } = ticks(this.view[0], this.view[1], Math.floor(this.width / 64));
    const labels = times.map((time) =>
      h("span", { class: "tick", style: `left:${this.left + this.x(time)}px`, text: clockText(time, digits) }),
    );
    this.ruler.replaceChildren(...labels);
  }

  drawLanes() {
    const { sections, marks, comments } = this.scene;
    const lanes = sections.map((section) => {
      const steps = new Set(section.rows.map((row) => row.step));
      const inside = marks.filter((mark) => steps.has(mark.step));
      return this.lane(shortTitle(section.title), section.title, inside.map((mark) => this.markButton(mark)));
    });
    lanes.push(this.lane("Comments", "Comments", comments.map((comment) => this.commentButton(comment)), "comment-lane"));
    const signature = lanes.map((lane) => lane.outerHTML).join("");
    if (signature === this.signature) return;
    this.signature = signature;
    this.lanes.replaceChildren(...lanes);
    this.revealLane(lanes[sections.findIndex((section) => section.id === this.scene.inHandRow?.section)]);
  }

  /** Where the lanes do not all fit, bring that of the step in hand into view. */
  revealLane(lane) {
    if (!lane) return;
    const top = lane.offsetTop - this.lanes.offsetTop;
    if (top < this.lanes.scrollTop) this.lanes.scrollTop = top;
    const below = top + lane.offsetHeight - this.lanes.clientHeight;
    if (below > this.lanes.scrollTop) this.lanes.scrollTop = below;
  }

  lane(name, title, items, extra = "") {
    return h(
      "div", { class: `lane ${extra}` },
      h("span", { class: "lane-name", title, text: name }),
      h("div", { class: "lane-track" }, ...items.filter(Boolean)),
    );
  }

  markButton(mark) {
    const row = this.scene.rows.find((one) => one.key === rowKey(mark.step, mark.side));
    if (!row || mark.offset_s < this.view[0] || mark.onset_s > this.view[1]) return null;
    const open = mark.offset_s <= mark.onset_s;
    const name = row.side ? `${row.title}, ${row.side}` : row.title;
    const when = open ? `from ${clockText(mark.onset_s)}, no end yet` : stretchText(mark.onset_s, mark.offset_s);
    const whose = mark.mine ? "your mark" : `mark of ${mark.person}, ${WHO[mark.role] ?? mark.role}`;
    const from = Math.max(0, this.x(mark.onset_s));
    const width = Math.max(open ? 7 : 4, Math.min(this.width, this.x(mark.offset_s)) - from);
    const hand = row.key === this.scene.inHand;
    const shape = `mark role-${mark.role}${mark.mine ? " mine" : " other"}${open ? " open" : ""}${hand ? " in-hand" : ""}`;
    return h("button", {
      type: "button", class: shape, style: `left:${from}px;width:${width}px`, title: `${name}: ${when} (${whose})`,
      "aria-label": `${row.number} ${name}, ${when}, ${whose}`, tabindex: mark.mine && hand ? "0" : "-1",
      text: mark.mine ? `${row.number} ${row.title}` : "", data: { time: mark.onset_s },
      onclick: () => {
        this.deeds.select(row.key);
        this.deeds.seek(mark.onset_s);
      },
    });
  }

  commentButton(comment) {
    const x = this.x(comment.onset_s);
    if (x < -12 || x > this.width + 12) return null;
    const said = comment.covered ? "covered until you have graded this step" : comment.text;
    const label = `Comment of ${comment.mine ? "yours" : comment.person} at ${clockText(comment.onset_s)}: ${said}`;
    return h("button", {
      type: "button", class: `pin role-${comment.role}${comment.mine ? " mine" : ""}`, style: `left:${x}px`,
      title: label, "aria-label": label, tabindex: "-1",
      onclick: () => {
        if (comment.step) this.deeds.select(rowKey(comment.step, comment.side));
        this.deeds.seek(comment.onset_s);
      },
    });
  }

  drawCurves() {
    const { curves, covered, inHandRow, ofHand, uncover } = this.scene;
    this.drawn = [];
    if (covered) {
      this.curves.replaceChildren(note("Curves and values stay covered until you have graded this step and said how sure you are.", uncover));
      return;
    }
    if (!curves.length) {
      const measured = inHandRow?.measures?.length;
      const why = measured ? "No curve yet: the film has not been analysed." : "This step has no measure: your eyes decide.";
      this.curves.replaceChildren(note(why));
      return;
    }
    const stretch = ofHand.mark && ofHand.mark.offset_s > ofHand.mark.onset_s ? ofHand.mark : null;
    const blocks = curves.map((curve) => this.curveBlock(curve, inHandRow));
    this.curves.replaceChildren(...blocks.map((block) => block.element));
    this.curves.classList.toggle("several", blocks.length > 2);
    for (const block of blocks) {
      if (!block.trace) continue;
      const targets = inHandRow.targets.filter((target) => isBand(block.curve, target));
      const look = { from: this.view[0], to: this.view[1], targets, colours: this.colours() };
      drawCurve(block.canvas, block.trace, { ...look, stretch: stretch && [stretch.onset_s, stretch.offset_s] });
      this.drawn.push(block);
    }
  }

  curveBlock(curve, row) {
    const trace = this.deeds.traces.get(curve.url);
    const canvas = h("canvas", { role: "img", "aria-label": `Curve of ${curve.title}` });
    const target = row.targets.find((one) => one.measure === curve.measure);
    const unit = curve.unit && curve.unit !== "1" ? `curve in ${curve.unit}` : "";
    const state = trace === null ? "Fetching the curve" : trace === undefined ? "The curve could not be read" : "";
    const names = curve.columns.length > 1
      ? curve.columns.map((name, index) => h("span", { class: `key key-${index}`, text: name }))
      : [];
    const element = h(
      "div", { class: "curve" },
      h("div", { class: "curve-name" }, h("b", { text: curve.words ?? curve.title }),
        target ? h("span", { class: "expected", text: `expected ${target.words}` }) : null, unit ? h("span", { text: unit }) : null),
      h("div", { class: "curve-track" }, canvas, names.length ? h("div", { class: "legend" }, ...names) : null, state ? h("span", { class: "curve-state", text: state }) : null),
    );
    return { element, canvas, trace, curve };
  }

  showTip(event) {
    const block = (this.drawn ?? []).find((one) => one.element.contains(event.target));
    const outside = event.clientX - this.place.getBoundingClientRect().left < this.left;
    this.tip.hidden = !block || outside;
    if (this.tip.hidden) return;
    const time = this.timeAt(event.clientX);
    setText(this.tip, `${clockText(time)}  ${saidAt(block.trace, time)}`);
    const x = Math.min(event.clientX - this.place.getBoundingClientRect().left + 12, this.place.clientWidth - 230);
    const y = event.clientY - this.place.getBoundingClientRect().top - 30;
    this.tip.style.transform = `translate(${x}px, ${y}px)`;
  }

  colours() {
    const style = getComputedStyle(this.place);
    const read = (name) => style.getPropertyValue(name).trim();
    return {
      lines: [read("--curve-1"), read("--curve-2"), read("--curve-3")], band: read("--band"), bandEdge: read("--band-edge"),
      hatch: read("--hatch"), mine: read("--mine"), faint: read("--quiet"), paper: read("--paper"), font: style.fontFamily || "sans-serif",
    };
  }

  destroy() {
    this.resizer.disconnect();
  }
}

/**
 * Whether a target can be drawn as a band: only where the curve shows the very quantity that the target is about. A
 * target on a longest closure (s) is none on a curve of lid closure, one on a range is none on a curve of angles.
 */
export function isBand(curve, target) {
  return target.measure === curve.measure && (curve.band ?? (curve.columns.length === 1 && curve.unit === target.unit));
}

/** The telling part of a section's title: "Cranial nerves I and II: smell and sight" is known by its end. */
function shortTitle(title) {
  const end = title.split(": ").at(-1);
  return end.charAt(0).toUpperCase() + end.slice(1);
}

function note(text, uncover) {
  const button = uncover && h("button", { type: "button", class: "quiet", text: "Uncover all", onclick: uncover });
  return h("p", { class: "curve-note" }, text, button ?? null);
}
