/**
 * The lanes of the timeline: one a section of the sheet, and one of comments.
 *
 * In every lane each rater has a band of their own, one's own first, and marks that overlap lie on rows of their band.
 * The lane of the step in hand is open: its bands are tall enough to be read and dragged. The others are shut: thin.
 */
import { h, setText } from "./dom.js";
import { clockText, SIGNS, stretchText } from "./format.js";
import { byTime, rowKey } from "./state.js";

const ORDER = ["learner", "peer", "instructor", "proposal"];

/** Heights in pixels of the rows of a band. */
const OPEN = { own: 24, other: 17, gap: 2 };
const SHUT = { own: 14, other: 4, gap: 1 };
const LEAST = 18;

/** Width of a comment's pin, and how many rows of pins there are. */
const PIN = 14;
const PIN_ROWS = 2;

/** Keys that a mark or a comment in hand treats itself. */
export const TAKES = "ArrowLeft ArrowRight ArrowUp ArrowDown Home End Escape + - = 0";

/**
 * Put spans on as few rows as there are at once at any moment.
 * @param {{onset_s: number, offset_s: number}[]} spans
 * @returns {{span: object, row: number}[]} in order of their onsets
 */
export function stack(spans) {
  const ends = [];
  return byTime(spans).map((span) => {
    const free = ends.findIndex((end) => end <= span.onset_s);
    const row = free < 0 ? ends.length : free;
    ends[row] = Math.max(span.offset_s, span.onset_s + 1e-3);
    return { span, row };
  });
}

/**
 * The bands of a lane: one's own first, the others by their roles, proposals of the machine last.
 * @param {object[]} marks
 * @param {object[]} [proposals]
 * @returns {{who: string, role: string, mine: boolean, rows: number, stacked: {span: object, row: number}[]}[]}
 */
export function bandsOf(marks, proposals = []) {
  const own = marks.filter((mark) => mark.mine);
  const others = new Map();
  for (const mark of marks.filter((one) => !one.mine)) {
    others.set(mark.person, [...(others.get(mark.person) ?? []), mark]);
  }
  const bands = [...others].map(([who, theirs]) => band(who, theirs[0].role, false, theirs));
  bands.sort((one, two) => ORDER.indexOf(one.role) - ORDER.indexOf(two.role) || one.who.localeCompare(two.who));
  const proposed = proposals.length ? [band("proposed", "proposal", false, proposals)] : [];
  return [band("you", own[0]?.role ?? "learner", true, own), ...bands, ...proposed];
}

function band(who, role, mine, marks) {
  const stacked = stack(marks);
  return { who, role, mine, stacked, rows: Math.max(1, ...stacked.map((one) => one.row + 1)) };
}

/**
 * Where the pins of comments lie, so that none covers another: on the first row that is free at their moment, else beside
 * the pin that ends first.
 * @param {number[]} wanted middles in pixels, from left to right
 * @returns {{at: number, row: number}[]}
 */
export function pinPlaces(wanted) {
  const ends = new Array(PIN_ROWS).fill(-Infinity);
  return wanted.map((middle) => {
    const free = ends.findIndex((end) => end <= middle - PIN / 2);
    const row = free < 0 ? ends.indexOf(Math.min(...ends)) : free;
    const at = free < 0 ? ends[row] + PIN / 2 : middle;
    ends[row] = at + PIN / 2;
    return { at, row };
  });
}

export class Lanes {
  /**
   * @param {HTMLElement} place of the sections
   * @param {HTMLElement} foot of the comments
   * @param {{go: (time: number, key: string|null) => void}} deeds
   */
  constructor(place, foot, deeds) {
    this.place = place;
    this.deeds = deeds;
    this.lanes = new Map();
    this.elements = new Map();
    this.ghost = h("div", { class: "mark mine in-hand draft", "aria-hidden": "true", hidden: true });
    this.comments = lane("Comments", "comment-lane");
    foot.replaceChildren(this.comments.element);
    /** Marks as they lie: element, its times, its least width. @type {{id: string, element: HTMLElement, from: number, to: number, least: number}[]} */
    this.placed = [];
    /** @type {{id: string, element: HTMLElement, bar: HTMLElement|null, from: number, to: number}[]} */
    this.pins = [];
    /** Items of each lane in order of time. */
    this.rows = [];
  }

