/** What this browser remembers of how a person looked at something; without room for it, it forgets. */

/**
 * @param {string} key
 * @returns {any} what was kept, or an empty object
 */
export function recall(key) {
  try {
    return JSON.parse(localStorage.getItem(key) ?? "{}") ?? {};
  } catch {
    return {};
  }
}

/**
 * @param {string} key
 * @param {any} value plain values
 * @returns {boolean} whether it will be there the next time
 */
export function keep(key, value) {
  try {
    localStorage.setItem(key, JSON.stringify(value));
    return true;
  } catch {
    return false;
  }
}
