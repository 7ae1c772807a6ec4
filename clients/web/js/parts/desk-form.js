// A form of the desk's pages: labelled controls from a list of fields, read as one body, and what the
// service says against it under the control it means. Nothing typed is ever taken away.

import { button, freshId, h } from "../dom.js";
import { forField, typedNumber } from "../format.js";
import { ofService } from "../language.js";
import { t } from "../text.js";
import { labelled, otherFaults, say, showFaults } from "./field.js";

const input = (field, value, more) => h("input", {
  type: "text", autocomplete: "off", maxlength: field.most ?? 200, value: value ?? "", "data-key": field.id, ...more,
});

const text = (field, value) => {
  const control = input(field, value, { list: field.list ?? null, autocapitalize: field.exact ? "off" : null, spellcheck: field.exact ? "false" : null });
  return { control, read: () => control.value.trim() || undefined };
};

const KINDS = {
  text,
  note(field, value) {
    const control = h("textarea", { rows: 2, maxlength: field.most ?? 1000, "data-key": field.id, value: value ?? "", class: "words" });
    return { control, read: () => control.value.trim() || undefined };
  },
  day(field, value) {
    const control = h("input", { type: "date", value: value ?? "", "data-key": field.id });
    // Half a date is "" like none at all, but the browser knows.
    return { control, read: () => (control.validity.badInput ? NaN : control.value || undefined) };
  },
  number(field, value) {
    const control = input(field, forField(value), { inputmode: "decimal", class: "figure" });
    return { control, read: () => typedNumber(control.value) ?? undefined };
  },
  choice(field, value) {
    const control = h("select", { "data-key": field.id, value: value ?? field.options[0]?.[0] },
      field.options.map(([key, words]) => h("option", { value: key }, words)));
    return { control, read: () => control.value || undefined };
  },
};

/** A tick with its words; `read` gives true or false. */
function tick(field, value) {
  const control = h("input", { type: "checkbox", checked: Boolean(value), "data-key": field.id, "data-path": `/${field.name}` });
  const node = h("div", { class: "field" },
    h("label", { class: "tick" }, control, h("span", {}, field.label)),
    h("p", { class: "fault", hidden: true }));
  return { node, control, read: () => control.checked };
}

/** Ticks of which several may be set; one under `alone` clears the others. */
function ticks(field) {
  const id = freshId("ticks");
  const boxes = field.options.map(([key, words]) => {
    const box = h("input", { type: "checkbox", value: key, "data-key": `${field.id}:${key}`, on: { change: () => {
      if (!box.checked || !field.alone) return;
      for (const other of boxes) if (other !== box && (box.value === field.alone || other.value === field.alone)) other.checked = false;
    } } });
    box.words = words;
    return box;
  });
  const node = h("fieldset", { class: "field", "data-path": `/${field.name}`, "aria-describedby": id, tabindex: "-1" },
    h("legend", { class: "label" }, field.label),
    h("div", { class: "tick-grid" }, boxes.map((box) => h("label", { class: "tick" }, box, h("span", {}, box.words)))),
    h("p", { class: "fault", id, hidden: true }));
  return { node, control: node, read: () => {
    const found = boxes.filter((box) => box.checked).map((box) => box.value);
    return found.length ? found : undefined;
  } };
}

/**
 * Make a form. A field is `{name, label, kind, hint, unit, needed, options, …}`; `kind` is "text", "note",
 * "day", "number", "choice", "tick", "ticks", or a function that gives `{node, control, read}` itself.
 * `send(body, key)` does it: `body` leaves out what is empty, `key` is the same for the same body, so that a
 * second try is known. What it throws is shown; `refused(problem, form)` may show it another way and says so.
 */
