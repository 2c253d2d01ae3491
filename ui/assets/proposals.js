/** Where steps are proposed: asked for when the board says that it changed, shown on the rows, taken or refused there. */
import { h, setText } from "./dom.js";
import { clockText } from "./format.js";

const NONE = { proposals: [], said: "" };
const SAME_S = 1e-3;

export class FirstPass {
  /** @param {() => void} arrived called when something has come */
  constructor(arrived) {
    this.arrived = arrived;
    this.told = NONE;
  }

  /**
   * What is proposed, as far as it is known by now; asked for anew when the board's text changed.
   * @param {object} data of the board
   * @returns {{proposals: object[], said: string}}
   */
  of({ recording, me, proposed }) {
    const whose = `${recording.id} ${me.id}`;
    if (whose !== this.whose) this.told = NONE;
    this.whose = whose;
    if (!proposed) return NONE;
    const name = `${whose} ${proposed}`;
    if (name !== this.name) {
      this.name = name;
      this.ask(name, recording.id, me.code);
    }
    return this.told;
  }

  async ask(name, id, code) {
    try {
      const answer = await fetch(`/api/proposals/${encodeURIComponent(id)}?${new URLSearchParams({ as: code })}`, { credentials: "same-origin" });
      const told = answer.ok ? await answer.json() : NONE;
      if (name !== this.name) return;
      this.told = told;
      this.arrived();
    } catch {
      if (name === this.name) this.name = null; // the server is away: asked again when the page is shown anew
    }
  }
}

const samePlace = (one, two) => one.step === two.step && (one.side ?? null) === (two.side ?? null);

/**
 * The proposals that are neither marked nor refused by what is on its way.
 * @param {object[]} proposals
 * @param {{marks: object[], refusals: object[]}} state
 * @returns {object[]}
 */
export function openOnes(proposals, { marks, refusals }) {
  const refused = (one) => refusals.some((refusal) => samePlace(refusal, one) && Math.abs(refusal.onset_s - one.onset_s) < SAME_S);
  return proposals.filter((one) => !marks.some((mark) => mark.mine && samePlace(mark, one)) && !refused(one));
}

/**
 * Of several proposals of a step the one that keys and buttons mean: the nearest to the playhead.
 * @param {object[]} proposals
 * @param {{step: string, side: string|null}} row
 * @param {number} time seconds
 * @returns {object|null}
 */
export function proposalAt(proposals, row, time) {
  const far = ({ onset_s, offset_s }) => Math.max(onset_s - time, time - offset_s, 0);
  return proposals.filter((one) => samePlace(one, row)).reduce((best, one) => (!best || far(one) < far(best) ? one : best), null);
}

/**
 * The proposal to go to next.
 * @param {object[]} proposals by onset
 * @param {object|null} here the proposal in hand
 * @param {number} time seconds
 * @returns {object|undefined}
 */
export function nextProposal(proposals, here, time) {
  const at = here ? proposals.findIndex((one) => one.id === here.id) + 1 : proposals.findIndex((one) => one.onset_s > time + SAME_S);
  return proposals[at] ?? proposals[0];
}

/**
 * Those that can be taken together: sure, and of each step and side the first one that is.
 * @param {object[]} proposals
 * @returns {object[]}
 */
export function sureOnes(proposals) {
  const sure = proposals.filter((one) => one.sure);
  return sure.filter((one, at) => sure.findIndex((other) => samePlace(one, other)) === at);
}

/** @param {object} proposal @returns {string} its seconds */
export function secondsOf({ onset_s, offset_s }) {
  return `${clockText(onset_s, 0)} to ${clockText(offset_s, 0)}`;
}

/**
 * The line on a row that says where the step is proposed and why, with the deeds while the step is in hand.
 * @param {object} row
 * @param {{proposal: object|null, proposals: number, inHand: boolean, covered: boolean}} facts
 * @param {Record<string, Function>} deeds propose, reveal
 * @returns {HTMLElement|null}
 */
