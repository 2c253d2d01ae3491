/** Times, numbers and roles as people read them. */

/** Signs of the roles, as shapes; colours only repeat what they say. */
export const SIGNS = { learner: "\u25CF", peer: "\u25C6", instructor: "\u25B2", proposal: "\u25C7" };

/**
 * Minutes and seconds, as `1:04.20`.
 * @param {number} seconds
 * @param {number} [digits] decimals of the seconds
 * @returns {string}
 */
export function clockText(seconds, digits = 2) {
  const unit = 10 ** digits;
  const whole = Math.round(Math.max(0, seconds) * unit);
  const minutes = Math.floor(whole / (60 * unit));
  const rest = (whole - minutes * 60 * unit) / unit;
  return `${minutes}:${rest.toFixed(digits).padStart(digits ? digits + 3 : 2, "0")}`;
}

/**
 * A stretch of the film in words.
 * @param {number} onset seconds
 * @param {number} offset seconds
 * @returns {string}
 */
export function stretchText(onset, offset) {
  return `${clockText(onset)} to ${clockText(offset)}`;
}

/**
 * A number with about three figures and no needless zeros.
 * @param {number} value
 * @returns {string}
 */
export function numberText(value) {
  if (!Number.isFinite(value)) return "no number";
  const size = Math.abs(value);
  if (size >= 100) return value.toFixed(0);
  return String(Number(value.toFixed(size >= 10 ? 1 : 2)));
}

/**
 * Points of a step.
 * @param {number} points
 * @returns {string}
 */
export function pointsText(points) {
  return `${numberText(points)} ${points === 1 ? "point" : "points"}`;
}

/**
 * Ticks for a ruler.
 * @param {number} from seconds at the left end
 * @param {number} to seconds at the right end
 * @param {number} room how many ticks there is room for
 * @returns {{times: number[], digits: number}}
 */
export function ticks(from, to, room) {
  const span = Math.max(to - from, 1e-3);
  const choices = [0.1, 0.2, 0.5, 1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 1800];
  const every = choices.find((choice) => span / choice <= room) ?? 3600;
  const times = [];
  for (let count = Math.ceil(from / every - 1e-9); count * every <= to + 1e-9; count++) times.push(count * every);
  return { times, digits: every < 1 ? 1 : 0 };
}

/**
 * Say how far an analysis is.
 * @param {{state: string, done: number, total: number, message: string, stage: string, left_s: number|null}} analysis
 * @returns {string}
 */
export function analysisText(analysis) {
  const share = analysis.total ? Math.floor((100 * analysis.done) / analysis.total) : 0;
  const words = {
    waiting: "Waits for its turn to be analysed",
    running: [`${analysis.stage || "Analysing"}, ${share} %`, leftText(analysis.left_s)].filter(Boolean).join(", "),
    done: "Analysed", stopped: `Analysis stopped at ${share} %`, failed: `Analysis failed. ${analysis.message}`,
  };
  return words[analysis.state] ?? analysis.state;
}

/** @param {number|null} seconds @returns {string} */
function leftText(seconds) {
  if (seconds === null || seconds === undefined) return "";
  return seconds < 90 ? `about ${Math.max(5, Math.ceil(seconds / 5) * 5)} s left` : `about ${Math.round(seconds / 60)} min left`;
}
