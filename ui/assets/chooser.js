/** What the pages Compare and Progress have in common: the heading with its choices, and links to a second of a film. */
import { h, peopleOptions } from "./dom.js";
import { hashOf } from "./link.js";

/**
 * The address that leads to a second of a recording on the Review page.
 * @param {string} recording
 * @param {string} code whom one works as
 * @param {number|null} [time] seconds
 * @returns {string}
 */
export function reviewAt(recording, code, time = null) {
  const page = `/review?${new URLSearchParams({ recording, as: code })}`;
  return time === null ? page : `${page}#${hashOf(time)}`;
}

/**
 * The heading of a page.
 * @param {string} title
 * @param {object} data with `subjects`, `subject`, `people` and `me`; `attempts` and `attempt` where one is to be chosen
 * @param {(wish: object) => void} wish
 * @returns {HTMLElement}
 */
export function heading(title, data, wish) {
  const choices = data.subject ? [subjectChoice(data, wish), data.attempt ? attemptChoice(data, wish) : null] : [];
  const person = h("select", { data: { testid: "person" }, onchange: () => wish({ deed: "work as", code: person.value }) },
    ...peopleOptions(data.people, data.me.code));
  return h("header", { class: "heading" }, h("h1", { text: title }),
    h("div", { class: "choices" }, ...choices, data.people.length ? label("Working as", person) : null));
}

function subjectChoice({ subjects, subject }, wish) {
  const key = (one) => `${one.learner} ${one.checklist}`;
  const words = (one) => `${one.learner}, ${one.title} (${one.attempts === 1 ? "1 attempt" : `${one.attempts} attempts`})`;
  const choice = select("subject", subjects.map((one) => [key(one), words(one)]), key(subject), (chosen) => {
    const found = subjects.find((one) => key(one) === chosen);
    wish({ deed: "choose", learner: found.learner, checklist: found.checklist });
  });
  return label("Attempts of", choice);
}

function attemptChoice({ attempts, attempt, subject }, wish) {
  const words = (one) => `${one.attempt}, ${dayText(one.added)}`;
  const choice = select("attempt", attempts.map((one) => [one.recording, words(one)]), attempt.recording, (recording) =>
    wish({ deed: "choose", learner: subject.learner, checklist: subject.checklist, recording }));
  return label("Attempt", choice);
}

function label(text, choice) {
  return h("label", { class: "who" }, text, choice);
}

function select(name, options, chosen, take) {
  const element = h("select", { data: { testid: name }, onchange: () => take(element.value) },
    ...options.map(([value, text]) => h("option", { value, text, selected: value === chosen })));
  return element;
}

/** @param {string} iso @returns {string} the day in the reader's own way */
export function dayText(iso) {
  const when = new Date(iso);
  return Number.isNaN(when.getTime()) ? iso : when.toLocaleDateString(undefined, { dateStyle: "medium" });
}

/** A page with nothing to show: the sentence that says what to do first. */
export function emptyPage(text) {
  return h("p", { class: "lead", data: { testid: "empty" }, text });
}

/** @param {string[]} lines @param {string} [look] @returns {HTMLElement} */
export function sentences(lines, look = "sentences") {
  return h("ul", { class: look }, ...lines.map((text) => h("li", { text })));
}
