/** The fields that say what an examined person agreed to: to whom, until when, others in the film, who agreed. */
import { h } from "./dom.js";

/** Whom a film may be shown to, and the answers about others in it, where the server was not asked for them. */
export const CHOICES = {
  audiences: [
    { key: "peers", words: "peers whom the learner asks" },
    { key: "instructors", words: "instructors of the course" },
    { key: "course", words: "everybody of the course, as an exemplar" },
  ],
  bystanders: [
    { key: "nobody", words: "nobody else is seen or heard" },
    { key: "agreed", words: "others are seen or heard, and agreed" },
    { key: "unasked", words: "others are seen or heard, and were not asked" },
  ],
};

let made = 0;

export class Terms {
  /**
   * @param {{audiences: object[], bystanders: object[], today?: string}} choices
   * @param {{audiences: string[], until: string, bystanders: string, partner: string}|null} [known] what is noted now
   */
  constructor({ audiences, bystanders, today }, known = null) {
    const name = `bystanders-${++made}`;
    this.boxes = audiences.map(({ key }) => h("input", { type: "checkbox", value: key, checked: known?.audiences.includes(key), data: { testid: `audience-${key}` } }));
    this.others = bystanders.map(({ key }, at) => h("input", { type: "radio", name, value: key, checked: known ? known.bystanders === key : at === 0 }));
    this.until = h("input", { type: "date", min: today, value: known?.until ?? "", id: `until-${made}`, data: { testid: "until" } });
    this.partner = h("input", { type: "text", maxlength: "9", value: known?.partner ?? "", id: `partner-${made}`, placeholder: "K.M.", autocomplete: "off", data: { testid: "partner" } });
    this.element = h("div", { class: "terms" },
      group("The film may be shown to", audiences, this.boxes, "Tick nothing if to nobody else."),
      group("Others in the film", bystanders, this.others),
      h("div", { class: "field" }, h("label", { for: this.until.id, text: "Last day (empty: none named)" }), this.until),
      h("div", { class: "field" }, h("label", { for: this.partner.id, text: "Initials or a code, no name" }), this.partner));
  }

  get said() {
    const others = this.others.find((one) => one.checked)?.value ?? "nobody";
    return { audiences: this.boxes.filter((box) => box.checked).map((box) => box.value), until: this.until.value, bystanders: others, partner: this.partner.value.trim() };
  }
}

function group(legend, choices, inputs, hint = "") {
  const lines = choices.map(({ words }, at) => h("label", {}, inputs[at], words));
  return h("fieldset", { class: "field" }, h("legend", { text: legend }), ...lines, hint && h("p", { class: "quiet-line", text: hint }));
}
