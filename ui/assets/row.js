/** One row of the contact sheet. */
import { commentItem, coveredItem, threaded } from "./comment.js";
import { criteriaList, criteriaWords } from "./criteria.js";
import { h } from "./dom.js";
import { enteredLine } from "./entry.js";
import { clockText, pointsText } from "./format.js";
import { proposalLine } from "./proposals.js";
import { sparkline } from "./sparkline.js";
import { markWords } from "./state.js";
import { still } from "./stills.js";
import { gradingStory } from "./story.js";

/** Words of the confidence of a grade, least first. */
export const CONFIDENCE = ["unsure", "fairly sure", "sure"];

const VERDICTS = {
  within: { sign: "\u2713", words: "within", look: "good", why: "The whole interval lies within the expected range" },
  outside: { sign: "\u25B2", words: "outside", look: "off", why: "The whole interval lies outside of the expected range" },
  "cannot tell": {
    sign: "?", words: "cannot tell", look: "unknown", why: "There is no number, or its interval crosses an end of the expected range",
  },
};

const VIEWS = {
  face: "face", upper_body: "upper body", whole_body: "whole body", feet: "feet", hands: "hands", limb: "the limb",
};

/**
 * Make the element of a row.
 * @param {object} row the step as the board has it
 * @param {object} facts own part of the state (`ofRow`), `inHand`, `covered`, `levels`, `recordingId`
 * @param {Record<string, Function>} deeds visit, seek, grade, confidence, ungrade, reveal, those of `criteriaList`, and those of `commentItem`
 * @returns {HTMLElement}
 */
export function rowElement(row, facts, deeds) {
  const open = facts.inHand;
  return h(
    "article",
    {
      class: `row${open ? " in-hand" : ""}`, data: { key: row.key, testid: "row" }, tabindex: "-1",
      "aria-current": open ? "step" : null, "aria-label": `${row.number}. ${titleOf(row)}`,
      onclick: (event) => {
        if (!open && !event.target.closest("button, summary, a")) deeds.visit(row.key);
      },
    },
    head(row, facts, deeds),
    notes(row),
    h("div", { class: "row-body" }, strip(row, facts, deeds), values(row, facts, deeds)),
    proposalLine(row, facts, deeds),
    spokenLine(row, facts, deeds),
    earSetsLine(row, facts),
    enteredLine(row, facts),
    open ? instructions(row) : null,
    open ? criteriaList(row, facts, deeds) : null,
    open ? grading(facts, deeds) : null,
    story(facts),
    others(row, facts),
    open ? comments(facts, deeds) : countOf(facts),
  );
}

/** @param {{title: string, side: string|null}} row @returns {string} title with the person's own side */
export function titleOf(row) {
  return row.side ? `${row.title}, ${row.side}` : row.title;
}

function head(row, facts, deeds) {
  const grade = facts.grade && facts.levels.find((level) => level.key === facts.grade.level);
  const chip = grade?.word ?? criteriaWords(row, facts, facts.levels);
  return h(
    "header", {},
    h("button", { type: "button", class: "row-title", onclick: () => deeds.visit(row.key) },
      h("span", { class: "number", text: String(row.number) }), titleOf(row)),
    row.critical ? h("span", { class: "critical", text: "\u25C6 critical", title: "Missing this step fails the sheet" }) : null,
    h("span", { class: "points", text: row.points ? pointsText(row.points) : "no points" }),
    chip ? h("span", { class: "chip", text: chip }) : null,
  );
}

/** What was unusual about how the step was done. */
function notes(row) {
  if (!row.notes?.length) return null;
  return h("p", { class: "notes", data: { testid: "notes" } }, ...row.notes.map((note) => h("span", { text: note })));
}

function story(facts) {
  const text = gradingStory(facts.grade, facts.levels);
  return text ? h("p", { class: "story quiet-line", data: { testid: "story" }, text }) : null;
}

function strip(row, facts, deeds) {
  const when = h("span", { class: "when", text: markWords(facts.mark, (time) => clockText(time, 1)) });
  if (!row.stills.length) {
    const blank = h("div", { class: "strip blank", "aria-hidden": "true" }, h("i"), h("i"), h("i"));
    return h("div", { class: "strip-box" }, blank, under(row, facts, when));
  }
  const stills = row.stills.map((time) =>
    h("button", {
      type: "button", class: "still", "aria-label": `Go to ${clockText(time)}`, title: `Go to ${clockText(time)}`,
      onclick: () => deeds.seek(time, row.key),
    }, still(stillUrl(facts.recordingId, time), { width: 84, height: 48, onerror: lost })),
  );
  if (!facts.mark && row.values_from) when.textContent = `Seconds marked by ${row.values_from}`;
  return h("div", { class: "strip-box" }, h("div", { class: "strip" }, ...stills), under(row, facts, when));
}

