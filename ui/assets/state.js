/**
 * What the board knows: what the store said, with the operations still on their way laid over it.
 * Pure functions of plain objects; nothing here touches the page.
 */
import { countsByCriteria } from "./criteria.js";

/** Key of a row. @param {string} step @param {string|null} side @returns {string} */
export function rowKey(step, side) {
  return `${step}|${side ?? ""}`;
}

/**
 * All rows of the sheet in order, each with its section and its running number.
 * @param {{sections: object[]}} board
 * @returns {object[]}
 */
export function rowsOf(board) {
  let number = 0;
  return board.sections.flatMap((section) =>
    section.rows.map((row) => ({ ...row, section: section.id, sectionTitle: section.title, number: ++number })),
  );
}

/**
 * Lay the operations on their way over what the store said.
 * @param {{me: object, marks: object[], grades: object[], comments: object[], entries?: object[], phrases?: object[], exemplars?: object[], refusals?: object[]}} board
 * @param {object[]} ops
 * @returns {{marks: object[], grades: object[], comments: object[], entries: object[], phrases: object[], exemplars: object[], refusals: object[], uncovered: Set<string>}}
 *   `uncovered` holds the keys of rows that are uncovered by what is on its way, `*` for all
 */
export function overlay(board, ops) {
  const state = {
    marks: [...board.marks], grades: [...board.grades], comments: [...board.comments], entries: [...(board.entries ?? [])],
    phrases: [...(board.phrases ?? [])], exemplars: [...(board.exemplars ?? [])], refusals: [...(board.refusals ?? [])], uncovered: new Set(),
  };
  const mine = { person: board.me.code, role: board.me.role, mine: true, waiting: true };
  for (const op of ops) APPLY[op.op]?.(state, op, mine);
  return state;
}

const sameGrade = (op) => (grade) =>
  grade.mine && (grade.criterion ?? null) === (op.criterion ?? null) && grade.step === op.step && (grade.side ?? null) === (op.side ?? null);

const sameEntry = (op) => (entry) => entry.mine && entry.step === op.step && (entry.side ?? null) === (op.side ?? null);

const APPLY = {
  mark(state, op, mine) {
    const { step, side, onset_s, offset_s } = op;
    state.marks = state.marks.filter((mark) => mark.id !== op.mark_id);
    state.marks.push({ id: op.mark_id, step, side, onset_s, offset_s, ...mine });
  },
  remove_mark(state, op) {
    state.marks = state.marks.filter((mark) => mark.id !== op.mark_id);
  },
  grade(state, op, mine) {
    const { step, side, level, confidence } = op;
    const before = state.grades.find(sameGrade(op));
    state.grades = state.grades.filter((grade) => grade !== before);
    state.grades.push({ step, side, criterion: op.criterion ?? null, level, confidence, history: before?.history ?? [], ...mine });
    if (confidence && !op.criterion) state.uncovered.add(rowKey(step, side));
  },
  withdraw_grade(state, op) {
    state.grades = state.grades.filter((grade) => !sameGrade(op)(grade));
  },
  enter(state, op, mine) {
    state.entries = state.entries.filter((entry) => !sameEntry(op)(entry));
    state.entries.push({ step: op.step, side: op.side, text: op.text, words: "", ...mine });
  },
  withdraw_entry(state, op) {
    state.entries = state.entries.filter((entry) => !sameEntry(op)(entry));
  },
  comment(state, op, mine) {
    const answered = state.comments.find((comment) => comment.id === op.reply_to);
    const { step, side, onset_s, offset_s } = answered ?? op;
    const what = { id: op.comment_id, text: op.text, reply_to: op.reply_to ?? null, at: "", shape: op.shape ?? null, resolved: false };
    state.comments = state.comments.filter((comment) => comment.id !== op.comment_id);
    state.comments.push({ step: step ?? null, side: side ?? null, onset_s, offset_s, ...what, ...mine });
  },
  restore_comment(state, op, mine) {
    state.comments.push({ ...op.shown, id: op.comment_id, ...mine });
  },
  remove_comment(state, op) {
    state.comments = state.comments.filter((comment) => comment.id !== op.comment_id);
  },
  resolve_comment(state, op, mine) {
    const settled = { resolved: op.resolved, resolved_by: op.resolved ? mine.person : null };
    state.comments = state.comments.map((comment) => (comment.id === op.comment_id ? { ...comment, ...settled } : comment));
  },
  uncover(state, op) {
    state.uncovered.add(op.step ? rowKey(op.step, op.side) : "*");
  },
  keep_phrase(state, op) {
    const kept = { id: op.phrase_id, text: op.text };
    const at = state.phrases.findIndex((phrase) => phrase.id === op.phrase_id);
    if (at < 0) state.phrases.push(kept);
    else state.phrases[at] = kept;
  },
  drop_phrase(state, op) {
    state.phrases = state.phrases.filter((phrase) => phrase.id !== op.phrase_id);
  },
  attach_exemplar(state, op, mine) {
    const { exemplar_id: id, step, side, recording, onset_s, offset_s } = op;
    state.exemplars = state.exemplars.filter((exemplar) => exemplar.id !== id);
    state.exemplars.push({ id, step, side, recording, onset_s, offset_s, ...mine });
  },
  refuse(state, { refusal_id: id, step, side, onset_s, offset_s }) {
    state.refusals = state.refusals.filter((refusal) => refusal.id !== id);
    state.refusals.push({ id, step, side, onset_s, offset_s });
  },
  take_back_refusal(state, op) {
    state.refusals = state.refusals.filter((refusal) => refusal.id !== op.refusal_id);
  },
  detach_exemplar(state, op) {
    state.exemplars = state.exemplars.filter((exemplar) => exemplar.id !== op.exemplar_id);
  },
};

