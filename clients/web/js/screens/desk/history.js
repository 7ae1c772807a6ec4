// What a piece has been through: its orders with how unevenly it ran on them, and all that happened, the latest first.

import { h } from "../../dom.js";
import { dayWords, figure, momentWords } from "../../format.js";
import { deskTable } from "../../parts/desk-table.js";
import { englishNote, quoted } from "../../parts/service.js";
import { t } from "../../text.js";
import { orderPlace } from "./orders.js";
import { photoRow } from "./photofield.js";

const MEASURED = [["continuity_ohm", "Ω"], ["insulation_mohm", "MΩ"], ["loop_impedance_ohm", "Ω"]];

/** `past` is what the service tells of the piece, `photos` those it has. */
export function historySection(piece, past, photos, signal) {
  const known = new Map(photos.map((each) => [each.id, each]));
  const said = (event) => [
    event.more.note,
    ...MEASURED.filter(([name]) => typeof event.more[name] === "number").map(([name, unit]) => `${t(`measured.${name}`)} ${figure(event.more[name], 2)} ${unit}`),
    event.more.polarity ? t(`measured.polarity.${event.more.polarity}`, {}, event.more.polarity) : null,
  ].filter(Boolean).join(". ");

  return [
    past.orders.length ? h("section", { class: "uneven" }, h("h2", {}, t("uneven.title")),
      h("p", {}, past.likely_to_deform ? h("span", { class: "tag", "data-severity": "caution" }, t("uneven.yes")) : null, " ",
        t("uneven.total", { n: figure(past.spread_kh), most: figure(past.deforms_kh) })),
      deskTable(t("uneven.title"), [
        { words: t("uneven.order"), cell: (o) => h("a", { class: "row-link", href: orderPlace(o.order_ref) }, o.order_ref) },
        { words: t("uneven.out"), cell: (o) => (o.out_at ? [dayWords(o.out_at.slice(0, 10)), " – ", o.back_at ? dayWords(o.back_at.slice(0, 10)) : t("uneven.still")] : t("uneven.planned")) },
        { words: t("uneven.found"), cell: (o) => (o.found ? o.found.map((code) => t(`found.${code}`, {}, code)).join(", ") : null) },
        { words: t("uneven.ran"), figure: true, cell: (o) => (o.runs.length ? t("kh", { n: figure(o.spread_kh) }) : t("uneven.unknown")) },
        { words: t("uneven.sum"), figure: true, cell: (o) => t("kh", { n: figure(o.total_kh) }) },
      ], past.orders),
      h("details", { "data-key": "basis" }, h("summary", {}, t("uneven.basis")), quoted("p", { class: "hint" }, past.basis),
        h("ul", { class: "points" }, past.orders.flatMap((order) => order.runs.map((run) => h("li", {},
          t("uneven.run", { ref: order.order_ref, board: run.board, setup: run.setup, k: figure(run.core_spread_k, 1), h: figure(run.hours_per_day_h, 1), days: run.days, kh: figure(run.spread_kh) }),
          run.counts ? null : [" ", h("span", { class: "aside" }, t("uneven.superseded"))])))))) : null,
    h("section", {}, h("h2", {}, t("history.title")), englishNote(past.events.length),
      h("ol", { class: "desk-rows events", reversed: true }, past.events.toReversed().map((event) => h("li", {},
        quoted("p", {}, event.words.join(" ")),
        said(event) ? h("p", { class: "aside" }, said(event)) : null,
        event.more.photos?.length ? photoRow(piece.tag, event.more.photos.map((id) => known.get(id) ?? { id }), signal) : null,
        h("p", { class: "aside" }, t("report.by", { name: event.by, when: momentWords(event.at) })))))),
  ];
}
