// Labelled controls of a form. What was typed is never taken away: a fault is written under it.

import { freshId, h } from "../dom.js";
import { forField, typedNumber } from "../format.js";
import { ofService } from "../language.js";
import { t } from "../text.js";

/** A control with its label, hint, and a place for what is wrong with it. */
export function labelled(label, control, { hint, unit, path } = {}) {
  const id = freshId("field");
  control.id = id;
  const described = [hint ? `${id}-hint` : null, `${id}-fault`].filter(Boolean).join(" ");
  control.setAttribute("aria-describedby", described);
  if (path) control.dataset.path = path;
  return h("div", { class: "field" },
    h("label", { for: id, class: "label" }, label),
    h("span", { class: "control" }, control,
      unit ? h("span", { class: "unit", "aria-hidden": "true" }, unit) : null),
    hint ? h("p", { class: "hint", id: `${id}-hint` }, hint) : null,
    h("p", { class: "fault", id: `${id}-fault`, hidden: true }));
}

/** Write what is wrong with a control under it, in another language where it is the service's; null takes it away. */
export function say(control, message, lang = null) {
  const fault = control.closest(".field, eb-stepper").querySelector(".fault");
  fault.textContent = message ?? "";
  fault.hidden = !message;
  if (lang) fault.lang = lang;
  else fault.removeAttribute("lang");
  if (message) control.setAttribute("aria-invalid", "true");
  else control.removeAttribute("aria-invalid");
}

/** A field for a number. `change` gets the number, or undefined for an emptied field. */
export function numberField(label, { value, change, unit, hint, path, required = false }) {
  const input = h("input", {
    type: "text", inputmode: "decimal", autocomplete: "off", class: "figure",
    value: forField(value),
    "aria-label": unit ? `${label}, ${unit}` : null,
    on: { change: () => {
      const number = typedNumber(input.value);
      const unread = Number.isNaN(number) || (number === null && required);
      // An answer that comes later must not wipe this away: the service has not seen the field.
      if (unread) input.dataset.unread = "true";
      else delete input.dataset.unread;
      say(input, unread ? t("fault.number") : null);
      if (!unread) change(number ?? undefined);
    } },
  });
  return labelled(label, input, { unit, hint, path });
}

/** A field for words. */
export function textField(label, { value = "", change, hint, path, maxlength = 80 }) {
  const input = h("input", {
    type: "text", autocomplete: "off", maxlength, value, on: { change: () => change(input.value.trim()) },
  });
  return labelled(label, input, { hint, path });
}

/** A choice of `[value, words]`, with the language where it is another's, or of groups `{label, options}`. */
export function choiceField(label, { value, options, change, hint, path }) {
  const option = ([key, words, lang]) => h("option", { value: key, lang, selected: String(key) === String(value) }, words);
  const select = h("select", { on: { change: () => change(select.value) } },
    options.map((o) => (Array.isArray(o) ? option(o) : h("optgroup", { label: o.label }, o.options.map(option)))));
  return labelled(label, select, { hint, path });
}

/** A tick box with its words. */
export function tickField(label, { checked, change, key }) {
  const input = h("input", {
    type: "checkbox", checked, "data-key": key, on: { change: () => change(input.checked) },
  });
  return h("label", { class: "tick" }, input, h("span", {}, label));
}

/** Where faults are written that belong to no field of a form. */
export const otherFaults = () => h("p", { class: "fault", hidden: true, "data-other": true });

/**
 * Write faults, Map path -> words, under the fields they belong to, and what is left over into the
 * form's `otherFaults`. They are the service's, unless `lang` says that they are the client's own: null.
 */
export function showFaults(form, faults, lang = ofService()) {
  const left = new Map(faults);
  for (const control of form.querySelectorAll("[data-path]")) {
    const { path } = control.dataset;
    const mine = [...left].filter(([at]) => at === path || at.startsWith(`${path}/`));
    if (mine.length) {
      say(control, mine.map(([, words]) => words).join(" "), lang);
      for (const [at] of mine) left.delete(at);
    } else if (control.dataset.unread === undefined) say(control, null);
  }
  const other = form.querySelector("[data-other]");
  if (!other) return;
  other.textContent = [...left.values()].join(" ");
  other.hidden = !left.size;
  if (lang) other.lang = lang;
  else other.removeAttribute("lang");
}
