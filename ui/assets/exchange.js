/** What the board exchanges with the store: operations go, boards come. */

/** Browsers send no more than 64 KiB on behalf of pages that were left. */
const MOST_KEPT_ALIVE = 60_000;
const ANSWER_MS = 20_000;

/**
 * Have operations stored.
 * @param {string} recordingId
 * @param {string} code of who acts
 * @param {{client: string, ops: object[]}} message
 * @returns {Promise<{client: string|null, ack: number, faults: object[]}>} the answer; rejected where there is none
 */
export async function postDeeds(recordingId, code, message) {
  const body = JSON.stringify(message);
  const answer = await fetch(address("deeds", recordingId, { as: code }), {
    method: "POST", credentials: "same-origin", headers: { "Content-Type": "application/json" }, body,
    keepalive: body.length < MOST_KEPT_ALIVE, signal: AbortSignal.timeout(ANSWER_MS),
  });
  const told = await answer.json();
  return answer.ok ? told : { client: null, ack: 0, faults: [{ seq: 0, message: `Not kept yet: ${told.message}` }] };
}

/** Asks for boards, one at a time: what is asked for while one is on its way is one more. */
export class Boards {
  /** @param {(data: object) => void} came */
  constructor(came) {
    this.came = came;
  }

  /** @param {string} recordingId @param {string} code of who looks @param {string} client whose operations it tells of */
  ask(recordingId, code, client) {
    this.wanted = address("board", recordingId, { as: code, client });
    this.fetch();
  }

  async fetch() {
    if (this.busy || !this.wanted || this.closed) return;
    const wanted = this.wanted;
    this.busy = true;
    this.wanted = null;
    try {
      const answer = await fetch(wanted, { credentials: "same-origin", signal: AbortSignal.timeout(ANSWER_MS) });
      if (answer.ok && !this.closed) this.came(await answer.json());
    } catch {
      this.unanswered = true; // the server is away, which the page says; it asks again by itself
    }
    this.busy = false;
    this.fetch();
  }

  close() {
    this.closed = true;
  }
}

function address(what, recordingId, asked) {
  return `/api/${what}/${encodeURIComponent(recordingId)}?${new URLSearchParams(asked)}`;
}
