/** Parts of a page behind tabs; which one is shown is told by the address, so that a reload and a link lead to it. */
import { h } from "./dom.js";

export class Tabs {
  /** @param {string} name what the tabs are parts of */
  constructor(name) {
    this.list = h("div", { class: "tabs", role: "tablist", "aria-label": name, onkeydown: (event) => this.key(event) });
    this.panel = h("div", { class: "panel", role: "tabpanel", id: "panel", tabindex: "0" });
    this.element = h("div", { class: "tabbed" }, this.list, this.panel);
    this.chosen = location.hash.slice(1);
  }

  /** @param {[string, string, number|null, () => HTMLElement[]][]} parts key, name, count and content of each */
  show(parts) {
    this.parts = parts;
    if (!parts.some(([key]) => key === this.chosen)) this.chosen = parts[0][0];
    this.list.replaceChildren(...parts.map(([key, name, count]) => h("button", {
      type: "button", class: "tab", role: "tab", id: `tab-${key}`, "aria-controls": "panel", data: { testid: `tab-${key}`, key },
      text: count === null ? name : `${name} (${count})`, onclick: () => this.choose(key),
    })));
    this.draw();
  }

  choose(key) {
    this.chosen = key;
    history.replaceState(null, "", `${location.pathname}${location.search}#${key}`);
    this.draw();
  }

  draw() {
    for (const tab of this.list.children) {
      const own = tab.dataset.key === this.chosen;
      tab.setAttribute("aria-selected", String(own));
      tab.tabIndex = own ? 0 : -1;
    }
    this.panel.setAttribute("aria-labelledby", `tab-${this.chosen}`);
    this.panel.replaceChildren(...this.parts.find(([key]) => key === this.chosen)[3]());
  }

  /** Arrow keys, Home and End go from tab to tab. */
  key(event) {
    const tabs = [...this.list.children];
    const at = tabs.indexOf(event.target);
    const to = { ArrowRight: (at + 1) % tabs.length, ArrowLeft: (at + tabs.length - 1) % tabs.length, Home: 0, End: tabs.length - 1 }[event.key];
    if (at < 0 || to === undefined) return;
    event.preventDefault();
    this.choose(tabs[to].dataset.key);
    tabs[to].focus();
  }
}
