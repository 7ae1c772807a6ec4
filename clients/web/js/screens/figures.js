// The tables below the board: room left in lamps, and all the figures for whoever wants them.

import { h } from "../dom.js";
import { amps, figure, percent, plain } from "../format.js";
import { conductor } from "../parts/conductor.js";
import { t } from "../text.js";

const boardOf = (answer, b) => answer?.boards?.find((each) => each.id === b.id);

/** How many more of the common lamps each phase takes. */
export function roomTable(answer, b, setup) {
  const told = setup ? answer?.setups?.find((s) => s.id === setup) : null;
  const phases = [told?.phases, boardOf(answer, b)?.phases, answer?.phases].find((list) => list?.some((p) => p.room_for?.length)) ?? [];
  const kinds = [...new Map(phases.flatMap((p) => p.room_for ?? []).map((room) => [room.fixture ?? room.name, room])).values()];
  if (!kinds.length) return null;
  return h("section", {},
    h("h2", {}, t("room.title")),
    h("table", { class: "figures" },
      h("thead", {}, h("tr", {}, h("th", { scope: "col" }, t("room.lamp")), phases.map((p) => h("th", { scope: "col" }, p.phase)))),
      h("tbody", {}, kinds.map((kind) => h("tr", {},
        h("th", { scope: "row" }, kind.name ?? kind.fixture),
        phases.map((p) => h("td", { class: "figure" }, plain(p.room_for.find((r) => (r.fixture ?? r.name) === (kind.fixture ?? kind.name))?.count))))))));
}

/** Everything the service says of a board, per line. */
export function figuresTable(answer, b, code) {
  const told = boardOf(answer, b);
  if (!told) return null;
  const lines = (told.phases ?? []).map((p) => p.phase);
  const each = (words, pick, form, neutral) => {
    const cells = lines.map((line, index) => pick(line, told.phases[index]));
    if (cells.every((cell) => typeof cell !== "number") && typeof neutral !== "number") return null;
    return h("tr", {}, h("th", { scope: "row" }, words), cells.map((cell) => h("td", { class: "figure" }, form(cell))),
      h("td", { class: "figure" }, neutral === undefined ? "" : form(neutral)));
  };
  const volts = (value) => figure(value, 1);
  const open = answer.open_neutral?.voltage_v;
  const { unbalance } = answer;
  return h("details", { class: "all-figures", "data-key": "figures" },
    h("summary", {}, t("figures.title")),
    h("div", { class: "form" }, h("table", { class: "figures" },
      h("thead", {}, h("tr", {}, h("td", {}), [...lines, "N"].map((line) => h("th", { scope: "col" }, line)))),
      h("tbody", {},
        each(t("figures.current"), (_, p) => p.current_a, amps, told.neutral?.current_a),
        each(t("figures.power"), (_, p) => p.power_w, figure),
        each(t("figures.apparent"), (_, p) => p.apparent_va, figure),
        each(t("figures.pf"), (_, p) => p.power_factor, (value) => figure(value, 2)),
        each(t("figures.volts"), (line) => told.voltage_v?.[line], volts, told.neutral_to_earth_v),
        each(t("figures.drop"), (line) => told.voltage_drop_pct?.[line], percent),
        each(t("figures.core"), (line) => told.feeder?.core_temperature_c?.[line], figure, told.feeder?.core_temperature_c?.N),
        open ? each(t("figures.open"), (line) => open[line], figure) : null)),
    h("dl", { class: "facts" }, [
      [t("figures.spread"), unbalance?.spread_a, () => t("figures.spread.n", { a: amps(unbalance.spread_a), pct: percent(unbalance.spread_pct) })],
      [t("figures.mean"), unbalance?.current_pct, () => t("percent", { n: percent(unbalance.current_pct) })],
      [t("figures.negative"), unbalance?.negative_sequence_pct, () => t("percent", { n: percent(unbalance.negative_sequence_pct) })],
      [t("figures.loss"), told.feeder?.loss_w, () => t("watts", { n: figure(told.feeder.loss_w) })],
      [t("figures.energy"), answer.energy?.energy_kwh, () => t("figures.energy.n", {
        kwh: figure(answer.energy.energy_kwh), h: plain(answer.energy.hours_h), loss: figure(answer.energy.loss_kwh, 1) })],
      [t("figures.corespread"), told.feeder?.core_spread_k, () => t("figures.corespread.n", {
        k: figure(told.feeder.core_spread_k, 1), mm: figure(told.feeder.differential_expansion_mm, 1) })],
    ].filter(([, value]) => typeof value === "number").map(([name, , words]) => [h("dt", {}, name), h("dd", {}, words())])),
    told.rcds?.length ? h("p", {}, h("b", {}, t("figures.leakage")), " ",
      told.rcds.map((rcd) => t("figures.leakage.n", { id: rcd.id, n: figure(rcd.leakage_ma, 1) })).join(" · ")) : null,
    h("p", { class: "aside" }, t("figures.version", { engine: answer.engine_version ?? "–", catalogue: answer.catalogue_version ?? "–" }))));
}
