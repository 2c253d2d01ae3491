/** The fixed parts of the board, made once. */
import { h } from "./dom.js";
import { SPEEDS } from "./player.js";

/**
 * Build the board's fixed parts inside `root`.
 * @param {HTMLElement} root
 * @param {(deed: string, argument?: any) => void} act
 * @returns {Record<string, HTMLElement>}
 */
export function skeleton(root, act) {
  const parts = {
    title: h("h1", {}), about: h("span", { class: "about" }), analysis: h("span", { class: "analysis", hidden: true }),
    person: h("select", { data: { testid: "person" } }), notice: h("p", { class: "notice", role: "note" }),
    video: h("video", { playsinline: true, preload: "auto", data: { testid: "video" }, "aria-label": "Film of the attempt" }),
    hand: h("section", { class: "hand", "aria-label": "Step in hand" }),
    who: h("div", { class: "who-layer", hidden: true, role: "dialog", "aria-label": "Who is examined", data: { testid: "who" } }),
    entry: h("section", { class: "entry", "aria-label": "Result of the step in hand", hidden: true }),
    compose: h("section", { class: "compose", "aria-label": "Write a comment" }),
    timeline: h("section", { class: "timeline", "aria-label": "Timeline", data: { testid: "timeline" } }),
    sheet: h("section", { class: "sheet", "aria-label": "Contact sheet" }),
    clock: h("output", { class: "clock", data: { testid: "clock" }, "aria-live": "off" }),
    frame: h("span", { class: "frame", data: { testid: "frame" } }),
    chapter: h("p", { class: "chapter", data: { testid: "chapter" } }),
    nearWords: h("span", { class: "unseen", role: "status" }),
    message: h("p", { class: "message", role: "status", hidden: true, data: { testid: "message" } }),
    status: h("p", { class: "status", role: "status", data: { testid: "status" } }),
  };
  const bar = transport(parts, act);
  parts.lens = h("div", { class: "lens", data: { testid: "lens" } }, parts.video);
  parts.film = h("div", { class: "film", data: { testid: "film" } }, parts.lens, parts.who, parts.message, parts.nearWords);
  parts.stage = h("div", { class: "stage" }, parts.film, parts.hand, parts.compose);
  parts.left = h("div", { class: "left" }, parts.stage, bar, look(parts, act), parts.entry, parts.timeline);
  parts.halves = h("div", { class: "halves" }, parts.left, parts.sheet);
  parts.video.muted = false;
  root.dataset.testid = "board";
  root.replaceChildren(heading(parts, act), parts.halves);
  return parts;
}

function plainButton(testid, words, onclick, key) {
  return h("button", { type: "button", class: "plain", data: { testid }, onclick }, `${words} `, h("kbd", { text: key }));
}

function heading(parts, act) {
  const keys = plainButton("keys", "Keys", () => act("keys"), "?");
  keys.classList.add("keys-button");
  parts.examined = plainButton("examined", "Who is examined?", () => act("examined"), "W");
  parts.examined.hidden = true;
  parts.person.addEventListener("change", () => act("person", parts.person.value));
  const link = h("button", { type: "button", class: "plain", data: { testid: "copy-link" }, onclick: () => act("link") }, "Copy link");
  const who = h("label", { class: "who" }, "Working as", parts.person);
  parts.consent = h("button", { type: "button", class: "plain", data: { testid: "consent-of" }, onclick: () => act("consent"), text: "Consent" });
  parts.share = h("button", { type: "button", class: "plain", hidden: true, data: { testid: "share-of" }, onclick: () => act("share"), text: "Share" });
  return h("header", { class: "heading" }, parts.title, parts.about, parts.analysis, parts.examined, parts.notice, who, parts.consent, parts.share, link, keys);
}

function transport(parts, act) {
  const button = (testid, words, deed, argument, key) => plainButton(testid, words, () => act(deed, argument), key);
  parts.play = button("play", "Play", "play", undefined, "Space");
  parts.play.classList.add("strong");
  parts.zoom = button("zoom", "Closer", "zoom", undefined, "Z");
  parts.speed = h("select", { "aria-label": "Speed of the film", title: "Speed: S slower, F faster", data: { testid: "speed" } },
    ...SPEEDS.map((speed) => h("option", { value: speed, text: speed === 1 ? "full speed" : `${speed} times`, selected: speed === 1 })));
  parts.speed.addEventListener("change", () => act("speed", Number(parts.speed.value)));
  parts.loop = button("loop", "Loop", "loop", undefined, "L");
  return h("div", { class: "transport", role: "toolbar", "aria-label": "Film" },
    parts.play, button("back", "Frame back", "step", -1, "\u2190"), button("forward", "Frame on", "step", 1, "\u2192"),
    parts.speed, parts.loop, h("span", { class: "now" }, parts.clock, parts.frame), parts.status);
}

/** What is seen of the picture and over it. */
function look(parts, act) {
  const button = (testid, words, argument, key) => plainButton(testid, words, () => act("nearer", argument), key);
  parts.overlay = plainButton("overlay", "Landmarks", () => act("overlay"), "O");
  parts.beside = plainButton("beside-button", "Exemplar", () => act("beside"), "X");
  parts.captions = plainButton("captions", "Captions", () => act("captions"), "Q");
  parts.commentTrack = plainButton("comment-track", "Comments", () => act("comments"), "Y");
  return h("div", { class: "look", role: "toolbar", "aria-label": "Picture" },
    button("nearer", "Nearer", 1, "+"), button("further", "Further", -1, "\u2212"), button("whole", "Whole", 0, "0"), parts.overlay, parts.beside, parts.captions, parts.commentTrack, parts.zoom, parts.chapter);
}
