/** Labelled fields of the sheet editor; each tells its value as it is meant in the draft, `undefined` for nothing. */
import { h } from "./dom.js";

let count = 0;

/**
 * @param {string} label
 * @param {HTMLElement} field
 * @param {string} [hint]
 */
function labelled(label, field, hint) {
  field.id ||= `sheet-field-${++count}`;
  const told = hint && h("span", { class: "hint", id: `${field.id}-hint`, text: hint });
  if (told) field.setAttribute("aria-describedby", told.id);
  return h("div", { class: "field" }, h("label", { for: field.id, text: label }), field, told);
}

/** @param {string} label @param {string} value @param {(value: string) => void} set @param {{rows?: number, hint?: string, key?: string, fixed?: boolean}} [more] */
export function textField(label, value, set, { rows = 1, hint, key, fixed } = {}) {
  const made = rows > 1 ? h("textarea", { rows: String(rows) }) : h("input", { type: "text", autocomplete: "off" });
  made.value = value ?? "";
  if (fixed) made.readOnly = true;
  if (key) made.dataset.testid = key;
  made.addEventListener("input", () => set(made.value));
  return labelled(label, made, hint);
}

/** @param {string} label @param {number|undefined} value @param {(value: number|undefined) => void} set @param {{hint?: string, key?: string, least?: number}} [more] */
export function numberField(label, value, set, { hint, key, least = 0, most } = {}) {
  const made = h("input", { type: "number", step: "any", min: String(least), max: most });
  made.value = value ?? "";
  if (key) made.dataset.testid = key;
  made.addEventListener("input", () => set(made.value === "" ? undefined : Number(made.value)));
  return labelled(label, made, hint);
}

/** A share from 0 to 1, shown in percent. */
export function percentField(label, value, set, more = {}) {
  const shown = value === undefined ? undefined : Number((100 * value).toFixed(4));
  return numberField(label, shown, (number) => set(number === undefined ? undefined : number / 100), { most: "100", ...more });
}

/** Texts, one a line. */
export function linesField(label, value, set, { rows = 2, hint = "one a line", key } = {}) {
  const split = (text) => text.split("\n").map((line) => line.trim()).filter(Boolean);
  return textField(label, (value ?? []).join("\n"), (text) => set(split(text).length ? split(text) : undefined), { rows, hint, key });
}

/** @param {string} label @param {boolean|undefined} value @param {(value: boolean|undefined) => void} set */
export function switchField(label, value, set, key) {
  const box = h("input", { type: "checkbox", checked: Boolean(value) });
  if (key) box.dataset.testid = key;
  box.addEventListener("change", () => set(box.checked || undefined));
  return h("label", { class: "switch" }, box, label);
}

/** Several of a few words. @param {string} legend @param {string[]} known @param {string[]|undefined} value @param {Record<string, string>} [names] what to show in their place */
export function choicesField(legend, known, value, set, names = {}) {
  const chosen = new Set(value ?? []);
  return h("fieldset", { class: "choices" }, h("legend", { text: legend }), ...known.map((word) => switchField(names[word] ?? word.replaceAll("_", " "), chosen.has(word), (on) => {
    if (on) chosen.add(word);
    else chosen.delete(word);
    const list = known.filter((one) => chosen.has(one));
    set(list.length ? list : undefined);
  })));
}

/** One of a few. @param {string} label @param {[string, string][]} options value and words */
export function selectField(label, options, value, set, key) {
  const made = h("select", {}, ...options.map(([name, words]) => h("option", { value: name, text: words, selected: name === (value ?? "") })));
  if (key) made.dataset.testid = key;
  made.addEventListener("change", () => set(made.value || undefined));
  return labelled(label, made);
}
