// What a plan says: before and after, what it takes, how sure that is, and what finds no place.

import { h } from "../dom.js";
import { amps } from "../format.js";
import "../parts/compare.js";
import { englishNote, quoted } from "../parts/service.js";
import { t } from "../text.js";
import { limitOf } from "./readings.js";

const LEVELS = ["placed", "worst_phase", "largest_spread", "sum_of_spreads", "moves"];

/** `named(id)` is what a lamp is called; `code` the colour code shown; `old` whether it is stale. */
export function resultOf({ answer }, { layout, region, code, named, old }) {
  const { before, after, unplaced, why } = answer;
  return [
    h("h2", {}, t("plan.result")),
    englishNote(unplaced.length || why.length || answer.steps.length),
    h("p", { class: "sum" }, summary(answer)),
    h("p", { class: "plan-verdict" }, t("plan.verdict",
      { before: t(`verdict.${before.verdict}`), after: t(`verdict.${after.verdict}`) })),
    h("div", { class: old ? "old" : "" },
      h("eb-compare", {}).show({ lines: lines(before, after), code, limitPct: limitOf(layout, region) })),
    h("p", { class: "aside" }, captions(answer, layout)),
    unplaced.length ? h("section", { class: "unplaced" },
      h("h3", {}, t("plan.unplaced", { n: unplaced.length })),
      h("ul", { class: "points" }, unplaced.map(({ load, why: words }) =>
        h("li", {}, h("b", {}, named(load)), quoted("span", {}, words))))) : null,
    why.length ? h("section", { class: "why" },
      h("h3", {}, t("plan.why")), h("ul", { class: "points" }, why.map((words) => quoted("li", {}, words)))) : null,
    h("section", { class: "proof" }, h("h3", {}, t("plan.proof")), proof(answer).map((words) => h("p", {}, words))),
  ];
}

function summary({ moves, steps, assignments, target_met: met }) {
  const plugged = assignments.filter((each) => each.action === "plug-in").length;
  return [
    steps.length ? t(moves ? "plan.moves" : "plan.moves.none", { n: moves }) : t("plan.nothing"),
    plugged ? t("plan.plugged", { n: plugged }) : null,
    met === true ? t("plan.target.met") : met === false ? t("plan.target.missed") : null,
  ].filter(Boolean).join(" ");
}

function lines(before, after) {
  const phase = (answer, name) => answer.phases.find((each) => each.phase === name);
  return [
    ...after.phases.map(({ phase: line }) => ({ line, before: phase(before, line), after: phase(after, line) })),
    ...(after.neutral ? [{ line: "N", before: before.neutral, after: after.neutral }] : []),
  ];
}

function captions({ before, after, assignments, steps, unplaced, spread_a: spread }, layout) {
  // One that stays out and has a step was plugged before.
  const loose = assignments.filter((a) => a.action === "plug-in").length
    + unplaced.filter(({ load }) => !steps.some((step) => step.load === load)).length;
  return [
    layout.setups?.length ? t("plan.bars.worst", { before: before.worst_setup.phases, after: after.worst_setup.phases })
      : t("plan.bars.one"),
    after.phases.length > 1 ? t("plan.spread", { n: amps(spread) }) : null,
    loose ? t("plan.before.loose", { n: loose }) : null,
  ].filter(Boolean).join(" ");
}

function proof({ proven, proven_optimal: all, lower_bound_a: bound, worst_phase_a: highest }) {
  if (all) return [t("plan.proof.all")];
  const listed = (wanted) => LEVELS.filter((level) => proven[level] === wanted)
    .map((level) => t(`proof.${level}`)).join(t("or"));
  const sure = listed(true);
  return [
    sure ? t("plan.proof.some", { levels: sure }) : null,
    t("plan.proof.not", { levels: listed(false) }),
    proven.worst_phase ? null : t("plan.proof.bound", { n: amps(bound), is: amps(highest) }),
  ].filter(Boolean);
}
