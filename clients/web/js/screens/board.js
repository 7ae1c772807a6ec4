// The board: does it hold, per phase, and what to do about it.

import { h, redraw, steady } from "../dom.js";
import { outletName, plain } from "../format.js";
import {
  addBoard, addLoad, board, isLoose, label, load, mended, occupants, outletsOf, path, plug, swap, unplug,
} from "../layout.js";
import { colourCode } from "../parts/conductor.js";
import "../parts/face.js";
import "../parts/findings.js";
import "../parts/gauges.js";
import { openSheet } from "../parts/sheet.js";
import { worst } from "../parts/severity.js";
import { spoken } from "../parts/verdict.js";
import { boardTypes, cables, fixturesNamed, regions } from "../reference.js";
import { t } from "../text.js";
import { worksheet } from "../worksheet.js";
import { caution } from "./cautions.js";
import { demoList } from "./demos.js";
import { openBoard } from "./feeder.js";
import { figuresTable, roomTable } from "./figures.js";
import { regionAtHand } from "./lamps.js";
import { stem } from "./lamp.js";
import { kindOf, openLoad } from "./load.js";
import { openOutlet } from "./outlet.js";
import { boardWords, gaugesOf, limitOf, ratingWords, setupWords, supplyGauges, tileOf } from "./readings.js";
import { openSetups } from "./setups.js";
import { newBoardForm, openSupply, typesFor } from "./supply.js";

