/** The contact sheet: a row a step, under the title of its section; the list of all comments; what the grades come to. */
import { CaptionList } from "./caption_list.js";
import { commentItem, threaded } from "./comment.js";
import { h, setText } from "./dom.js";
import { FilterBar, FILTERS, fits } from "./filters.js";
import { Outcome, showTab } from "./outcome.js";
import { ProposalBar } from "./proposals.js";
import { rowElement, titleOf } from "./row.js";

export class Sheet {
  /**
   * @param {HTMLElement} place
   * @param {Record<string, Function>} deeds
   */
  constructor(place, deeds) {
    this.deeds = deeds;
    this.shown = new Map();
    this.titles = new Map();
    this.tab = "steps";
    this.steps = h("div", { class: "steps", role: "tabpanel", "aria-label": "Steps", tabindex: "-1" });
    this.comments = h("div", { class: "all-comments", role: "tabpanel", "aria-label": "Comments", hidden: true });
    this.stepsTab = this.tabButton("steps", "Steps");
    this.commentsTab = this.tabButton("comments", "Comments");
    this.captions = new CaptionList({ seek: deeds.seek, corrected: deeds.corrected });
    this.captionsTab = this.tabButton("captions", "Captions");
    this.outcome = new Outcome(deeds);
    this.outcomeTab = this.tabButton("outcome", "Outcome");
    this.uncoverButton = h("button", { type: "button", class: "plain uncover", text: "Uncover all", data: { testid: "uncover-all" }, onclick: () => this.uncoverAll() });
    this.filters = new FilterBar(deeds.filter);
    this.proposals = new ProposalBar(deeds);
    this.keys = [];
    this.none = h("p", { class: "none quiet-line", role: "status", hidden: true });
    const bar = h("div", { class: "tabs" },
      h("div", { role: "tablist", "aria-label": "Sheet, comments, captions or outcome" }, this.stepsTab, this.commentsTab, this.captionsTab, this.outcomeTab), this.uncoverButton);
    place.replaceChildren(bar, this.filters.element, this.proposals.element, this.none, this.steps, this.comments, this.captions.element, this.outcome.element);
    this.choose("steps");
  }

  tabButton(name, text) {
    return h("button", { type: "button", role: "tab", text, onclick: () => this.choose(name) });
  }

  /** Seeing everything before grading is done on purpose: the button asks once more. */
  uncoverAll() {
    clearTimeout(this.sure);
    const asked = this.uncoverButton.dataset.asked === "true";
    this.ask(!asked);
    if (asked) this.deeds.uncover();
    else this.sure = setTimeout(() => this.ask(false), 6000);
  }

  ask(asked) {
    this.uncoverButton.dataset.asked = String(asked);
    setText(this.uncoverButton, asked ? "Sure? Uncover all" : "Uncover all");
  }

  /** @param {"steps"|"comments"|"captions"|"outcome"} name */
  choose(name) {
    const fresh = name === "captions" && this.tab !== name;
    this.tab = name;
    this.steps.hidden = name !== "steps";
    this.comments.hidden = name !== "comments";
    this.captions.element.hidden = name !== "captions";
    if (fresh) this.captions.open();
    this.outcome.element.hidden = name !== "outcome";
    this.filters.element.hidden = name !== "steps";
    this.proposals.element.hidden = name !== "steps" || this.proposals.empty;
    this.stepsTab.setAttribute("aria-selected", String(name === "steps"));
    this.commentsTab.setAttribute("aria-selected", String(name === "comments"));
    this.captionsTab.setAttribute("aria-selected", String(name === "captions"));
    this.outcomeTab.setAttribute("aria-selected", String(name === "outcome"));
  }

