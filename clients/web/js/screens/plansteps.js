// The steps of a plan as large rows to tick, each with what it waits for.

import { button, freshId, h } from "../dom.js";
import { label } from "../layout.js";
import { progress } from "../plan.js";
import { quoted } from "../parts/service.js";
import { t } from "../text.js";

/** `tick({step, done, waits})` carries one step out or takes it back, `all()` what is left of them. */
export function stepList(plan, layout, { stale, asking, tick, all }) {
  if (!plan.answer.steps.length) return [];
  const rows = progress(plan, layout);
  const done = rows.filter((row) => row.done).length;
  const fixed = stale || asking;
  return [
    h("h2", {}, t("steps.title"), " ",
      h("span", { class: "aside steps-done" }, t("steps.done", { n: done, all: rows.length }))),
    h("p", { class: "aside" }, t("steps.words")),
    h("ol", { class: "steps" }, rows.map((row) => stepRow(row, fixed, tick))),
    fixed ? null : done === rows.length ? h("p", { class: "said" }, t("steps.finished"))
      : button(t("steps.all"), all, { class: "wide-key", key: "all" }),
    h("h2", {}, t("steps.now")),
  ];
}

function stepRow(row, fixed, tick) {
  const { step, done, waits, skipped } = row;
  const id = freshId("step");
  const words = waits ? waitWords(waits) : skipped ? t("steps.skipped") : null;
  // Not "disabled": the keyboard and a reader come by and are told why.
  const blocked = fixed || Boolean(waits);
  const box = h("input", {
    type: "checkbox", checked: done, "data-key": `step:${step.number}`,
    "aria-disabled": blocked ? "true" : null, "aria-describedby": words && !fixed ? id : null,
    on: { click: (event) => { if (blocked) event.preventDefault(); }, change: () => tick(row) },
  });
  return h("li", { class: "step", "data-done": String(done), "data-blocked": String(blocked) },
    h("label", { class: "tick" }, box,
      h("span", {}, h("b", {}, t("steps.number", { n: step.number })), " ", quoted("span", { class: "step-text" }, step.text))),
    words && !fixed ? h("p", { class: "step-why", id }, words) : null);
}

function waitWords({ why, step, load }) {
  return t(`steps.wait.${why}`, { n: step?.number, name: load ? label(load) : "" });
}
