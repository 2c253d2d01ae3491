/**
 * Learns of what others say of the same recording: asks our own route for a short version text, and for the whole board
 * only when that text is another. Notes as well when Runthrough does not answer.
 */
const EVERY_MS = 800;
const PATIENCE_MS = 10_000;
/** Answers that the recording may not be seen any more, or is not there any more. */
const CLOSED = new Set([403, 404]);

export class Changes {
  /**
   * @param {{address: () => string, known: () => string, idle: () => boolean, changed: () => void,
   *          away: (away: boolean) => void, closed: (message: string) => void}} deeds
   *   `closed`: the recording may not be seen any more; `idle`: whether nothing of one's own is on its way; what comes back with that is up to date anyway
   */
  constructor(deeds) {
    this.deeds = deeds;
    this.timer = setInterval(() => this.look(), EVERY_MS);
  }

  async look() {
    if (this.looking || (document.hidden && !this.gone)) return;
    this.looking = true;
    try {
      const answer = await fetch(this.deeds.address(), { credentials: "same-origin", signal: AbortSignal.timeout(PATIENCE_MS) });
      const told = await answer.json().catch(() => null);
      this.tell(false);
      if (CLOSED.has(answer.status)) this.close(told);
      if (answer.ok && told && told.version !== this.deeds.known() && this.deeds.idle()) this.deeds.changed();
    } catch {
      this.tell(true);
    }
    this.looking = false;
  }

  /** @param {boolean} gone whether Runthrough did not answer */
  tell(gone) {
    if (gone === Boolean(this.gone) || this.stopped) return;
    this.gone = gone;
    this.deeds.away(gone);
  }

  /** @param {{message?: string}|null} told */
  close(told) {
    if (this.stopped) return;
    this.stop();
    this.deeds.closed(told?.message ?? "This recording can no longer be seen.");
  }

  stop() {
    this.stopped = true;
    clearInterval(this.timer);
  }
}
