// One outlet: what is in it, and what may go in: a lamp from the table, one from the list, something
// with a plate, or a sub-board or multi-way lead.

import { button, h } from "../dom.js";
import { outletName, plain } from "../format.js";
import {
  addBoard, addLoad, board, isLoose, label, load, occupants, outletsOf, plug, removeBoard, swap, unplug,
} from "../layout.js";
import { numberField, textField } from "../parts/field.js";
import { openSheet } from "../parts/sheet.js";
import { remember } from "../reference.js";
import { quoted } from "../parts/service.js";
import { t } from "../text.js";
import { worksheet } from "../worksheet.js";
import { stem } from "./lamp.js";
import { kindOf } from "./load.js";
import { lampSearch, NO_QUERY } from "./search.js";

const LINES = { "three-phase": 3, "three-wire": 2, "single-phase": 1 };

/** The sheet of an outlet. `edit(id)` opens a load, `show(boardId)` shows a board. */
export function openOutlet(boardId, outletId, { regions, types, fixtures, edit, show }) {
  const { layout } = worksheet;
  const region = regions.get(layout.region);
  const outlet = outletsOf(board(layout, boardId), types).find((o) => o.id === outletId);
  const held = occupants(layout, boardId, outletId);
  const full = held.loads.length + held.boards.length > 0;
  const search = full ? null : lampSearch({
    region, voltage: layout.supply.voltage_v,
    query: { ...NO_QUERY, max_current_a: outlet.lines.length === 1 ? outlet.rating_a : null },
  });
  openSheet(t("outlet.title", { name: outletName(outletId) }), (close) => {
    const done = (change) => { worksheet.edit(change); close(); };
    const add = (what, name) =>
      done((l) => addLoad(l, { ...what, board: boardId, outlet: outletId }, name)[0]);
    search?.node.addEventListener("pick", ({ detail }) => {
      remember(detail);
      add({ fixture: detail.slug }, stem(detail));
    });
    const named = (l) => [h("b", {}, label(l)), " ", quoted("span", {}, kindOf(l, fixtures))];
    const loose = layout.loads.filter(isLoose);
    return h("div", { class: "form" },
      h("p", { class: "aside" }, describe(outlet, region)),
      held.loads.map((l) => button(named(l), () => { close(); edit(l.id); }, { class: "item" })),
      held.boards.map((b) => h("div", { class: "keys" },
        button(t("outlet.show", { name: b.id }), () => { close(); show(b.id); }, { class: "item" }),
        button(t("outlet.unplug"), () => done((l) => removeBoard(l, b.id)), { class: "key-text" }))),
      full ? h("p", { class: "caution" }, t("outlet.full")) : null,
      loose.length ? h("h3", {}, t("outlet.loose")) : null,
      loose.map((l) => button(named(l), () => done((x) => plug(x, l.id, boardId, outletId)), { class: "item" })),
      // Before the list of lamps, which is long.
      h("div", {},
        subBoards(boardsFor(outlet, types, region), (type) => { close(); show(hang(type, boardId, outlet)); }),
        h("details", { "data-key": "plate" }, h("summary", {}, t("outlet.plate")), plateForm(add))),
      search ? [h("h3", {}, t("outlet.find")), search.node] : null);
  }, () => search?.close());
}

/** Two plugs for one outlet: swap them, or share it and let the service say what that means. */
export function openTaken(id, otherId, boardId, outletId, onClosed) {
  const mine = load(worksheet.layout, id);
  const other = load(worksheet.layout, otherId);
  openSheet(t("full.title", { name: outletName(outletId) }), (close) => {
    const key = (words, change) => button(words, () => { worksheet.edit(change); close(); }, { class: "item" });
    return h("div", { class: "form" },
      h("p", {}, t("full.words", { name: label(other) })),
      isLoose(mine)
        ? key(t("full.replace", { name: label(other) }), (l) => plug(unplug(l, otherId), id, boardId, outletId))
        : key(t("full.swap", { one: label(mine), other: label(other) }), (l) => swap(l, id, otherId)),
      key(t("full.both"), (l) => plug(l, id, boardId, outletId)));
  }, onClosed);
}

/** Board types that may hang on an outlet: same number of lines, and a plug that goes in where known. */
function boardsFor(outlet, types, region) {
  const standards = region?.outlets ?? [];
  const into = standards.find((o) => o.id === outlet.connector);
  const goesIn = (plugId) => !into || !plugId || into.id === plugId || into.accepts?.includes(plugId)
    || !standards.some((o) => o.id === plugId);
  return [...types.values()].filter((type) => (!type.regions?.length || type.regions.includes(region?.id))
    && LINES[type.system] === outlet.lines.length && goesIn(type.inlet));
}

function subBoards(fitting, choose) {
  if (!fitting.length) return null;
  return h("details", { "data-key": "boards" },
    h("summary", {}, t("outlet.boards")),
    h("div", { class: "form" }, fitting.map((type) => button(quoted("span", {}, type.name), () => choose(type), { class: "item" }))));
}

/** Hang a board on an outlet; what was in it moves to the first outlet of what now goes between. */
function hang(type, boardId, outlet) {
  let id;
  worksheet.edit((layout) => {
    const held = occupants(layout, boardId, outlet.id).loads;
    const first = type.outlets.find((o) => o.lines.length === outlet.lines.length) ?? type.outlets[0];
    const fedFrom = { board: boardId, outlet: outlet.id };
    [layout, id] = addBoard(layout, { type: type.id, fedFrom, stem: type.id });
    return held.reduce((next, l) => plug(next, l.id, id, first.id), layout);
  });
  return id;
}

function plateForm(add) {
  const said = { name: "", power_w: undefined, power_factor: 1 };
  const fault = h("p", { class: "fault", hidden: true });
  const submit = (event) => {
    event.preventDefault();
    const missing = !said.name || said.power_w === undefined || said.power_factor === undefined;
    fault.hidden = !missing;
    fault.textContent = missing ? t("custom.missing") : "";
    if (!missing) add({ custom: said }, said.name.slice(0, 24).trim());
  };
  return h("form", { class: "form", on: { submit } },
    textField(t("custom.name"), { change: (name) => { said.name = name; } }),
    numberField(t("custom.power"), { unit: "W", required: true, change: (power) => { said.power_w = power; } }),
    numberField(t("custom.pf"), {
      value: 1, required: true, hint: t("custom.pf.hint"), change: (pf) => { said.power_factor = pf; },
    }),
    fault,
    h("button", { type: "submit", class: "key-text" }, t("custom.plug")));
}

function describe(outlet, region) {
  const standard = region?.outlets?.find((o) => o.id === outlet.connector);
  const { breaker } = outlet;
  return [
    outlet.lines.join("–"),
    standard ? quoted("span", {}, standard.name) : t("amps", { n: plain(outlet.rating_a) }),
    outlet.row ? t(`row.${outlet.row}`) : null,
    breaker ? t("outlet.breaker", { n: plain(breaker.rating_a), curve: breaker.curve ?? "C" }) : null,
    outlet.rcd ? t("outlet.rcd", { name: outlet.rcd }) : null,
    outlet.neutral === false ? t("outlet.no-neutral") : null,
  ].filter(Boolean).map((each, index) => [index ? " · " : "", each]);
}
