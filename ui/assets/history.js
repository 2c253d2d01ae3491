/**
 * Undo and redo of one's own marks, grades, entries, comments and refusals of proposals.
 *
 * For each change it is kept what the thing was before and after. Undoing is an operation like any other: it goes
 * through the queue. It says what it expects to find (`was`), so that a change made elsewhere since then is never
 * undone over, neither here nor in the store.
 */
const MOST = 200;

/** Changes of the same thing by the same held key, nearer than this, are one. */
const TOGETHER_MS = 1500;

const sideOf = (thing) => thing.side ?? null;
const placeOf = ({ step, side, criterion }) => ({ step, side: side ?? null, ...(criterion ? { criterion } : {}) });
const samePlace = (one, two) =>
  one.step === two.step && sideOf(one) === sideOf(two) && (one.criterion ?? null) === (two.criterion ?? null);

/** Of each kind: where it is in the state, which of its facts count, and the operation that makes it so. */
const KINDS = {
  mark: {
    word: "mark",
    find: (state, target) => state.marks.find((mark) => mark.mine && mark.id === target.id),
    facts: ({ step, side, onset_s, offset_s }) => ({ step, side: side ?? null, onset_s, offset_s }),
    make: ({ id }, facts) => (facts ? { op: "mark", mark_id: id, ...facts } : { op: "remove_mark", mark_id: id }),
  },
  grade: {
    word: "grade",
    find: (state, target) => state.grades.find((grade) => grade.mine && samePlace(grade, target)),
    facts: ({ level, confidence }) => ({ level, confidence: confidence ?? null }),
    make: (target, facts) => (facts ? { op: "grade", ...target, ...facts } : { op: "withdraw_grade", ...target }),
  },
  entry: {
    word: "result",
    find: (state, target) => state.entries.find((entry) => entry.mine && samePlace(entry, target)),
    facts: ({ text }) => ({ text: text.trim() }),
    make: (target, facts) => (facts ? { op: "enter", ...target, ...facts } : { op: "withdraw_entry", ...target }),
  },
  refusal: {
    word: "refusal",
    find: (state, target) => state.refusals.find((refusal) => refusal.id === target.id),
    facts: ({ step, side, onset_s, offset_s }) => ({ step, side: side ?? null, onset_s, offset_s }),
    make: ({ id }, facts) => (facts ? { op: "refuse", refusal_id: id, ...facts } : { op: "take_back_refusal", refusal_id: id }),
  },
  comment: {
    word: "comment",
    find: (state, target) => state.comments.find((comment) => comment.mine && comment.id === target.id),
    facts: ({ text }) => ({ text: text.trim() }),
    make: makeComment,
  },
};

function makeComment({ id }, facts, from, shown) {
  if (!facts) return { op: "remove_comment", comment_id: id };
  return from ? { op: "comment", comment_id: id, ...facts } : { op: "restore_comment", comment_id: id, shown };
}

/** What each operation changes. */
const CHANGES = {
  mark: ["mark", (op) => ({ id: op.mark_id })], remove_mark: ["mark", (op) => ({ id: op.mark_id })],
  grade: ["grade", placeOf], withdraw_grade: ["grade", placeOf],
  enter: ["entry", placeOf], withdraw_entry: ["entry", placeOf],
  refuse: ["refusal", (op) => ({ id: op.refusal_id })], take_back_refusal: ["refusal", (op) => ({ id: op.refusal_id })],
  comment: ["comment", (op) => ({ id: op.comment_id })], remove_comment: ["comment", (op) => ({ id: op.comment_id })],
};

export class History {
  /**
   * @param {string} name of the recording and the person
   * @param {Storage} storage where the list outlives a reload
   * @param {() => number} [now] milliseconds
   */
  constructor(name, storage, now = Date.now) {
    this.key = `runthrough.history.${name}`;
    this.storage = storage;
    this.now = now;
    const kept = read(storage, this.key);
    this.done = kept?.done ?? [];
    this.undone = kept?.undone ?? [];
  }