/** A picture that could not be fetched leaves a word in its place. */
function lost(event) {
  event.target.replaceWith(h("span", { class: "lost", text: "no picture" }));
}

/** What stands under the strip: the seconds, and the caution, folded; that of the step in hand is open by the film. */
function under(row, facts, when) {
  const fold = h("details", { class: "fold" },
    h("summary", {}, h("span", { class: "caution-sign", "aria-hidden": "true", text: "!" }), "Caution"), h("p", { text: row.caution }));
  return h("div", { class: "under" }, when, facts.inHand ? null : fold);
}

/** @param {string} id @param {number} time seconds @returns {string} address of a still */
export function stillUrl(id, time) {
  return `/api/still/${encodeURIComponent(id)}?t=${time.toFixed(3)}&h=120`;
}

function values(row, facts, deeds) {
  if (!row.measures.length && !row.covers.values) return judged();
  if (facts.covered) {
    const button = facts.inHand && h("button", { type: "button", class: "quiet", data: { testid: "reveal" }, onclick: deeds.reveal }, "Uncover this step ", h("kbd", { text: "R" }));
    const what = row.measures.length ? "Values" : "What was heard is";
    const text = row.covers.values ? `${what} covered until you have graded and said how sure you are` : expectedWords(row);
    return h("div", { class: "values covered" }, h("p", { class: "quiet-line", text }), row.covers.values ? button : null);
  }
  if (row.covered && row.covers.values) return h("div", { class: "values" }, h("p", { class: "quiet-line", text: "Uncovering the values" }));
  if (!row.measures.length) return judged();
  if (!row.values.length) return h("div", { class: "values" }, h("p", { class: "quiet-line", text: expectedWords(row) }));
  const spark = row.spark && h("li", { class: "spark-item" }, sparkline(row.spark));
  return h("ul", { class: `values${facts.inHand && row.values.length > 2 ? " many" : ""}` }, ...row.values.map((value) => valueItem(value, row, facts, deeds)), ...(spark ? [spark] : []));
}

function judged() {
  return h("div", { class: "values" }, h("p", { class: "quiet-line", text: "Judged by eye and ear" }));
}

const SPOKEN = {
  said: { sign: "\u2713", look: "good", why: "The finding was said in the step's seconds, or shortly after" },
  other: { sign: "\u25B2", look: "off", why: "Another grade, side, number or the opposite was heard" },
  unclear: { sign: "?", look: "unknown", why: "Something like the finding was heard, and not which value" },
  "not heard": { sign: "\u2013", look: "unknown", why: "Not heard is not the same as not said: listen yourself" },
};

/** What was heard of the finding, and a button that goes there. */
function spokenLine(row, facts, deeds) {
  if (facts.covered || !row.spoken) return null;
  const { sign, look, why } = SPOKEN[row.spoken.verdict];
  const shown = row.spoken.verdict === "said" && !row.spoken.sure ? "unknown" : look;
  const at = row.spoken.at;
  const listen = facts.inHand && at !== null && h("button", {
    type: "button", class: "quiet", text: `Listen ${clockText(at, 1)}`, onclick: () => deeds.seek(Math.max(0, at - 1), row.key),
  });
  return h("p", { class: "spoken", data: { testid: "spoken" } },
    h("span", { class: `verdict ${shown}`, title: why }, h("span", { "aria-hidden": "true", text: sign }), ` ${row.spoken.sign}`),
    h("span", { text: row.spoken.words }), listen || null);
}

const EAR_SETS = {
  different: { sign: "\u2713", look: "good", why: "No set of one ear could be one of the other's" },
  same: { sign: "\u25B2", look: "off", why: "The same set was heard for both ears" },
  unclear: { sign: "?", look: "unknown", why: "Whispers are rarely heard, and letters sound alike: listen yourself" },
};

/** Whether the two ears were whispered different sets. */
function earSetsLine(row, facts) {
  if (facts.covered || !row.ear_sets) return null;
  const { sign, look, why } = EAR_SETS[row.ear_sets.verdict];
  return h("p", { class: "spoken", data: { testid: "ear-sets" } },
    h("span", { class: `verdict ${look}`, title: why }, h("span", { "aria-hidden": "true", text: sign }), ` ${row.ear_sets.sign}`),
    h("span", { text: row.ear_sets.words }));
}

function expectedWords(row) {
  const parts = row.targets.map((target) => `${target.title} ${target.words}`);
  const expected = parts.length ? `Expected: ${parts.join("; ")}. ` : "";
  return `${expected}Values come once the step is marked and the film analysed.`;
}