/**
 * The part of the state that belongs to one row.
 * @param {{marks: object[], grades: object[], comments: object[], entries?: object[]}} state
 * @param {{step: string, side: string|null}} row
 * @param {number} [time] seconds; of several marks of one's own the one in hand is that without an end, else the nearest
 */
export function ofRow(state, row, time = 0) {
  const fits = (entry) => entry.step === row.step && (entry.side ?? null) === (row.side ?? null);
  const all = state.grades.filter(fits);
  const grades = all.filter((grade) => !grade.criterion);
  const criteria = Object.fromEntries(all.filter((grade) => grade.criterion && grade.mine).map((grade) => [grade.criterion, grade]));
  const marks = state.marks.filter(fits);
  const entries = (state.entries ?? []).filter(fits);
  return {
    mark: inHandOf(marks.filter((mark) => mark.mine), time),
    again: marks.filter((mark) => mark.mine).length,
    otherMarks: marks.filter((mark) => !mark.mine),
    grade: grades.find((grade) => grade.mine) ?? null,
    otherGrades: grades.filter((grade) => !grade.mine),
    criteria,
    otherCriteria: all.filter((grade) => grade.criterion && !grade.mine),
    graded: grades.some((grade) => grade.mine) || (countsByCriteria(row) && row.criteria.every(({ id }) => criteria[id])),
    comments: byTime(state.comments.filter(fits)),
    entry: entries.find((entry) => entry.mine) ?? null,
    otherEntries: entries.filter((entry) => !entry.mine),
  };
}

/** Of one's own marks of a step the one that `[` and `]` mean. */
function inHandOf(marks, time) {
  const far = (mark) => (mark.offset_s <= mark.onset_s ? -1 : Math.max(mark.onset_s - time, time - mark.offset_s, 0));
  return marks.reduce((best, mark) => (!best || far(mark) < far(best) ? mark : best), null);
}

/**
 * The step to begin with: marked and not graded by oneself, else marked, else the first.
 * @param {object[]} rows
 * @param {{marks: object[], grades: object[], comments: object[]}} data
 * @returns {object|undefined}
 */
export function firstToDo(rows, data) {
  const about = rows.map((row) => ({ row, ...ofRow(data, row) }));
  const marked = about.filter((one) => one.mark ?? one.otherMarks[0]);
  return (marked.find((one) => !one.graded) ?? marked[0] ?? about[0])?.row;
}

/** @param {object[]} entries @returns {object[]} the entries by their onset */
export function byTime(entries) {
  return [...entries].sort((one, two) => one.onset_s - two.onset_s || one.offset_s - two.offset_s);
}

/**
 * The operation that `[` or `]` stands for, or the sentence that says why there is none.
 *
 * A start makes a mark without length, stored at once, unless a later end is known; an end closes it.
 * @param {"start"|"end"} edge
 * @param {number} time seconds
 * @param {object|null} mark one's own mark of the step
 * @param {{step: string, side: string|null}} row
 * @param {() => string} name makes the id of a new mark
 * @returns {{op?: object, refusal?: string}}
 */
export function edgeOperation(edge, time, mark, row, name) {
  const place = { op: "mark", mark_id: mark?.id ?? name(), step: row.step, side: row.side ?? null };
  if (edge === "start") {
    const keepsEnd = mark && mark.offset_s > mark.onset_s && mark.offset_s > time;
    return { op: { ...place, onset_s: time, offset_s: keepsEnd ? mark.offset_s : time } };
  }
  if (!mark) return { refusal: "Set the start of this step first, then its end." };
  if (time <= mark.onset_s) return { refusal: "The end must lie after the start. Go forward in the film, or set a new start." };
  return { op: { ...place, onset_s: mark.onset_s, offset_s: time } };
}

/**
 * The operation that moves an edge of a mark by frames or seconds: the edge that is nearer to the playhead.
 * @param {{frames?: number, seconds?: number}} by later (negative: earlier)
 * @param {number} time seconds of the playhead
 * @param {object|null} mark one's own mark of the step
 * @param {{nearest: Function, timeOf: Function, count: number}} clock
 * @returns {{op?: object, edge_s?: number, refusal?: string}}
 */
export function nudgeOperation({ frames = 0, seconds = 0 }, time, mark, clock) {
  if (!mark || !clock.count) return { refusal: "This step is not marked yet. Find where it starts and press [." };
  const { id, step, side, onset_s, offset_s } = mark;
  const endless = offset_s <= onset_s;
  const start = endless || Math.abs(time - onset_s) <= Math.abs(time - offset_s);
  const [first, last] = [clock.nearest(onset_s), clock.nearest(offset_s)];
  const wanted = clock.nearest((start ? onset_s : offset_s) + seconds) + frames;
  const least = start ? 0 : first + 1;
  const most = start && !endless ? last - 1 : clock.count - 1;
  const edge_s = clock.timeOf(Math.max(least, Math.min(most, wanted)));
  const moved = start ? { onset_s: edge_s, offset_s: endless ? edge_s : offset_s } : { onset_s, offset_s: edge_s };
  return { op: { op: "mark", mark_id: id, step, side: side ?? null, ...moved }, edge_s };
}

/**
 * The sentence that says how far the marking of a step is.
 * @param {object|null} mark
 * @param {(seconds: number) => string} say
 * @returns {string}
 */
export function markWords(mark, say) {
  if (!mark) return "Not marked yet";
  if (mark.offset_s <= mark.onset_s) return `Starts at ${say(mark.onset_s)}, no end yet`;
  return `${say(mark.onset_s)} to ${say(mark.offset_s)}`;
}
