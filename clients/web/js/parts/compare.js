// Before and after, a pair of bars for each phase and the neutral. Draws figures; computes none.

import { h, redraw } from "../dom.js";
import { amps, percent } from "../format.js";
import { t } from "../text.js";
import { conductor } from "./conductor.js";

// As on the columns: a quarter over the rating, so that an overload is seen to stand out.
const FULL_SCALE_PCT = 125;
const width = (pct) => `${Math.min(100, Math.max(0, ((pct ?? 0) / FULL_SCALE_PCT) * 100))}%`;

class Compare extends HTMLElement {
  /** `lines`: [{line, before, after}] with the service's readings, `code`: colour code, `limitPct`. */
  show({ lines, code, limitPct }) {
    this.classList.add("compare");
    redraw(this, h("ol", { "aria-label": t("plan.bars") }, lines.map(({ line, before, after }) =>
      h("li", { "data-key": `compare:${line}` },
        conductor(code, line),
        bar("before", before, limitPct),
        bar("after", after, limitPct)))));
    return this;
  }
}

function bar(when, reading, limitPct) {
  const over = reading?.headroom_a < 0 || reading?.loading_pct > 100;
  return h("p", { class: `compare-row ${when}`, "data-over": over ? "true" : null },
    h("span", { class: "compare-when" }, t(`plan.${when}`)),
    h("span", { class: "tube flat", "aria-hidden": "true", vars: { "--at": width(reading?.loading_pct) } },
      h("i", { class: "fill" }),
      h("i", { class: "mark", vars: { "--at": width(limitPct) } }),
      h("i", { class: "mark full", vars: { "--at": width(100) } })),
    h("span", { class: "compare-figure figure" },
      h("b", {}, t("amps", { n: amps(reading?.current_a) })),
      over ? h("span", { class: "over" }, t("plan.over", { n: percent(reading?.loading_pct) }))
        : h("span", { class: "aside" }, t("percent", { n: percent(reading?.loading_pct) }))));
}

customElements.define("eb-compare", Compare);
