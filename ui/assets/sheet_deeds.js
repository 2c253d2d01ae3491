/** What keys and buttons of the sheet stand for: going through the steps, uncovering, marking a step once more. */
import { nextFilter } from "./filters.js";
import { clockText } from "./format.js";
import { newName } from "./queue.js";
import { titleOf } from "./row.js";
import { ofRow } from "./state.js";

/** @type {Record<string, (board: object, argument?: any) => void>} */
export const SHEET_DEEDS = {
  row: moveRow,
  next: nextUngraded,
  filter: (board, name) => setFilter(board, name ?? nextFilter(board.filter)),
  reveal,
  comment: (board) => board.remarks.open(null),
  here: stepHere,
  again: markAgain,
  outcome: (board) => showTab(board, "outcome", board.sheet.outcome.element),
  captionList: (board) => showTab(board, "captions", board.sheet.captions.field),
  link: (board) => board.remarks.link(board.player.time),
};

/** Go to another of the steps that are shown. @param {object} board @param {number} count down (negative: up) */
function moveRow(board, count) {
  const keys = board.sheet.keys.length ? board.sheet.keys : board.rows.map((row) => row.key);
  const next = keys[keys.indexOf(board.key) + count];
  if (next) board.visit(next);
}

function nextUngraded(board) {
  const at = board.rows.findIndex((row) => row.key === board.key);
  const round = [...board.rows.slice(at + 1), ...board.rows.slice(0, at + 1)];
  const next = round.find((row) => !ofRow(board.state, row).graded);
  if (next) board.visit(next.key);
  else board.say("You have graded every step.");
}

function setFilter(board, name) {
  board.filter = name;
  board.remember();
  board.render();
  if (board.key) board.sheet.reveal(board.key);
}

/** Uncover the step in hand before it is graded; grades given from then on are told apart. */
function reveal(board) {
  if (board.row.covered && !board.state.uncovered.has(board.key)) board.push({ op: "uncover", ...board.place });
  else board.say("This step is uncovered already.");
}

/**
 * The step that is marked at a time: by one's own mark before another's, by a shorter one before a longer.
 * @param {object} board @param {number} time seconds
 * @returns {object|undefined} its row
 */
export function rowAt(board, time) {
  const here = board.state.marks
    .filter((mark) => mark.onset_s <= time && time <= mark.offset_s)
    .sort((one, two) => Number(two.mine) - Number(one.mine) || one.offset_s - one.onset_s - (two.offset_s - two.onset_s));
  return here.length ? board.rows.find((one) => one.step === here[0].step && (one.side ?? null) === (here[0].side ?? null)) : undefined;
}

function stepHere(board) {
  const { time } = board.player;
  const row = rowAt(board, time);
  if (row) board.select(row.key);
  else board.say(`No step is marked at ${clockText(time)}.`);
}

/** The step in hand is done once more: a second mark of it starts at this frame. */
function markAgain(board) {
  const { mark } = board.mine;
  if (!board.player.clock.count) board.say("The film is not ready yet. Try again in a moment.");
  else if (!mark || mark.offset_s <= mark.onset_s) board.say("Mark this step once first, with its end; then mark it again.");
  else {
    const time = board.player.time;
    board.push({ op: "mark", mark_id: newName(), ...board.place, onset_s: time, offset_s: time });
    board.say(`${titleOf(board.row)} starts once more at ${clockText(time)}.`);
  }
}

/** To a tab of the sheet, with the focus in it; from there back to the steps. @param {object} board @param {string} name @param {HTMLElement} place */
function showTab(board, name, place) {
  const { sheet } = board;
  const there = sheet.tab === name;
  sheet.choose(there ? "steps" : name);
  if (there) board.focus();
  else place.focus({ preventScroll: true });
}
