// One lamp on the layout: how many, how bright, in which set-ups, on what lead; move it, take it away.

import { button, h, redraw } from "../dom.js";
import { amps, figure, outletName, plain } from "../format.js";
import { burnsIn, changeLoad, isLoose, label, load, path, removeLoad, switchLoad, unplug } from "../layout.js";
import { choiceField, numberField, otherFaults, showFaults, textField, tickField } from "../parts/field.js";
import { openSheet } from "../parts/sheet.js";
import { stepper } from "../parts/stepper.js";
import { quoted } from "../parts/service.js";
import { t } from "../text.js";
import { worksheet } from "../worksheet.js";
import { runFields } from "./feeder.js";

const DIMMERS = ["built-in", "phase-cut", "variable-transformer"];

/** What kind of thing a load is, in words. */
export const kindOf = (l, fixtures) =>
  l.custom?.name ?? fixtures.get(l.fixture)?.name ?? (l.fixture ?? "").replaceAll("-", " ");

/** The sheet of one load. `move(id)` starts placing it anew. */
export function openLoad(id, { regions, cables, fixtures, move }) {
  const at = path("loads", id);
  const body = h("div", { class: "form" });
  const said = h("p", { class: "drawn", role: "status" });
  // Always the load as it stands: several fields may be changed while the sheet is open.
  const read = () => load(worksheet.layout, id);
  const set = (change) => worksheet.edit((layout) => changeLoad(layout, id, change));

  function draw(close) {
    const { layout } = worksheet;
    const l = read();
    const loose = isLoose(l);
    const done = (change) => { worksheet.edit(change); close(); };
    redraw(body,
      h("p", {}, quoted("span", {}, kindOf(l, fixtures)), h("span", { class: "aside" }, " · ",
        loose ? t("load.loose") : t("load.at", { board: l.board, outlet: outletName(l.outlet) }))),
      said,
      h("div", { class: "keys" },
        button(t(loose ? "load.plug" : "load.move"), () => { close(); move(id); }, { class: "main-key", key: "move" }),
        loose ? null : button(t("load.unplug"), () => done((x) => unplug(x, id)), { class: "key-text", key: "unplug" })),
      l.custom ? plateFields(l.custom) : null,
      stepper({
        label: t("load.count"), value: l.count ?? 1, low: 1, high: 1000, path: `${at}/count`,
        change: (count) => set({ count }),
      }),
      stepper({
        label: t("load.level"), value: Math.round((l.dimmed_to ?? 1) * 100), low: 0, high: 100, step: 5, unit: "%",
        path: `${at}/dimmed_to`, change: (level) => set({ dimmed_to: level === 100 ? undefined : level / 100 }),
      }),
      choiceField(t("load.dimmer"), {
        value: l.dimmer ?? "", path: `${at}/dimmer`,
        options: [["", t("dimmer.usual")], ...DIMMERS.map((d) => [d, t(`dimmer.${d}`)])],
        change: (dimmer) => set({ dimmer: dimmer || undefined }),
      }),
      layout.setups?.length ? setupTicks(layout, l) : null,
      h("details", { open: Boolean(l.lead), "data-key": "lead" },
        h("summary", {}, t("load.lead")),
        h("div", { class: "form" }, runFields({
          read: () => read()?.lead, at: `${at}/lead`, cables, region: regions.get(layout.region),
          none: t("run.none.lead"), change: (lead) => set({ lead }), redrawn: () => draw(close),
        }))),
      tickField(t("load.keep"), {
        checked: l.keep ?? false, key: "keep", change: (keep) => set({ keep: keep || undefined }),
      }),
      textField(t("load.name"), {
        value: label(l), path: `${at}/name`, hint: t("load.name.hint"),
        change: (name) => set({ name: name || undefined }),
      }),
      otherFaults(),
      button(t("load.remove"), () => done((x) => removeLoad(x, id)), { class: "grave" }));
    heard();
  }

  function setupTicks(layout, l) {
    return h("fieldset", {},
      h("legend", {}, t("load.setups")),
      layout.setups.map((s) => tickField(s.id, {
        checked: burnsIn(l, s.id), key: `setup:${s.id}`,
        change: (on) => worksheet.edit((x) => switchLoad(x, id, s.id, on)),
      })));
  }

  function plateFields(custom) {
    const field = (words, name, unit) => numberField(words, {
      value: custom[name], unit, required: true, path: `${at}/custom/${name}`,
      change: (number) => set({ custom: { ...read().custom, [name]: number } }),
    });
    return [field(t("custom.power"), "power_w", "W"), field(t("custom.pf"), "power_factor")];
  }

  // What the service says of this lamp, and of what is wrong with it, as answers come.
  function heard() {
    // Somebody on another phone took it off the list.
    if (!read()) { body.closest("dialog")?.close(); return; }
    const told = worksheet.answer?.loads?.find((each) => each.id === id);
    said.textContent = told ? drawn(told) : "";
    showFaults(body, worksheet.faultsUnder(at));
  }

  worksheet.addEventListener("change", heard);
  openSheet(label(read()), (close) => { draw(close); return body; },
    () => worksheet.removeEventListener("change", heard));
}

function drawn({ current_a: a, voltage_v: v, light_pct: light, colour_temperature_k: k }) {
  return [
    t("load.drawn", { a: amps(a), v: figure(v, 1) }),
    typeof light === "number" ? t("load.light", { n: figure(light), k: figure(k) }) : null,
    worksheet.fresh ? null : t("load.old"),
  ].filter(Boolean).join(" ");
}
