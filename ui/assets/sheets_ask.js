/** How the Checklists page talks to the server, and the addresses of its views. */

/**
 * @param {string} path
 * @param {string} code whom one works as
 * @param {object|Blob} [body] posted if given; a plain object as JSON
 * @returns {Promise<{ok: boolean, said: any}>} what the server said; a sentence under `message` if it could not
 */
export async function ask(path, code, body) {
  const address = `${path}${path.includes("?") ? "&" : "?"}as=${encodeURIComponent(code)}`;
  const sent = body === undefined ? {} : { method: "POST", body: body instanceof Blob ? body : JSON.stringify(body) };
  try {
    const answer = await fetch(address, { credentials: "same-origin", ...sent });
    const said = await answer.json();
    return { ok: answer.ok, said };
  } catch {
    return { ok: false, said: { message: "The server does not answer. Nothing was stored and your draft is kept; start Runthrough again and try once more." } };
  }
}

const VIEWS = ["sheet", "change"];

/** @returns {{view: string, id?: string, version?: string}} what the address asks for */
export function where() {
  const parts = new URLSearchParams(location.hash.slice(1));
  for (const view of VIEWS) {
    if (parts.get(view)) return { view, id: parts.get(view), version: parts.get("version") };
  }
  return { view: parts.has("import") ? "import" : parts.has("new") ? "new" : "list" };
}

/** @param {string} view @param {string} [id] @returns {string} the address of a view */
export function places(view, id) {
  if (view === "list") return "#";
  return id ? `#${view}=${encodeURIComponent(id)}` : `#${view}`;
}

/**
 * Make an id of a title: small letters, digits and _, a letter first.
 * @param {string} text @param {string} otherwise @param {string[]} [taken]
 */
export function slug(text, otherwise, taken = []) {
  let name = text.normalize("NFKD").toLowerCase().replace(/[\u0300-\u036f]/g, "").replace(/[^a-z0-9]+/g, "_").slice(0, 40).replace(/^_+|_+$/g, "");
  if (!/^[a-z]/.test(name)) name = `${otherwise}_${name}`.replace(/_+$/, "");
  if (!taken.includes(name)) return name;
  for (let number = 2; ; number++) if (!taken.includes(`${name}_${number}`)) return `${name}_${number}`;
}

/** @param {number} count @param {string} noun */
export function counted(count, noun) {
  return `${Number(count.toFixed(2))} ${noun}${count === 1 ? "" : "s"}`;
}
