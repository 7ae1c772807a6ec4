// One lamp on the layout: how many, how bright, in which set-ups, on what lead; move it, take it away.

import { h, redraw } from "../dom.js";
import { amps, figure, outletName, plain } from "../format.js";
import { burnsIn, changeLoad, isLoose, label, load, path, removeLoad, switchLoad, unplug } from "../layout.js";
import { choiceField, numberField, showFaults, textField, tickField } from "../parts/field.js";
import { openSheet } from "../parts/sheet.js";
import { stepper } from "../parts/stepper.js";
import { t } from "../text.js";
import { worksheet } from "../worksheet.js";
import { runFields } from "./feeder.js";

/** What kind of thing a load is, in words. */
export const kindOf = (l, fixtures) =>
  l.custom?.name ?? fixtures.get(l.fixture)?.name ?? (l.fixture ?? "").replaceAll("-", " ");

/** The sheet of one load. `move(id)` starts placing it anew. */
export function openLoad(loadId, { regions, cables, fixtures, move }) {
  const body = h("div", { class: "form" });
  const said = h("p", { class: "drawn", role: "status" });
  const at = () => path("loads", loadId);
  const set = (change) => worksheet.edit((l) => changeLoad(l, loadId, change));

  function draw(close) {
    const { layout } = worksheet;
    const l = load(layout, loadId);
    if (!l) { close(); return; }
    const again = () => draw(close);
    redraw(body,
      h("p", {}, kindOf(l, fixtures), isLoose(l) ? h("span", { class: "aside" }, ` · ${t("load.loose")}`)
        : h("span", { class: "aside" }, ` · ${t("load.at", { board: l.board, outlet: outletName(l.outlet) })}`)),
      said,
      h("div", { class: "keys" },
        h("button", { type: "button", class: "main-key", "data-key": "move", on: { click: () => { close(); move(loadId); } } },
          t(isLoose(l) ? "load.plug" : "load.move")),
        isLoose(l) ? null : h("button", { type: "button", class: "key-text", "data-key": "unplug", on: { click: () => {
          worksheet.edit((x) => unplug(x, loadId));
          close();
        } } }, t("load.unplug"))),
      l.custom ? customFields(l) : null,
      bound(stepper({ label: t("load.count"), value: l.count ?? 1, low: 1, high: 1000, path: `${at()}/count` }),
        (count) => set({ count })),
      bound(stepper({
        label: t("load.level"), value: Math.round((l.dimmed_to ?? 1) * 100), low: 0, high: 100, step: 5, unit: "%", path: `${at()}/dimmed_to`,
      }), (level) => { set({ dimmed_to: level === 100 ? undefined : level / 100 }); }),
      choiceField(t("load.dimmer"), {
        value: l.dimmer ?? "", path: `${at()}/dimmer`,
        options: [["", t("dimmer.usual")], ...["built-in", "phase-cut", "variable-transformer"].map((d) => [d, t(`dimmer.${d}`)])],
        change: (dimmer) => set({ dimmer: dimmer || undefined }),
      }),
      layout.setups?.length ? h("fieldset", {},
        h("legend", {}, t("load.setups")),
        layout.setups.map((s) => tickField(s.id, {
          checked: burnsIn(l, s.id), key: `setup:${s.id}`, change: (on) => worksheet.edit((x) => switchLoad(x, loadId, s.id, on)),
        }))) : null,
      h("details", { open: Boolean(l.lead), "data-key": "lead" },
        h("summary", {}, t("load.lead")),
        h("div", { class: "form" }, runFields({
          read: () => load(worksheet.layout, loadId)?.lead, at: `${at()}/lead`, cables, region: regions.get(layout.region), none: t("run.none.lead"),
          change: (lead) => set({ lead }), redrawn: again,
        }))),
      tickField(t("load.keep"), { checked: l.keep ?? false, key: "keep", change: (keep) => set({ keep: keep || undefined }) }),
      textField(t("load.name"), {
        value: label(l), path: `${at()}/name`, hint: t("load.name.hint"), change: (name) => set({ name: name || undefined }),
      }),
      h("p", { class: "fault", hidden: true, "data-rest": true }),
      h("button", { type: "button", class: "grave", on: { click: () => {
        worksheet.edit((x) => removeLoad(x, loadId));
        close();
      } } }, t("load.remove")));
    heard();
  }

  function customFields(l) {
    const custom = (change) => set({ custom: { ...load(worksheet.layout, loadId).custom, ...change } });
    return [
      numberField(t("custom.power"), {
        value: l.custom.power_w, unit: "W", required: true, path: `${at()}/custom/power_w`, change: (power_w) => custom({ power_w }),
      }),
      numberField(t("custom.pf"), {
        value: l.custom.power_factor, required: true, path: `${at()}/custom/power_factor`, change: (power_factor) => custom({ power_factor }),
      }),
    ];
  }

  // What the service says of this lamp, and of what is wrong with it, as answers come.
  function heard() {
    const told = worksheet.answer?.loads?.find((each) => each.id === loadId);
    said.textContent = !told ? "" : [
      t("load.drawn", { a: amps(told.current_a), v: figure(told.voltage_v, 1) }),
      typeof told.light_pct === "number" ? t("load.light", { n: figure(told.light_pct), k: plain(Math.round(told.colour_temperature_k)) }) : "",
      worksheet.fresh ? "" : t("load.old"),
    ].filter(Boolean).join(" ");
    const left = showFaults(body, new Map(worksheet.faultsUnder(at())));
    const place = body.querySelector("[data-rest]");
    if (!place) return;
    place.textContent = left.map(([, words]) => words).join(" ");
    place.hidden = !left.length;
  }

  worksheet.addEventListener("change", heard);
  openSheet(label(load(worksheet.layout, loadId)), (close) => { draw(close); return body; },
    () => worksheet.removeEventListener("change", heard));
}

function bound(node, change) {
  node.addEventListener("step", (event) => change(event.detail));
  return node;
}