  /**
   * Show a state; rows that did not change stay as they are, with their focus.
   * @param {object} scene rows, factsOf (row -> facts), proposals, proposalsSaid, sections, comments, coveredAny, filter, data, waiting, faults
   */
  show(scene) {
    const wanted = [];
    let section = null;
    for (const row of this.filtered(scene)) {
      if (row.section !== section) {
        section = row.section;
        wanted.push(this.title(row, scene));
      }
      wanted.push(this.row(row, scene.factsOf(row)));
    }
    place(this.steps, wanted);
    this.proposals.show(scene.proposals, scene.proposalsSaid);
    this.proposals.element.hidden = this.tab !== "steps" || this.proposals.empty;
    this.uncoverButton.hidden = !scene.coveredAny;
    this.captions.show(scene.data);
    this.outcome.show(scene.data, scene);
    showTab(this.outcomeTab, scene.data);
    setText(this.commentsTab, `Comments (${scene.comments.length})`);
    const items = threaded(scene.comments).map((comment) => {
      const row = scene.rows.find((one) => one.step === comment.step && (one.side ?? null) === (comment.side ?? null));
      return commentItem(comment, this.deeds, row ? titleOf(row) : "");
    });
    const none = h("p", { class: "quiet-line", text: "No comments yet. Press C, or Comment, at any frame." });
    this.comments.replaceChildren(items.length ? h("ol", { class: "comments" }, ...items) : none);
  }

  /** The rows that the filter lets through; the step in hand stays until another is taken. */
  filtered({ rows, factsOf, filter }) {
    const facts = rows.map(factsOf);
    const counts = Object.fromEntries(FILTERS.map(({ name }) => [name, facts.filter((one) => fits(name, one)).length]));
    this.filters.show(filter, counts);
    const none = counts[filter] ? "" : FILTERS.find(({ name }) => name === filter).none;
    setText(this.none, none);
    this.none.hidden = !none || this.tab !== "steps";
    const shown = rows.filter((_, at) => facts[at].inHand || fits(filter, facts[at]));
    this.keys = shown.map((row) => row.key);
    return shown;
  }

  title(row, scene) {
    const inside = scene.rows.filter((one) => one.section === row.section);
    const graded = inside.filter((one) => scene.factsOf(one).graded).length;
    if (!this.titles.has(row.section)) this.titles.set(row.section, h("h3", {}, h("span"), h("small")));
    const element = this.titles.get(row.section);
    setText(element.firstChild, row.sectionTitle);
    setText(element.lastChild, `${graded} of ${inside.length} graded`);
    return element;
  }

  row(row, facts) {
    const signature = JSON.stringify([row, facts]);
    const old = this.shown.get(row.key);
    if (old?.signature === signature) return old.element;
    const element = rowElement(row, facts, this.deeds);
    const focus = old && nameOfFocus(old.element);
    this.shown.set(row.key, { signature, element });
    if (old?.element.isConnected) old.element.replaceWith(element);
    if (focus) (element.querySelector(focus) ?? element.querySelector(".row-title")).focus({ preventScroll: true });
    return element;
  }

  /** @param {string} key of the row to bring into view */
  reveal(key) {
    this.choose("steps");
    const row = this.shown.get(key)?.element;
    if (!row) return;
    const above = row.previousElementSibling?.tagName === "H3" ? row.previousElementSibling : row;
    const box = this.steps.getBoundingClientRect();
    const [from, to] = [above.getBoundingClientRect().top, row.getBoundingClientRect().bottom];
    const sticky = 30;
    if (from < box.top + sticky || to - from > box.height - sticky) this.steps.scrollTop += from - box.top - (above === row ? sticky : 0);
    else if (to > box.bottom) this.steps.scrollTop += to - box.bottom + 8;
  }
}

/** A selector that finds the focused button again in the row's new element, or null. */
function nameOfFocus(element) {
  const focused = element.getRootNode().activeElement;
  if (!focused || !element.contains(focused)) return null;
  const { criterion, level, confidence, propose } = focused.dataset;
  if (criterion) return `[data-criterion="${criterion}"][data-level="${level}"]`;
  if (level) return `[data-level="${level}"]:not([data-criterion])`;
  if (propose) return `[data-propose="${propose}"]`;
  if (confidence) return `[data-confidence="${confidence}"]`;
  return focused.classList.contains("row-title") ? ".row-title" : null;
}

/** Put elements in order with as few moves as needed: a moved element would lose its focus. */
function place(parent, elements) {
  elements.forEach((element, at) => {
    if (parent.children[at] !== element) parent.insertBefore(element, parent.children[at] ?? null);
  });
  while (parent.children.length > elements.length) parent.lastElementChild.remove();
}