export function deskForm({ id, fields, values = {}, words, send, refused = () => false, leave = null, grave = false }) {
  const made = [];
  let busy = false;
  let attempt = { text: null, key: "" };
  const other = otherFaults();
  other.setAttribute("role", "alert");
  const go = h("button", { type: "submit", class: grave ? "grave" : "main-key", "data-key": `${id}:send` }, t(words));

  const draw = (field) => {
    const spec = { id: `${id}:${field.name}`, ...field };
    const value = values[field.name];
    const kind = field.kind ?? "text";
    const one = kind === "tick" ? tick(spec, value) : kind === "ticks" ? ticks(spec)
      : typeof kind === "function" ? kind(spec, value) : KINDS[kind](spec, value);
    one.node ??= labelled(field.label, one.control, { hint: field.hint, unit: field.unit, path: `/${field.name}` });
    if (field.needed && one.control.matches("input, select, textarea")) one.control.setAttribute("aria-required", "true");
    made.push({ field, ...one });
    return one.node;
  };

  /** The body, or null where something is missing or unreadable; then that is said. */
  function read() {
    const body = {};
    const faults = new Map();
    for (const { field, read: value, node } of made) {
      if (node.hidden) continue;
      const found = value();
      if (Number.isNaN(found)) faults.set(`/${field.name}`, t(field.kind === "day" ? "desk.fault.day" : "fault.number"));
      else if (field.needed && (found === undefined || found === "")) faults.set(`/${field.name}`, t(field.missing ?? "desk.fault.needed"));
      else if (found !== undefined) body[field.name] = found;
    }
    showFaults(form, faults, null);
    if (!faults.size) return body;
    form.querySelector('[aria-invalid="true"]')?.focus();
    return null;
  }

  async function submit(event) {
    event.preventDefault();
    if (busy) return;
    const body = read();
    if (!body) return;
    const sent = JSON.stringify(body);
    if (attempt.text !== sent) attempt = { text: sent, key: randomKey() };
    busy = true;
    go.setAttribute("aria-busy", "true");
    go.textContent = t("desk.working");
    try {
      await send(body, attempt.key);
      attempt = { text: null, key: "" };
    } catch (error) {
      if (!refused(error, form)) showProblem(form, error);
    }
    busy = false;
    go.removeAttribute("aria-busy");
    go.textContent = t(words);
  }

  const form = h("form", { class: "form", novalidate: true, on: { submit } },
    fields.map((each) => (each instanceof Node ? each : Array.isArray(each) ? h("div", { class: "pair" }, each.map(draw)) : draw(each))),
    other,
    h("div", { class: "keys" }, go, leave ? button(t("desk.leave"), leave, { class: "key-text", key: `${id}:leave` }) : null));
  return form;
}

const randomKey = () => [...crypto.getRandomValues(new Uint8Array(12))].map((b) => b.toString(16).padStart(2, "0")).join("");

/** What stands against a request, in words. */
function problemWords(error) {
  if (error?.kind === "refused") {
    const said = [...error.reasons, ...error.errors].map((each) => each.detail);
    if (error.status === 401) return t("desk.key.over");
    return said.length ? said.join(" ") : error.detail || error.title;
  }
  if (error?.kind) return t(`desk.trouble.${error.kind}`);
  throw error;
}

/** The language of those words: `own` marks a problem that a page here put into words. */
const languageOf = (error) => (error?.kind === "refused" && error.status !== 401 && !error.own ? ofService() : null);

/** An element that says what stands against a request. */
export const problemNote = (tag, properties, error) => h(tag, { ...properties, lang: languageOf(error) }, problemWords(error));

/** Say what stands against a request in a place that was hidden. */
export function tellProblem(place, error) {
  place.replaceChildren(problemNote("span", {}, error));
  place.hidden = false;
}

/** Write a problem into a form: each fault under its control, the rest at the end. */
export function showProblem(form, error) {
  const faults = new Map();
  if (error?.kind === "refused") {
    for (const each of error.errors) if (each.pointer) faults.set(each.pointer, [faults.get(each.pointer), each.detail].filter(Boolean).join(" "));
  }
  if (!faults.size) faults.set("", problemWords(error));
  showFaults(form, faults, languageOf(error));
  const wrong = form.querySelector('[aria-invalid="true"]');
  if (wrong) wrong.focus();
  else form.querySelector("[data-other]").scrollIntoView({ block: "nearest" });
}

/** Write under a control, from outside. */
export const sayUnder = (form, path, words) => say(form.querySelector(`[data-path="${path}"]`), words);
