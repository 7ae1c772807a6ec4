// What is out on an order, and by its tag: a piece goes out, a piece comes back.

import * as desk from "../../desk.js";
import { button, h, redraw } from "../../dom.js";
import { dayWords } from "../../format.js";
import { deskForm, problemNote } from "../../parts/desk-form.js";
import { tagField } from "./tagfield.js";
import { deskTable } from "../../parts/desk-table.js";
import { openSheet } from "../../parts/sheet.js";
import { t } from "../../text.js";
import { attempt } from "./door.js";
import { inspectForm } from "./inspect.js";
import { outcome, piecePlace, sizeWords } from "./pieces.js";

/** `{node, load}` */
export function outSection(order) {
  const host = h("div", { class: "desk-list" });
  const said = h("div", { class: "said", role: "status" });
  let items = [];

  async function load() {
    await attempt(host, async () => {
      items = [];
      for (let cursor = null; ;) {
        const page = await desk.pieces({ order_ref: order.ref, limit: 200, cursor });
        items.push(...page.items);
        cursor = page.next_cursor;
        if (!cursor) break;
      }
      redraw(host, items.length ? deskTable(t("out.title"), [
        { words: t("piece.tag"), cell: (p) => h("a", { class: "row-link", href: piecePlace(p.tag) }, p.tag) },
        { words: t("piece.what"), cell: sizeWords },
        { words: t("out.until"), cell: (p) => dayWords(p.hire?.until) },
        { words: t("piece.state"), cell: (p) => (p.state === "out" ? t("state.out") : h("span", { class: "tag", "data-severity": "fail" }, t(`state.${p.state}`))) },
        { words: t("out.back"), cell: (p) => button(t("out.return"), () => comeBack(p), { class: "key-text", key: `return:${p.tag}`, label: t("out.return.of", { tag: p.tag }) }) },
      ], items, { key: (p) => p.tag })
        : h("p", { class: "aside" }, t("out.none")));
    });
  }

  const tell = (words) => redraw(said, h("p", {}, h("b", {}, words)));

  function comeBack(piece) {
    openSheet(t("inspect.back", { tag: piece.tag }), (close) => inspectForm(piece, { returned: true, done: (answer) => {
      close();
      redraw(said, outcome(answer));
      load();
    } }), () => {}, "desk.leave");
  }

  const form = deskForm({
    id: "out", words: "out.go",
    values: { until: order.ends_on },
    fields: [
      { name: "tag", label: t("out.tag"), kind: tagField, needed: true, missing: "piece.tag.missing" },
      { name: "until", label: t("out.until"), kind: "day" },
    ],
    async send({ tag, ...body }, key) {
      const answer = await desk.happen(tag, "check-outs", { order_ref: order.ref, ...body }, key);
      redraw(said, outcome({ said: t("out.already", { tag }), ...answer }));
      form.querySelector("input").value = "";
      form.querySelector("input").focus();
      await load();
    },
  });

  // With a tag in hand: one that is out here comes back, whatever the list shows.
  const back = button(t("out.return.tag"), async () => {
    const tag = form.querySelector("input").value.trim();
    if (!tag) { form.querySelector("input").focus(); tell(t("piece.tag.missing")); return; }
    try {
      const { data: piece } = await desk.piece(tag);
      if (piece.hire?.order_ref === order.ref) comeBack(piece);
      else tell(piece.hire ? t("out.elsewhere", { tag, ref: piece.hire.order_ref }) : t("out.not", { tag }));
    } catch (error) { redraw(said, h("p", {}, problemNote("b", {}, error))); }
  }, { class: "key-text", key: "return-by-tag" });
  form.querySelector(".keys").append(back);

  return { node: h("section", { class: "out" }, h("h2", {}, t("out.title")), host, said, form), load };
}
