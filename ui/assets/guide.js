/** The filming guide: a card for each way to place the phone, with its drawing and the steps that are filmed so. */
import { h, redrawn } from "./dom.js";

export default redrawn("[data-guide]", (data, set) => {
  const choose = h("select", { data: { testid: "guide-sheet" }, onchange: () => set("sheet", choose.value) },
    ...data.sheets.map((sheet) => h("option", { value: sheet.id, text: sheet.title, selected: sheet.id === data.sheet })));
  return [
    h("header", { class: "heading" }, h("h1", { text: "Filming guide" }), h("label", { class: "who" }, "Checklist", choose)),
    h("p", { class: "lead", text: "Where the phone stands decides what can be seen, heard and measured. Film the parts one after the other and move the phone in between, or make a film of each." }),
    h("div", { class: "cards" }, ...data.shots.map((shot) => cardOf(shot, data.drawings[shot.key]))),
  ];
});

function cardOf({ key, title, lines, steps, measured }, drawing) {
  const picture = h("div", { class: "drawing" });
  picture.innerHTML = drawing; // our own file, see assets
  const list = h("dl", {}, ...lines.flatMap(([label, text]) => [h("dt", { text: label }), h("dd", { text })]));
  return h("article", { class: "card", data: { testid: "shot", key } }, picture, h("h2", { text: title }), list, stepsOf(steps, measured));
}

/** What is filmed so, folded: the sections with their steps, and what is measured of them. */
function stepsOf(steps, measured) {
  const count = steps.reduce((sum, section) => sum + section.titles.length, 0);
  if (!count) return null;
  return h("details", {}, h("summary", { text: count > 1 ? `${count} steps are filmed like this` : "1 step is filmed like this" }),
    h("ul", {}, ...steps.map((section) => h("li", {}, h("b", { text: section.section }), h("span", { text: section.titles.join("; ") })))),
    measured.length > 0 && h("p", {}, h("b", { text: "Measured " }), measured.join("; ")));
}
