/** What a key or a button stands for: the deeds of the board, each a function of the board and its argument. */
import { nextCriterion } from "./criteria.js";
import { PROPOSAL_DEEDS } from "./proposal_deeds.js";
import { proposalAt } from "./proposals.js";
import { newName } from "./queue.js";
import { titleOf } from "./row.js";
import { SHEET_DEEDS } from "./sheet_deeds.js";
import { edgeOperation, nudgeOperation } from "./state.js";

/** Deeds that need no step in hand. */
const ANYWHERE = new Set([
  "play", "step", "skip", "keys", "speed", "faster", "loop", "nearer", "overlay", "captions", "comments", "captionList", "person", "examined", "undo", "redo", "timeline", "filter", "link", "consent", "share", "outcome", "propose",
]);

/** @type {Record<string, (board: object, argument?: any) => void>} */
const DEEDS = {
  play: (board) => board.player.toggle(),
  step: (board, count) => board.player.step(count),
  skip: (board, seconds) => board.player.skip(seconds),
  speed: (board, speed) => board.film.setSpeed(speed),
  faster: (board, steps) => board.film.faster(steps),
  loop: (board) => board.film.toggleLoop(),
  captions: (board) => board.film.toggleWords("captions"),
  comments: (board) => board.film.toggleWords("comments"),
  beside: (board) => board.film.toggleBeside(),
  overlay: (board) => board.film.toggleOverlay(),
  nearer: (board, steps) => board.film.nearer(steps),
  ...SHEET_DEEDS,
  start: (board) => goToStart(board),
  edge: setEdge,
  unmark: clearMark,
  grade,
  confidence: sure,
  ungrade: (board, criterion) => board.push({ op: "withdraw_grade", ...board.place, ...(criterion ? { criterion } : {}) }),
  criterion: takeCriterion,
  gradeCriterion,
  enter: (board, entry) => board.push({ op: "enter", ...entry }),
  unenter: (board) => board.push({ op: "withdraw_entry", ...board.place }),
  entry: (board) => board.entry.open() || board.say("No result is typed in on this step."),
  propose: (board, deed) => PROPOSAL_DEEDS[deed](board),
  zoom: (board) => board.timeline.toggle(),
  nudge,
  undo: (board) => turnBack(board, "undo"),
  redo: (board) => turnBack(board, "redo"),
  timeline: (board) => board.timeline.enter(),
  keys: (board) => board.dialog.showModal(),
  focus: (board) => board.focus(),
  examined: askWho,
  consent: (board) => board.consent.open(board.data.recording.id, board.data.me.code),
  share: (board) => board.share.open(board.data.recording.id, board.data.me.code),
  person: (board, code) => board.setState("person", code),
};

/**
 * Do what a key or a button stands for.
 * @param {object} board
 * @param {string} deed
 * @param {any} [argument]
 */
export function act(board, deed, argument) {
  if (board.row || ANYWHERE.has(deed)) DEEDS[deed](board, argument);
}

/** Go to the start of the step in hand, as it was marked. @param {object} board @param {boolean} [quiet] say nothing if it was not */
export function goToStart(board, quiet = false) {
  const seconds = board.mine.mark ?? board.mine.otherMarks[0] ?? proposalAt(board.proposals, board.row, board.player.time);
  if (seconds) board.player.toTime(seconds.onset_s);
  else if (!quiet) board.say("This step is not marked yet. Find where it starts and press [.");
}

function setEdge(board, edge) {
  if (!board.player.clock.count) {
    board.say("The film is not ready yet. Try again in a moment.");
    return;
  }
  const { op, refusal } = edgeOperation(edge, board.player.time, board.mine.mark, board.row, newName);
  if (refusal) board.say(refusal, true);
  else board.push(op);
}

function clearMark(board) {
  const { mark } = board.mine;
  if (mark) board.push({ op: "remove_mark", mark_id: mark.id });
}

function grade(board, digit) {
  if (board.criterion) {
    gradeCriterion(board, { id: board.criterion, digit });
    return;
  }
  const level = levelOf(board, digit);
  if (level) board.push({ op: "grade", ...board.place, level: level.key, confidence: board.mine.grade?.confidence ?? null });
}

function levelOf(board, digit) {
  const { levels } = board.data.scale;
  if (!levels[digit - 1]) board.say(`This scale has ${levels.length} levels.`);
  return levels[digit - 1];
}

/** Digits go to the next criterion of the step in hand; after the last one to the step as a whole again. */
function takeCriterion(board) {
  if (!board.row.criteria.length) board.say("This step has no criteria: the digits grade it as a whole.");
  else {
    board.criterion = nextCriterion(board.row, board.criterion);
    board.render();
  }
}

/** @param {object} board @param {{id: string, digit: number}} what */
function gradeCriterion(board, { id, digit }) {
  const level = levelOf(board, digit);
  if (!level) return;
  if (board.criterion === id) board.criterion = nextCriterion(board.row, id);
  board.push({ op: "grade", ...board.place, criterion: id, level: level.key, confidence: board.mine.criteria[id]?.confidence ?? null });
}

/** How sure one is of the step's grade; where its criteria were graded in its stead, of each of them. */
function sure(board, confidence) {
  const { grade, graded, criteria } = board.mine;
  const given = grade ? [grade] : graded ? Object.values(criteria) : [];
  if (!given.length) board.say("Give the grade first, then say how sure you are.");
  for (const { criterion, level } of given) {
    board.push({ op: "grade", ...board.place, ...(criterion ? { criterion } : {}), level, confidence });
  }
}

function askWho(board) {
  if (board.parts.examined.hidden) board.say("Only one person was seen in this film.");
  else {
    board.film.stage.whole();
    board.who.open();
  }
}

/** Move the edge of the mark in hand that is nearer to the playhead. @param {object} board @param {{frames?: number, seconds?: number}} by */
function nudge(board, by) {
  const { op, edge_s, refusal } = nudgeOperation(by, board.player.time, board.mine.mark, board.player.clock);
  if (refusal) {
    board.say(refusal);
    return;
  }
  board.player.video.pause();
  board.player.toTime(edge_s);
  board.push(op, { held: "nudge" });
}

/** @param {object} board @param {"undo"|"redo"} way */
function turnBack(board, way) {
  const turn = board.history[way](board.state);
  if (!turn) {
    board.say(way === "undo" ? "There is nothing to undo." : "There is nothing to do again.");
    return;
  }
  const row = board.rows.find((one) => one.step === turn.step.step && (one.side ?? null) === (turn.step.side ?? null));
  const what = `your ${turn.word}${row ? ` of ${titleOf(row)}` : ""}`;
  if (turn.refused) {
    board.render();
    board.say(`Another window has changed ${what} since. It stays as it is.`, true);
    return;
  }
  board.push(turn.operation, { sent: turn.sent });
  if (row) board.select(row.key);
  board.say(way === "undo" ? `Undone: ${what}.` : `Done again: ${what}.`);
}
