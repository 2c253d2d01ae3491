/** What was graded before and after seeing the estimates and others' grades, in one line. */

/**
 * @param {{history?: {level: string, confidence: number|null, when: string|null, removed: boolean}[]}|null} grade
 * @param {{key: string, word: string}[]} levels
 * @returns {string} empty where nothing was graded on both sides of seeing
 */
export function gradingStory(grade, levels) {
  const history = grade?.history ?? [];
  const word = (one) => levels.find((level) => level.key === one.level)?.word ?? one.level;
  const last = (when) => history.filter((one) => one.when === when && !one.removed).at(-1);
  const [before, after] = [last("before"), last("after")];
  if (!after) return "";
  if (!before) return `Graded after seeing: ${word(after)}`;
  const same = before.level === after.level && before.confidence === after.confidence;
  return same ? "" : `Graded before seeing: ${word(before)}; after: ${word(after)}`;
}
