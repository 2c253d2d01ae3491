/** The criteria of the step in hand: each is graded by itself, by button or by digit. */
import { h } from "./dom.js";
import { numberText, pointsText } from "./format.js";

/**
 * @param {object} row the step in hand
 * @param {object} facts of the row: `criteria` (one's own grades by id), `otherCriteria`, `criterion` (id of the one that digits grade), `levels`, `covered`
 * @param {Record<string, Function>} deeds gradeCriterion, ungradeCriterion
 * @returns {HTMLElement|null} null where the step has none
 */
export function criteriaList(row, facts, deeds) {
  if (!row.criteria.length) return null;
  return h("div", { class: "criteria", data: { testid: "criteria" } },
    h("p", { class: "criteria-head" }, h("b", { text: "Look for" }), ` ${wordsOf(row)} `, h("kbd", { text: "G" })),
    h("ol", {}, ...row.criteria.map((criterion) => item(criterion, facts, deeds))));
}

function wordsOf(row) {
  return countsByCriteria(row) ? "Graded one by one, these make the step\u2019s points." : "Grade them one by one if you like; the step\u2019s own grade counts.";
}

function item(criterion, facts, deeds) {
  const { id, text, points } = criterion;
  const given = facts.criteria[id];
  const inHand = facts.criterion === id;
  const levels = facts.levels.map((level, at) => h("button", {
    type: "button", class: "grade small", "aria-pressed": String(given?.level === level.key), data: { criterion: id, level: level.key, testid: "criterion-grade" },
    onclick: () => deeds.gradeCriterion(id, at + 1),
  }, level.word, inHand ? h("kbd", { text: String(at + 1) }) : null));
  const back = given && h("button", { type: "button", class: "quiet", text: "Take back", "aria-label": `Take back: ${text}`, onclick: () => deeds.ungradeCriterion(id) });
  return h("li", { class: `criterion${inHand ? " in-hand" : ""}`, "aria-current": inHand ? "true" : null, data: { testid: "criterion", id } },
    h("p", {}, text, points === null ? null : h("span", { class: "points", text: ` ${pointsText(points)}` })),
    h("div", { class: "choice", role: "group", "aria-label": `Your grade: ${text}` }, ...levels, back || null),
    ...(facts.covered ? [] : facts.otherCriteria.filter((grade) => grade.criterion === id).map((grade) => otherLine(grade, facts.levels))));
}

function otherLine(grade, levels) {
  const word = levels.find((level) => level.key === grade.level)?.word ?? grade.level;
  return h("span", { class: `other role-${grade.role}` }, h("b", { text: `${grade.person} (${grade.role})` }), ` ${word}`);
}

/** @param {{criteria?: {points: number|null}[]}} row @returns {boolean} whether its criteria carry the step's points */
export function countsByCriteria(row) {
  return (row.criteria ?? []).some((criterion) => (criterion.points ?? null) !== null);
}

/**
 * How far a step without a grade of its own is graded by its criteria, for its chip.
 * @param {object} row
 * @param {{criteria: Record<string, {level: string}>, graded: boolean}} facts
 * @param {{key: string, share: number|null}[]} levels
 * @returns {string} empty where no criterion is graded
 */
export function criteriaWords(row, { criteria, graded }, levels) {
  const given = row.criteria.filter(({ id }) => criteria[id]);
  if (!given.length) return "";
  if (!graded) return `${given.length} of ${row.criteria.length} criteria`;
  const shares = given.map(({ id, points }) => ({ points, share: levels.find((level) => level.key === criteria[id].level)?.share ?? null }));
  const counted = shares.filter(({ share }) => share !== null);
  const sum = (parts) => parts.reduce((total, part) => total + part, 0);
  return counted.length ? `${numberText(sum(counted.map(({ points, share }) => points * share)))} of ${numberText(sum(counted.map(({ points }) => points)))}` : "not assessable";
}

/** The criterion that digits grade next; after the last one, the step as a whole. @param {object} row @param {string|null} id @returns {string|null} */
export function nextCriterion(row, id) {
  const at = row.criteria.findIndex((criterion) => criterion.id === id);
  return row.criteria[at + 1]?.id ?? null;
}
