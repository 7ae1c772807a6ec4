// Elements without a template engine: text always goes in as text, never as markup.

const PROPERTIES = new Set(["checked", "disabled", "hidden", "indeterminate", "open", "selected"]);

/** Make an element. `on` holds listeners, `vars` CSS custom properties; null and false are left out. */
export function h(tag, properties = {}, ...children) {
  const node = document.createElement(tag);
  for (const [name, value] of Object.entries(properties)) {
    if (value === null || value === undefined || value === false || name === "value") continue;
    if (name === "on") {
      for (const [type, listener] of Object.entries(value)) node.addEventListener(type, listener);
    } else if (name === "vars") {
      for (const [variable, setting] of Object.entries(value)) node.style.setProperty(variable, setting);
    } else if (PROPERTIES.has(name)) node[name] = value;
    else node.setAttribute(name, value === true ? "" : value);
  }
  node.append(...solid(children));
  // A select takes its value only once its options are there.
  if (properties.value !== undefined && properties.value !== null) node.value = properties.value;
  return node;
}

const SVG = "http://www.w3.org/2000/svg";

/** Make an element of a drawing. */
export function svg(tag, attributes = {}, ...children) {
  const node = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(attributes)) node.setAttribute(name, value);
  node.append(...solid(children));
  return node;
}

const solid = (children) =>
  children.flat(Infinity).filter((c) => c !== null && c !== undefined && c !== false && c !== "");

/** A button: what it says, what it does, and how the keyboard finds it again. */
export function button(words, click, { key, label, pressed, ...attributes } = {}) {
  return h("button", {
    type: "button", "data-key": key, "aria-label": label,
    "aria-pressed": pressed === undefined ? null : String(pressed), on: { click }, ...attributes,
  }, words);
}

/**
 * Draw within a host. The element with the same `data-key` gets the keyboard back, and a `details`
 * with the same one stays open.
 */
export function steady(host, draw) {
  const key = host.contains(document.activeElement) ? document.activeElement.dataset.key : null;
  const open = [...host.querySelectorAll("details[open][data-key]")].map((each) => each.dataset.key);
  draw();
  for (const each of open) find(host, each)?.setAttribute("open", "");
  // Moving an element takes the keyboard from it, even where it ends up in the same place.
  if (key && document.activeElement?.dataset.key !== key) find(host, key)?.focus({ preventScroll: true });
}

/** Replace what a host holds. */
export const redraw = (host, ...children) => steady(host, () => host.replaceChildren(...solid(children)));

const find = (host, key) => host.querySelector(`[data-key="${CSS.escape(key)}"]`);

/** A large figure with its unit. */
export const big = (figure, unit) => [figure, h("span", { class: "unit" }, ` ${unit}`)];

/** Ask a part for something: an event that bubbles up to the screen. */
export function tell(node, type, detail) {
  node.dispatchEvent(new CustomEvent(type, { bubbles: true, detail }));
}

let lastId = 0;
/** An id for label, description and control to find each other by. */
export const freshId = (stem) => `${stem}-${++lastId}`;
