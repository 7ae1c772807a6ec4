// What feeds the set: region, kind, rating, measured volts. Also the first step of a new board.

import { button, h, redraw } from "../dom.js";
import { plain } from "../format.js";
import { changeBoardType, newLayout } from "../layout.js";
import { choiceField, numberField, otherFaults, showFaults, textField } from "../parts/field.js";
import { openSheet } from "../parts/sheet.js";
import { ofService } from "../language.js";
import { t } from "../text.js";
import { worksheet } from "../worksheet.js";

/** The fields of a layout that this sheet changes. */
export const OWN_FIELDS = ["supply", "region", "name", "ambient_c"];

const system = (region, id) => region?.systems?.find((s) => s.system === id);

/** Ratings per line of the region's outlets with so many lines, for the first guess. */
function ratings(region, lines) {
  const found = (region?.outlets ?? []).filter((o) => o.lines === lines).map((o) => o.rating_a);
  return [...new Set(found)].sort((a, b) => a - b);
}

const linesIn = (id) => ({ "three-phase": 3, "three-wire": 2, "single-phase": 1 })[id] ?? 3;

/** The board types that a region's system takes, the rest of the region's after them. */
export function typesFor(types, region, systemId) {
  const here = [...types.values()].filter((type) => !type.regions?.length || type.regions.includes(region?.id));
  return {
    fitting: here.filter((type) => type.system === systemId),
    other: here.filter((type) => type.system !== systemId),
  };
}

/** A supply as a region has it first: the usual mid-size outlet, a household one on a single phase. */
function firstSupply(region, systemId = region?.systems?.[0]?.system) {
  const choices = ratings(region, linesIn(systemId));
  const rating = systemId === "single-phase" ? choices.find((a) => a >= 10)
    : choices.includes(32) ? 32 : choices[Math.floor((choices.length - 1) / 2)];
  return {
    kind: "outlet", system: systemId, rating_a: rating ?? 32,
    voltage_v: system(region, systemId)?.line_to_neutral_v, frequency_hz: region?.frequency_hz?.[0],
  };
}

/** The form that sets up a first board. `done(layout)` gets the new layout. */
export function newBoardForm({ regions, types, regionId, done }) {
  const draft = {};
  const host = h("form", { class: "new-board", on: { submit: (event) => { event.preventDefault(); start(); } } });

  function setRegion(id) {
    draft.region = regions.get(id) ?? regions.values().next().value;
    setSystem(offered(draft.region)[0]?.system);
  }
  // Only what there is a board for; a supply of its own kind can be chosen later.
  const offered = (region) =>
    (region?.systems ?? []).filter((s) => typesFor(types, region, s.system).fitting.length);
  function setSystem(id) {
    draft.supply = firstSupply(draft.region, id);
    setType();
  }
  function setType() {
    const { fitting, other } = typesFor(types, draft.region, draft.supply.system);
    // The board that the supply's rating suits: no smaller than it, as near as can be, and of like
    // ones the one with rows of outlets for lamps.
    const rows = (type) => type.outlets.filter((outlet) => outlet.row).length;
    const sorted = [...fitting].sort((a, b) => a.inlet_rating_a - b.inlet_rating_a || rows(b) - rows(a));
    const enough = sorted.find((type) => type.inlet_rating_a >= draft.supply.rating_a);
    draft.type = (enough ?? sorted.at(-1) ?? other[0])?.id;
  }
  function start() {
    done(newLayout({
      name: draft.name ?? "", region: draft.region.id, supply: draft.supply, type: draft.type,
    }));
  }
  function draw() {
    const { fitting } = typesFor(types, draft.region, draft.supply.system);
    redraw(host,
      choiceField(t("supply.region"), {
        value: draft.region?.id, options: [...regions.values()].map((r) => [r.id, r.name, ofService()]),
        change: (id) => { setRegion(id); worksheet.look({ region: id }); draw(); },
      }),
      systemField(offered(draft.region), draft.supply, (id) => { setSystem(id); draw(); }),
      ratingField(draft.region, draft.supply, (rating) => { draft.supply.rating_a = rating; setType(); draw(); }),
      choiceField(t("board.type"), {
        value: draft.type, options: fitting.map((type) => [type.id, type.name, ofService()]),
        change: (id) => { draft.type = id; },
      }),
      textField(t("supply.name"), {
        value: draft.name, hint: t("supply.name.hint"), change: (name) => { draft.name = name; },
      }),
      h("button", { type: "submit", class: "main-key" }, t("board.start")));
  }
  setRegion(regionId);
  draw();
  return host;
}

function systemField(systems, supply, change) {
  return choiceField(t("supply.system"), {
    value: supply.system, path: "supply/system",
    options: systems.map((s) => [s.system, t(`system.${s.system}`, {
      v: plain(s.line_to_neutral_v), vv: plain(s.line_to_line_v) })]),
    change,
  });
}

