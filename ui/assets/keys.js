/** The keys of the board: which key does what, and the list that `?` shows. */
import { h } from "./dom.js";

/**
 * All keys, in the order in which the list shows them.
 * @type {{keys: string, words: string}[]}
 */
export const KEY_LIST = [
  { keys: "Space", words: "Play or pause" },
  { keys: "Left, Right", words: "One frame back or forward" },
  { keys: "Shift + Left, Shift + Right", words: "One second back or forward" },
  { keys: "S, F", words: "Slower or faster, from a quarter of the film's speed to three times" },
  { keys: "L", words: "Play the step in hand again and again" },
  { keys: "O", words: "Landmarks over the picture, and what the step's measures rest on once it is uncovered" },
  { keys: "X", words: "The exemplar, or an earlier attempt, beside the film: both in step" },
  { keys: "Q", words: "What is said as captions of the film" },
  { keys: "D", words: "All that is said, to search and to correct; again: back to the steps" },
  { keys: "Y", words: "Comments over the film at their seconds" },
  { keys: "+, -, 0", words: "Picture nearer, further, or whole; also by wheel, two fingers and double click" },
  { keys: "Up, Down", words: "Previous or next step" },
  { keys: "[", words: "The step in hand starts at this frame" },
  { keys: "]", words: "The step in hand ends at this frame" },
  { keys: "1 to 9", words: "Grade the step in hand, first level to last" },
  { keys: "G", words: "The digits grade the criteria of the step in hand, one by one; after the last the step as a whole" },
  { keys: "Shift + 1, Shift + 2, Shift + 3", words: "How sure you are: unsure, fairly sure, sure" },
  { keys: "Enter", words: "Go to the start of the step in hand" },
  { keys: "C", words: "Comment at this frame; in its text Alt + 1 to Alt + 9 put in your phrases" },
  { keys: "N", words: "Next step that you have not graded" },
  { keys: "J", words: "Go to the next step that is proposed" },
  { keys: "K", words: "Take what is proposed for the step in hand: it becomes your mark" },
  { keys: "M", words: "Take it from this frame on, as long as it is proposed" },
  { keys: "B", words: "Refuse it: the step is not proposed to you there again" },
  { keys: "H", words: "Take the step in hand that is marked here" },
  { keys: "A", words: "The step in hand starts once more at this frame: done again" },
  { keys: "R", words: "Uncover the step in hand before grading it" },
  { keys: "V", words: "Which steps are shown: all, not marked, not graded, missed, disagreed" },
  { keys: "E", words: "Type in the result of the step in hand, where it has one" },
  { keys: "Z", words: "Look closer at the step in hand, or at the whole film" },
  { keys: "Comma, Full stop", words: "The nearer edge of the mark in hand one frame earlier or later; with Shift one second" },
  { keys: "U, Shift + U", words: "Undo or redo your last mark, grade, result, comment or refusal; also Ctrl + Z, Ctrl + Shift + Z" },
  { keys: "T", words: "Into the timeline: arrows go between marks, Enter goes there, + \u2212 0 look closer, Esc leaves" },
  { keys: "P", words: "Points and outcome, and the sign-off; again: back to the steps" },
  { keys: "W", words: "Show who is examined, where several people are in the film" },
  { keys: "?", words: "Show or close this list" },
];

const PLAIN = {
  " ": ["play"], ArrowLeft: ["step", -1], ArrowRight: ["step", 1], ArrowUp: ["row", -1], ArrowDown: ["row", 1],
  "[": ["edge", "start"], "]": ["edge", "end"], c: ["comment"], C: ["comment"], e: ["entry"], E: ["entry"], z: ["zoom"], Z: ["zoom"], w: ["examined"], W: ["examined"], "?": ["keys"],
  Enter: ["start"], n: ["next"], N: ["next"], v: ["filter"], V: ["filter"], r: ["reveal"], R: ["reveal"], h: ["here"], H: ["here"], a: ["again"], A: ["again"],
  s: ["faster", -1], S: ["faster", -1], f: ["faster", 1], F: ["faster", 1], l: ["loop"], L: ["loop"], o: ["overlay"], O: ["overlay"], x: ["beside"], X: ["beside"],
  q: ["captions"], Q: ["captions"], d: ["captionList"], D: ["captionList"], y: ["comments"], Y: ["comments"],
  j: ["propose", "next"], J: ["propose", "next"], k: ["propose", "take"], K: ["propose", "take"], m: ["propose", "move"], M: ["propose", "move"],
  b: ["propose", "refuse"], B: ["propose", "refuse"],
  "+": ["nearer", 1], "=": ["nearer", 1], "-": ["nearer", -1], 0: ["nearer", 0],
  g: ["criterion"], G: ["criterion"], p: ["outcome"], P: ["outcome"], u: ["undo"], U: ["redo"], t: ["timeline"], T: ["timeline"],
  ",": ["nudge", { frames: -1 }], ".": ["nudge", { frames: 1 }], "<": ["nudge", { seconds: -1 }], ">": ["nudge", { seconds: 1 }],
};

