/** A button that erases a recording after asking once more, and tells what its receipt says. */
import { h, setText } from "./dom.js";
import { ask } from "./sheets_ask.js";

/**
 * @param {{id: string, name: string}} recording
 * @param {string} code whom one works as
 * @param {() => void} erased told once the receipt was read and closed
 * @returns {HTMLElement}
 */
export function erasing({ id, name }, code, erased) {
  const said = h("div", { class: "receipt-lines", role: "status" });
  const sure = h("button", { type: "button", class: "strong", text: "Erase now", data: { testid: "erase-now" }, onclick: () => run() });
  const close = h("button", { type: "button", class: "plain", text: "Keep it", data: { testid: "erase-close" }, onclick: () => dialog.close() });
  const dialog = h("dialog", { class: "consent", "aria-label": `Erase ${name}`, data: { testid: "erase" }, onclose: () => done && erased() },
    h("h2", { text: `Erase ${name}?` }),
    h("p", { text: "The film, everything made of it, and everybody's marks, grades, comments and results on it go, with their history. It cannot be taken back. A receipt stays: what was erased, and what looking again found." }),
    said, h("div", { class: "taking-back" }, sure, close));
  let done = false;

  async function run() {
    sure.disabled = true;
    setText(said, "Erasing, then looking again ...");
    const answer = await ask(`/api/erase/${encodeURIComponent(id)}`, code, {});
    sure.hidden = answer.ok;
    sure.disabled = false;
    done = done || answer.ok;
    if (!answer.ok) return setText(said, answer.said.message);
    setText(close, "Close");
    const paper = `/api/receipt/${encodeURIComponent(answer.said.id)}/paper?as=${encodeURIComponent(code)}`;
    said.replaceChildren(h("ul", { class: answer.said.holds ? "" : "bad" }, ...answer.said.lines.map((text) => h("li", { text }))),
      h("a", { href: paper, target: "_blank", rel: "noopener", text: "Receipt to print" }));
  }

  return h("span", {}, h("button", { type: "button", class: "plain", text: "Erase", "aria-label": `Erase ${name}`, data: { testid: "erase-of" }, onclick: () => dialog.showModal() }), dialog);
}
