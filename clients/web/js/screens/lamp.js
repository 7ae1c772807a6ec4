// One lamp: its draw in large figures, and what else its plug does, in plain words.

import * as api from "../api.js";
import { keptFixture } from "../catalogue.js";
import { big, button, h } from "../dom.js";
import { age, amps, figure, percent, plain, range } from "../format.js";
import { addLoad } from "../layout.js";
import { regions, remember } from "../reference.js";
import { englishNote, quoted } from "../parts/service.js";
import { families, t } from "../text.js";
import { worksheet } from "../worksheet.js";
import { regionAtHand, voltageAtHand } from "./lamps.js";
import { only } from "./search.js";

// Below this a crew that reckons in watts is out by more than a tenth.
const LOW_POWER_FACTOR = 0.9;
// After so long without an answer the phone's own list has to do.
const SLOW_MS = 1000;

export async function lampScreen({ slug }) {
  const region = regionAtHand(await regions());
  const voltage = voltageAtHand(region);
  const { lamp, at } = await find(slug, region, voltage);
  return {
    title: lamp.name,
    node: h("div", { class: "screen narrow" },
      h("p", { class: "back" }, h("a", { href: "#/lamps" }, t("lamp.back"))),
      quoted("h1", { tabindex: "-1" }, lamp.name),
      h("p", { class: "aside" }, `${families[lamp.family] ?? lamp.family} · ${t(`size.${lamp.size_class}`)}`),
      at ? h("p", { class: "caution" }, t("lamp.kept", { age: age(at) })) : null,
      lamp.at_voltage ? null
        : h("p", { class: "caution" }, t("lamp.not-here", { v: plain(voltage), ranges: made(lamp) })),
      draws(lamp),
      button(t(worksheet.layout?.boards.length ? "lamp.take" : "lamp.take.first"), () => take(lamp), { class: "main-key" }),
      worksheet.layout?.boards.length
        ? button(t("plan.place.lamp"), () => take(lamp, "#/plan/place"), { class: "wide-key" }) : null,
      h("dl", { class: "facts" }, facts(lamp).map(([name, words]) => [h("dt", {}, name), h("dd", {}, words)])),
      h("p", { class: "basis" }, h("b", {}, t(`basis.${lamp.basis.kind}`)), " ", quoted("span", {}, lamp.basis.text)),
      englishNote(),
      lamp.also_known_as.length
        ? h("p", { class: "aside" }, t("lamp.names"), " ", quoted("span", {}, lamp.also_known_as.join(", ")), ".") : null),
    close: () => {},
  };
}

/** The lamp as the service has it; without a line as the phone's own list has it, and from when. */
async function find(slug, region, voltage) {
  const asking = api.fixture(slug, { region: region?.id, voltage_v: voltage }).then((lamp) => ({ lamp, at: null }));
  const late = new Promise((resolve) => { setTimeout(resolve, SLOW_MS); });
  const own = async () => {
    const found = await keptFixture(slug, voltage);
    return found ? { lamp: found.fixture, at: found.at } : asking;
  };
  return Promise.race([
    asking.catch((error) => { if (error.kind === "refused") throw error; return own(); }), late.then(own),
  ]);
}

/** Lay the lamp on the board's table and go there to plug it, or on to where a place is found for it. */
export function take(lamp, next = "#/board") {
  remember(lamp);
  if (worksheet.layout?.boards.length) {
    let id;
    worksheet.edit((layout) => {
      [layout, id] = addLoad(layout, { fixture: lamp.slug }, stem(lamp));
      return layout;
    });
    worksheet.placing = next === "#/board" ? id : null;
  } else worksheet.waiting = lamp;
  location.hash = next;
}

/** What a crew would chalk on it: "2kW fresnel" for "2 kW tungsten fresnel", "kettle" for "kettle, 2.2 kW". */
export function stem({ name }) {
  const [head] = name.split(",");
  const [, figure, unit, rest] = /^([\d.]+) (k?W|k?VA) (.+)$/.exec(head) ?? [];
  const short = figure ? `${figure}${unit} ${rest.split(" ").at(-1)}` : head;
  return short.slice(0, 24).trim();
}

function draws(lamp) {
  const here = lamp.at_voltage;
  const at = [here, ...(lamp.also_at ?? []).filter((each) => each.voltage_v !== here?.voltage_v)].filter(Boolean);
  return h("ul", { class: "draws" }, at.map(({ voltage_v: v, current_a: a, apparent_va: va }, index) =>
    h("li", { class: index || !here ? "" : "here" },
      h("span", { class: "label" }, t("lamp.at", { v: plain(v) })),
      h("span", { class: "big figure" }, big(amps(a), "A")),
      h("span", { class: "aside" }, t("lamp.va", { n: figure(va) })))));
}

const made = (lamp) => lamp.input_ranges_v.map(range).join(t("or"));
const voltsWord = (lamp) => (only(lamp) ? "one" : lamp.input_ranges_v.length > 1 ? "several" : "wide");

function facts(lamp) {
  const rows = [
    [t("fact.power"), lamp.lamp_power_w && lamp.lamp_power_w !== lamp.power_w
      ? t("fact.power.ballast", { n: plain(lamp.power_w), lamp: plain(lamp.lamp_power_w) })
      : t("watts", { n: plain(lamp.power_w) })],
    [t("fact.pf"), [t(`fact.pf.${lamp.displacement ?? "none"}`, { n: plain(lamp.power_factor) }),
      lamp.power_factor < LOW_POWER_FACTOR ? t("fact.pf.low") : null].filter(Boolean).join(" ")],
    [t("fact.volts"), t(`fact.volts.${voltsWord(lamp)}`, { ranges: made(lamp) })],
    [t("fact.inrush"), lamp.inrush_multiple > 1.5
      ? t("fact.inrush.some", { n: plain(lamp.inrush_multiple), ms: plain(lamp.inrush_ms) }) : t("fact.inrush.none")],
    [t("fact.third"), lamp.third_harmonic_pct >= 1
      ? t("fact.third.some", { n: percent(lamp.third_harmonic_pct) }) : t("fact.third.none")],
    [t("fact.leakage"), t("fact.leakage.n", { n: plain(lamp.leakage_ma) })],
    [t("fact.size"), t(`fact.size.${lamp.size_class}`)],
    [t("fact.model"), t(`fact.model.${lamp.load_model}`)],
  ];
  if (lamp.smooth_dc_leakage) rows.push([t("fact.dc"), t("fact.dc.yes")]);
  return rows;
}
