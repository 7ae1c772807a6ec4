// The face of a board: rows as they are on the box, phases as columns, the bus of each phase
// running down its column in the conductor's colour.

import { big, h, redraw, tell } from "../dom.js";
import { amps, figure, outletName, plain } from "../format.js";
import { ROWS } from "../layout.js";
import { quoted } from "./service.js";
import { t } from "../text.js";
import { colourOf, slug } from "./conductor.js";
import { tag } from "./severity.js";

/** Emits "outlet" with the outlet's id when one is tapped. */
class Face extends HTMLElement {
  /**
   * `lines`: [{own, line, reading, severity}], `neutral` likewise or null, and `old`, whether the
   * readings are out of date.
   * `outlets`: [{outlet, held: [{name, what, off}], boards: [id], reading, severity, fault, lit}].
   * `code`: colour code. `placing`: what is being placed, or null.
   */
  show({ boardId, lines, neutral, outlets, code, placing, old }) {
    this.classList.add("face");
    this.classList.toggle("placing", Boolean(placing));
    const rows = [...ROWS, null]
      .map((row) => [row, outlets.filter((o) => (o.outlet.row ?? null) === row)])
      .filter(([, held]) => held.length);
    redraw(this,
      this.#heads(lines, neutral, old),
      lines.length > 1 ? this.#buses(lines, code) : null,
      rows.length ? null : h("p", {}, t("face.unknown")),
      rows.map(([row, held]) => h("section", { class: "row", "aria-label": t(`row.${row ?? "none"}`) },
        h("h3", { class: "columns row-name", vars: { "--columns": Math.max(2, lines.length) } },
          h("span", {}, t(`row.${row ?? "none"}`)), h("span", { class: "aside" }, t(`row.${row ?? "none"}.hint`))),
        lines.length > 1 ? this.#columns(boardId, lines, held, placing)
          : h("div", { class: "single" }, held.map((o) => this.#tile(boardId, o, placing))))));
  }

  // The columns' heads stay in sight while the outlets scroll by. A reader has the gauges instead.
  #heads(lines, neutral, old) {
    const head = ({ own, reading, severity }) => h("div", { class: "head" },
      h("span", { class: "head-line" }, h("b", {}, own),
        tag(severity) ?? h("span", { class: "figure" }, t("percent", { n: figure(reading?.loading_pct) }))),
      h("b", { class: "figure" }, t(reading?.simple ? "amps.simple" : "amps", { n: amps(reading?.current_a) })));
    return h("div", {
      class: "columns heads", "aria-hidden": "true", vars: { "--columns": lines.length }, "data-old": String(old),
    },
      lines.map(head),
      // The neutral has no column: it is shown where it is what is wrong.
      tag(neutral?.severity) ? h("div", { class: "head neutral-head" },
        h("span", { class: "head-line" }, h("b", {}, "N"), h("b", {}, t("amps", { n: amps(neutral.reading?.current_a) })),
          tag(neutral.severity))) : null);
  }

  #buses(lines, code) {
    return h("div", { class: "buses", "aria-hidden": "true", vars: { "--columns": lines.length } },
      lines.map(({ line }) => h("i", { class: "bus", "data-colour": slug(colourOf(code, line)) })));
  }

  #columns(boardId, lines, held, placing) {
    const one = held.filter((o) => o.outlet.lines.length === 1);
    const several = held.filter((o) => o.outlet.lines.length > 1);
    // Row by row, so that the tab key and a reader go along the box as the eye does.
    const depth = Math.max(0, ...lines.map(({ own }) => one.filter((o) => o.outlet.lines[0] === own).length));
    const cells = Array.from({ length: depth }, (_, index) => lines.map(({ own }, column) =>
      [one.filter((o) => o.outlet.lines[0] === own)[index], column])).flat();
    return [
      one.length ? h("div", { class: "columns", vars: { "--columns": lines.length } },
        cells.filter(([o]) => o).map(([o, column]) =>
          h("div", { class: "cell", vars: { "--column": column + 1 } }, this.#tile(boardId, o, placing)))) : null,
      several.map((o) => this.#tile(boardId, o, placing)),
    ];
  }

  #tile(boardId, { outlet, held, boards, reading, severity, fault, lit }, placing) {
    const free = !held.length && !boards.length;
    return h("button", {
      type: "button",
      class: ["tile", free ? "free" : "used", outlet.lines.length > 1 ? "wide" : ""].join(" "),
      "data-key": `outlet:${boardId}/${outlet.id}`,
      "data-severity": fault ? "fail" : severity,
      "data-lit": lit ? "true" : null,
      on: { click: () => tell(this, "outlet", outlet.id) },
    },
      h("span", { class: "tile-head" },
        h("span", { class: "tile-id" }, h("span", { class: "heard" }, t("face.outlet")), outletName(outlet.id)),
        h("span", { class: "tile-rating" }, t("amps", { n: plain(outlet.rating_a) }))),
      // The place in words: column and colour say it to the eye only.
      h("span", { class: outlet.lines.length > 1 ? "tile-lines" : "heard" }, outlet.lines.join("–")),
      held.map((item) => h("span", { class: item.off ? "tile-lamp off" : "tile-lamp" },
        h("b", {}, item.name), quoted("span", { class: "tile-what" }, item.what),
        item.off ? h("em", {}, t("face.off")) : null)),
      boards.map((id) => h("span", { class: "tile-lamp" },
        h("b", {}, `→ ${id}`), h("span", { class: "tile-what" }, t("face.board")))),
      free ? h("span", { class: "tile-free" }, placing ? t("face.here") : t("face.free")) : null,
      free ? null : h("span", { class: "tile-foot" },
        reading ? h("span", { class: "figure" }, big(amps(reading.current_a), "A")) : null,
        fault ? h("span", { class: "tag", "data-severity": "fail" }, t("face.fault")) : tag(severity)));
  }
}

customElements.define("eb-face", Face);
