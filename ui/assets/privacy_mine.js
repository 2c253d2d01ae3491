/** The way out with everything of one's own. */
import { h } from "./dom.js";

/** @param {string} code whom one works as @returns {HTMLElement} */
export function mineSection(code) {
  return h("section", {}, h("h2", { text: "All of mine" }),
    h("p", { text: `Everything of ${code} in one ZIP file, in open formats: films as they came, marks, grades, comments and results with their history, consents, who looked, phrases, receipts. What others said is in it as far as it is uncovered. Recordings whose consent was taken back are not.` }),
    h("a", { class: "link", href: `/api/mine?as=${encodeURIComponent(code)}`, download: "", data: { testid: "mine" }, text: "Export all of mine" }));
}
