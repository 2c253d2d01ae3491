/** Words sought in all films that one may see: each place leads to its second on the Review page. */
import { h, setText } from "./dom.js";
import { clockText } from "./format.js";
import { hashOf } from "./link.js";
import { markedText } from "./marked_text.js";
import { ask } from "./sheets_ask.js";

const WAIT_MS = 250;

export class WordSearch {
  constructor() {
    this.field = h("input", { type: "search", "aria-label": "Words said in the films", placeholder: "Words said in the films", maxlength: 200, data: { testid: "word-search" }, oninput: () => this.wait() });
    this.status = h("p", { class: "quiet-line", role: "status", data: { testid: "word-status" } });
    this.hits = h("ol", { class: "word-hits", "aria-label": "Where it is said", hidden: true });
    this.element = h("search", { class: "word-search", hidden: true }, this.field, this.status, this.hits);
    this.element.addEventListener("keydown", (event) => event.stopPropagation()); // the page has keys of its own
  }

  /** @param {{rows: object[], as: string, whose: string}} data of the page */
  show({ rows, as, whose }) {
    this.element.hidden = !rows.length;
    const state = JSON.stringify([as, whose, rows.map((row) => [row.id, row.name])]);
    if (state === this.state) return;
    [this.state, this.code, this.whose] = [state, as, whose];
    if (this.field.value) this.look();
  }

  wait() {
    clearTimeout(this.later);
    this.later = setTimeout(() => this.look(), WAIT_MS);
  }

  async look() {
    const wanted = this.field.value.trim();
    const asked = this.question = {};
    const query = new URLSearchParams({ q: wanted, ...(this.whose ? { whose: this.whose } : {}) });
    const { ok, said } = wanted ? await ask(`/api/words?${query}`, this.code) : { ok: true, said: null };
    if (asked !== this.question) return;
    setText(this.status, !said ? "" : ok ? statusText(said) : said.message);
    const hits = ok && said ? said.hits : [];
    this.hits.hidden = !hits.length;
    this.hits.replaceChildren(...hits.map((hit) => this.hitOf(hit)));
  }

  hitOf({ id, name, attempt, learner, onset_s: onset, lines }) {
    const address = `/review?${new URLSearchParams({ recording: id, as: this.code })}#${hashOf(onset)}`;
    return h("li", { data: { testid: "word-hit" } },
      h("a", { href: address, target: "_self" }, `${name}, ${clockText(onset, 0)}`),
      h("small", { text: `${learner}, attempt ${attempt}` }),
      h("p", {}, ...lines.flatMap((line, at) => [...(at ? [document.createTextNode(" ")] : []), ...markedText(line.text, line.places)])));
  }
}

function statusText({ count, films, listened, hits }) {
  if (!listened) return "No film was listened to yet.";
  if (!count) return `Not said in ${listened === 1 ? "the one film" : `any of the ${listened} films`} that were listened to.`;
  const shown = count > hits.length ? `; the first ${hits.length} are shown` : "";
  return `Said in ${count} ${count === 1 ? "place" : "places"} of ${films} ${films === 1 ? "film" : "films"}${shown}.`;
}
