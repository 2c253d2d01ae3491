/** Landmarks and constructions as the server packs them: fetched by stretches, few of them kept. */

/** Seconds of plain landmarks that are fetched at once. */
export const STRETCH_S = 10;

/** No longer stretch is asked for at once. */
export const LONGEST_S = 180;

const KEPT = 8;
const AGAIN_MS = 5000;

/**
 * Unpack a stretch: see `review.report.landmarks.packed`.
 * @param {ArrayBuffer} bytes
 * @returns {{onset: number, offset: number, hold: number, layers: object[]}} each layer with its facts, `times`,
 *   `places` (x and y of each point of each row) and, where it has one, `readings`
 */
export function unpack(bytes) {
  const length = new DataView(bytes).getUint32(0, true);
  const head = JSON.parse(new TextDecoder().decode(new Uint8Array(bytes, 4, length)));
  let at = 4 + length;
  const take = (Type, count) => {
    const part = new Type(bytes, at, count);
    at += part.byteLength;
    return part;
  };
  const layers = head.layers.map((layer) => ({ ...layer, times: take(Float64Array, layer.rows) }));
  for (const layer of layers) layer.places = take(Float32Array, 2 * layer.rows * layer.points);
  for (const layer of layers) layer.readings = layer.reading ? take(Float32Array, layer.rows) : null;
  return { onset: head.onset_s, offset: head.offset_s, hold: head.hold_s, layers };
}

/**
 * The row of a layer that belongs to a frame: that of the frame itself, else the last one that is not too old.
 * @param {{times: Float64Array}} layer
 * @param {number} time presentation time of the frame, seconds
 * @param {number} hold seconds a row may be old
 * @returns {number} -1 where there is none
 */
export function rowAt(layer, time, hold) {
  const { times } = layer;
  let low = 0;
  let high = times.length;
  while (low < high) {
    const half = (low + high) >> 1;
    if (times[half] <= time + 1e-6) low = half + 1;
    else high = half;
  }
  return low > 0 && time - times[low - 1] <= hold + 1e-6 ? low - 1 : -1;
}

export class Packs {
  /** @param {() => void} arrived called when a stretch came, or could not be had */
  constructor(arrived) {
    this.arrived = arrived;
    /** @type {Map<string, object|null|string>} a stretch, null while it is on its way, a sentence where there is none */
    this.kept = new Map();
  }

  /**
   * @param {string} url
   * @returns {object|null|string} the stretch, null while it is on its way, or why there is none
   */
  get(url) {
    if (this.kept.has(url)) {
      const found = this.kept.get(url);
      this.kept.delete(url);
      this.kept.set(url, found);
      return found;
    }
    this.kept.set(url, null);
    this.fetch(url);
    return null;
  }

  async fetch(url) {
    let found;
    try {
      const answer = await fetch(url, { credentials: "same-origin" });
      found = answer.ok ? unpack(await answer.arrayBuffer()) : (await answer.json()).message;
    } catch {
      found = "The landmarks could not be fetched. Is Runthrough still running?";
    }
    if (typeof found === "string") setTimeout(() => this.again(url), AGAIN_MS);
    this.kept.set(url, found);
    for (const old of [...this.kept.keys()].slice(0, -KEPT)) this.kept.delete(old);
    this.arrived();
  }

  /** What could not be had is asked for again when it is wanted. */
  again(url) {
    if (this.kept.delete(url)) this.arrived();
  }

  clear() {
    this.kept.clear();
  }
}
