/** Which steps of the sheet are shown: all, or those in which something is left to do or to talk about. */
import { h, setText } from "./dom.js";

/** All filters, in the order in which the key goes through them. @type {{name: string, words: string, none: string}[]} */
export const FILTERS = [
  { name: "all", words: "All", none: "" },
  { name: "unmarked", words: "Not marked", none: "Every step is marked." },
  { name: "ungraded", words: "Not graded", none: "You have graded every step." },
  { name: "missed", words: "Missed", none: "No step was graded lowest." },
  { name: "disagreed", words: "Disagreed", none: "No two people parted over a step, as far as you have uncovered." },
];

const FITS = {
  all: () => true,
  unmarked: (facts) => !facts.mark && !facts.otherMarks.length,
  ungraded: (facts) => !facts.graded,
  missed: (facts) => gradesOf(facts).some((grade) => grade.level === lowest(facts.levels)),
  disagreed: (facts) => new Set(gradesOf(facts).map((grade) => grade.level)).size > 1,
};

/** The grades one may see by now; those of others that are covered do not come at all. */
function gradesOf({ grade, otherGrades, covered }) {
  return [grade, ...(covered ? [] : otherGrades)].filter(Boolean);
}

/** Key of the level with the least share of the points; "not assessable" has none. */
function lowest(levels) {
  const valued = levels.filter((level) => level.share !== null);
  return valued.reduce((least, level) => (level.share < least.share ? level : least), valued[0])?.key;
}

/**
 * @param {string} name of a filter
 * @param {{mark: object|null, otherMarks: object[], grade: object|null, graded: boolean, otherGrades: object[], covered: boolean, levels: object[]}} facts
 * @returns {boolean} whether a step is shown
 */
export function fits(name, facts) {
  return FITS[name](facts);
}

/** @param {string} name @returns {string} the filter after it */
export function nextFilter(name) {
  const at = FILTERS.findIndex((filter) => filter.name === name);
  return FILTERS[(at + 1) % FILTERS.length].name;
}

export class FilterBar {
  /** @param {(name: string) => void} choose */
  constructor(choose) {
    this.buttons = FILTERS.map(({ name, words }) => h("button", {
      type: "button", class: "filter", data: { filter: name, testid: "filter" }, onclick: () => choose(name),
    }, h("span", { text: words }), " ", h("b")));
    this.element = h("div", { class: "filters", role: "group", "aria-label": "Which steps are shown" }, ...this.buttons,
      h("kbd", { text: "V", title: "V goes to the next of these" }));
  }

  /** @param {string} chosen @param {Record<string, number>} counts steps by filter */
  show(chosen, counts) {
    for (const button of this.buttons) {
      const { filter } = button.dataset;
      button.setAttribute("aria-pressed", String(filter === chosen));
      setText(button.lastChild, String(counts[filter]));
    }
  }
}
