/** The capture check of a film: one line, and unfolded each thing to do better next time with the steps it spoils. */
import { h } from "./dom.js";

/**
 * @param {{headline: string, things: object[]}|string|null} check what is known of the film; a word or nothing while unknown
 * @param {string} name of the recording
 * @param {string} code whom one works as
 * @returns {HTMLElement|null}
 */
export function checkOf(check, name, code) {
  if (!check?.headline) return null;
  if (!check.things.length) return h("p", { class: "check well", text: check.headline, data: { testid: "check" } });
  const guide = h("a", { href: `/filming?as=${encodeURIComponent(code)}`, class: "guide", text: "Filming guide: how to do it better" });
  return h("details", { class: "check", data: { testid: "check" } },
    h("summary", { text: check.headline }),
    h("ul", { "aria-label": `What to do better after ${name}` }, ...check.things.map(thingOf)), guide);
}

function thingOf({ what, advice, shows, spoils }) {
  return h("li", {}, h("p", {}, h("b", { text: `${what} ` }), advice, shows && h("span", { class: "shows", text: ` ${shows}` })),
    ...spoils.map((spoilt) => h("p", { class: "spoils", text: spoilt.words })));
}