function valueItem(value, row, facts, deeds) {
  const verdict = value.verdict && VERDICTS[value.verdict];
  const name = value.side ? `${value.title}, ${value.side}` : value.title;
  const weak = value.value !== null && value.reasons.length ? ` Weak: ${value.reasons.join(", ")}.` : "";
  const share = Math.round(100 * value.usable);
  const used = value.value === null ? "" : share === 100 ? " All frames usable. " : ` ${share} % of the frames usable. `;
  const first = value.evidence[0];
  const evidence = facts.inHand && first && h("button", {
    type: "button", class: "quiet", text: `Evidence ${clockText(first[0], 1)}`, onclick: () => deeds.seek(first[0], row.key),
  });
  return h(
    "li", {},
    verdict && h("span", { class: `verdict ${verdict.look}`, title: verdict.why },
      h("span", { "aria-hidden": "true", text: verdict.sign }), ` ${verdict.words}`),
    h("span", { class: "value-name", text: name }),
    h("span", { class: "value-words", text: value.words + (facts.inHand ? "." + weak + used : "") }),
    evidence || null,
  );
}

function instructions(row) {
  const needs = [row.equipment.join(", "), row.view.length ? `in the picture: ${row.view.map((part) => VIEWS[part] ?? part).join(", ")}` : ""];
  const lines = [
    ["Do", row.action],
    ["See", row.expected],
    ["Say", row.finding.map((phrase) => `\u201C${phrase}\u201D`).join(" or ")],
    ["Needs", needs.filter(Boolean).join("; ")],
  ];
  const shown = lines.filter(([, text]) => text);
  return h("dl", { class: "instructions" }, ...shown.flatMap(([word, text]) => [h("dt", { text: word }), h("dd", { text })]));
}

/** @param {{caution: string}} row @returns {HTMLElement} the caution of a step, with its sign and its word */
export function caution(row) {
  return h(
    "p", { class: "caution" },
    h("span", { class: "caution-sign", "aria-hidden": "true", text: "!" }),
    h("b", { text: "Caution " }), row.caution,
  );
}

function grading(facts, deeds) {
  const level = facts.grade?.level;
  const levels = facts.levels.map((one, at) =>
    h("button", {
      type: "button", class: "grade", "aria-pressed": String(level === one.key), data: { level: one.key, testid: "grade" },
      onclick: () => deeds.grade(at + 1),
    }, one.word, facts.criterion ? null : h("kbd", { text: String(at + 1) })),
  );
  const sureOf = confidenceOf(facts);
  const sure = CONFIDENCE.map((word, at) =>
    h("button", {
      type: "button", class: "sure", "aria-pressed": String(sureOf === at + 1), text: word,
      data: { confidence: at + 1, testid: "confidence" }, disabled: !facts.graded, onclick: () => deeds.confidence(at + 1),
    }),
  );
  const clear = facts.grade && h("button", { type: "button", class: "quiet", text: "Take back", onclick: deeds.ungrade });
  return h(
    "div", { class: "grading" },
    h("div", { class: "choice", role: "group", "aria-label": "Your grade" }, h("b", { text: "Grade" }), ...levels),
    h("div", { class: "choice", role: "group", "aria-label": "How sure you are" }, h("b", { text: "How sure" }), ...sure, clear),
  );
}

/** How sure one is of the step, or of all criteria that were graded in its stead. */
function confidenceOf({ grade, graded, criteria }) {
  if (grade || !graded) return grade?.confidence ?? null;
  const all = new Set(Object.values(criteria).map((one) => one.confidence ?? null));
  return all.size === 1 ? [...all][0] : null;
}

function others(row, facts) {
  if (facts.covered) {
    const text = "Grades of others are covered until you have graded and said how sure you are.";
    return facts.inHand && row.covers.grades ? h("p", { class: "others quiet-line", text }) : null;
  }
  if (!facts.otherGrades.length) return null;
  const parts = facts.otherGrades.map((grade) => {
    const word = facts.levels.find((level) => level.key === grade.level)?.word ?? grade.level;
    const sure = grade.confidence ? `, ${CONFIDENCE[grade.confidence - 1]}` : "";
    return h("span", { class: `other role-${grade.role}` }, h("b", { text: `${grade.person} (${grade.role})` }), ` ${word}${sure}`);
  });
  return h("p", { class: "others" }, ...parts);
}

function countOf(facts) {
  const count = facts.comments.length;
  const open = facts.comments.filter((comment) => !comment.reply_to && !comment.resolved).length;
  const settled = open ? "" : ", all settled";
  return count ? h("p", { class: "quiet-line count", text: `${count} ${count === 1 ? "comment" : "comments"}${settled}` }) : null;
}

function comments(facts, deeds) {
  const told = facts.comments.filter((comment) => !comment.covered);
  const hidden = facts.comments.length - told.length;
  return h("ol", { class: "comments", data: { testid: "comment-list" }, "aria-label": "Comments on this step" },
    ...threaded(told).map((comment) => commentItem(comment, deeds)), hidden ? coveredItem(hidden) : null);
}
