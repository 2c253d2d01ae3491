/** Small tools for making elements. */

/**
 * Make an element.
 * @param {string} tag name of the element
 * @param {Record<string, any>} [props] attributes; `on...` are listeners, `text` is the text, `data` the data-* set
 * @param {...(Node|string|null|undefined|false)} children what goes inside
 * @returns {HTMLElement}
 */
export function h(tag, props = {}, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(props)) {
    if (value === undefined || value === null || value === false) continue;
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else if (name === "text") element.textContent = value;
    else if (name === "data") Object.assign(element.dataset, value);
    else if (name === "style") element.style.cssText = value;
    else element.setAttribute(name, value === true ? "" : String(value));
  }
  element.append(...children.filter((child) => child !== null && child !== undefined && child !== false));
  return element;
}

/**
 * Set text only when it differs, so that a screen reader does not hear it again.
 * @param {HTMLElement} element
 * @param {string} text
 */
export function setText(element, text) {
  if (element.textContent !== text) element.textContent = text;
}

/**
 * What a component exports to be mounted: one `Kind` for each place it is drawn in, kept as long as that place is.
 * @param {string} wanted selector of the element that it lives in
 * @param {new (root: HTMLElement) => {update: Function, destroy: Function, gone?: boolean}} Kind
 * @returns {(component: {parentElement: ParentNode, data: object, setStateValue: Function}) => () => void}
 */
export function keeping(wanted, Kind) {
  const kept = new WeakMap();
  return (component) => {
    const { parentElement } = component;
    let one = kept.get(parentElement);
    if (!one || one.gone) {
      one = new Kind(parentElement.querySelector(wanted));
      kept.set(parentElement, one);
    }
    one.update(component);
    return () => one.destroy();
  };
}

/**
 * What a component exports that is drawn anew whenever its data are others, and has nothing to keep.
 * @param {string} wanted selector of the element that it lives in
 * @param {(data: object, set: Function) => (Node|string)[]} content
 * @returns {(component: {parentElement: ParentNode, data: object, setStateValue: Function}) => void}
 */
export function redrawn(wanted, content) {
  return ({ parentElement, data, setStateValue }) => {
    const root = parentElement.querySelector(wanted);
    followTheme(root);
    const shown = JSON.stringify(data);
    if (root.shown === shown) return;
    root.shown = shown;
    root.replaceChildren(...content(data, setStateValue));
  };
}

/**
 * The choices of whom one works as.
 * @param {{code: string, role: string}[]} people
 * @param {string} code whoever is chosen
 * @returns {HTMLElement[]}
 */
export function peopleOptions(people, code) {
  return people.map((one) => h("option", { value: one.code, text: `${one.code}, ${one.role}`, selected: one.code === code }));
}

/**
 * Offers the people whom one may work as; hides the choice where there is none, since people sign in.
 * @param {HTMLSelectElement} select in its label
 * @param {{code: string, role: string}[]} people
 * @param {string} code of the one who acts
 */
export function offerPeople(select, people, code) {
  select.replaceChildren(...peopleOptions(people, code));
  select.closest("label").hidden = !people.length;
}

/**
 * Two fingers are ours: the browser would scroll or enlarge the page with them, and take them away from us half-way.
 * @param {TouchEvent} event
 */
export function keepFromBrowser(event) {
  if (event.touches.length > 1 && event.cancelable) event.preventDefault();
}

/**
 * Tell whether a colour is dark.
 * @param {string} colour as CSS computes it, `rgb(r, g, b)` or `#rrggbb`
 * @returns {boolean}
 */
export function isDark(colour) {
  const hex = /^#([0-9a-f]{6})/i.exec(colour.trim());
  const parts = hex
    ? [0, 2, 4].map((at) => parseInt(hex[1].slice(at, at + 2), 16))
    : (colour.match(/[\d.]+/g) ?? ["255", "255", "255"]).slice(0, 3).map(Number);
  return 0.2126 * parts[0] + 0.7152 * parts[1] + 0.0722 * parts[2] < 110;
}

/**
 * Note on the root element whether the page is dark, from the colour the page hands down.
 * @param {HTMLElement} root
 */
export function followTheme(root) {
  const paper = getComputedStyle(root).getPropertyValue("--st-background-color") || "#ffffff";
  root.dataset.theme = isDark(paper) ? "dark" : "light";
}
