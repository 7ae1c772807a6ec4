// One order: what is known of it, its reports, its boards, its crew's link, and what is out on it.

import * as desk from "../../desk.js";
import { button, h, redraw } from "../../dom.js";
import { momentWords } from "../../format.js";
import { t } from "../../text.js";
import { boardsSection } from "./boards.js";
import { crewSection } from "./crew.js";
import { attempt, frame } from "./door.js";
import { orderForm } from "./orderform.js";
import { datesWords } from "./orders.js";
import { outSection } from "./out.js";
import { reportsSection } from "./reports.js";

export async function orderScreen(ref) {
  if (!ref) { location.hash = "#/desk"; return { title: t("orders.title"), close: () => {}, node: frame(t("orders.title")) }; }
  let { data: order, etag } = await desk.order(ref);
  const head = h("section", { class: "order-head" });
  const gone = new AbortController();

  function show() {
    redraw(head,
      h("dl", { class: "facts" },
        [["production", order.production], ["dates", datesWords(order)], ["contact", order.contact], ["note", order.note]]
          .filter(([, value]) => value).map(([name, value]) => [h("dt", {}, t(`order.${name}`)), h("dd", {}, value)])),
      h("p", { class: "aside" }, t("order.changed", { name: order.updated_by, when: momentWords(order.updated_at) })),
      h("div", { class: "keys" }, button(t("order.edit"), edit, { class: "key-text", key: "order:edit" })));
  }

  // What is typed is held against what was read when typing began.
  async function edit() {
    await attempt(head, async () => {
      ({ data: order, etag } = await desk.order(ref));
      redraw(head, orderForm({ order, etag, leave: show, done: (next, mark) => {
        order = next;
        etag = mark;
        show();
        head.querySelector('[data-key="order:edit"]').focus();
      } }));
      head.querySelector("input")?.focus();
    });
  }

  show();
  const boards = boardsSection(ref, gone.signal);
  const reports = reportsSection(order, gone.signal, boards);
  const [crew, out] = [crewSection(ref, gone.signal), outSection(order)];
  await Promise.all([boards.load(), reports.load(), crew.load(), out.load()]);
  return {
    title: order.ref, close: () => gone.abort(),
    node: frame([h("span", { class: "aside over" }, t("order.one")), " ", order.ref],
      h("div", { class: "desk-panes" }, h("div", { class: "desk-pane" }, head), h("div", { class: "desk-pane" }, boards.node)),
      reports.node,
      out.node, crew.node),
  };
}
