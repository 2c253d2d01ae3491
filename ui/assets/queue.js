/**
 * Operations on their way to the store, and from there to the board.
 *
 * Every operation has a number; all that are not stored go with each message, the store takes those it has not seen and
 * answers with the last number it took. What is stored stays in the list until a board comes that has it, so that it does
 * not vanish from the screen meanwhile. The list outlives a reload of the page.
 */
/** How long a busy machine may take to let a page go that is being left; too short a wait would lose what it had not sent. */
const PATIENCE_MS = 8000;
/** So long after something was stored the board is asked for: one board for what is done in quick succession. */
const SOON_MS = 120;

export class Queue {
  /**
   * @param {string} recordingId
   * @param {Storage} storage where the list outlives a reload
   * @param {{post: (message: {client: string, ops: object[]}) => Promise<{client: string|null, ack: number, faults: object[]}>,
   *          ask: (client: string) => void, told: (answer: {client: string|null, faults: object[]}) => void}} ways
   *   `post` has operations stored, `ask` has the board sent anew, `told` hears the answers
   */
  constructor(recordingId, storage, ways) {
    this.key = `runthrough.queue.${recordingId}`;
    this.storage = storage;
    this.ways = ways;
    const kept = read(storage, this.key);
    this.client = kept?.client ?? newName();
    this.seq = kept?.seq ?? 0;
    /** @type {{seq: number, op: string}[]} */
    this.ops = kept?.ops ?? [];
    /** Number of the last operation that is stored. */
    this.stored = 0;
    /** Nothing is sent before it is known that no other window has this name. */
    this.held = true;
    this.keep();
  }

  /**
   * Begin to send.
   * @param {boolean} alone whether no other window has this queue's name; if one has, it sends the inherited list
   */
  open(alone) {
    this.held = false;
    if (!alone) this.rename();
    if (this.ops.length) this.flush();
  }

  rename() {
    const own = this.ops.filter((op) => op.session === this.session);
    this.client = newName();
    this.seq = 0;
    this.ops = own.map((op) => ({ ...op, seq: ++this.seq }));
    this.keep();
  }

  /** Mark of this window's life, to tell its own operations from inherited ones. */
  get session() {
    return (this.born ??= newName());
  }

  /**
   * @param {object} operation what to do; gets its number here
   * @returns {{seq: number}}
   */
  push(operation) {
    const entry = { ...operation, seq: ++this.seq, session: this.session };
    this.ops.push(entry);
    this.keep();
    this.flush();
    return entry;
  }

  /** What is not stored yet. */
  get unsent() {
    return this.ops.filter((op) => op.seq > this.stored);
  }

  /** Send what is not stored; if there is none, ask for the board as it is by now. */
  flush() {
    if (this.held) return;
    if (this.unsent.length) this.deliver();
    else this.look();
  }

  /** Ask for the board. */
  look() {
    this.ways.ask(this.client);
  }

  /** Have all stored, one message after the other; without an answer it is tried again later. */
  async deliver() {
    if (this.busy) return;
    this.busy = true;
    try {
      while (await this.deliverOnce());
    } catch {
      this.unanswered = true; // the server is away, which the page says: see `Remarks.away`
    }
    this.busy = false;
  }

  /** @returns {Promise<boolean>} whether some were stored and there are more */
  async deliverOnce() {
    const { client } = this;
    const answer = await this.ways.post({ client, ops: this.unsent.map(({ session, ...op }) => op) });
    const taken = answer.client === client && answer.ack > this.stored;
    if (taken) this.stored = answer.ack;
    if (!this.closed) this.ways.told(answer);
    if (taken) this.soon ??= setTimeout(() => this.lookNow(), SOON_MS);
    return taken && this.unsent.length > 0;
  }

  lookNow() {
    this.soon = null;
    if (!this.closed) this.look();
  }

  /** Nothing is asked for any more. */
  close() {
    this.closed = true;
  }

  /**
   * @param {string|null|undefined} client whose operations the board has
   * @param {number} ack number of the last one that it has
   * @returns {boolean} whether any left the list
   */
  acknowledge(client, ack) {
    if (client !== this.client) return false;
    const before = this.ops.length;
    this.ops = this.ops.filter((op) => op.seq > ack);
    this.seq = Math.max(this.seq, ack);
    this.stored = Math.max(this.stored, ack);
    if (this.ops.length !== before) this.keep();
    return this.ops.length !== before;
  }

  keep() {
    try {
      this.storage.setItem(this.key, JSON.stringify({ client: this.client, seq: this.seq, ops: this.ops }));
    } catch {
      this.full = true;
    }
  }
}

/**
 * A UUID (version 4); made by hand, since the browser's own maker is missing on plain http under a machine's name.
 * @returns {string}
 */
export function newName() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
  return hex.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, "$1-$2-$3-$4-$5");
}

function read(storage, key) {
  try {
    const kept = JSON.parse(storage.getItem(key) ?? "null");
    return kept && typeof kept.client === "string" && Array.isArray(kept.ops) ? kept : null;
  } catch {
    return null;
  }
}

/**
 * Hold a name for this window; a copy of the window (duplicate tab) inherits the name and must not use it.
 * A page that is being left lets its name go a moment late, so the name is waited for.
 * @param {string} client
 * @param {AbortSignal} signal lets the name go
 * @returns {Promise<boolean>} whether this window is the only one with the name
 */
export function claim(client, signal) {
  if (!navigator.locks) return Promise.resolve(true);
  return new Promise((answer) => {
    const hold = () => {
      answer(true);
      return new Promise((release) => {
        if (signal.aborted) release(undefined);
        signal.addEventListener("abort", () => release(undefined));
      });
    };
    const patience = { signal: AbortSignal.timeout(PATIENCE_MS) };
    navigator.locks.request(`runthrough.${client}`, patience, hold).catch(() => answer(false));
  });
}
