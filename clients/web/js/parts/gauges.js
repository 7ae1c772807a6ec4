// Phases as columns that fill up, standing on the neutral that is common to them.

import { big, h, redraw } from "../dom.js";
import { amps, figure, percent } from "../format.js";
import { t } from "../text.js";
import { conductor } from "./conductor.js";
import { tag } from "./severity.js";

// The top of a column is a quarter over the rating, so that an overload is seen to stand out of it.
const FULL_SCALE_PCT = 125;
const height = (pct) => `${Math.min(100, Math.max(0, (pct / FULL_SCALE_PCT) * 100))}%`;

/** Draws phases and neutral; computes nothing, a missing figure is a dash. */
class Gauges extends HTMLElement {
  /**
   * `phases`: [{own, line, reading, severity, lit}], `neutral`: {reading, severity, lit} or null,
   * `code`: colour code, `limitPct`: where the working limit is marked, `old`: figures out of date.
   */
  show({ phases, neutral, code, limitPct, old }) {
    this.classList.add("gauges");
    this.dataset.old = String(Boolean(old));
    redraw(this,
      h("ol", { class: "columns", vars: { "--columns": phases.length }, "aria-label": t("gauges.label") },
        phases.map((phase) => column(phase, code, limitPct))),
      neutral ? bar(neutral, code) : null);
  }
}

function tube(reading, limitPct) {
  const pct = reading?.loading_pct ?? 0;
  return h("div", { class: "tube", "aria-hidden": "true", vars: { "--at": height(pct) } },
    h("i", { class: "fill" }),
    h("i", { class: "mark", vars: { "--at": height(limitPct) } }),
    h("i", { class: "mark full", vars: { "--at": height(100) } }));
}

function room(reading) {
  if (typeof reading?.headroom_a !== "number") return null;
  return reading.headroom_a < 0
    ? h("p", { class: "over" }, t("gauges.over", { n: amps(-reading.headroom_a) }))
    : h("p", {}, t("gauges.free", { n: amps(reading.headroom_a) }));
}

// The share of the rating; the rating itself stands once under all columns.
const share = (reading) => h("p", {}, t("percent", { n: percent(reading?.loading_pct) }));

const large = (reading) => h("p", { class: "big figure" }, big(amps(reading?.current_a), "A"));

function column({ own, line, reading, severity, lit }, code, limitPct) {
  return h("li", {
    class: "gauge", "data-severity": severity, "data-lit": lit ? "true" : null, "data-key": `gauge:${own}`,
    tabindex: lit ? "-1" : null,
  },
    h("div", { class: "gauge-head" }, conductor(code, line, own)),
    h("div", { class: "gauge-body" },
      tube(reading, limitPct),
      h("div", { class: "reading" }, tag(severity), large(reading),
        reading?.simple ? h("p", { class: "simple" }, t("gauges.simple")) : null, share(reading), room(reading))));
}

function bar({ reading, severity, lit }, code) {
  const switching = reading?.worst_switching_a;
  return h("div", {
    class: "gauge neutral", "data-severity": severity, "data-lit": lit ? "true" : null, "data-key": "gauge:N",
    tabindex: lit ? "-1" : null, role: "group", "aria-label": t("gauges.neutral"),
  },
    h("div", { class: "gauge-head" }, conductor(code, "N"), tag(severity)),
    large(reading),
    h("p", {}, t("gauges.loading", { pct: percent(reading?.loading_pct), n: figure(reading?.rating_a) })),
    h("div", { class: "tube flat", "aria-hidden": "true", vars: { "--at": height(reading?.loading_pct ?? 0) } },
      h("i", { class: "fill" }), h("i", { class: "mark full", vars: { "--at": height(100) } })),
    typeof switching === "number" && switching > (reading.current_a ?? 0)
      ? h("p", { class: "aside" }, t("gauges.switching", { n: amps(switching) })) : null);
}

customElements.define("eb-gauges", Gauges);
