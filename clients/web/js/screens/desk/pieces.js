// How a piece of equipment is said in words, wherever it is listed.

import { h } from "../../dom.js";
import { dayWords, plain } from "../../format.js";
import { quoted } from "../../parts/service.js";
import { t } from "../../text.js";

export const KINDS = ["cable", "board", "adapter", "multi-way", "fixture", "other"];
export const STATES = ["in-service", "out", "withdrawn", "missing", "retired"];
export const FOUND = ["deformed", "kinked", "heat-marks", "sheath-cut", "connector-burnt", "wet", "missing", "failed-test", "other"];
export const CAUSES = ["uneven-phases", "overload", "coiled-under-load", "contact-heat", "crush", "cut", "pull", "twist",
  "water", "chemical-uv", "age", "mislaid", "no-defect", "unknown"];

export const piecePlace = (tag) => `#/equipment/${encodeURIComponent(tag)}`;

/** What it is: its own name, or its type, size and length. */
export function sizeWords(piece) {
  const size = [piece.cable ?? piece.board ?? piece.fixture, piece.csa_mm2 ? t("mm2", { n: plain(piece.csa_mm2) }) : null,
    piece.length_m ? t("metres", { n: plain(piece.length_m) }) : null].filter(Boolean).join(" ");
  return [piece.name, size].filter(Boolean).join(", ") || t(`kind.piece.${piece.kind}`, {}, piece.kind);
}

/** Where it is and whether it may go out, as a mark. */
export function stateTag(piece) {
  const bad = ["withdrawn", "missing"].includes(piece.state);
  const overdue = piece.days_overdue > 0 && !["retired", "withdrawn"].includes(piece.state);
  return [
    h("span", { class: "tag", "data-severity": bad ? "fail" : "note" }, t(`state.${piece.state}`, {}, piece.state)),
    piece.hire ? [" ", h("span", { class: "aside" }, piece.hire.order_ref)] : null,
    overdue ? [" ", h("span", { class: "tag", "data-severity": "caution" }, t("due.over", { n: piece.days_overdue }))] : null,
  ];
}

export const dueWords = (piece) =>
  (["withdrawn", "missing", "retired"].includes(piece.state) ? t("none") : dayWords(piece.test_due_on));

/** What came of a deed, in the service's words; in `said` where it has none. */
export const outcome = ({ event, said = t("done.already"), warnings }) => [
  h("p", {}, event ? quoted("b", {}, event.words.join(" ")) : h("b", {}, said)),
  warnings.map((each) => quoted("p", { class: "caution" }, each)),
];
