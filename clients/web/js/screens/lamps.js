// Find a lamp and see what it draws: the first screen.

import { h } from "../dom.js";
import { plain } from "../format.js";
import { likelyRegion, regions } from "../reference.js";
import { quoted } from "../parts/service.js";
import { t } from "../text.js";
import { worksheet } from "../worksheet.js";
import { lampSearch } from "./search.js";

/** The region the crew works in: the layout's, else the one chosen, else the phone's guess. */
export function regionAtHand(known) {
  const id = worksheet.layout?.region ?? worksheet.view.region ?? likelyRegion();
  return known.get(id) ?? known.values().next().value;
}

/** The voltage lamps are shown at: what the supply was measured at, else the region's nominal. */
export function voltageAtHand(region) {
  const { layout } = worksheet;
  if (layout?.region === region?.id && layout?.supply?.voltage_v) return layout.supply.voltage_v;
  return region?.systems?.[0]?.line_to_neutral_v;
}

export async function lampsScreen() {
  const known = await regions();
  const region = regionAtHand(known);
  const voltage = voltageAtHand(region);
  const search = lampSearch({
    region, voltage, href: (fixture) => `#/lamps/${encodeURIComponent(fixture.slug)}`,
  });
  const choose = h("select", {
    "aria-label": t("lamps.region"), value: region?.id, "data-key": "region",
    on: { change: () => { worksheet.look({ region: choose.value }); dispatchEvent(new Event("redraw")); } },
  }, [...known.values()].map((r) => quoted("option", { value: r.id }, r.name)));
  return {
    title: t("lamps.title"),
    node: h("div", { class: "screen narrow" },
      h("h1", { tabindex: "-1" }, t("lamps.title")),
      h("div", { class: "at" },
        h("p", {}, t("lamps.at", { v: plain(voltage) })),
        // Within a layout its own region holds: two regions on one sheet would mislead.
        worksheet.layout ? quoted("p", {}, region?.name) : choose),
      search.node),
    close: search.close,
  };
}
