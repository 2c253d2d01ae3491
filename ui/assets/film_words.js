/** What is wrong with the film where the step in hand lies: asked for when the step is taken in hand, and kept. */

export class FilmWords {
  /** @param {() => void} arrived called when something has come */
  constructor(arrived) {
    this.arrived = arrived;
    /** @type {Map<string, {what: string, advice: string}[]>} */
    this.known = new Map();
  }

  /**
   * What is wrong, as far as it is known by now: first the step's own seconds, then the whole film.
   * @param {object} data of the board
   * @param {{step: string, side: string|null}} row
   * @returns {{what: string, advice: string}[]}
   */
  of(data, row) {
    const marks = data.marks.filter((mark) => mark.step === row.step && (mark.side ?? null) === (row.side ?? null));
    const places = marks.map((mark) => [mark.onset_s, mark.offset_s]);
    const name = JSON.stringify([data.recording.id, data.me.id, row.key, places, data.recording.analysis?.state]);
    if (!this.known.has(name)) {
      this.known.set(name, []);
      this.ask(name, data, row);
    }
    return this.known.get(name);
  }

  async ask(name, { recording, me }, { step, side }) {
    const query = new URLSearchParams({ step, side: side ?? "", as: me.code });
    try {
      const answer = await fetch(`/api/film/${encodeURIComponent(recording.id)}?${query}`, { credentials: "same-origin" });
      if (!answer.ok) return;
      const told = await answer.json();
      this.known.set(name, [...told.step, ...told.film]);
      this.arrived();
    } catch {
      this.known.delete(name); // the server is away: asked again when the page is shown anew
    }
  }
}
