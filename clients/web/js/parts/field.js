// Labelled controls of a form. What was typed is never taken away: a fault is written under it.

import { freshId, h } from "../dom.js";
import { typedNumber } from "../format.js";
import { t } from "../text.js";

function labelled(label, control, { hint, unit, path } = {}) {
  const id = freshId("field");
  control.id = id;
  const described = [hint ? `${id}-hint` : null, `${id}-fault`].filter(Boolean).join(" ");
  control.setAttribute("aria-describedby", described);
  if (path) control.dataset.path = path;
  return h("div", { class: "field" },
    h("label", { for: id, class: "label" }, label),
    h("span", { class: "control" }, control, unit ? h("span", { class: "unit", "aria-hidden": "true" }, unit) : null),
    hint ? h("p", { class: "hint", id: `${id}-hint` }, hint) : null,
    h("p", { class: "fault", id: `${id}-fault`, hidden: true }));
}

function say(control, message) {
  const fault = control.closest(".field, eb-stepper")?.querySelector(".fault");
  if (!fault) return false;
  fault.textContent = message ?? "";
  fault.hidden = !message;
  if (message) control.setAttribute("aria-invalid", "true");
  else control.removeAttribute("aria-invalid");
  return true;
}

/** A field for a number. `change` gets the number, or undefined for an emptied field. */
export function numberField(label, { value, change, unit, hint, path, required = false }) {
  const input = h("input", {
    type: "text", inputmode: "decimal", autocomplete: "off", class: "figure",
    value: value === undefined || value === null ? "" : String(value),
    "aria-label": unit ? `${label}, ${unit}` : null,
    on: { change: () => {
      const number = typedNumber(input.value);
      if (Number.isNaN(number) || (number === null && required)) { say(input, t("fault.number")); return; }
      say(input, null);
      change(number ?? undefined);
    } },
  });
  return labelled(label, input, { unit, hint, path });
}

/** A field for words. */
export function textField(label, { value = "", change, hint, path, maxlength = 80 }) {
  const input = h("input", {
    type: "text", autocomplete: "off", maxlength, value, on: { change: () => change(input.value.trim(), input) },
  });
  return labelled(label, input, { hint, path });
}

/** A choice of `[value, words]`, or of groups `{label, options}`. */
export function choiceField(label, { value, options, change, hint, path }) {
  const option = ([key, words]) => h("option", { value: key, selected: String(key) === String(value) }, words);
  const select = h("select", { on: { change: () => change(select.value, select) } },
    options.map((o) => (Array.isArray(o) ? option(o) : h("optgroup", { label: o.label }, o.options.map(option)))));
  return labelled(label, select, { hint, path });
}

/** A tick box with its words. */
export function tickField(label, { checked, change, key }) {
  const input = h("input", { type: "checkbox", checked, "data-key": key, on: { change: () => change(input.checked) } });
  return h("label", { class: "tick" }, input, h("span", {}, label));
}

/**
 * Write the service's faults under the fields they belong to. `faults` is Map path -> words. Returns
 * those that found no field, as [path, words].
 */
export function showFaults(root, faults, under = "") {
  const left = new Map([...faults].filter(([path]) => path === under || path.startsWith(`${under}/`) || !under));
  for (const control of root.querySelectorAll("[data-path]")) {
    const mine = [...left].filter(([path]) => path === control.dataset.path || path.startsWith(`${control.dataset.path}/`));
    if (mine.length) {
      if (say(control, mine.map(([, words]) => words).join(" "))) mine.forEach(([path]) => left.delete(path));
    } else if (control.getAttribute("aria-invalid") && !Number.isNaN(typedNumber(control.value ?? "")) ) {
      say(control, null);
    }
  }
  return [...left];
}
