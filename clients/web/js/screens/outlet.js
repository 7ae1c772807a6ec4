// One outlet: what is in it, and what may go in: a lamp from the table, one from the list, something
// with a plate, or a sub-board or multi-way lead.

import { h, redraw } from "../dom.js";
import { outletName, plain } from "../format.js";
import { addBoard, addLoad, board, isLoose, label, occupants, outletsOf, plug, removeBoard } from "../layout.js";
import { numberField, textField } from "../parts/field.js";
import { openSheet } from "../parts/sheet.js";
import { remember } from "../reference.js";
import { t } from "../text.js";
import { worksheet } from "../worksheet.js";
import { stem } from "./lamp.js";
import { kindOf } from "./load.js";
import { lampSearch } from "./search.js";

/** Board types that may hang on an outlet: same number of lines, and a plug that goes in where known. */
function boardsFor(outlet, types, region) {
  const lines = { "three-phase": 3, "three-wire": 2, "single-phase": 1 };
  const inlet = region?.outlets?.find((o) => o.id === outlet.connector);
  return [...types.values()]
    .filter((type) => !type.regions?.length || type.regions.includes(region?.id))
    .filter((type) => lines[type.system] === outlet.lines.length)
    .filter((type) => !inlet || !type.inlet || inlet.id === type.inlet || plugsInto(type.inlet, inlet, region));
}

const plugsInto = (plugId, outletStandard, region) =>
  outletStandard.accepts?.includes(plugId) || region.outlets.find((o) => o.id === plugId) === undefined;

/** The sheet of an outlet. `edit(id)` opens a load, `show(boardId)` shows a board. */
export function openOutlet(boardId, outletId, { regions, types, fixtures, edit, show }) {
  const region = regions.get(worksheet.layout.region);
  const outlet = outletsOf(board(worksheet.layout, boardId), types).find((o) => o.id === outletId);
  const body = h("div", { class: "form" });
  let search = null;

  function put(what, name, close) {
    worksheet.edit((layout) => addLoad(layout, { ...what, board: boardId, outlet: outletId }, name)[0]);
    close();
  }

  function draw(close) {
    const { layout } = worksheet;
    const held = occupants(layout, boardId, outletId);
    const loose = layout.loads.filter(isLoose);
    const full = held.loads.length + held.boards.length > 0;
    search = lampSearch({ region, voltage: layout.supply.voltage_v, query: { q: "", family: "", size_class: "", max_current_a: outlet.lines.length === 1 ? outlet.rating_a : null } });
    search.node.addEventListener("pick", (event) => {
      remember(event.detail);
      put({ fixture: event.detail.slug }, stem(event.detail), close);
    });
    redraw(body,
      h("p", { class: "aside" }, describe(outlet, region)),
      held.loads.map((l) => h("button", { type: "button", class: "item", on: { click: () => { close(); edit(l.id); } } },
        h("b", {}, label(l)), " ", kindOf(l, fixtures))),
      held.boards.map((b) => h("div", { class: "keys" },
        h("button", { type: "button", class: "item", on: { click: () => { close(); show(b.id); } } }, t("outlet.show", { name: b.id })),
        h("button", { type: "button", class: "key-text", on: { click: () => { worksheet.edit((x) => removeBoard(x, b.id)); close(); } } },
          t("outlet.unplug")))),
      full ? h("p", { class: "caution" }, t("outlet.full")) : null,
      loose.length ? [h("h3", {}, t("outlet.loose")), loose.map((l) => h("button", {
        type: "button", class: "item", on: { click: () => { worksheet.edit((x) => plug(x, l.id, boardId, outletId)); close(); } },
      }, h("b", {}, label(l)), " ", kindOf(l, fixtures)))] : null,
      // Before the list of lamps, which is long.
      h("div", {}, subBoards(close),
        h("details", { "data-key": "plate" }, h("summary", {}, t("outlet.plate")), plateForm(close))),
      full ? null : [h("h3", {}, t("outlet.find")), search.node]);
  }

  function plateForm(close) {
    const said = { name: "", power_w: undefined, power_factor: 1 };
    const fault = h("p", { class: "fault", hidden: true });
    return h("form", { class: "form", on: { submit: (event) => {
      event.preventDefault();
      const missing = !said.name || said.power_w === undefined;
      fault.hidden = !missing;
      fault.textContent = missing ? t("custom.missing") : "";
      if (!missing) put({ custom: said }, said.name.slice(0, 24).trim(), close);
    } } },
      textField(t("custom.name"), { change: (name) => { said.name = name; } }),
      numberField(t("custom.power"), { unit: "W", required: true, change: (power) => { said.power_w = power; } }),
      numberField(t("custom.pf"), { value: 1, required: true, hint: t("custom.pf.hint"), change: (pf) => { said.power_factor = pf; } }),
      fault,
      h("button", { type: "submit", class: "key-text" }, t("custom.plug")));
  }

  function subBoards(close) {
    const fitting = boardsFor(outlet, types, region);
    if (!fitting.length) return null;
    return h("details", { "data-key": "boards" },
      h("summary", {}, t("outlet.boards")),
      h("div", { class: "form" }, fitting.map((type) => h("button", { type: "button", class: "item", on: { click: () => {
        let id;
        worksheet.edit((layout) => {
          [layout, id] = addBoard(layout, { type: type.id, fedFrom: { board: boardId, outlet: outletId }, stem: type.id });
          // What was in this outlet moves to the first outlet of what now goes between.
          const first = type.outlets.find((o) => o.lines.length === outlet.lines.length) ?? type.outlets[0];
          for (const l of occupants(worksheet.layout, boardId, outletId).loads) layout = plug(layout, l.id, id, first.id);
          return layout;
        });
        close();
        show(id);
      } } }, type.name))));
  }

  openSheet(t("outlet.title", { name: outletName(outletId) }), (close) => { draw(close); return body; }, () => search?.close());
}

function describe(outlet, region) {
  const standard = region?.outlets?.find((o) => o.id === outlet.connector);
  return [
    outlet.lines.join("–"), standard?.name ?? t("amps", { n: plain(outlet.rating_a) }), outlet.row ? t(`row.${outlet.row}`) : null,
    outlet.breaker ? t("outlet.breaker", { n: plain(outlet.breaker.rating_a), curve: outlet.breaker.curve ?? "C" }) : null,
    outlet.rcd ? t("outlet.rcd", { name: outlet.rcd }) : null,
    outlet.neutral === false ? t("outlet.no-neutral") : null,
  ].filter(Boolean).join(" · ");
}
