// The equipment as a file: taken out for a spreadsheet, tried with every fault told, taken in.

import * as desk from "../../desk.js";
import { button, h, redraw } from "../../dom.js";
import { todayHere } from "../../format.js";
import { tellProblem } from "../../parts/desk-form.js";
import { deskTable } from "../../parts/desk-table.js";
import { quoted } from "../../parts/service.js";
import { t } from "../../text.js";
import { frame } from "./door.js";

export async function stockScreen() {
  const fault = h("p", { class: "fault", role: "alert", hidden: true });
  const result = h("section", { class: "result", "aria-live": "polite" });
  const text = h("textarea", { id: "csv", rows: 8, spellcheck: "false", autocapitalize: "off", "data-key": "csv", wrap: "off", "aria-describedby": "csv-hint", on: { input: () => { tried = null; drawKeys(); } } });
  const keys = h("div", { class: "keys" });
  let tried = null;
  let attempt = null;
  let busy = false;
  let saved = null;

  async function work(deed) {
    if (busy) return;
    busy = true;
    fault.hidden = true;
    drawKeys();
    try { await deed(); } catch (error) {
      tellProblem(fault, error);
    }
    busy = false;
    drawKeys();
  }

  const take = () => work(async () => {
    const words = await desk.exported();
    if (saved) URL.revokeObjectURL(saved);
    saved = URL.createObjectURL(new Blob([words], { type: "text/csv" }));
    h("a", { href: saved, download: `equipment-${todayHere()}.csv` }).click();
  });

  const tryIt = () => work(async () => {
    const words = text.value;
    const told = await desk.imported(words, { dry: true });
    tried = { words, told };
    attempt = desk.freshKey();
    show(told);
  });

  const takeIn = () => work(async () => {
    try {
      const told = await desk.imported(tried.words, { key: attempt });
      tried = null;
      show(told);
    } catch (error) {
      // Somebody changed a piece since it was tried: the faults as they are now.
      if (!error.type?.endsWith("/invalid-file")) throw error;
      tried = null;
      show({ dry_run: true, rows: 0, added: [], changed: [], unchanged: 0, faults: error.errors }, t("stock.changed"));
    }
  });

  function show({ dry_run: dry, rows, added, changed, unchanged, faults }, words = null) {
    redraw(result,
      h("h2", { tabindex: "-1" }, faults.length ? t("stock.faults", { n: faults.length }) : t(dry ? "stock.sound" : "stock.done", { n: rows })),
      words ? h("p", {}, words) : null,
      faults.length ? h("p", {}, t("stock.nothing")) : h("p", {}, t("stock.sum", { added: added.length, changed: changed.length, unchanged })),
      faults.length ? deskTable(t("stock.faults", { n: faults.length }), [
        { words: t("stock.line"), cell: (f) => t("stock.line.n", { n: f.line }) },
        { words: t("stock.column"), cell: (f) => (f.field ? t("stock.field", { n: f.column, field: f.field }) : String(f.column)) },
        { words: t("stock.detail"), cell: (f) => quoted("span", {}, f.detail) },
      ], faults) : null,
      !faults.length && (added.length || changed.length) ? h("details", { "data-key": "lines" }, h("summary", {}, t("stock.lines")),
        h("ul", { class: "points" },
          added.map((each) => h("li", {}, t("stock.adds", { line: each.line, tag: each.tag }))),
          changed.map((each) => h("li", {}, t("stock.changes", { line: each.line, tag: each.tag, fields: each.fields.join(", ") }))))) : null);
    result.querySelector("h2").focus();
  }

  function drawKeys() {
    const ready = tried && tried.words === text.value && !tried.told.faults.length && tried.told.rows;
    redraw(keys,
      button(t(busy ? "desk.working" : "stock.try"), tryIt, { class: ready ? "key-text" : "main-key", key: "stock:try", "aria-busy": String(busy) }),
      ready ? button(t("stock.take", { n: tried.told.added.length + tried.told.changed.length }), takeIn, { class: "main-key", key: "stock:take" }) : null);
  }

  const file = h("input", { type: "file", accept: ".csv,text/csv,text/plain", "data-key": "csv-file", on: { change: async ({ target }) => {
    const [chosen] = target.files;
    target.value = "";
    if (!chosen) return;
    tried = null;
    try {
      text.value = new TextDecoder("utf-8", { fatal: true }).decode(await chosen.arrayBuffer());
    } catch {
      // Letters read the wrong way would go in without anybody noticing.
      fault.textContent = t("stock.encoding", { name: chosen.name });
      fault.hidden = false;
      return;
    }
    await tryIt();
  } } });

  drawKeys();
  return {
    title: t("stock.title"), close: () => { if (saved) URL.revokeObjectURL(saved); },
    node: frame(t("stock.title"),
      h("section", {}, h("h2", {}, t("stock.out")), h("p", {}, t("stock.out.words")),
        h("div", { class: "keys" }, button(t("stock.export"), take, { class: "key-text", key: "stock:export" }))),
      h("section", {}, h("h2", {}, t("stock.in")), h("p", {}, t("stock.in.words")),
        h("div", { class: "keys" }, h("label", { class: "file" }, h("span", {}, t("stock.file")), file)),
        h("div", { class: "field" }, h("label", { class: "label", for: "csv" }, t("stock.paste")), text, h("p", { class: "hint", id: "csv-hint" }, t("stock.paste.hint"))),
        fault, keys),
      result),
  };
}
