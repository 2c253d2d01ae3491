/** Sending a film in slices: a broken connection goes on where it stopped, a film chosen again too. */

const SLICE = 8 << 20;
const TRIES = 6;

/**
 * A name for a film on its way; the same film gets the same name, so that a later try goes on.
 * @param {{name: string, size: number, lastModified: number}} file
 * @returns {Promise<string>}
 */
export async function uploadName(file) {
  const text = `${file.name}|${file.size}|${file.lastModified}`;
  const sum = await crypto.subtle.digest("SHA-256", new TextEncoder().encode(text));
  return Array.from(new Uint8Array(sum, 0, 16), (byte) => byte.toString(16).padStart(2, "0")).join("");
}

/**
 * Send a film, or what is missing of it.
 * @param {Blob} file
 * @param {string} uid
 * @param {(share: number) => void} tell
 * @param {AbortSignal} signal
 * @param {string|null} course whose limit counts
 */
export async function sendFilm(file, uid, tell, signal, course) {
  let offset = await bytesThere(uid, signal);
  const room = await fetch(`/api/upload/${uid}/room?size=${file.size}${forCourse(course)}`, { credentials: "same-origin", signal });
  if (room.status === 507) throw new Refusal((await room.json()).message);
  while (offset < file.size) {
    tell(offset / file.size);
    offset = await sendSlice(file.slice(offset, offset + SLICE), uid, offset, signal, course);
  }
  tell(1);
}

function forCourse(course) {
  return course ? `&course=${encodeURIComponent(course)}` : "";
}

async function bytesThere(uid, signal) {
  const answer = await fetch(`/api/upload/${uid}`, { method: "HEAD", credentials: "same-origin", signal });
  return Number(answer.headers.get("X-Offset") ?? 0);
}

/**
 * Send one slice with its SHA-256 (RFC 9530); again if it is damaged on the way or the connection breaks.
 * @param {Blob} body
 * @param {string} uid
 * @param {number} offset where the slice begins in the film
 * @param {AbortSignal} signal
 * @param {string|null} [course] whose limit counts
 * @returns {Promise<number>} how many bytes are there now
 */
export async function sendSlice(body, uid, offset, signal, course) {
  for (let attempt = 1; ; attempt++) {
    try {
      const headers = { "Content-Digest": `sha-256=:${await digestOf(body)}:` };
      const address = `/api/upload/${uid}?offset=${offset}${forCourse(course)}`;
      const answer = await fetch(address, { method: "PUT", body, headers, credentials: "same-origin", signal });
      if (answer.ok) return (await answer.json()).offset;
      const said = await answer.json().catch(() => ({}));
      if (answer.status === 409 && said.offset !== offset) return said.offset;
      if (answer.status < 500 && answer.status !== 409 && answer.status !== 422) throw new Refusal(said.message ?? `The server answered ${answer.status}.`);
      if (answer.status === 507) throw new Refusal(said.message);
    } catch (error) {
      if (error instanceof Refusal || signal.aborted) throw error;
    }
    if (attempt === TRIES) throw new Refusal("The connection broke. What was sent is kept: choose the same film again to go on.");
    await new Promise((go) => setTimeout(go, 250 * 2 ** attempt));
  }
}

async function digestOf(body) {
  const sum = await crypto.subtle.digest("SHA-256", await body.arrayBuffer());
  return btoa(String.fromCharCode(...new Uint8Array(sum)));
}

/** A refusal in words for a person. */
export class Refusal extends Error {}

/**
 * Have an arrived film added, and wait for it.
 * @param {string} uid
 * @param {object} wishes
 * @param {(stage: string, share: number) => void} tell
 * @returns {Promise<string>} id of the recording
 */
export async function addFilm(uid, wishes, tell) {
  const headers = { "Content-Type": "application/json" };
  const begun = await fetch(`/api/upload/${uid}/finish`, {
    method: "POST", body: JSON.stringify(wishes), headers, credentials: "same-origin",
  });
  let state = await begun.json();
  if (!begun.ok) throw new Refusal(state.message);
  while (state.state === "adding") {
    tell(state.stage, state.share);
    await new Promise((go) => setTimeout(go, 400));
    const answer = await fetch(`/api/upload/${uid}`, { credentials: "same-origin" });
    state = await answer.json();
    if (!answer.ok) throw new Refusal(state.message);
  }
  if (state.state === "failed") throw new Refusal(state.message);
  return state.recording;
}
