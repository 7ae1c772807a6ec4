// Set-ups: which lamps burn together.

import { button, h, redraw } from "../dom.js";
import { addSetup, burnsIn, label, removeSetup, renameSetup, switchLoad } from "../layout.js";
import { textField, tickField } from "../parts/field.js";
import { openSheet } from "../parts/sheet.js";
import { quoted } from "../parts/service.js";
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
      (layout.setups ?? []).map((s) => part(layout, s.id, s.id === opened)),
      button(t("setups.add"), () => {
        let id;
        worksheet.edit((x) => { [x, id] = addSetup(x, t("setups.stem")); return x; });
        draw(id);
      }, { class: "main-key", key: "add-setup" }));
  }

  function part({ loads }, id, open) {
    const burning = loads.filter((l) => burnsIn(l, id)).length;
    return h("details", { open, "data-key": `setup:${id}` },
      h("summary", {}, id, " ",
        h("span", { class: "aside" }, t("setups.burning", { n: burning, all: loads.length }))),
      h("div", { class: "form" },
        loads.map((l) => tickField([`${label(l)} · `, quoted("span", {}, kindOf(l, fixtures))], {
          checked: burnsIn(l, id), key: `${id}/${l.id}`,
          change: (on) => { worksheet.edit((x) => switchLoad(x, l.id, id, on)); draw(id); },
        })),
        textField(t("setups.name"), {
          value: id, maxlength: 64,
          change: (name) => { worksheet.edit((x) => renameSetup(x, id, name)); draw(name); },
        }),
        button(t("setups.remove"), () => { worksheet.edit((x) => removeSetup(x, id)); draw(null); }, { class: "grave" })));
  }

  openSheet(t("setups.title"), () => { draw(null); return body; });
}