export async function boardScreen() {
  const [known, types, cableTypes] = await Promise.all([regions(), boardTypes(), cables()]);
  const parts = {
    verdict: h("eb-verdict"), gauges: h("eb-gauges"), whole: h("eb-gauges"), first: h("eb-findings"),
    face: h("eb-face"), findings: h("eb-findings"),
  };
  const node = h("div", { class: "screen board" });
  const says = h("p", { class: "heard", role: "status" });
  let fixtures = new Map();
  let lit = null;
  let placing = null;
  let heardAt = worksheet.answeredAt;

  const rooms = () => ({
    regions: known, types, cables: cableTypes, fixtures, move: startPlacing,
    edit: (id) => openLoad(id, rooms()), show: (id) => worksheet.look({ board: id }),
  });

  function startPlacing(id) {
    placing = id;
    draw();
    parts.face.scrollIntoView({ block: "center" });
  }

  function place(boardId, outletId) {
    const id = placing;
    const there = occupants(worksheet.layout, boardId, outletId);
    const mine = load(worksheet.layout, id);
    placing = null;
    if (mine.board === boardId && mine.outlet === outletId) draw();
    else if (there.boards.length) { worksheet.look({ board: there.boards[0].id }); placing = id; draw(); }
    else if (there.loads.length) askFull(id, there.loads[0].id, boardId, outletId);
    else worksheet.edit((layout) => plug(layout, id, boardId, outletId));
  }

  // Two plugs for one outlet: swap them, or share it and let the service say what that means.
  function askFull(id, other, boardId, outletId) {
    const mine = load(worksheet.layout, id);
    const there = load(worksheet.layout, other);
    const loose = isLoose(mine);
    const key = (words, change) => (close) => h("button", { type: "button", class: "item", on: { click: () => {
      worksheet.edit(change);
      close();
    } } }, words);
    openSheet(t("full.title", { name: outletName(outletId) }), (close) => h("div", { class: "form" },
      h("p", {}, t("full.words", { name: label(there) })),
      [
        loose ? key(t("full.replace", { name: label(there) }), (l) => plug(unplug(l, other), id, boardId, outletId)) : key(t("full.swap", { one: label(mine), other: label(there) }), (l) => swap(l, id, other)),
        key(t("full.both"), (l) => plug(l, id, boardId, outletId)),
      ].map((make) => make(close))), () => draw());
  }

  const draw = () => steady(node, drawAll);

  function drawAll() {
    const { layout } = worksheet;
    document.body.classList.toggle("placing", Boolean(placing));
    if (!layout?.boards.length) {
      // What is half filled in stays.
      if (!node.querySelector(".new-board")) redraw(node, begin());
      return;
    }
    const region = known.get(layout.region);
    const code = colourCode(region, worksheet.view.colours);
    const b = board(layout, worksheet.view.board) ?? layout.boards[0];
    const { answer, fresh, state } = worksheet;
    const loose = layout.loads.filter(isLoose);
    const findings = found(layout, answer);
    const setup = layout.setups?.find((s) => s.id === worksheet.view.setup) ? worksheet.view.setup : null;

    parts.verdict.show({
      answer, answeredAt: worksheet.answeredAt, state, problem: worksheet.problem, fresh, loose: loose.length,
    });
    const gauges = gaugesOf({ layout, types, b, setup, answer, findings, lit });
    const several = layout.boards.filter((each) => !each.fed_from).length > 1;
    const look = { code, limitPct: limitOf(layout, region), old: !fresh };
    parts.gauges.show({ ...gauges, ...look });
    if (several) parts.whole.show({ ...supplyGauges({ region, layout, answer, findings, setup }), ...look });
    const mendable = (finding) => fresh && mended(layout, finding.actions) !== null;
    const named = (id) => (load(layout, id) ? label(load(layout, id)) : id);
    parts.first.show({ findings, first: true, mendable, named });
    parts.findings.show({ findings, mendable, named });
    // Findings stay while the next answer is on its way, so that nothing jumps under a thumb.
    for (const list of [parts.first, parts.findings]) list.classList.toggle("old", !fresh);
    parts.face.show({
      boardId: b.id, code, placing, lines: gauges.phases, old: !fresh,
      outlets: outletsOf(b, types).map((outlet) => tileOf({ layout, b, outlet, answer, findings, setup, lit, fixtures })),
    });
    redraw(node,
      h("h1", { tabindex: "-1", class: "sheet-name" }, layout.name || t("board.unnamed")),
      supplyKey(layout, region),
      layout.boards.length > 1 ? boardKeys(layout, b, findings) : null,
      h("div", { class: "panes" },
        h("div", { class: "pane-says" },
          parts.verdict, faultList(),
          several ? h("section", {}, h("h2", {}, t("gauges.supply")), parts.whole) : null,
          h("section", { "aria-label": t("gauges.label") }, setupKeys(layout, setup),
            several || b.fed_from ? h("h2", {}, t("face.title", { name: b.id })) : null, parts.gauges,
            h("p", { class: "aside code" }, [
              setupWords(layout, answer, b, setup), ratingWords(answer, b, layout), code ? t("colours.shown", { code: code.code }) : null,
            ].filter(Boolean).join(" "))),
          parts.first, says),
        h("div", { class: "pane-face" },
          h("div", { class: "face-head" },
            h("h2", {}, t("face.title", { name: b.id })),
            h("button", { type: "button", class: "quiet", "data-key": "board", on: { click: () => openBoard(b.id, rooms()) } }, t("face.change"))),
          h("p", { class: "aside" }, boardWords(b, types, answer)),
          parts.face, table(loose),
          h("button", { type: "button", class: "key-text", "data-key": "another", on: { click: another } }, t("board.another"))),
        h("div", { class: "pane-more" },
          h("section", {}, h("h2", { tabindex: "-1", id: "findings" }, t("findings.title", { n: findings.length })),
            findings.length ? null : h("p", {}, t(answer ? "findings.none" : "findings.unknown")), parts.findings),
          roomTable(answer, b, setup), figuresTable(answer, b, code),
          caution(answer))),
      placing ? bar(layout) : null);
  }

  // Where a layout names no set-ups the one there is goes without saying.
  function found(layout, answer) {
    const all = answer?.findings ?? [];
    return layout.setups?.length ? all : all.map((f) => ({ ...f, where: { ...f.where, setup: null } }));
  }

  // -- what stands above and below the face ------------------------------------------------------

  function begin() {
    const wanted = worksheet.waiting;
    return [
      h("h1", { tabindex: "-1" }, t("begin.title")),
      h("p", {}, wanted ? t("begin.lamp", { name: wanted.name }) : t("begin.words")),
      newBoardForm({
        regions: known, types, regionId: regionAtHand(known)?.id,
        done: (layout) => {
          if (wanted) {
            let id;
            [layout, id] = addLoad(layout, { fixture: wanted.slug }, stem(wanted));
            placing = id;
            worksheet.waiting = null;
          }
          worksheet.open(layout);
          scrollTo(0, 0);
          node.querySelector("h1")?.focus({ preventScroll: true });
        },
      }),
      demoList(),
    ];
  }

  function supplyKey(layout, region) {
    const { supply } = layout;
    const wrong = worksheet.faultsUnder("supply").length + worksheet.faultsUnder("region").length;
    return h("button", { type: "button", class: "supply", "data-key": "supply", "data-severity": wrong ? "fail" : null, on: { click: () => openSupply(rooms()) } },
      h("span", { class: "supply-rating figure" }, t("amps", { n: plain(supply.rating_a) })),
      h("span", {}, t(`kind.${supply.kind}`), h("span", { class: "aside" },
        [t(`system.short.${supply.system ?? "three-phase"}`), supply.voltage_v ? t("volts", { n: plain(supply.voltage_v) }) : null,
          region?.name ?? layout.region].filter(Boolean).join(" · "))),
      h("span", { class: "heard" }, t("change")));
  }

  function boardKeys(layout, current, findings) {
    return h("div", { class: "chips", role: "group", "aria-label": t("boards.label") }, layout.boards.map((b) => {
      const severity = worksheet.faultsUnder(path("boards", b.id)).length ? "fail"
        : worst(findings.filter((f) => f.where?.board === b.id));
      return h("button", {
        type: "button", class: "chip", "aria-pressed": String(b.id === current.id), "data-key": `board:${b.id}`,
        on: { click: () => worksheet.look({ board: b.id }) },
      }, b.fed_from ? `${b.fed_from.board} → ` : "", h("b", {}, b.id), severity && severity !== "note" ? ` · ${t(`severity.${severity}`)}` : "");
    }));
  }

  function setupKeys(layout, setup) {
    const chip = (id, words) => h("button", {
      type: "button", class: "chip", "aria-pressed": String(setup === id), "data-key": `see:${id}`,
      on: { click: () => worksheet.look({ setup: id }) },
    }, words);
    return h("div", { class: "chips", role: "group", "aria-label": t("setups.see") },
      layout.setups?.length ? [chip(null, t("setups.worst")), layout.setups.map((s) => chip(s.id, s.id))] : null,
      h("button", {
        type: "button", class: "chip plain", "data-key": "setups", "aria-label": layout.setups?.length ? t("setups.change.all") : null, on: { click: () => openSetups(rooms()) },
      }, t(layout.setups?.length ? "setups.change" : "setups.make")));
  }

  function table(loose) {
    return h("section", { class: "table" },
      h("h3", {}, t("table.title")),
      loose.length ? h("ul", {}, loose.map((l) => h("li", { class: "keys" },
        h("button", { type: "button", class: "item", "data-key": `loose:${l.id}`, "aria-pressed": String(placing === l.id), on: { click: () => startPlacing(l.id) } },
          h("b", {}, label(l)), " ", kindOf(l, fixtures), h("span", { class: "aside" }, ` · ${t("table.plug")}`)),
        h("button", { type: "button", class: "key-text", "data-key": `edit:${l.id}`, "aria-label": t("table.edit", { name: label(l) }), on: { click: () => openLoad(l.id, rooms()) } }, t("change")))))
        : h("p", { class: "aside" }, t("table.none")),
      h("a", { class: "key-text", href: "#/lamps" }, t("table.find")));
  }

  function another() {
    const region = known.get(worksheet.layout.region);
    const { fitting, other } = typesFor(types, region, worksheet.layout.supply.system);
    openSheet(t("board.another"), (close) => h("div", { class: "form" },
      h("p", {}, t("board.another.words")),
      [...fitting, ...other].map((type) => h("button", { type: "button", class: "item", on: { click: () => {
        let id;
        worksheet.edit((layout) => {
          [layout, id] = addBoard(layout, { type: type.id, fedFrom: null, stem: type.id });
          return layout;
        });
        worksheet.look({ board: id });
        close();
      } } }, type.name))));
  }

  function faultList() {
    if (!worksheet.faults.size) return null;
    return h("ul", { class: "fault-list" }, [...worksheet.faults].map(([at, words]) => {
      const [kind, id] = at.split("/").map(decodeURIComponent);
      const open = kind === "loads" && load(worksheet.layout, id) ? () => openLoad(id, rooms())
        : kind === "boards" && board(worksheet.layout, id) ? () => openBoard(id, rooms())
          : ["supply", "region", "name", "ambient_c"].includes(kind) ? () => openSupply(rooms()) : null;
      const place = kind === "loads" && load(worksheet.layout, id) ? label(load(worksheet.layout, id)) : kind === "boards" ? id : t(`fault.place.${kind}`, {}, kind);
      return h("li", {}, open
        ? h("button", { type: "button", class: "item", "data-key": `fault:${at}`, on: { click: open } }, h("b", {}, place), " ", words)
        : [h("b", {}, place), " ", words]);
    }));
  }

  function bar(layout) {
    const l = load(layout, placing);
    if (!l) { placing = null; return null; }
    return h("div", { class: "placing-bar", role: "status" },
      h("p", {}, t("placing.words", { id: label(l), name: kindOf(l, fixtures) })),
      h("button", { type: "button", class: "key-text", "data-key": "cancel", on: { click: () => { placing = null; draw(); } } }, t("placing.cancel")));
  }

  // -- events ---------------------------------------------------------------------------------

  parts.face.addEventListener("outlet", ({ detail: outletId }) => {
    const b = board(worksheet.layout, worksheet.view.board) ?? worksheet.layout.boards[0];
    if (placing) { place(b.id, outletId); return; }
    lit = null;
    const held = occupants(worksheet.layout, b.id, outletId);
    if (held.loads.length === 1 && !held.boards.length) openLoad(held.loads[0].id, rooms());
    else openOutlet(b.id, outletId, rooms());
  });
  parts.verdict.addEventListener("check", () => worksheet.checkNow());
  const showFinding = ({ detail: { where } }) => {
    lit = where ?? {};
    const plugged = lit.load ? load(worksheet.layout, lit.load) : null;
    worksheet.look({
      board: lit.board ?? plugged?.board ?? worksheet.view.board ?? null,
      setup: lit.setup && worksheet.layout.setups?.some((s) => s.id === lit.setup) ? lit.setup : worksheet.view.setup,
    });
    draw();
    const target = node.querySelector('.tile[data-lit="true"]') ?? node.querySelector('.gauge[data-lit="true"]') ?? parts.gauges;
    target.scrollIntoView({ block: "center", behavior: matchMedia("(prefers-reduced-motion: reduce)").matches ? "auto" : "smooth" });
    target.focus?.({ preventScroll: true });
  };
  for (const list of [parts.first, parts.findings]) {
    list.addEventListener("finding", showFinding);
    list.addEventListener("mend", ({ detail: { actions } }) => worksheet.edit((layout) => mended(layout, actions) ?? layout));
  }
  const escape = (event) => { if (event.key === "Escape" && placing) { placing = null; draw(); } };
  addEventListener("keydown", escape);

  async function changed() {
    draw();
    if (worksheet.fresh && worksheet.answeredAt !== heardAt) {
      heardAt = worksheet.answeredAt;
      lit = null;
      draw();
      says.textContent = spoken(worksheet.answer);
    }
    const slugs = (worksheet.layout?.loads ?? []).map((l) => l.fixture).filter((slug) => slug && !fixtures.has(slug));
    if (slugs.length) {
      fixtures = new Map(await fixturesNamed(slugs));
      draw();
    }
  }
  worksheet.addEventListener("change", changed);

  if (worksheet.placing && load(worksheet.layout ?? { loads: [] }, worksheet.placing)) placing = worksheet.placing;
  worksheet.placing = null;
  await changed();
  return {
    title: t("tab.board"), node,
    close: () => {
      worksheet.removeEventListener("change", changed);
      removeEventListener("keydown", escape);
      document.body.classList.remove("placing");
    },
  };
}
