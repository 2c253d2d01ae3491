/** The forms of the sheet editor: of the sheet, of its grades, of a section, of a step. */
import { h } from "./dom.js";
import { choicesField, linesField, numberField, percentField, selectField, switchField, textField } from "./sheets_fields.js";

/** Set a value of a part of the draft, or take it out. */
const setter = (editor, part) => (key) => (value) => {
  if (value === undefined) delete part[key];
  else part[key] = value;
  editor.changed();
};

const heading = (text) => h("h2", { class: "part-title", text });
const row = (...fields) => h("div", { class: "fields" }, ...fields);

/** @type {Record<string, Function>} */
export const forms = {
  sheet(editor) {
    const { draft } = editor;
    const set = setter(editor, draft);
    return [heading("The sheet"),
      textField("Name", draft.title, set("title"), { key: "sheet-title" }),
      textField("Id", draft.id, set("id"), { key: "sheet-id", fixed: editor.basedOn !== null, hint: editor.basedOn === null ? "small letters, digits and _; made of the name if left empty" : "stays: attempts are kept by it" }),
      textField("What it covers", draft.summary, set("summary"), { rows: 2, key: "sheet-summary" }),
      textField("Notice on every page", draft.notice, set("notice"), { rows: 3 }),
      row(numberField("Time limit for all of it, in seconds", draft.limit_s, set("limit_s"), { hint: "empty for none" })),
      linesField("Notes", draft.notes, set("notes"), { rows: 3, hint: "one a line; printed below the sheet" })];
  },

  scale(editor) {
    const { draft } = editor;
    const { scale } = draft;
    const set = setter(editor, scale);
    const counts = scale.levels.some((level) => level.points !== undefined);
    const turn = (on) => {
      for (const level of scale.levels) {
        const worth = level.points ?? level.share ?? 0;
        delete level[on ? "share" : "points"];
        level[on ? "points" : "share"] = worth;
      }
      editor.changed();
      editor.drawForm();
    };
    return [heading("Grades and passing"), textField("Name of the scale", scale.name, set("name")),
      switchField("The scale counts in points, such as 3, 2, 1", counts, turn, "counts"),
      levelsOf(editor, counts),
      textField("Word for not assessable", scale.not_assessable ?? "not assessable", set("not_assessable"), { hint: "always a choice; takes the step out of the sum" }),
      heading("What an attempt must reach"), ...ruleOf(editor)];
  },

  section(editor, section) {
    const set = setter(editor, section);
    return [heading("Section"), textField("Title", section.title, set("title"), { key: "section-title" }),
      row(numberField("Weight", section.weight, set("weight"), { hint: "for all sections or for none" }),
        percentField("Percent to pass it", section.pass_share, set("pass_share"), { hint: "empty for the rule of all" }),
        numberField("Time limit in seconds", section.limit_s, set("limit_s"), { hint: "empty for none" }))];
  },

  step(editor, step) {
    const set = setter(editor, step);
    const { views, entries, measures } = editor.choices;
    const names = Object.fromEntries(measures.map((one) => [one.name, one.title]));
    return [heading("Step"), textField("Title", step.title, set("title"), { key: "step-title" }),
      textField("What the examiner does", step.action, set("action"), { rows: 3, key: "step-action" }),
      textField("What should be seen", step.expected, set("expected"), { rows: 2, key: "step-expected" }),
      textField("Caution: what can hurt, and how to avoid it", step.caution, set("caution"), { rows: 2, key: "step-caution" }),
      row(numberField("Points", step.points, set("points"), { key: "step-points", hint: "on each side" }),
        numberField("Counts how many times", step.weight, set("weight"), { hint: "empty for once" }),
        numberField("Time limit in seconds", step.limit_s, set("limit_s"), { hint: "empty for none" })),
      h("div", { class: "fields" }, switchField("Critical: missing it fails the sheet", step.critical, set("critical"), "step-critical"),
        choicesField("Sides of the examined person", ["right", "left"], step.sides, set("sides"))),
      linesField("What to say (findings)", step.finding, set("finding"), { rows: 3, hint: "one phrase a line; any of them states the finding" }),
      linesField("What is listened for", step.spoken, set("spoken"), { rows: 3, hint: "empty: the phrases above. [may be left out], (this | that), {side}, {grade}, {number}, {grade: 2}" }),
      partsOf(editor, step), targetsOf(editor, step),
      choicesField("What must be in view", views, step.view, set("view")),
      linesField("Equipment", step.equipment, set("equipment")),
      h("details", {}, h("summary", { text: `Further values to show, with nothing expected of them (${(step.measures ?? []).length})` }),
        choicesField("Values", measures.map((one) => one.name), step.measures, set("measures"), names)),
      selectField("Result that is typed in", [["", "none"], ...entries.map((name) => [name, name])], step.entry, set("entry"))];
  },
};

