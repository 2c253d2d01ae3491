/** Comments as they stand in a row and in the list of all: each with its answers, and whether it is settled. */
import { h } from "./dom.js";
import { clockText, stretchText } from "./format.js";

/**
 * Comments with their answers behind them.
 * @param {object[]} comments by time
 * @returns {object[]} the same, each answer behind what it answers
 */
export function threaded(comments) {
  const known = new Set(comments.map((comment) => comment.id));
  const answers = (id) => comments.filter((comment) => comment.reply_to === id).flatMap((one) => [one, ...answers(one.id)]);
  return comments.filter((one) => !one.reply_to || !known.has(one.reply_to)).flatMap((one) => [one, ...answers(one.id)]);
}

/**
 * Make the element of a comment.
 * @param {object} comment
 * @param {Record<string, Function>} deeds seek, answer, removeComment, resolve, link
 * @param {string} [about] title of the step it is about
 * @returns {HTMLElement}
 */
export function commentItem(comment, deeds, about = "") {
  if (comment.covered) return coveredItem(1, about);
  const look = `comment role-${comment.role}${comment.reply_to ? " reply" : ""}${comment.resolved ? " settled" : ""}`;
  const when = comment.offset_s > comment.onset_s ? stretchText(comment.onset_s, comment.offset_s) : clockText(comment.onset_s);
  return h(
    "li", { class: look, data: { testid: "comment" } },
    h("div", { class: "comment-head" },
      h("button", { type: "button", class: "time", text: when, title: "Go there", onclick: () => deeds.seek(comment.onset_s) }),
      h("b", { text: comment.person }), about ? h("span", { class: "about", text: about }) : null,
      comment.shape ? h("span", { class: "drawn", text: `${comment.shape.kind} drawn` }) : null,
      comment.resolved ? h("span", { class: "settled-words", text: `\u2713 settled by ${comment.resolved_by}` }) : null),
    h("p", { text: comment.text }),
    buttons(comment, deeds),
  );
}

/**
 * The line that stands for comments of others that one may not read yet.
 * @param {number} count
 * @param {string} [about] title of the step they are about
 * @returns {HTMLElement}
 */
export function coveredItem(count, about = "") {
  const whose = count === 1 ? "A comment of somebody else is" : `${count} comments of others are`;
  const text = `${whose} covered until you have graded ${about || "this step"} and said how sure you are.`;
  return h("li", { class: "comment" }, h("p", { class: "quiet-line", text }));
}

function buttons(comment, deeds) {
  const quiet = (text, onclick, testid) => h("button", { type: "button", class: "quiet", text, onclick, data: { testid } });
  return h("div", { class: "comment-ends" },
    quiet("Answer", () => deeds.answer(comment), "comment-answer"),
    comment.reply_to ? null : quiet(comment.resolved ? "Open again" : "Settled", () => deeds.resolve(comment), "comment-settle"),
    quiet("Copy link", () => deeds.link(comment.onset_s), "comment-link"),
    comment.mine ? quiet("Remove", () => deeds.removeComment(comment), "comment-remove") : null);
}