/** With Ctrl, or with the command key. */
const COMMANDED = { z: ["undo"], Z: ["redo"], y: ["redo"] };

/**
 * What a key press stands for. Many keyboards have the brackets on Alt or AltGr only.
 * @param {{key: string, code: string, shiftKey: boolean, ctrlKey: boolean, metaKey: boolean, altKey: boolean}} press
 * @returns {[string, any?] | null} the deed and its argument, or null
 */
export function deedOf(press) {
  if (press.altKey && (press.key === "[" || press.key === "]")) return PLAIN[press.key];
  if ((press.ctrlKey || press.metaKey) && !press.altKey) return (press.shiftKey && press.key === "z" ? ["redo"] : COMMANDED[press.key]) ?? null;
  if (press.ctrlKey || press.metaKey || press.altKey) return null;
  const digit = Number(/^Digit([1-9])$/.exec(press.code)?.[1] ?? (/^[1-9]$/.test(press.key) ? press.key : 0));
  if (digit && press.shiftKey) return digit <= 3 ? ["confidence", digit] : null;
  if (digit) return ["grade", digit];
  if (press.shiftKey && press.key === "ArrowLeft") return ["skip", -1];
  if (press.shiftKey && press.key === "ArrowRight") return ["skip", 1];
  if (press.shiftKey && (press.code === "Comma" || press.code === "Period")) return ["nudge", { seconds: press.code === "Comma" ? -1 : 1 }];
  return Object.hasOwn(PLAIN, press.key) ? PLAIN[press.key] : null;
}

/**
 * Listen to the keys while the board, or nothing at all, has the focus.
 *
 * The page around the board has hot keys of its own on single letters; none of them may see a key meant for us.
 * @param {HTMLElement} root the board
 * @param {(deed: string, argument: any) => void} act
 * @param {AbortSignal} signal ends the listening
 */
export function listenToKeys(root, act, signal) {
  const host = root.getRootNode().host ?? root;
  window.addEventListener("keydown", (event) => {
    const origin = event.composedPath()[0];
    const inside = event.composedPath().includes(host);
    const nowhere = origin === document.body || origin === document.documentElement;
    if (!inside && !nowhere) return;
    if (inside && (writes(origin) || pressesItself(origin, event.key) || takesItself(origin, event) || root.querySelector("dialog[open], [role=dialog]:not([hidden])"))) return;
    const deed = deedOf(event);
    if (!deed) return;
    event.preventDefault();
    event.stopPropagation();
    act(deed[0], deed[1]);
  }, { capture: true, signal });
  root.addEventListener("keydown", (event) => {
    if (!event.ctrlKey && !event.metaKey && !event.altKey) event.stopPropagation();
  }, { signal });
}

/** @param {EventTarget} element @returns {boolean} whether it takes typed text */
function writes(element) {
  return element instanceof HTMLElement && element.matches("input, textarea, select, [contenteditable], [data-own-keys]");
}

/** A focused button is pressed by Space and Enter, a divider is moved by arrows; that must stay so. */
function pressesItself(element, key) {
  if (!(element instanceof HTMLElement)) return false;
  if (element.matches("[role=separator]")) return key.startsWith("Arrow") || key === "Home" || key === "End";
  return (key === " " || key === "Enter") && element.matches("button, summary, a");
}

/** Some parts, such as the marks of the timeline, treat a few keys themselves while they have the focus. */
function takesItself(element, { key, shiftKey, ctrlKey, metaKey, altKey }) {
  if (!(element instanceof HTMLElement) || ctrlKey || metaKey || altKey || (shiftKey && key.startsWith("Arrow"))) return false;
  return (element.closest("[data-takes]")?.dataset.takes ?? "").split(" ").includes(key);
}

/**
 * Make the list of keys.
 * @returns {HTMLDialogElement}
 */
export function keyDialog() {
  const rows = KEY_LIST.map((entry) =>
    h("div", {}, h("dt", {}, ...entry.keys.split(", ").flatMap((key, at) => [at ? " " : "", h("kbd", { text: key })])),
      h("dd", { text: entry.words })),
  );
  const close = h("button", { type: "button", class: "plain", text: "Close", autofocus: true });
  const dialog = h("dialog", { class: "keys", "aria-label": "All keys" },
    h("header", {}, h("h2", { text: "All keys" }), close),
    h("p", { text: "Every key is also a button with a word. Keys work when no text field is being typed in." }),
    h("dl", {}, ...rows));
  close.addEventListener("click", () => dialog.close());
  dialog.addEventListener("keydown", (event) => {
    if (event.key === "?") dialog.close();
  });
  return dialog;
}
