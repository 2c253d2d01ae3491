/** One tab stop for many things in rows: the arrow keys go from one to the next, and the stop goes along. */

export class Roving {
  /**
   * @param {HTMLElement} place holds the things; each is an element with `data-item`
   * @param {{rows: () => {id: string, from: number, to: number, enter: () => HTMLElement}[][],
   *          reveal: (item: object) => void, first: () => string|null, leave: () => void}} deeds
   */
  constructor(place, deeds) {
    this.place = place;
    this.deeds = deeds;
    /** Item with the tab stop. @type {string|null} */
    this.id = null;
    place.addEventListener("focusin", (event) => {
      const id = event.target.closest("[data-item]")?.dataset.item;
      if (id && id !== this.id) this.stop(id);
    });
    place.addEventListener("keydown", (event) => this.key(event));
  }

  /** Keep exactly one tab stop, on a thing that is there. */
  settle() {
    const all = this.deeds.rows().flat();
    if (!all.some((item) => item.id === this.id)) this.id = null;
    const wanted = this.id ?? this.deeds.first() ?? all[0]?.id ?? null;
    this.stop(wanted);
  }

  stop(id) {
    this.stopped?.setAttribute("tabindex", "-1");
    this.id = id;
    const item = this.find(id);
    this.stopped = item?.enter() ?? null;
    this.stopped?.setAttribute("tabindex", "0");
  }

  find(id) {
    return this.deeds.rows().flat().find((item) => item.id === id);
  }

  /** Go into the things, to the one named, else the one with the tab stop. @returns {boolean} whether there is any */
  enter(id = this.id) {
    const item = this.find(id) ?? this.deeds.rows().flat()[0];
    if (!item) return false;
    this.deeds.reveal(item);
    this.stop(item.id);
    const element = item.enter();
    element.hidden = false;
    element.focus({ preventScroll: true });
    element.scrollIntoView({ block: "nearest", inline: "nearest" });
    return true;
  }

  key(event) {
    if (event.ctrlKey || event.metaKey || event.altKey || !event.target.closest("[data-item]")) return;
    if (event.key === "Escape") {
      this.deeds.leave();
      return;
    }
    const item = this.next(event.key);
    if (item === undefined) return;
    event.preventDefault();
    if (item) this.enter(item.id);
  }

  /** The thing that a key leads to, null where there is none, undefined for other keys. */
  next(key) {
    const rows = this.deeds.rows().filter((row) => row.length);
    const at = rows.findIndex((row) => row.some((item) => item.id === this.id));
    const row = rows[at] ?? [];
    const place = row.findIndex((item) => item.id === this.id);
    const steps = { ArrowLeft: row[place - 1], ArrowRight: row[place + 1], Home: row[0], End: row.at(-1) };
    if (key in steps) return steps[key] ?? null;
    const turns = { ArrowUp: rows[at - 1], ArrowDown: rows[at + 1] };
    if (key in turns) return turns[key] ? nearest(turns[key], row[place].from) : null;
    return undefined;
  }
}

/** The thing of a row that lies nearest in time. */
function nearest(row, time) {
  const distance = (item) => Math.max(item.from - time, time - item.to, 0);
  return row.reduce((best, item) => (distance(item) < distance(best) ? item : best));
}
