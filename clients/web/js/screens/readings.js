// From the layout and the service's answer to what the parts draw. It picks and names; it computes
// no figure.

import { figure, outletName, plain } from "../format.js";
import { burnsIn, label, linesOf, occupants, outletsOf, path, supplyLine } from "../layout.js";
import { quoted } from "../parts/service.js";
import { worst } from "../parts/severity.js";
import { simpleReading } from "../simple-sum.js";
import { t } from "../text.js";
import { worksheet } from "../worksheet.js";
import { kindOf } from "./load.js";

/** Where the working limit is marked on a column: the layout's own, else the region's. */
export const limitOf = (layout, region) =>
  layout.limits?.phase_loading_pct ?? region?.limits?.phase_loading_pct ?? 80;

/** The findings; where a layout names no set-ups the one there is goes without saying. */
export function findingsOf(layout, answer) {
  const all = answer?.findings ?? [];
  return layout.setups?.length ? all : all.map((f) => ({ ...f, where: { ...f.where, setup: null } }));
}

/**
 * What a board takes in, as `{told, setup}`: in the set-up asked for, where the answer has that, else
 * in the board's own worst. The answer has each set-up of the supply, which is the board's where
 * there is but one on it.
 */
function intake(layout, answer, b, setup) {
  const alone = !b.fed_from && layout.boards.filter((each) => !each.fed_from).length === 1;
  const said = setup && alone ? answer?.setups?.find((each) => each.id === setup) : null;
  if (said) return { told: said, setup };
  const own = answer?.boards?.find((each) => each.id === b.id);
  return { told: own, setup: own?.setup ?? null };
}

/** Which set-up the columns show, in words; nothing where there is but one. */
export function setupWords(layout, answer, b, setup) {
  if (!layout.setups?.length) return null;
  const shown = intake(layout, answer, b, setup).setup;
  if (!shown) return null;
  return t(setup && shown === setup ? "gauges.setup" : "gauges.setup.worst", { name: shown });
}

/** `sum`: the simple sum, where it stands in for an answer that has not come. */
export function gaugesOf({ layout, types, b, setup, answer, findings, lit, sum = null }) {
  const { told } = intake(layout, answer, b, setup);
  const here = findings.filter((f) => (!f.where?.board || f.where.board === b.id)
    && !f.where?.outlet && !f.where?.load && (!setup || !f.where?.setup || f.where.setup === setup));
  const at = (name) => worst(here.filter((f) => f.where?.phase === name));
  // A finding of the board as a whole lights all its columns.
  const litHere = lit && (!lit.board || lit.board === b.id) && !lit.outlet && !lit.load;
  const lights = (name) => litHere && (lit.phase ? lit.phase === name : name !== "N");
  const said = (own) => told?.phases?.find((phase) => phase.phase === own);
  if (sum) {
    // It judges nothing, and a neutral is no sum.
    return {
      phases: linesOf(b, types).map((own) => ({
        own, line: supplyLine(layout, types, b.id, own), lit: lights(own),
        reading: simpleReading(sum.boards.get(b.id)?.[own], said(own)?.rating_a ?? ratingOf(b, layout)),
      })),
      neutral: null,
    };
  }
  return {
    phases: linesOf(b, types).map((own) => ({
      own, line: supplyLine(layout, types, b.id, own), severity: at(own), lit: lights(own), reading: said(own),
    })),
    neutral: told && !told.neutral ? null : { reading: told?.neutral, severity: at("N"), lit: lights("N") },
  };
}

/** What a board's lines are rated before the service has said: the supply's, where it hangs on that. */
const ratingOf = (b, layout) => (b.fed_from ? null : layout.supply.rating_a ?? null);

/** The supply itself, for when several boards hang on it. */
export function supplyGauges({ region, layout, answer, findings, setup, sum = null }) {
  const told = (setup ? answer?.setups?.find((each) => each.id === setup) : null) ?? answer;
  const here = findings.filter((f) => !f.where?.board && !f.where?.load);
  const at = (name) => worst(here.filter((f) => f.where?.phase === name));
  const lines = region?.systems?.find((s) => s.system === layout.supply.system)?.lines ?? [];
  if (sum) {
    return {
      phases: lines.map((own) => ({ own, line: own, reading: simpleReading(sum.supply[own], layout.supply.rating_a) })),
      neutral: null,
    };
  }
  return {
    phases: lines.map((own) => ({
      own, line: own, reading: told?.phases?.find((phase) => phase.phase === own),
      severity: at(own),
    })),
    neutral: told?.neutral ? { reading: told.neutral, severity: at("N") } : null,
  };
}

export function tileOf({ layout, b, outlet, answer, findings, setup, lit, fixtures }) {
  const { loads, boards } = occupants(layout, b.id, outlet.id);
  const here = findings.filter((f) => loads.some((l) => l.id === f.where?.load)
    || (f.where?.board === b.id && f.where?.outlet === outlet.id));
  return {
    outlet, boards: boards.map((each) => each.id),
    held: loads.map((l) => ({
      name: label(l), what: what(l, fixtures), off: setup ? !burnsIn(l, setup) : l.setups?.length === 0,
    })),
    reading: answer?.boards?.find((each) => each.id === b.id)?.outlets?.find((o) => o.id === outlet.id),
    severity: worst(here),
    fault: loads.some((l) => worksheet.faultsUnder(path("loads", l.id)).length),
    lit: lit && (loads.some((l) => l.id === lit.load) || (lit.board === b.id && lit.outlet === outlet.id)),
  };
}

/** The rating that the columns are measured by, and where its working limit is marked. */
export function ratingWords(answer, b, layout) {
  const phases = intake(layout, answer, b, null).told?.phases ?? [];
  const rating = phases[0]?.rating_a ?? ratingOf(b, layout);
  if (typeof rating !== "number") return null;
  return t(phases.length > 1 ? "gauges.rated.each" : "gauges.rated", { n: plain(rating) });
}

function what(l, fixtures) {
  const count = l.count > 1 ? `${plain(l.count)} × ` : "";
  const dimmed = typeof l.dimmed_to === "number" && l.dimmed_to < 1;
  const level = dimmed ? ` · ${plain(Math.round(l.dimmed_to * 100))} %` : "";
  return `${count}${kindOf(l, fixtures)}${level}`;
}

/** A board in a line: its type, what feeds it, the cable's capacity as the service has it. */
export function boardWords(b, types, answer) {
  const told = answer?.boards?.find((each) => each.id === b.id);
  const run = b.feeder;
  const size = run?.csa_mm2 ? t("mm2", { n: plain(run.csa_mm2) }) : t("run.spelled");
  const capacity = told?.feeder?.capacity_a;
  return [
    b.outlets ? t("board.spelled", { n: outletsOf(b, types).length }) : quoted("span", {}, types.get(b.type)?.name ?? b.type),
    b.fed_from ? t("board.fed", { board: b.fed_from.board, outlet: outletName(b.fed_from.outlet) }) : null,
    run ? t("board.run", { m: plain(run.length_m), size }) : t("board.no-run"),
    run?.laid === "coiled" ? t("board.coiled", { n: plain(run.coil_layers) }) : null,
    typeof capacity === "number" ? t("board.capacity", { n: figure(capacity) }) : null,
  ].filter(Boolean).map((each, index) => [index ? " · " : "", each]);
}
