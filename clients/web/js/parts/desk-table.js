// A table that becomes a list of cards where the page has no room for its columns just there.

import { button, h, redraw } from "../dom.js";
import { t } from "../text.js";

/**
 * A table: `columns` are `{words, cell(item), figure}`, the first of them heads its row; `key(item)` names a row.
 * The roles are said again, since a browser forgets a table's own once it is drawn as cards.
 */
export function deskTable(label, columns, items, { key = (_, index) => index, mark = () => null } = {}) {
  return h("div", { class: "table-room" }, h("table", { class: "desk-table", role: "table", "aria-label": label },
    h("thead", { role: "rowgroup" }, h("tr", { role: "row" },
      columns.map(({ words, figure }) => h("th", { role: "columnheader", scope: "col", class: figure ? "figure" : null }, words)))),
    h("tbody", { role: "rowgroup" }, items.map((item, index) => h("tr", { role: "row", "data-row": key(item, index), "data-mark": mark(item) },
      columns.map(({ words, cell, figure }, n) => h(n ? "td" : "th", {
        role: n ? "cell" : "rowheader", scope: n ? null : "row", class: figure ? "figure" : null, "data-label": words,
      }, h("span", {}, cell(item) || t("none")))))))));
}

/**
 * A list that the service gives in pages: `ask(cursor)` gives `{items, next_cursor}`, `draw(items)` nodes.
 * `{node, load}`; `load()` begins anew and throws what went wrong.
 */
export function pagedList(ask, draw) {
  const node = h("div", { class: "paged" });
  let turn = 0;
  let items = [];

  function show(next, mine) {
    redraw(node, draw(items), next ? button(t("desk.more"), async ({ currentTarget }) => {
      currentTarget.setAttribute("aria-busy", "true");
      const page = await ask(next);
      if (mine !== turn) return;
      items = [...items, ...page.items];
      show(page.next_cursor, mine);
    }, { class: "wide-key", key: "more" }) : null);
  }

  async function load() {
    const mine = ++turn;
    node.setAttribute("aria-busy", "true");
    try {
      const page = await ask(null);
      if (mine !== turn) return;
      items = page.items;
      show(page.next_cursor, mine);
    } finally { if (mine === turn) node.removeAttribute("aria-busy"); }
  }

  return { node, load, redraw: () => show(null, turn), items: () => items };
}
