/** The sheet editor: an outline of the draft beside the form of what is chosen in it. The draft stays in this browser. */
import { h } from "./dom.js";
import { keep, recall } from "./memory.js";
import { ask, places, slug } from "./sheets_ask.js";
import { forms } from "./sheets_forms.js";

const EMPTY = {
  id: "", title: "", summary: "", notice: "Practice feedback, not a diagnosis and not a clinical record. Your course's own sheet, local policy and licensed instructors decide how a step is done and graded.",
  scale: { name: "Three levels", levels: [{ key: "done", word: "done", share: 1 }, { key: "partly", word: "partly", share: 0.5 }, { key: "missed", word: "missed", share: 0 }] },
  section: [{ id: "", title: "", step: [] }],
};
export const newStep = () => ({ id: "", title: "", action: "", expected: "", caution: "", points: 1 });

export class SheetEditor {
  /** @param {object} page @param {object|null} sheet what `/api/sheet` gives; null for a new one */
  constructor(page, sheet) {
    this.page = page;
    this.choices = page.choices;
    this.basedOn = sheet?.stored[0].version ?? null;
    this.id = sheet?.id ?? "";
    this.key = keyOf(this.id, this.basedOn);
    const kept = recall(this.key);
    const usable = Boolean(kept.draft);
    this.draft = usable ? kept.draft : structuredClone(sheet?.values ?? EMPTY);
    this.dirty = usable;
    this.older = (sheet?.stored ?? []).map((one) => one.version).find((version) => version < this.basedOn && recall(keyOf(this.id, version)).draft);
    this.title = sheet ? `Change: ${sheet.title}` : "New checklist";
    this.back = sheet ? places("sheet", sheet.id) : places("list");
    this.faults = h("div", { class: "faults", role: "alert", data: { testid: "faults" } });
    this.outline = h("nav", { class: "outline", "aria-label": "Parts of the checklist" });
    this.form = h("div", { class: "form", data: { testid: "form" } });
    this.note = h("p", { class: "quiet-line" });
    this.element = h("div", { class: "editor" }, this.tools(), this.faults, h("div", { class: "halves" }, this.outline, this.form));
    this.chosen = ["sheet"];
    if (usable) page.say("Your draft from before is here again. Store it, or throw it away.");
    this.draw();
  }

  tools() {
    const number = (this.basedOn ?? 0) + 1;
    return h("div", { class: "tools" },
      h("a", { class: "guide", href: this.back, text: "Back, keep the draft" }),
      h("button", { class: "strong", type: "button", text: `Store as version ${number}`, data: { testid: "store" }, onclick: () => this.store() }),
      h("button", { class: "plain", type: "button", text: "Throw the draft away", data: { testid: "throw" }, onclick: () => this.throwAway() }),
      this.older && h("button", { class: "plain", type: "button", text: `Open the draft of version ${this.older} as a sheet of its own`, data: { testid: "older" }, onclick: () => this.openOlder() }),
      this.note);
  }

  /** Take a draft that was overtaken by a newer version over into a new sheet. */
  openOlder() {
    if (recall(keyOf("", null)).draft) return this.page.say("A new checklist is being made already: store it or throw it away first.");
    const old = keyOf(this.id, this.older);
    const { draft } = recall(old);
    if (!keep(keyOf("", null), { draft: { ...draft, id: "", title: `${draft.title}, draft` } })) return this.page.say("This browser keeps no drafts.");
    drop(old);
    return this.page.go("new");
  }

  /** Note that the draft changed. */
  changed() {
    this.dirty = true;
    const there = keep(this.key, { draft: this.draft });
    this.note.textContent = there ? "Draft kept in this browser." : "This browser keeps no draft: store it before you leave.";
    this.drawOutline();
  }

  draw() {
    this.drawOutline();
    this.drawForm();
  }

  choose(way) {
    this.chosen = way;
    this.draw();
    this.form.querySelector("input, textarea, select")?.focus();
  }

  drawOutline() {
    const item = (way, text, kind) => h("button", { type: "button", class: `item ${kind}`, text: text || "(no title yet)",
      "aria-current": JSON.stringify(way) === JSON.stringify(this.chosen) ? "true" : undefined, data: { way: way.join(".") }, onclick: () => this.choose(way) });
    const add = (text, make, key) => h("button", { type: "button", class: "quiet", text, data: { testid: key }, onclick: make });
    this.outline.replaceChildren(item(["sheet"], "The sheet", "top"), item(["scale"], "Grades and passing", "top"),
      ...this.draft.section.flatMap((section, at) => [
        item(["section", at], section.title, "of-section"),
        ...section.step.map((step, number) => item(["section", at, "step", number], step.title, `of-step${step.critical ? " is-critical" : ""}`)),
        add("Add a step", () => this.add(["section", at, "step"], newStep()), "add-step"),
      ]), add("Add a section", () => this.add(["section"], { id: "", title: "", step: [] }), "add-section"));
  }

