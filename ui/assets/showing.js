/** Showing what the board knows: each function writes one part of the page. */
import { offerPeople, setText } from "./dom.js";
import { analysisText, clockText } from "./format.js";
import { proposalAt } from "./proposals.js";
import { byTime, ofRow, rowKey } from "./state.js";

const TOLD_EVERY_MS = 100;

/** Write all of the page anew from the board's state. @param {object} board */
export function showAll(board) {
  const { parts, data } = board;
  setText(parts.title, data.recording.name);
  const flipped = data.recording.mirrored ? ", filmed mirrored, shown unmirrored" : "";
  setText(parts.about, `${data.title ?? ""}${data.title ? ", " : ""}attempt ${data.recording.attempt}${flipped}`);
  parts.video.classList.toggle("flipped", data.recording.mirrored);
  showPeople(board, data);
  parts.consent.hidden = !data.recording.consent;
  parts.share.hidden = !data.recording.shared;
  parts.share.title = data.recording.shared ? `Attempt: ${data.recording.shared}` : "";
  parts.consent.title = data.recording.consent ? `Examined person: ${data.recording.consent}` : "";
  board.root.style.setProperty("--aspect", data.recording.width_px / data.recording.height_px || 16 / 9);
  setText(parts.notice, data.notice);
  showAnalysis(board, data.recording);
  board.who.show(data.recording, data.me);
  const { proposals } = board;
  const comments = byTime(board.state.comments).map((comment) => veil(board, comment));
  board.sheet.show({
    rows: board.rows, comments, factsOf: (row) => facts(board, row, proposals), proposals, proposalsSaid: board.firstPass.told.said,
    coveredAny: board.rows.some((row) => covered(board, row)), filter: board.filter,
    data, faults: board.faults, waiting: board.queue.ops.map((operation) => operation.seq),
  });
  board.remarks.show(comments);
  if (board.row) board.hand.show(board.row, board.mine.mark, board.filmWords.of(data, board.row), board.mine.again);
  if (board.row) board.entry.show(board.row, board.mine.entry, board.data);
  showTimeline(board, comments, proposals);
  board.film.show();
  showStatus(board);
}

function showPeople(board, { me, people = [me] }) {
  const signature = JSON.stringify([me.code, people]);
  if (signature === board.peopleShown) return;
  board.peopleShown = signature;
  offerPeople(board.parts.person, people, me.code);
}

function facts(board, row, proposals) {
  const own = ofRow(board.state, row, board.player.time);
  return {
    ...own, comments: own.comments.map((comment) => veil(board, comment)), inHand: row.key === board.key, criterion: row.key === board.key ? board.criterion : null,
    covered: covered(board, row), levels: board.data.scale.levels, recordingId: board.data.recording.id,
    proposal: proposalAt(proposals, row, board.player.time), proposals: proposals.filter((one) => rowKey(one.step, one.side) === row.key).length,
  };
}

/** Blind first: a step stays covered until its own grade and confidence are set, or it is uncovered on purpose. */
function covered(board, row) {
  const { uncovered } = board.state;
  return row.covered && !uncovered.has(row.key) && !uncovered.has("*");
}

function veil(board, comment) {
  const row = board.rows.find((one) => one.step === comment.step && (one.side ?? null) === (comment.side ?? null));
  return row && !comment.mine && covered(board, row) ? { ...comment, covered: true } : comment;
}

function showTimeline(board, comments, proposals) {
  const { row, data } = board;
  const curves = row ? data.curves.filter((curve) => row.measures.includes(curve.measure)) : [];
  const state = encodeURIComponent(`${data.recording.analysis?.state}-${data.recording.analysis?.done}`);
  const mine = row ? board.mine : { mark: null, otherMarks: [] };
  board.timeline.show({
    sections: data.sections, rows: board.rows, marks: board.state.marks, proposals, comments, inHand: board.key, inHandRow: row,
    ofHand: mine, curves: curves.map((curve) => ({ ...curve, url: `${curve.url}?state=${state}` })), covered: row ? row.measures.length > 0 && covered(board, row) : false, uncover: () => board.act("reveal"),
    duration: Math.max(data.recording.duration_s, board.player.clock.last, 0.1),
  });
  board.timeline.showHistory(board.history.done.length > 0, board.history.undone.length > 0);
}

/** Show whether the film plays. @param {object} board */
export function showPlaying(board) {
  board.film.played();
  showTime(board, board.player.frame, board.player.time);
  setText(board.parts.play.firstChild, board.player.playing ? "Pause " : "Play ");
  board.parts.play.setAttribute("aria-pressed", String(board.player.playing));
}

/**
 * Tell the time and the number of the frame in hand; while the film plays ten times a second, as more cannot be read and
 * each change of a text costs the page a layout and a painting.
 * @param {object} board @param {number} frame @param {number} time
 */
export function showTime(board, frame, time) {
  const { parts, player } = board;
  const now = performance.now();
  if (player.playing && now - (board.timeTold ?? -Infinity) < TOLD_EVERY_MS) return;
  board.timeTold = now;
  setText(parts.clock, clockText(time));
  setText(parts.frame, `frame ${frame + 1} of ${player.clock.count}`);
}

function showAnalysis(board, { analysis }) {
  const text = !analysis || analysis.state === "done" ? "" : analysisText(analysis);
  setText(board.parts.analysis, text);
  board.parts.analysis.title = text;
  board.parts.analysis.hidden = !text;
}

/** Show what is on its way, and what there is to say. @param {object} board */
export function showStatus(board) {
  if (!board.queue) return;
  const waiting = board.queue.unsent.length;
  const changes = `${waiting} ${waiting === 1 ? "change" : "changes"}`;
  const away = waiting ? `No answer, ${changes} waiting` : "No answer";
  setText(board.parts.status, board.away ? away : waiting ? `Keeping ${changes}` : "All kept");
  board.parts.status.dataset.look = board.away ? "away" : waiting ? "busy" : "good";
  board.parts.status.dataset.shown = board.queue.ops.length ? "behind" : "all"; // what is kept may not be on the board yet
  const fetching = board.player.fetching ? "Fetching the film and the times of its frames." : "";
  const text = board.message ?? board.fault ?? fetching;
  setText(board.parts.message, text);
  board.parts.message.hidden = !text;
  const bad = board.message ? board.serious : board.fault;
  board.parts.message.dataset.look = bad ? "bad" : fetching && text === fetching ? "waits" : "";
}
