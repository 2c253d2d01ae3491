/** The fixed parts of the timeline, made once. */
import { h } from "./dom.js";

/**
 * Build the timeline inside its place.
 * @param {HTMLElement} place
 * @param {HTMLElement} overview
 * @param {(deed: string) => void} act
 * @param {{further: () => void, closer: () => void}} zooms
 * @returns {Record<string, HTMLElement>}
 */
export function timelineParts(place, overview, act, zooms) {
  const parts = {
    undo: button("undo", ["Undo", h("kbd", { text: "U" })], null, () => act("undo")),
    redo: button("redo", ["Redo", h("kbd", { text: "\u21E7U" })], null, () => act("redo")),
    ruler: h("div", { class: "ruler", "aria-hidden": "true" }), lanes: h("div", { class: "lanes" }), foot: h("div", { class: "lanes-foot" }),
    curves: h("div", { class: "curves" }), head: h("div", { class: "playhead", "aria-hidden": "true" }),
    stretch: h("div", { class: "stretch", "aria-hidden": "true", hidden: true }),
    slider: h("div", { class: "scrub", role: "slider", tabindex: "0", "aria-label": "Place in the film", "aria-valuemin": "0", data: { takes: "Home End PageUp PageDown" } }),
    tip: h("div", { class: "tip", role: "status", hidden: true, data: { testid: "tip" } }),
    label: h("div", { class: "tip drag-label", "aria-hidden": "true", hidden: true, data: { testid: "drag-label" } }),
  };
  const bar = h("div", { class: "timeline-bar" }, parts.undo, parts.redo, overview,
    button("timeline-further", ["\u2212"], "Timeline further away", zooms.further), button("timeline-closer", ["+"], "Timeline closer", zooms.closer));
  const plots = h("div", { class: "curves-box" }, parts.curves, parts.stretch);
  parts.body = h("div", { class: "timeline-body", role: "group", "aria-label": "Marks, comments and curves: arrow keys go from one to the next" }, parts.lanes, parts.foot, plots);
  parts.time = h("div", { class: "timeline-time" }, parts.ruler, parts.body, parts.slider, parts.head, parts.tip, parts.label);
  place.replaceChildren(bar, parts.time);
  return parts;
}

function button(testid, text, label, onclick) {
  return h("button", { type: "button", class: "plain", data: { testid }, "aria-label": label, title: label, onclick }, ...text);
}
