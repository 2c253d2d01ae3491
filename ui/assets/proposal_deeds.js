/** What keys and buttons do with proposals: take, take from here, refuse, go to the next, take all that are sure. */
import { nextProposal, proposalAt, secondsOf, sureDialog, sureOnes } from "./proposals.js";
import { newName } from "./queue.js";
import { titleOf } from "./row.js";

/** @type {Record<string, (board: object) => void>} */
export const PROPOSAL_DEEDS = { take, move, refuse, next, sure };

/** The proposal of the step in hand; says so where there is none. @param {object} board */
function inHand(board) {
  const found = proposalAt(board.proposals, board.row, board.player.time);
  if (!found) board.say(`This step has no open proposal. ${board.proposals.length ? "J goes to the next one." : board.firstPass.told.said}`.trim());
  return found;
}

function take(board) {
  const proposal = inHand(board);
  if (!proposal) return;
  mark(board, proposal);
  board.say(`Taken: ${titleOf(board.row)}, ${secondsOf(proposal)}. U takes it back.`);
}

/** Take it from the frame on the screen, as long as it was proposed. */
function move(board) {
  const proposal = inHand(board);
  const { clock, time } = board.player;
  if (!proposal) return;
  if (!clock.count) board.say("The film is not ready yet. Try again in a moment.");
  else {
    const moved = { ...proposal, onset_s: time, offset_s: Math.min(clock.last, time + proposal.offset_s - proposal.onset_s) };
    mark(board, moved);
    board.say(`Taken from here: ${titleOf(board.row)}, ${secondsOf(moved)}. U takes it back.`);
  }
}

/** Every edge of a mark lies on a frame of the film. */
function mark(board, { step, side, onset_s, offset_s }) {
  const { clock } = board.player;
  const frame = (time) => (clock.count ? clock.timeOf(clock.nearest(time)) : time);
  board.push({ op: "mark", mark_id: newName(), step, side: side ?? null, onset_s: frame(onset_s), offset_s: frame(offset_s) });
}

function refuse(board) {
  const proposal = inHand(board);
  if (!proposal) return;
  const { step, side, onset_s, offset_s } = proposal;
  board.push({ op: "refuse", refusal_id: newName(), step, side: side ?? null, onset_s, offset_s });
  board.say(`Refused: ${titleOf(board.row)} is not proposed to you there again. U takes that back.`);
}

function next(board) {
  const here = board.row ? proposalAt(board.proposals, board.row, board.player.time) : null;
  const wanted = nextProposal(board.proposals, here, board.player.time);
  if (wanted) board.seek(wanted.onset_s, `${wanted.step}|${wanted.side ?? ""}`);
  else board.say(board.firstPass.told.said || "No step is proposed.");
}

function sure(board) {
  const found = sureOnes(board.proposals);
  if (!found.length) {
    board.say("No proposal is sure enough to be taken without a look.");
    return;
  }
  const rows = new Map(board.rows.map((row) => [row.key, row]));
  const listed = found.map((proposal) => ({ proposal, words: titleOf(rows.get(`${proposal.step}|${proposal.side ?? ""}`)) }));
  const dialog = sureDialog(listed, () => {
    for (const proposal of found) mark(board, proposal);
    board.say(`Taken: ${found.length}. U takes them back one by one.`);
  });
  board.root.append(dialog);
  dialog.showModal();
}
