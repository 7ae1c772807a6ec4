// The desk's orders: those of a day, found by words, and a new one.

import * as desk from "../../desk.js";
import { button, h, redraw } from "../../dom.js";
import { dayWords, todayHere } from "../../format.js";
import { deskTable, pagedList } from "../../parts/desk-table.js";
import { openSheet } from "../../parts/sheet.js";
import { t } from "../../text.js";
import { attempt, frame } from "./door.js";
import { orderForm } from "./orderform.js";

const WAIT_MS = 250;
/** What was looked for, so that it is there again on the way back. */
const asked = { q: "", on: todayHere() };

export const orderPlace = (ref) => `#/order/${encodeURIComponent(ref)}`;
export const datesWords = ({ starts_on: from, ends_on: to }) =>
  (!from && !to ? null : from && to && from !== to ? t("desk.dates", { from: dayWords(from), to: dayWords(to) })
    : from && !to ? t("desk.dates.from", { from: dayWords(from) }) : !from ? t("desk.dates.to", { to: dayWords(to) }) : dayWords(from));

export async function ordersScreen() {
  const gone = new AbortController();
  const list = pagedList((cursor) => desk.orders({ q: asked.q, on: asked.on, limit: 50, cursor }, gone.signal), (items) => (items.length
    ? deskTable(t("desk.nav.desk"), [
      { words: t("order.ref"), cell: (o) => h("a", { class: "row-link", href: orderPlace(o.ref) }, o.ref) },
      { words: t("order.production"), cell: (o) => o.production },
      { words: t("order.dates"), cell: datesWords },
      { words: t("order.contact"), cell: (o) => o.contact },
      { words: t("order.reports"), cell: (o) => String(o.reports), figure: true },
    ], items, { key: (o) => o.ref })
    : h("p", {}, t(asked.q ? "orders.none.found" : asked.on ? "orders.none.day" : "orders.none"))));
  const host = h("div", {});
  const load = () => attempt(host, async () => { await list.load(); redraw(host, list.node); });

  let timer = null;
  const words = h("input", { type: "search", id: "orders-q", value: asked.q, autocomplete: "off", maxlength: 100, "data-key": "orders:q", on: { input: () => {
    asked.q = words.value.trim();
    clearTimeout(timer);
    timer = setTimeout(load, WAIT_MS);
  } } });
  const day = h("input", { type: "date", id: "orders-on", value: asked.on, "data-key": "orders:on", on: { change: () => { asked.on = day.value; chips(); load(); } } });
  const keys = h("div", { class: "chips" });
  const choose = (on) => () => { asked.on = day.value = on; chips(); load(); };
  function chips() {
    redraw(keys,
      button(t("orders.today"), choose(todayHere()), { class: "chip", key: "orders:today", pressed: asked.on === todayHere() }),
      button(t("orders.any"), choose(""), { class: "chip", key: "orders:any", pressed: !asked.on }));
  }

  const fresh = () => openSheet(t("order.new"), (close) => orderForm({
    done: (order) => { close(); location.hash = orderPlace(order.ref); },
  }), () => {}, "desk.leave");

  chips();
  await list.load();
  redraw(host, list.node);
  return {
    title: t("orders.title"), close: () => { gone.abort(); clearTimeout(timer); },
    node: frame(t("orders.title"),
      h("search", { class: "desk-search" },
        h("div", { class: "field" }, h("label", { class: "label", for: "orders-q" }, t("orders.search")), words),
        h("div", { class: "field" }, h("label", { class: "label", for: "orders-on" }, t("orders.on")), day),
        keys),
      h("div", { class: "keys" }, button(t("order.new"), fresh, { class: "main-key", key: "order:new" })),
      host),
  };
}
