// What stands around the board's face: supply, boards, set-ups, the lamps on the table, and what the
// service could not read.

import { burning } from "../burning.js";
import { button, h } from "../dom.js";
import { plain } from "../format.js";
import { board, isLoose, label, load, path } from "../layout.js";
import { worst } from "../parts/severity.js";
import { englishNote, quoted } from "../parts/service.js";
import { t } from "../text.js";
import { worksheet } from "../worksheet.js";
import { kindOf } from "./load.js";
import { OWN_FIELDS } from "./supply.js";

/** The supply in a line; a tap changes it. */
export function supplyKey(layout, region, open) {
  const { supply } = layout;
  const wrong = worksheet.faultsUnder("supply").length + worksheet.faultsUnder("region").length;
  const words = [
    t(`system.short.${supply.system ?? "three-phase"}`),
    supply.voltage_v ? t("volts", { n: plain(supply.voltage_v) }) : null,
    quoted("span", {}, region?.name ?? layout.region),
  ];
  return button([
    h("span", { class: "supply-rating figure" }, t("amps", { n: plain(supply.rating_a) })),
    h("span", {}, t(`kind.${supply.kind}`, {}, supply.kind ?? ""),
      h("span", { class: "aside" }, words.filter(Boolean).map((each, index) => [index ? " · " : "", each]))),
    h("span", { class: "heard" }, t("change")),
  ], open, { class: "supply", key: "supply", "data-severity": wrong ? "fail" : null });
}

/** One key a board, with what feeds it and whether something is wrong there. */
export function boardKeys(layout, current, findings) {
  return h("div", { class: "chips", role: "group", "aria-label": t("boards.label") }, layout.boards.map((b) => {
    const severity = worksheet.faultsUnder(path("boards", b.id)).length ? "fail"
      : worst(findings.filter((f) => f.where?.board === b.id));
    return button([
      b.fed_from ? `${b.fed_from.board} → ` : "",
      h("b", {}, b.id),
      severity && severity !== "note" ? ` · ${t(`severity.${severity}`)}` : "",
    ], () => worksheet.look({ board: b.id }), { class: "chip", key: `board:${b.id}`, pressed: b.id === current.id });
  }));
}

/** One key a set-up, to see its figures, and one to change them. */
export function setupKeys(layout, shown, open) {
  const some = layout.setups?.length > 0;
  const now = burning();
  const see = (id, words) => button(words, () => worksheet.look({ setup: id }),
    { class: "chip", key: `see:${id}`, pressed: shown === id });
  return h("div", { class: "chips", role: "group", "aria-label": t("setups.see") },
    some ? [see(null, t("setups.worst")), layout.setups.map((s) =>
      see(s.id, s.id === now ? [s.id, h("span", { class: "burns" }, t("setups.burns"))] : s.id))] : null,
    button(t(some ? "setups.change" : "setups.make"), open,
      { class: "chip plain", key: "setups", label: some ? t("setups.change.all") : null }));
}

/** The lamps that are on the list but in no outlet. */
export function table(layout, { fixtures, placing, place, edit }) {
  const loose = layout.loads.filter(isLoose);
  return h("section", { class: "table" },
    h("h3", {}, t("table.title")),
    loose.length ? h("ul", {}, loose.map((l) => h("li", { class: "keys" },
      button([
        h("b", {}, label(l)), " ", quoted("span", {}, kindOf(l, fixtures)), h("span", { class: "aside" }, ` · ${t("table.plug")}`),
      ], () => place(l.id), { class: "item", key: `loose:${l.id}`, pressed: placing === l.id }),
      button(t("change"), () => edit(l.id),
        { class: "key-text", key: `edit:${l.id}`, label: t("table.edit", { name: label(l) }) }))))
      : h("p", { class: "aside" }, t("table.none")),
    loose.length ? h("a", { class: "key-text", href: "#/plan/place" }, t("plan.place", { n: loose.length })) : null,
    h("a", { class: "key-text", href: "#/lamps" }, t("table.find")));
}

/** What the service could not read, each with the place it belongs to. */
export function faultList(layout, { openLoad, openBoard, openSupply }) {
  if (!worksheet.faults.size) return null;
  return [englishNote(), h("ul", { class: "fault-list" }, [...worksheet.faults].map(([at, words]) => {
    const [kind, id] = at.split("/").map(decodeURIComponent);
    const whole = (place) => [h("b", {}, place), " ", quoted("span", {}, words)];
    const tap = (place, open) => h("li", {}, button(whole(place), open, { class: "item", key: `fault:${at}` }));
    const l = kind === "loads" ? load(layout, id) : null;
    if (l) return tap(label(l), () => openLoad(id));
    if (kind === "boards" && board(layout, id)) return tap(id, () => openBoard(id));
    const place = t(`fault.place.${kind}`, {}, kind);
    return OWN_FIELDS.includes(kind) ? tap(place, openSupply) : h("li", {}, whole(place));
  }))];
}

/** While a lamp is being placed: which, and how to give up. */
export const placingBar = (l, fixtures, giveUp) => h("div", { class: "placing-bar", role: "status" },
  h("p", {}, t("placing.words", { id: label(l), name: kindOf(l, fixtures) })),
  button(t("placing.cancel"), giveUp, { class: "key-text", key: "cancel" }));
