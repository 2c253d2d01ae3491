/**
 * Learns of what others say of the same recording: asks our own route for a short version text, and for the whole board
 * only when that text is another. Notes as well when Runthrough does not answer.
 */
const EVERY_MS = 800;
const PATIENCE_MS = 10_000;

export class Changes {
  /**
   * @param {{address: () => string, known: () => string, idle: () => boolean, changed: () => void, away: (away: boolean) => void}} deeds
   *   `idle`: whether nothing of one's own is on its way; what comes back with that is up to date anyway
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
      const told = answer.ok ? await answer.json() : null;
      this.tell(false);
      if (told && told.version !== this.deeds.known() && this.deeds.idle()) this.deeds.changed();
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

  stop() {
    this.stopped = true;
    clearInterval(this.timer);
  }
}