function ratingField(region, supply, change) {
  const usual = ratings(region, linesIn(supply.system));
  return h("div", { class: "rating" },
    numberField(t("supply.rating"), {
      value: supply.rating_a, unit: "A", required: true, path: "supply/rating_a",
      hint: supply.system === "single-phase" ? null : t("supply.rating.hint"), change,
    }),
    h("div", { class: "usual", role: "group", "aria-label": t("supply.usual") }, usual.map((rating) =>
      button(t("amps", { n: plain(rating) }), () => change(rating),
        { class: "chip", key: `rating:${rating}`, pressed: rating === supply.rating_a }))));
}

/** The sheet that changes the supply of the layout at hand. */
export function openSupply({ regions, types }) {
  const set = (change) => worksheet.edit((layout) =>
    ({ ...layout, supply: clean({ ...layout.supply, ...change }) }));
  const body = h("div", { class: "form" });

  function draw() {
    const { layout } = worksheet;
    const { supply } = layout;
    const region = regions.get(layout.region);
    redraw(body,
      textField(t("supply.name"), {
        value: layout.name, path: "name", change: (name) => worksheet.edit((l) => ({ ...l, name })),
      }),
      choiceField(t("supply.region"), {
        value: layout.region, path: "region",
        // A layout may come from a service that knows more regions than this one.
        options: [...(region ? [] : [[layout.region, layout.region]]),
          ...[...regions.values()].map((r) => [r.id, r.name, ofService()])],
        hint: t("supply.region.hint"),
        change: (id) => { moveTo(regions.get(id), types); draw(); },
      }),
      choiceField(t("supply.kind"), {
        value: supply.kind, path: "supply/kind",
        options: ["outlet", "generator", "service"].map((kind) => [kind, t(`kind.${kind}`)]),
        change: (kind) => {
          set({ kind, generator: kind === "generator" ? supply.generator : undefined });
          draw();
        },
      }),
      systemField(region?.systems ?? [], supply, (id) => {
        set({ system: id, voltage_v: system(region, id)?.line_to_neutral_v });
        draw();
      }),
      ratingField(region, supply, (rating_a) => { set({ rating_a }); draw(); }),
      numberField(t("supply.volts"), {
        value: supply.voltage_v, unit: "V", path: "supply/voltage_v", hint: t("supply.volts.hint"),
        change: (voltage_v) => set({ voltage_v }),
      }),
      (region?.frequency_hz ?? []).length > 1 ? choiceField(t("supply.frequency"), {
        value: supply.frequency_hz, path: "supply/frequency_hz",
        options: region.frequency_hz.map((f) => [f, `${plain(f)} Hz`]),
        change: (f) => set({ frequency_hz: Number(f) }),
      }) : null,
      supply.kind === "generator" ? numberField(t("supply.kva"), {
        value: supply.generator?.rating_kva, unit: "kVA", path: "supply/generator", required: true,
        change: (rating_kva) => set({ generator: { ...worksheet.layout.supply.generator, rating_kva } }),
      }) : null,
      numberField(t("supply.loop"), {
        value: supply.loop_impedance_ohm, unit: "Ω", path: "supply/loop_impedance_ohm", hint: t("supply.loop.hint"),
        change: (loop_impedance_ohm) => set({ loop_impedance_ohm }),
      }),
      numberField(t("supply.ambient"), {
        value: layout.ambient_c, unit: "°C", path: "ambient_c",
        hint: region ? t("supply.ambient.hint", { n: plain(region.default_ambient_c) }) : null,
        change: (ambient_c) => worksheet.edit((l) => clean({ ...l, ambient_c })),
      }),
      colourField(region),
      otherFaults());
    faults();
  }
  const faults = () => showFaults(body, OWN_FIELDS.flatMap((at) => worksheet.faultsUnder(at)));
  draw();
  worksheet.addEventListener("change", faults);
  openSheet(t("supply.title"), () => body, () => worksheet.removeEventListener("change", faults));
}

function colourField(region) {
  const codes = region?.colours ?? [];
  if (codes.length < 2) return null;
  return choiceField(t("supply.colours"), {
    value: worksheet.view.colours ?? codes.find((c) => c.in_force)?.code, hint: t("supply.colours.hint"),
    options: codes.map((c) => [c.code, c.code, ofService()]), change: (colours) => worksheet.look({ colours }),
  });
}

/** Another region: its own supply, and board types it has; lamps whose outlet is gone come loose. */
function moveTo(region, types) {
  worksheet.look({ region: region.id, colours: null });
  worksheet.edit((layout) => {
    const supply = firstSupply(region);
    let next = { ...layout, region: region.id, supply };
    const { fitting } = typesFor(types, region, supply.system);
    for (const b of layout.boards.filter((each) => !each.fed_from && each.type)) {
      const fits = types.get(b.type)?.regions?.includes(region.id);
      if (!fits && fitting.length) next = changeBoardType(next, b.id, fitting[0].id, fitting[0].outlets);
    }
    return next;
  });
}

export const clean = (thing) =>
  Object.fromEntries(Object.entries(thing).filter(([, value]) => value !== undefined));