/** Rows of small fields with a button to remove each, and one to add another. */
function rowsOf(editor, title, list, fields, add, key) {
  const redraw = () => {
    editor.changed();
    editor.drawForm();
  };
  return h("fieldset", { class: "rows" }, h("legend", { text: title }),
    ...list.map((one, at) => h("div", { class: "fields line" }, ...fields(one),
      h("button", { type: "button", class: "quiet", text: "Remove", "aria-label": `Remove ${title.toLowerCase()} ${at + 1}`, onclick: () => { list.splice(at, 1); redraw(); } }))),
    h("button", { type: "button", class: "quiet", text: "Add one", data: { testid: key }, onclick: () => { add(); redraw(); } }));
}

function levelsOf(editor, counts) {
  const { levels } = editor.draft.scale;
  const fields = (level) => [
    textField("Word", level.word, setter(editor, level)("word")),
    counts ? numberField("Points", level.points, setter(editor, level)("points")) : percentField("Percent of the points", level.share, setter(editor, level)("share")),
  ];
  return rowsOf(editor, "Levels, best first (2 to 6)", levels, fields, () => levels.push({ key: "", word: "", [counts ? "points" : "share"]: 0 }), "add-level");
}

function ruleOf(editor) {
  const { draft } = editor;
  const rule = draft.pass ?? { critical: true };
  const set = (key) => (value) => {
    draft.pass = rule;
    if (value === undefined) delete rule[key];
    else rule[key] = value;
    editor.changed();
  };
  const critical = (on) => set("critical")(Boolean(on));
  const levels = draft.scale.levels.filter((level) => level.key).map((level) => [level.key, level.word]);
  return [switchField("Every critical step done", rule.critical ?? true, critical, "rule-critical"),
    selectField("Lowest level that is enough for a critical step", [["", "any but the lowest"], ...levels], rule.critical_level, set("critical_level")),
    row(percentField("Percent of the points", rule.share, set("share"), { key: "rule-share", hint: "empty for none" }),
      percentField("Percent in each section", rule.section_share, set("section_share"), { hint: "empty for none" })),
    switchField("Time limits must be kept", rule.time, set("time"))];
}

function partsOf(editor, step) {
  const list = step.criteria ?? [];
  const fields = (part) => [textField("Criterion", part.text, setter(editor, part)("text")),
    numberField("Points", part.points, setter(editor, part)("points"), { hint: "for all or none" })];
  return rowsOf(editor, "Criteria: parts to look for", listed(step, "criteria", list), fields, () => {
    step.criteria ??= list;
    list.push({ id: "", text: "" });
  }, "add-criterion");
}

function targetsOf(editor, step) {
  const list = step.targets ?? [];
  const { measures } = editor.choices;
  const fields = (target) => {
    const set = setter(editor, target);
    const choose = (name) => {
      target.unit = measures.find((one) => one.name === name)?.unit ?? "";
      set("measure")(name ?? "");
      editor.drawForm();
    };
    return [selectField("Measure", [["", "choose"], ...measures.map((one) => [one.name, `${one.title}${one.unit === "1" ? "" : ` (${one.unit})`}`])], target.measure, choose),
      numberField("From", target.low, set("low"), { least: "" }), numberField("To", target.high, set("high"), { least: "" }),
      textField("Source", target.source, set("source"))];
  };
  return rowsOf(editor, "Targets: values that are expected", listed(step, "targets", list), fields, () => {
    step.targets ??= list;
    list.push({ measure: "", unit: "", source: "common practice, no source" });
  }, "add-target");
}

/** An empty list is left out of the draft, as the file has it. */
function listed(step, key, list) {
  if (!list.length) delete step[key];
  return list;
}
