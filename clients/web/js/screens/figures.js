// The tables below the board: room left in lamps, and all the figures for whoever wants them.

import { h } from "../dom.js";
import { amps, figure, percent, plain } from "../format.js";
import { quoted } from "../parts/service.js";
import { t } from "../text.js";

const known = (value) => typeof value === "number";
const heads = (words) => words.map((word) => h("th", { scope: "col" }, word));
const cell = (text) => h("td", { class: "figure" }, text);

/** How many more of the common lamps each phase of the supply takes. */
export function roomTable(answer) {
  const phases = (answer?.phases ?? []).filter((phase) => phase.room_for?.length);
  if (!phases.length) return null;
  const room = (phase, fixture) => phase.room_for.find((each) => each.fixture === fixture)?.count;
  return h("section", {},
    h("h2", {}, t("room.title")),
    h("table", { class: "figures" },
      h("thead", {}, h("tr", {}, heads([t("room.lamp"), ...phases.map((phase) => phase.phase)]))),
      h("tbody", {}, phases[0].room_for.map(({ fixture, name }) => h("tr", {},
        quoted("th", { scope: "row" }, name),
        phases.map((phase) => cell(plain(room(phase, fixture)))))))));
}

/** Everything the service says of a board: per line, then as a whole. */
export function figuresTable(answer, b) {
  const told = answer?.boards?.find((each) => each.id === b.id);
  if (!told) return null;
  return h("details", { class: "all-figures", "data-key": "figures" },
    h("summary", {}, t("figures.title")),
    h("div", { class: "form" },
      perLine(told, answer.open_neutral),
      asWhole(told, answer),
      leakage(told.rcds ?? []),
      h("p", { class: "aside" },
        t("figures.version", { engine: answer.engine_version, catalogue: answer.catalogue_version }))));
}

function perLine(told, open) {
  const { phases, neutral, voltage_v: volts, voltage_drop_pct: drop, feeder } = told;
  const lines = phases.map((phase) => phase.phase);
  const cores = feeder?.core_temperature_c;
  // A row nobody has a figure for is left out; the neutral has figures in some rows only.
  const row = (words, figures, form, ofNeutral) => (figures.some(known) || known(ofNeutral) ? h("tr", {},
    h("th", { scope: "row" }, words),
    figures.map((value) => cell(form(value))),
    cell(known(ofNeutral) ? form(ofNeutral) : "")) : null);
  const ofPhases = (name) => phases.map((phase) => phase[name]);
  const byLine = (table) => lines.map((line) => table?.[line]);
  return h("table", { class: "figures" },
    h("thead", {}, h("tr", {}, h("td", {}), heads([...lines, "N"]))),
    h("tbody", {},
      row(t("figures.current"), ofPhases("current_a"), amps, neutral?.current_a),
      row(t("figures.power"), ofPhases("power_w"), figure),
      row(t("figures.apparent"), ofPhases("apparent_va"), figure),
      row(t("figures.pf"), ofPhases("power_factor"), (value) => figure(value, 2)),
      row(t("figures.volts"), byLine(volts), (value) => figure(value, 1), told.neutral_to_earth_v),
      row(t("figures.drop"), byLine(drop), percent),
      row(t("figures.core"), byLine(cores), figure, cores?.N),
      row(t("figures.open"), byLine(open?.voltage_v), figure)));
}

function asWhole({ feeder, unbalance }, { energy }) {
  const rows = [
    [unbalance?.spread_a, "figures.spread",
      () => t("figures.spread.n", { a: amps(unbalance.spread_a), pct: percent(unbalance.spread_pct) })],
    [unbalance?.current_pct, "figures.mean", (value) => t("percent", { n: percent(value) })],
    [unbalance?.negative_sequence_pct, "figures.negative", (value) => t("percent", { n: percent(value) })],
    [feeder?.loss_w, "figures.loss", (value) => t("watts", { n: figure(value) })],
    [feeder?.core_spread_k, "figures.corespread",
      (value) => t("figures.corespread.n", {
        k: figure(value, 1), mm: figure(feeder.differential_expansion_mm, 1) })],
    [energy?.energy_kwh, "figures.energy",
      (value) => t("figures.energy.n", {
        kwh: figure(value), h: plain(energy.hours_h), loss: figure(energy.loss_kwh, 1) })],
  ];
  return h("dl", { class: "facts" }, rows.filter(([value]) => known(value)).map(([value, name, words]) =>
    [h("dt", {}, t(name)), h("dd", {}, words(value))]));
}

function leakage(rcds) {
  if (!rcds.length) return null;
  const words = rcds.map(({ id, leakage_ma: n, rated_residual_ma: rated }) =>
    t("figures.leakage.n", { id, n: figure(n, 1), rated: plain(rated) }));
  return h("p", {}, h("b", {}, t("figures.leakage")), " ", words.join(" · "));
}
