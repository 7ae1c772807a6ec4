// Set-ups: which lamps burn together.

import { h, redraw } from "../dom.js";
import { addSetup, burnsIn, label, removeSetup, renameSetup, switchLoad } from "../layout.js";
import { textField, tickField } from "../parts/field.js";
import { openSheet } from "../parts/sheet.js";
import { t } from "../text.js";
import { worksheet } from "../worksheet.js";
import { kindOf } from "./load.js";

/** The sheet of all set-ups. */
export function openSetups({ fixtures }) {
  const body = h("div", { class: "form" });
  function draw(opened) {
    const { layout } = worksheet;
    redraw(body,
      h("p", {}, t(layout.setups?.length ? "setups.some" : "setups.none")),
      (layout.setups ?? []).map((s) => h("details", { open: s.id === opened, "data-key": `setup:${s.id}` },
        h("summary", {}, s.id, h("span", { class: "aside" }, ` ${t("setups.burning", { n: layout.loads.filter((l) => burnsIn(l, s.id)).length, all: layout.loads.length })}`)),
        h("div", { class: "form" }, layout.loads.map((l) => tickField(`${label(l)} · ${kindOf(l, fixtures)}`, {
          checked: burnsIn(l, s.id), key: `${s.id}/${l.id}`,
          change: (on) => { worksheet.edit((x) => switchLoad(x, l.id, s.id, on)); draw(s.id); },
        })),
        textField(t("setups.name"), { value: s.id, maxlength: 64, change: (name) => {
          worksheet.edit((x) => renameSetup(x, s.id, name));
          draw(name);
        } }),
        h("button", { type: "button", class: "grave", on: { click: () => {
          worksheet.edit((x) => removeSetup(x, s.id));
          if (worksheet.view.setup === s.id) worksheet.look({ setup: null });
          draw(null);
        } } }, t("setups.remove"))))),
      h("button", { type: "button", class: "main-key", "data-key": "add-setup", on: { click: () => {
        let id;
        worksheet.edit((x) => { [x, id] = addSetup(x, t("setups.stem")); return x; });
        draw(id);
      } } }, t("setups.add")));
  }
  openSheet(t("setups.title"), () => { draw(null); return body; });
}