  drawForm() {
    const [kind, at, , number] = this.chosen;
    const section = this.draft.section[at];
    const made = kind === "sheet" ? forms.sheet(this) : kind === "scale" ? forms.scale(this)
      : number === undefined ? forms.section(this, section) : forms.step(this, section.step[number]);
    const moves = kind === "section" && this.moves();
    this.form.replaceChildren(...made, ...(moves ? [moves] : []));
  }

  list(way) {
    return way.reduce((here, key) => here[key], this.draft);
  }

  add(way, value) {
    const list = this.list(way);
    list.push(value);
    this.changed();
    this.choose([...way, list.length - 1]);
  }

  /** Buttons that move or remove what is chosen. */
  moves() {
    const way = this.chosen.slice(0, -1);
    const at = this.chosen.at(-1);
    const list = this.list(way);
    const move = (to) => {
      list.splice(to, 0, ...list.splice(at, 1));
      this.changed();
      this.choose([...way, to]);
    };
    const remove = () => {
      list.splice(at, 1);
      this.changed();
      this.choose(list.length ? [...way, Math.max(0, at - 1)] : way.length > 2 ? way.slice(0, -1) : ["sheet"]);
    };
    return h("div", { class: "tools moves" },
      h("button", { type: "button", class: "plain", text: "Move up", disabled: at === 0, onclick: () => move(at - 1) }),
      h("button", { type: "button", class: "plain", text: "Move down", disabled: at === list.length - 1, onclick: () => move(at + 1) }),
      h("button", { type: "button", class: "plain", text: "Remove", data: { testid: "remove" }, onclick: remove }));
  }

  /** Give ids to what has none yet; those that are there stay, since marks and grades rest on them. */
  named() {
    const draft = structuredClone(this.draft);
    draft.id ||= slug(draft.title, "sheet");
    const sections = draft.section.map((one) => one.id);
    const steps = draft.section.flatMap((one) => one.step.map((step) => step.id));
    const name = (one, text, kind, taken) => { if (!one.id) taken.push(one.id = slug(text, kind, taken)); };
    for (const section of draft.section) {
      name(section, section.title, "section", sections);
      for (const step of section.step) {
        name(step, step.title, "step", steps);
        const parts = (step.criteria ?? []).map((one) => one.id);
        for (const part of step.criteria ?? []) name(part, part.text, "part", parts);
      }
    }
    const keys = draft.scale.levels.map((level) => level.key);
    for (const level of draft.scale.levels) if (!level.key) keys.push(level.key = slug(level.word, "level", keys));
    return draft;
  }

  async store() {
    const { ok, said } = await ask("/api/sheets/store", this.page.as, { values: this.named(), based_on: this.basedOn });
    if (!ok) return this.refuse(said);
    this.forget();
    this.page.go("sheet", said.id, said.version === this.basedOn ? "Nothing was changed, so no new version was stored." : `Stored as version ${said.version}. New attempts get it; earlier attempts keep theirs.`);
  }

  /** Show all faults, each a way to its place. */
  refuse(said) {
    this.page.say("");
    const faults = said.faults ?? [];
    const told = faults.length ? `Not stored: ${faults.length} to mend.` : said.message;
    this.faults.replaceChildren(h("p", { text: told }), h("ul", {}, ...faults.map((fault) => h("li", {},
      h("button", { type: "button", class: "quiet", text: fault.where || "The sheet", onclick: () => this.choose(chosenBy(fault.way)) }), ` ${fault.text}`))));
    this.faults.scrollIntoView({ block: "nearest" });
  }

  throwAway() {
    if (this.dirty && !this.sure) {
      this.sure = true;
      this.page.say("This throws your changes away. Press once more if you are sure.");
      return;
    }
    this.forget();
    location.hash = this.back;
  }

  forget() {
    this.dirty = false;
    drop(this.key);
  }
}

/** Under which name the draft of a sheet's version is kept. */
const keyOf = (id, version) => `sheet draft ${id} ${version ?? "new"}`;

function drop(key) {
  try {
    localStorage.removeItem(key);
  } catch { /* a browser that keeps nothing has nothing to forget */ }
}

/** Which part of the outline the way to a fault leads to. */
export function chosenBy(way) {
  if (["scale", "pass"].includes(way[0])) return ["scale"];
  if (way[0] !== "section" || way.length < 2) return ["sheet"];
  return way[2] === "step" && way.length > 3 ? way.slice(0, 4) : way.slice(0, 2);
}