  /** @param {object} scene sections, rows, marks, proposals, comments, inHand, inHandRow */
  show(scene) {
    this.scene = scene;
    this.byKey = new Map(scene.rows.map((row) => [row.key, row]));
    this.placed = [];
    this.rows = [];
    this.used = new Set();
    const shown = scene.sections.map((section) => this.showLane(section));
    keepOrder(this.place, shown.map((one) => one.element));
    this.showComments(scene.comments);
    for (const [id] of this.elements) if (!this.used.has(id)) this.elements.delete(id);
    const open = this.lanes.get(scene.inHandRow?.section);
    if (open !== this.open) this.revealLane(open);
    this.open = open;
  }

  showLane(section) {
    const { scene } = this;
    const open = section.id === scene.inHandRow?.section;
    const steps = new Set(section.rows.map((row) => row.step));
    const inside = (things) => things.filter((thing) => steps.has(thing.step) && this.byKey.has(rowKey(thing.step, thing.side)));
    const bands = bandsOf(inside(scene.marks), inside(scene.proposals ?? []));
    if (!this.lanes.has(section.id)) this.lanes.set(section.id, lane(section.title));
    const kept = this.lanes.get(section.id);
    kept.element.classList.toggle("open", open);
    this.fill(kept, bands, open);
    if (open && this.ghost.parentElement !== kept.track) kept.track.append(this.ghost);
    return kept;
  }

  fill(kept, bands, open) {
    const sizes = open ? OPEN : SHUT;
    let top = sizes.gap;
    const [elements, items, labels] = [[], [], []];
    for (const of of bands) {
      const height = of.mine ? sizes.own : sizes.other;
      for (const { span, row } of of.stacked) {
        const element = this.mark(span, of, open, top + row * (height + sizes.gap), height);
        elements.push(element);
        items.push(itemOf(`m:${span.id}`, span.onset_s, span.offset_s, element));
      }
      if (open && !of.mine) labels.push(raterLabel(of, top));
      top += of.rows * (height + sizes.gap);
    }
    kept.element.style.height = `${Math.max(LEAST, top)}px`;
    const named = JSON.stringify(labels.map((label) => label.outerHTML));
    if (named !== kept.named) kept.names.replaceChildren(kept.names.firstChild, ...labels);
    kept.named = named;
    if (open) elements.push(this.ghost);
    keepOrder(kept.track, elements);
    this.rows.push(items.sort((one, two) => one.from - two.from));
  }

  mark(mark, of, open, top, height) {
    const row = this.byKey.get(rowKey(mark.step, mark.side));
    const hand = row.key === this.scene.inHand;
    const endless = mark.offset_s <= mark.onset_s;
    const name = row.side ? `${row.title}, ${row.side}` : row.title;
    const when = endless ? `from ${clockText(mark.onset_s)}, no end yet` : stretchText(mark.onset_s, mark.offset_s);
    const look = {
      shape: `mark role-${of.role}${of.mine ? " mine" : " theirs"}${endless ? " endless" : ""}${hand ? " in-hand" : ""}`,
      text: of.mine ? `${row.number} ${name}` : open ? `${SIGNS[of.role]} ${row.number} ${name}` : "",
      label: `${row.number} ${name}, ${when}, ${whose(mark, of)}`, top, height,
    };
    const element = this.element(`m:${mark.id}`, () => this.deeds.go(mark.onset_s, row.key));
    element.own = { mark, row };
    dress(element, look);
    this.placed.push({ id: mark.id, element, from: mark.onset_s, to: mark.offset_s, least: endless ? 7 : 4 });
    return element;
  }

  /** The button of a thing, made once; what it does is told anew each time. */
  element(id, press) {
    this.used.add(id);
    if (!this.elements.has(id)) {
      const made = h("button", { type: "button", tabindex: "-1", data: { item: id, takes: TAKES }, onclick: () => made.press() });
      this.elements.set(id, made);
    }
    const element = this.elements.get(id);
    element.press = press;
    return element;
  }

  showComments(comments) {
    const elements = [];
    this.pins = [];
    for (const comment of byTime(comments)) {
      const element = this.element(`c:${comment.id}`, () =>
        this.deeds.go(comment.onset_s, comment.step ? rowKey(comment.step, comment.side) : null));
      const long = comment.offset_s > comment.onset_s;
      const said = comment.covered ? "covered until you have graded this step" : comment.text;
      const when = long ? stretchText(comment.onset_s, comment.offset_s) : clockText(comment.onset_s);
      const state = comment.resolved ? ", resolved" : "";
      dress(element, {
        shape: `pin role-${comment.role}${comment.mine ? " mine" : ""}${comment.resolved ? " resolved" : ""}`, text: "",
        label: `Comment of ${comment.mine ? "yours" : `${comment.person}, ${comment.role}`} at ${when}${state}: ${said}`, top: null, height: null,
      });
      element.bar ??= h("span", { "aria-hidden": "true" });
      element.bar.className = `pin-bar role-${comment.role}`;
      this.pins.push({ id: comment.id, element, bar: long ? element.bar : null, from: comment.onset_s, to: comment.offset_s });
      elements.push(...(long ? [element.bar] : []), element);
    }
    keepOrder(this.comments.track, elements);
    this.rows.push(this.pins.map((pin) => itemOf(`c:${pin.id}`, pin.from, pin.to, pin.element)));
  }

