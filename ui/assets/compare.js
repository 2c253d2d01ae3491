/** The Compare page: grades of an attempt side by side, judging oneself, and how alike people grade. */
import { attemptChart } from "./attempt_chart.js";
import { emptyPage, heading, sentences } from "./chooser.js";
import { pairCards } from "./compare_pairs.js";
import { stepTable } from "./compare_steps.js";
import { h, redrawn } from "./dom.js";

export default redrawn("[data-compare]", (data, set) => {
  const wish = (asked) => set("wish", { ...asked, at: Date.now() });
  return [heading("Compare", data, wish), ...(data.empty ? [emptyPage(data.empty)] : content(data))];
});

function content(data) {
  const { attempt, me } = data;
  return [
    h("p", { class: "lead", text: data.notice }),
    h("div", { class: "halves" },
      h("section", { class: "main", "aria-label": `Attempt ${attempt.attempt}, step by step` },
        h("h2", { text: `Attempt ${attempt.attempt}, step by step` }), sentences(attempt.words),
        attempt.rows.length ? stepTable(attempt, me.code) : null,
        attempt.ungraded ? h("p", { class: "quiet-line", text: ungradedText(attempt) }) : null, leastAlike(data.steps)),
      h("div", { class: "aside" }, oneself(data.calibration))),
    alike(data),
  ];
}

function ungradedText({ ungraded, rows }) {
  if (!rows.length) return `None of the ${ungraded} steps of the sheet has a grade.`;
  return ungraded === 1 ? "1 further step of the sheet has no grade." : `${ungraded} further steps of the sheet have no grade.`;
}

function oneself({ attempts, words, learner }) {
  const box = h("section", { class: "box", data: { testid: "oneself" }, "aria-label": "Judging oneself" }, h("h2", { text: "Judging oneself" }));
  if (!attempts.length) {
    box.append(h("p", { text: `No step is graded by both ${learner} and an instructor yet, as far as you may see. Grade one's own attempt first, then ask an instructor to.` }));
    return box;
  }
  const series = [
    { name: `${learner}'s own`, look: "learner", points: attempts.map((one) => one.own) },
    { name: "instructor's", look: "instructor", points: attempts.map((one) => one.instructor) },
  ];
  box.append(sentences(words, "sentences strong-first"), attemptChart("Points of 100 on the steps both graded", attempts.map((one) => one.attempt), series),
    ofAttempt(attempts.at(-1)));
  const earlier = attempts.slice(0, -1).toReversed();
  if (earlier.length) box.append(h("details", {}, h("summary", { text: "Earlier attempts" }), ...earlier.map(ofAttempt)));
  return box;
}

function ofAttempt({ attempt, words }) {
  return h("div", { class: "of-attempt" }, h("h3", { text: `Attempt ${attempt}` }), sentences(words));
}

/** Which steps people part on most, over all attempts. */
function leastAlike(steps) {
  const parted = steps.filter((one) => one.agreed < one.of).slice(0, 8);
  if (!parted.length) return null;
  return h("section", { class: "below", "aria-label": "Steps graded least alike" }, h("h2", { text: "Steps graded least alike" }),
    h("p", { class: "quiet-line", text: "Over all attempts and people; a step on which most part may need clearer words on the sheet." }),
    h("table", { class: "counts" },
      h("thead", {}, h("tr", {}, h("th", { scope: "col", text: "Step" }), h("th", { scope: "col", text: "Same grade" }))),
      h("tbody", {}, ...parted.map((one) => h("tr", {}, h("th", { scope: "row", text: one.title }), h("td", { text: `${one.agreed} of ${one.of} pairs` }))))));
}

function alike({ pairs, everybody, scale_note: note }) {
  const intro = "Only grades that were given before seeing others' count. Counts come first; a coefficient takes off what chance alone would agree on, and is easily misread without them.";
  const box = h("section", { "aria-label": "How alike people grade" }, h("h2", { text: "How alike people grade" }), h("p", { class: "lead", text: intro }));
  if (note) box.append(h("p", { class: "quiet-line", text: note }));
  if (pairs.length) box.append(pairCards(pairs, everybody));
  else box.append(h("p", { text: "No step was graded by two people yet, each before seeing the other's grade, as far as you may see." }));
  return box;
}
