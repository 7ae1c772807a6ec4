// The desk's equipment: found by words, kind and state; what is due for a test; what is likely to deform.

import * as desk from "../../desk.js";
import { button, h, redraw } from "../../dom.js";
import { figure } from "../../format.js";
import { deskForm } from "../../parts/desk-form.js";
import { deskTable, pagedList } from "../../parts/desk-table.js";
import { quoted } from "../../parts/service.js";
import { openSheet } from "../../parts/sheet.js";
import { t } from "../../text.js";
import { attempt, frame } from "./door.js";
import { labelsSheet } from "./labels.js";
import { pieceForm } from "./pieceform.js";
import { KINDS, STATES, dueWords, piecePlace, sizeWords, stateTag } from "./pieces.js";
import { tagField } from "./tagfield.js";

const WAIT_MS = 250;
const VIEWS = ["all", "due", "uneven"];
const asked = { view: "all", q: "", kind: "", state: "" };
/** Tags chosen for labels, in the order in which they were chosen. */
const chosen = new Set();

export async function equipmentScreen() {
  const gone = new AbortController();
  const host = h("div", {});
  const tray = h("div", { class: "tray" });
  let list = null;
  let timer = null;

  function tray_() {
    redraw(tray, chosen.size ? [
      h("p", { role: "status" }, h("b", {}, t("labels.chosen", { n: chosen.size }))),
      h("div", { class: "keys" },
        button(t("labels.make"), () => labelsSheet([...chosen]), { class: "main-key", key: "labels" }),
        button(t("labels.clear"), () => { chosen.clear(); tray_(); list?.redraw(); load(); }, { class: "key-text", key: "labels:clear" })),
    ] : null);
    tray.hidden = !chosen.size;
  }

  const tickOf = (piece) => h("label", { class: "tick lone" }, h("input", {
    type: "checkbox", checked: chosen.has(piece.tag), "data-key": `label:${piece.tag}`, "aria-label": t("labels.choose", { tag: piece.tag }),
    on: { change: ({ target }) => { if (target.checked) chosen.add(piece.tag); else chosen.delete(piece.tag); tray_(); } },
  }));

  const columns = (more = []) => [
    { words: t("piece.tag"), cell: (p) => h("a", { class: "row-link", href: piecePlace(p.tag) }, p.tag) },
    { words: t("piece.what"), cell: sizeWords },
    { words: t("piece.state"), cell: stateTag },
    { words: t("piece.due"), cell: dueWords },
    ...more,
    { words: t("labels.label"), cell: tickOf },
  ];
  const table = (items, none, more) => (items.length ? deskTable(t("equipment.title"), columns(more), items, { key: (p) => p.tag }) : h("p", {}, t(none)));

  const WAYS = {
    all: () => pagedList((cursor) => desk.pieces({ q: asked.q, kind: asked.kind, state: asked.state, limit: 50, cursor }, gone.signal),
      (items) => table(items, asked.q || asked.kind || asked.state ? "equipment.none.found" : "equipment.none")),
    due: () => pagedList((cursor) => desk.duePieces({ within_days: 30, limit: 50, cursor }), (items) => table(items, "equipment.none.due")),
    uneven: () => {
      let basis = null;
      return pagedList(async (cursor) => {
        const page = await desk.unevenPieces({ least_kh: 0, limit: 50, cursor });
        basis = [t("uneven.words", { n: figure(page.deforms_kh) }), " ", quoted("span", {}, page.basis)];
        return { ...page, items: page.items.map((each) => ({ ...each.piece, uneven: each })) };
      }, (items) => [h("p", { class: "hint" }, basis), table(items, "equipment.none.uneven", [
        { words: t("uneven.sum"), figure: true, cell: (p) => t("kh", { n: figure(p.uneven.spread_kh) }) },
        { words: t("uneven.likely"), cell: (p) => (p.uneven.likely_to_deform ? h("span", { class: "tag", "data-severity": "caution" }, t("uneven.yes")) : t("uneven.no")) },
      ])]);
    },
  };

  const load = () => attempt(host, async () => {
    list = WAYS[asked.view]();
    await list.load();
    if (!gone.signal.aborted) redraw(host, list.node);
  });

  const words = h("input", { type: "search", id: "pieces-q", value: asked.q, autocomplete: "off", maxlength: 100, "data-key": "pieces:q", on: { input: () => {
    asked.q = words.value.trim();
    clearTimeout(timer);
    timer = setTimeout(load, WAIT_MS);
  } } });
  const choice = (name, values, stem) => h("div", { class: "field" },
    h("label", { class: "label", for: `pieces-${name}` }, t(`equipment.${name}`)),
    h("select", { id: `pieces-${name}`, "data-key": `pieces:${name}`, value: asked[name], on: { change: ({ target }) => { asked[name] = target.value; load(); } } },
      h("option", { value: "" }, t("search.any")), values.map((value) => h("option", { value }, t(`${stem}.${value}`)))));

  const views = h("div", { class: "chips" });
  const filters = h("search", { class: "desk-search" },
    h("div", { class: "field" }, h("label", { class: "label", for: "pieces-q" }, t("equipment.search")), words),
    choice("kind", KINDS, "kind.piece"), choice("state", STATES, "state"));
  function draw() {
    redraw(views, VIEWS.map((view) => button(t(`equipment.view.${view}`), () => { asked.view = view; draw(); load(); },
      { class: "chip", key: `view:${view}`, pressed: asked.view === view })));
    filters.hidden = asked.view !== "all";
  }

  const open = deskForm({
    id: "find", words: "piece.open",
    fields: [{ name: "tag", label: t("piece.by-tag"), kind: (spec) => tagField({ ...spec, scanned: (tag) => { location.hash = piecePlace(tag); } }), needed: true, missing: "piece.tag.missing" }],
    send: ({ tag }) => { location.hash = piecePlace(tag); },
  });
  const add = () => openSheet(t("piece.new"), (close) => pieceForm({ done: (piece) => { close(); location.hash = piecePlace(piece.tag); } }), () => {}, "desk.leave");

  draw();
  tray_();
  list = WAYS[asked.view]();
  await list.load();
  redraw(host, list.node);
  return {
    title: t("equipment.title"), close: () => { gone.abort(); clearTimeout(timer); },
    node: frame(t("equipment.title"), h("div", { class: "find" }, open), views, filters,
      h("div", { class: "keys" }, button(t("piece.new"), add, { class: "key-text", key: "piece:new" })), tray, host),
  };
}