  /**
   * Put everything where it belongs on the stretch shown.
   * @param {(time: number) => number} x pixels from the left end of the lanes
   * @param {number} width of the lanes
   * @param {{id: string|null, onset_s: number, offset_s: number}|null} draft a mark that is being dragged
   */
  layout(x, width, draft) {
    for (const { id, element, from, to, least } of this.placed) {
      const times = draft?.id === id ? draft : { onset_s: from, offset_s: to };
      span(element, x(times.onset_s), x(times.offset_s), width, least);
      element.classList.toggle("dragged", draft?.id === id);
    }
    this.ghost.hidden = !draft || draft.id !== null;
    if (!this.ghost.hidden) {
      span(this.ghost, x(draft.onset_s), x(draft.offset_s), width, 4);
      this.ghost.style.top = `${OPEN.gap}px`;
      this.ghost.style.height = `${OPEN.own}px`;
    }
    this.layoutPins(x, width);
  }

  layoutPins(x, width) {
    const places = pinPlaces(this.pins.map((pin) => x(pin.from)));
    for (const [order, { element, bar, from, to }] of this.pins.entries()) {
      const { at, row } = places[order];
      element.hidden = at < -PIN || at > width + PIN;
      element.style.left = `${at}px`;
      element.style.top = `${1 + row * (PIN + 1)}px`;
      if (!bar) continue;
      span(bar, x(from), x(to), width, 2);
      bar.style.top = `${6 + row * (PIN + 1)}px`;
    }
  }

  /** Where the lanes do not all fit, bring one into view. */
  revealLane(kept) {
    if (!kept) return;
    const top = kept.element.offsetTop - this.place.offsetTop;
    if (top < this.place.scrollTop) this.place.scrollTop = top;
    const below = top + kept.element.offsetHeight - this.place.clientHeight;
    if (below > this.place.scrollTop) this.place.scrollTop = below;
  }
}

function lane(title, extra = "") {
  const track = h("div", { class: "lane-track" });
  const names = h("div", { class: "lane-names" }, h("span", { class: "lane-name", title, text: shortTitle(title) }));
  return { names, track, named: "[]", element: h("div", { class: `lane ${extra}`, role: "group", "aria-label": title }, names, track) };
}

/** The telling part of a section's title: "Cranial nerves I and II: smell and sight" is known by its end. */
function shortTitle(title) {
  const end = title.split(": ").at(-1);
  return end.charAt(0).toUpperCase() + end.slice(1);
}

function raterLabel(of, top) {
  const sign = h("span", { class: `sign role-${of.role}`, "aria-hidden": "true", text: SIGNS[of.role] });
  return h("span", { class: "rater", style: `top:${top}px` }, sign, of.who);
}

function whose(mark, of) {
  if (of.mine) return "your mark";
  return of.role === "proposal" ? "proposed, not marked by anybody" : `mark of ${mark.person}, ${of.role}`;
}

function itemOf(id, from, to, element) {
  return { id, from, to, enter: () => element };
}

/** Write on an element only what changed. */
function dress(element, look) {
  const text = JSON.stringify(look);
  if (element.dressed === text) return;
  element.dressed = text;
  element.className = look.shape;
  element.title = look.label;
  element.setAttribute("aria-label", look.label);
  setText(element, look.text);
  if (look.top === null) return;
  element.style.top = `${look.top}px`;
  element.style.height = `${look.height}px`;
}

function span(element, left, right, width, least) {
  const from = Math.max(-3, left);
  const to = Math.min(width + 3, right);
  element.hidden = right < 0 || left > width;
  element.style.left = `${from}px`;
  element.style.width = `${Math.max(least, to - from)}px`;
}

/** Put elements in order with as few moves as needed: a moved element would lose its focus. */
function keepOrder(parent, elements) {
  elements.forEach((element, at) => {
    if (parent.children[at] !== element) parent.insertBefore(element, parent.children[at] ?? null);
  });
  while (parent.children.length > elements.length) parent.lastElementChild.remove();
}
