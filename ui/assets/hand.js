/** The step in hand, beside the film: its caution, its mark, and the buttons that set it. */
import { h, setText } from "./dom.js";
import { clockText } from "./format.js";
import { caution, titleOf } from "./row.js";
import { markWords } from "./state.js";

export class Hand {
  /**
   * @param {HTMLElement} place
   * @param {(deed: string, argument?: any) => void} act
   */
  constructor(place, act) {
    const key = (text) => h("kbd", { text });
    const button = (testid, words, deed, argument, ...keys) =>
      h("button", { type: "button", class: "plain", data: { testid }, onclick: () => act(deed, argument) }, words, ...keys);
    this.number = h("span", { class: "number" });
    this.title = h("h2", {}, this.number, h("span"));
    this.caution = h("div", { class: "hand-caution" });
    this.film = h("div", { class: "hand-film" });
    this.when = h("p", { class: "hand-when" });
    this.clear = button("mark-clear", "Clear mark", "unmark");
    this.place = place;
    place.replaceChildren(
      this.title, this.caution, this.film,
      this.when,
      h("div", { class: "pair" },
        button("mark-start", "Starts here", "edge", "start", key("[")), button("mark-end", "Ends here", "edge", "end", key("]"))),
      h("div", { class: "pair" }, button("go-to-start", "Go to start", "start"), this.clear),
      h("div", { class: "pair" }, button("step-here", "Step here", "here", undefined, key("H")), button("mark-again", "Again here", "again", undefined, key("A"))),
      h("div", { class: "pair" }, button("step-previous", "Previous", "row", -1, key("\u2191")), button("step-next", "Next", "row", 1, key("\u2193"))),
      h("div", { class: "pair" }, button("step-ungraded", "Not graded", "next", undefined, key("N")), button("comment-here", "Comment", "comment", undefined, key("C"))),
    );
  }

  /**
   * @param {object|undefined} row the step in hand
   * @param {object|null} mark one's own mark of it
   * @param {{what: string, advice: string}[]} [film] what is wrong with the film where the step lies, and with all of it
   * @param {number} [again] how many marks of the step one has
   */
  show(row, mark, film = [], again = 1) {
    this.place.hidden = !row;
    if (!row) return;
    setText(this.number, String(row.number));
    setText(this.title.lastChild, titleOf(row));
    if (this.said !== row.key) this.caution.replaceChildren(caution(row));
    this.said = row.key;
    this.showFilm(film);
    setText(this.when, `${markWords(mark, clockText)}${again > 1 ? `, of ${again} marks` : ""}`);
    this.clear.disabled = !mark;
  }

  /** @param {{what: string, advice: string}[]} faults of the step's seconds and of the film; each is said once */
  showFilm(faults) {
    const once = [...new Map(faults.map((fault) => [fault.what, fault])).values()];
    const text = JSON.stringify(once);
    if (text === this.filmSaid) return;
    this.filmSaid = text;
    const lines = once.slice(0, 2).map((fault) => h("p", {}, h("b", { text: `${fault.what} ` }), fault.advice));
    this.film.replaceChildren(...(lines.length ? [checkLink()] : []), ...lines);
  }
}

/** The way to the capture check of the whole film, on the page of recordings. */
function checkLink() {
  const asked = new URLSearchParams(location.search);
  const query = new URLSearchParams({ check: asked.get("recording") ?? "", as: asked.get("as") ?? "" });
  return h("p", {}, h("a", { href: `/?${query}`, class: "quiet", style: "padding-left: 0", text: "Capture check: what this spoils", data: { testid: "check-link" } }));
}
