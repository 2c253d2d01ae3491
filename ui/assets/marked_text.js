/** A text in which some stretches stand out: words that were sought, words that were hardly heard. */
import { h } from "./dom.js";

/**
 * @param {string} text
 * @param {[number, number][]} sought where words begin and end that were sought; characters as Python counts them
 * @param {[number, number][]} [unsure] the same, of words that the recogniser was unsure of
 * @returns {Node[]}
 */
export function markedText(text, sought, unsure = []) {
  const signs = [...text]; // whole characters: one beyond the first plane counts once, as on the server
  const stretches = [...sought.map((place) => ["mark", place]), ...unsure.map((place) => ["unsure", place])].sort((one, other) => one[1][0] - other[1][0]);
  const nodes = [];
  let begun = 0;
  for (const [kind, [from, to]] of stretches) {
    if (from < begun) continue;
    nodes.push(signs.slice(begun, from).join(""), standingOut(kind, signs.slice(from, to).join("")));
    begun = to;
  }
  return [...nodes, signs.slice(begun).join("")].filter((one) => one !== "").map((one) => (one instanceof Node ? one : document.createTextNode(one)));
}

function standingOut(kind, text) {
  if (kind === "mark") return h("mark", { text });
  return h("span", { class: "unsure", title: "The recogniser was not sure of this word" }, text, h("span", { class: "unseen", text: " (unsure)" }));
}
