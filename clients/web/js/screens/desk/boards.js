// The saved layouts of an order: open one on the board, save the open board to the order.

import * as desk from "../../desk.js";
import { button, h, redraw } from "../../dom.js";
import { age } from "../../format.js";
import { deskKey } from "../../key.js";
import { tellProblem } from "../../parts/desk-form.js";
import { shared } from "../../together.js";
import { t } from "../../text.js";
import { worksheet } from "../../worksheet.js";
import { workOn } from "../share.js";
import { attempt } from "./door.js";

/** What the open board is called. */
export const openName = () => worksheet.layout?.name || t("board.unnamed");
export const hasBoard = () => Boolean(worksheet.layout?.boards?.length);

/** `{node, load, items}`; `changed` on the node tells that the list is another. */
export function boardsSection(ref, signal) {
  const host = h("div", { class: "desk-list" });
  const fault = h("p", { class: "fault", role: "alert", hidden: true });
  const said = h("p", { class: "said", role: "status" });
  let items = [];
  let key = desk.freshKey();

  async function work(deed) {
    fault.hidden = true;
    try { await deed(); } catch (error) {
      tellProblem(fault, error);
    }
  }

  const open = (layout) => work(async () => {
    await workOn(layout.id, "plug", await deskKey());
    if (!signal.aborted) location.hash = "#/board";
  });

  const save = () => work(async () => {
    const saved = await desk.saveLayout({ body: worksheet.layout, order_ref: ref, ...(shared.who ? { by: shared.who } : {}) }, key);
    key = desk.freshKey();
    said.textContent = t("boards.saved", { name: saved.name || openName() });
    await load();
  });

  async function load() {
    await attempt(host, async () => {
      ({ items } = await desk.layouts(ref));
      redraw(host,
        items.length ? h("ul", { class: "desk-rows" }, items.map((layout) => h("li", {},
          button([h("b", {}, layout.name || t("board.unnamed")), h("span", { class: "aside" },
            t("boards.version", { n: layout.version, name: layout.updated_by, age: age(Date.parse(layout.updated_at)) })),
            h("span", { class: "heard" }, t("boards.open", { name: layout.name || t("board.unnamed") }))],
          () => open(layout), { class: "item tall", key: `layout:${layout.id}` }))))
          : h("p", { class: "aside" }, t("boards.none")));
      node.dispatchEvent(new CustomEvent("changed"));
    });
  }

  const node = h("section", {},
    h("h2", {}, t("boards.title")), host, fault, said,
    hasBoard() ? h("div", { class: "keys" }, button(t("boards.save", { name: openName() }), save, { class: "key-text", key: "save-board" }))
      : h("p", { class: "hint" }, t("boards.no-open")));
  return { node, load, items: () => items };
}
