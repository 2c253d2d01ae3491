/** Links to a second of the film: `#t=` behind the address. */

/**
 * @param {string} hash such as `#t=12.5`
 * @returns {number|null} seconds
 */
export function timeOfHash(hash) {
  const found = /(?:^#|&)t=(\d+(?:\.\d+)?)(?:&|$)/.exec(hash);
  return found ? Number(found[1]) : null;
}

let followed = false;

/**
 * The second that the address named when this page was opened, told once. The page around us writes its address anew before
 * we are there, and what stood behind `#` is gone from it by then.
 * @param {string} recording that is shown
 * @returns {number|null} seconds
 */
export function timeAtOpening(recording) {
  if (followed) return null;
  followed = true;
  const opened = new URL(performance.getEntriesByType("navigation")[0]?.name ?? location.href);
  return opened.searchParams.get("recording") === recording ? timeOfHash(opened.hash) : null;
}

/** @param {number} time seconds @returns {string} what stands behind `#`; rounded down it would be the frame before */
export function hashOf(time) {
  return `t=${(Math.ceil(time * 1000 - 1e-6) / 1000).toFixed(3)}`;
}

/**
 * The address that leads to a second of a recording. Whom one works as does not go along.
 * @param {string} address of the page
 * @param {string} recording
 * @param {number} time seconds
 * @returns {string}
 */
export function linkTo(address, recording, time) {
  const page = new URL(address);
  page.search = new URLSearchParams({ recording }).toString();
  page.hash = hashOf(time);
  return page.href;
}

/** @param {string} text @returns {Promise<boolean>} whether it is in the clipboard */
export async function copied(text) {
  try {
    await navigator.clipboard.writeText(text);
    return true;
  } catch {
    return false;
  }
}