  /**
   * Note a change.
   * @param {{op: string, seq: number}} operation as it went into the queue
   * @param {object} before the state without it
   * @param {object} after the state with it
   * @param {string|null} [held] name of the key whose repetitions count as one change
   */
  note(operation, before, after, held = null) {
    const change = CHANGES[operation.op];
    if (!change) return;
    const [kind, targetOf] = change;
    const target = targetOf(operation);
    const [was, is] = [KINDS[kind].find(before, target), KINDS[kind].find(after, target)];
    const entry = {
      kind, target, held, at: this.now(), seqs: [operation.seq], step: placeOf(was ?? is ?? target),
      before: was ? KINDS[kind].facts(was) : null, after: is ? KINDS[kind].facts(is) : null, shown: shownOf(kind, was ?? is),
    };
    if (same(entry.before, entry.after)) return;
    this.undone = [];
    const last = this.done.at(-1);
    if (held && last && this.together(last, entry)) Object.assign(last, { after: entry.after, at: entry.at, seqs: [...last.seqs, operation.seq] });
    else this.done.push(entry);
    this.done = this.done.slice(-MOST);
    this.keep();
  }

  together(last, entry) {
    const sameThing = last.held === entry.held && last.kind === entry.kind && same(last.target, entry.target);
    return sameThing && entry.at - last.at < TOGETHER_MS;
  }

  /** What undoing the newest change would do. @param {object} state @returns {Turn|null} */
  undo(state) {
    return this.turn(state, this.done, this.undone, "after", "before");
  }

  /** What doing the newest undone change again would do. @param {object} state @returns {Turn|null} */
  redo(state) {
    return this.turn(state, this.undone, this.done, "before", "after");
  }

  /**
   * @typedef {{operation?: object, refused: boolean, word: string, step: {step: string|null, side: string|null}, sent?: (seq: number) => void}} Turn
   */
  turn(state, from, to, expected, wanted) {
    const entry = from.pop();
    if (!entry) return null;
    const kind = KINDS[entry.kind];
    const found = kind.find(state, entry.target);
    const told = { word: kind.word, step: entry.step };
    const was = found ? kind.facts(found) : null;
    if (!same(was, entry[expected])) {
      this.keep();
      return { ...told, refused: true };
    }
    to.push(entry);
    this.keep();
    const operation = { ...kind.make(entry.target, entry[wanted], was, entry.shown), was };
    return { ...told, refused: false, operation, sent: (seq) => this.sent(entry, seq) };
  }

  sent(entry, seq) {
    entry.seqs = [...entry.seqs, seq];
    this.keep();
  }

  /** Forget changes that the store refused. @param {number[]} seqs numbers of their operations */
  forget(seqs) {
    const kept = (entry) => !entry.seqs.some((seq) => seqs.includes(seq));
    this.done = this.done.filter(kept);
    this.undone = this.undone.filter(kept);
    this.keep();
  }

  keep() {
    try {
      this.storage.setItem(this.key, JSON.stringify({ done: this.done, undone: this.undone }));
    } catch {
      this.full = true;
    }
  }
}

/** What a comment that is put back looks like until the store has said so. */
function shownOf(kind, thing) {
  if (kind !== "comment" || !thing) return null;
  const { waiting, mine, person, role, ...shown } = thing;
  return shown;
}

/** Whether two sets of facts say the same; times may differ by less than any frame lasts. */
function same(one, two) {
  if (!one || !two) return one === two;
  return Object.keys({ ...one, ...two }).every((name) => {
    const [left, right] = [one[name] ?? null, two[name] ?? null];
    return typeof left === "number" && typeof right === "number" ? Math.abs(left - right) < 1e-4 : left === right;
  });
}

function read(storage, key) {
  try {
    const kept = JSON.parse(storage.getItem(key) ?? "null");
    return kept && Array.isArray(kept.done) && Array.isArray(kept.undone) ? kept : null;
  } catch {
    return null;
  }
}