export function proposalLine(row, facts, deeds) {
  const { proposal, covered, inHand } = facts;
  if (!proposal) return null;
  const more = facts.proposals > 1 ? `, one of ${facts.proposals}` : "";
  const why = proposal.reasons.length ? `: ${proposal.reasons.join("; ")}` : covered ? "; why is covered until you have graded, or uncover the step" : "";
  const words = h("span", {}, h("span", { class: "sign role-proposal", "aria-hidden": "true", text: "\u25C7" }),
    ` proposed ${secondsOf(proposal)}${more}, ${proposal.words}${why}`);
  return h("div", { class: "proposal", data: { testid: "proposal" } }, words, inHand ? choices(row, covered, deeds) : null);
}

function choices(row, covered, deeds) {
  const choice = (deed, words, key, title) => h("button", {
    type: "button", class: "plain", title, data: { propose: deed, testid: `proposal-${deed}` }, onclick: () => deeds.propose(deed),
  }, `${words} `, h("kbd", { text: key }));
  const why = covered && !row.covers.values && h("button", { type: "button", class: "quiet", onclick: deeds.reveal }, "Uncover this step ", h("kbd", { text: "R" }));
  return h("span", { class: "choice", role: "group", "aria-label": "What becomes of this proposal" },
    choice("take", "Take", "K", "Mark the step where it is proposed"),
    choice("move", "Take from here", "M", "Mark the step from this frame on, as long as it is proposed"),
    choice("refuse", "Refuse", "B", "Not this step here: it is not proposed to you again"), why || null);
}

/** The line over the rows: how many steps are proposed, or one quiet sentence why none is. */
export class ProposalBar {
  /** @param {{propose: (deed: string) => void}} deeds */
  constructor(deeds) {
    this.words = h("span", { class: "quiet-line", role: "status" });
    this.next = h("button", { type: "button", class: "plain", data: { testid: "proposal-next" }, onclick: () => deeds.propose("next") }, "Next proposal ", h("kbd", { text: "J" }));
    this.sure = h("button", { type: "button", class: "plain", data: { testid: "proposal-sure" }, onclick: () => deeds.propose("sure") });
    this.element = h("div", { class: "proposal-bar", data: { testid: "proposal-bar" } }, this.words, this.next, this.sure);
  }

  /** @param {object[]} proposals @param {string} said why there are none */
  show(proposals, said) {
    const steps = new Set(proposals.map((one) => `${one.step}|${one.side ?? ""}`)).size;
    const sure = sureOnes(proposals).length;
    setText(this.words, steps ? `\u25C7 ${steps} ${steps === 1 ? "step" : "steps"} proposed` : said);
    setText(this.sure, `Take ${sure === 1 ? "the sure one" : `the ${sure} sure ones`}`);
    this.next.hidden = !steps;
    this.sure.hidden = !sure;
    this.empty = !steps && !said;
  }
}

/**
 * Ask before several proposals are taken: each is named.
 * @param {{words: string, proposal: object}[]} listed the name of each step and its proposal
 * @param {() => void} take
 * @returns {HTMLDialogElement}
 */
export function sureDialog(listed, take) {
  const count = listed.length;
  const name = `Take ${count} ${count === 1 ? "proposal" : "proposals"}?`;
  const yes = h("button", { type: "button", class: "strong", text: `Take ${count}`, data: { testid: "proposal-sure-yes" } });
  const no = h("button", { type: "button", class: "plain", text: "Take none", autofocus: true });
  const dialog = h("dialog", { class: "keys sure-ones", "aria-label": name },
    h("header", {}, h("h2", { text: name })),
    h("p", { text: "Each becomes a mark of yours, and can be moved, removed or undone like any other." }),
    h("ol", {}, ...listed.map(({ words, proposal }) => h("li", { text: `${words}: ${secondsOf(proposal)}, ${proposal.words}` }))),
    h("p", { class: "choice" }, yes, no));
  yes.addEventListener("click", () => {
    dialog.close();
    take();
  });
  no.addEventListener("click", () => dialog.close());
  dialog.addEventListener("close", () => dialog.remove());
  return dialog;
}
