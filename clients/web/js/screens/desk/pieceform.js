// The record of a piece: what it is. Made new, or written anew against what was read.

import * as desk from "../../desk.js";
import { h } from "../../dom.js";
import { dayWords, plain } from "../../format.js";
import { deskForm } from "../../parts/desk-form.js";
import { boardTypes, cables, regions } from "../../reference.js";
import { t } from "../../text.js";
import { clashBox } from "./clash.js";
import { KINDS } from "./pieces.js";

const FIELDS = ["kind", "name", "cable", "csa_mm2", "length_m", "connector", "board", "fixture", "bought_on", "tested_on",
  "test_interval_months", "note"];
const DAYS = new Set(["bought_on", "tested_on"]);

/** What is sent of a piece as it is shown: the last test before the list goes by another name there. */
const record = (piece) => Object.fromEntries(FIELDS.map((name) => [name, (name === "tested_on" ? piece?.tested_before_on : piece?.[name]) || ""]));
const sent = (values) => Object.fromEntries(FIELDS.filter((name) => values[name] !== "" && values[name] !== undefined).map((name) => [name, values[name]]));
const shown = (name, value) => (!value ? t("none") : DAYS.has(name) ? dayWords(value)
  : name === "kind" ? t(`kind.piece.${value}`) : typeof value === "number" ? plain(value) : value);

/** Types that can be named, from the catalogue: `datalist` elements and nothing else. */
async function suggestions(host) {
  const [types, boards, known] = await Promise.all([cables(), boardTypes(), regions()]);
  const connectors = new Map([...known.values()].flatMap((region) => region.outlets ?? []).map((outlet) => [outlet.id, outlet.name]));
  const list = (id, items) => h("datalist", { id }, [...items].map(([value, words]) => h("option", { value }, words ?? value)));
  host.append(
    list("known-cables", [...types.values()].map((each) => [each.id, each.name])),
    list("known-boards", [...boards.values()].map((each) => [each.id, each.name])),
    list("known-connectors", connectors));
}

/** The form of a new piece, or of a known one with its `etag`; `done(piece)` once it is kept. */
export function pieceForm({ piece = null, etag = null, done, leave = null }) {
  const host = h("div", { class: "form" });
  let base = record(piece);

  async function clash(tag, mine) {
    const { data: theirs, etag: now } = await desk.piece(tag);
    host.replaceChildren(clashBox({
      title: t("clash.piece"), by: theirs.updated_by, at: theirs.updated_at,
      names: FIELDS, label: (name) => t(`piece.${name}`), shown, base, mine, theirs: record(theirs),
      async save(values) {
        try {
          done((await desk.putPiece(tag, sent(values), now)).data);
        } catch (error) {
          if (error.status !== 412) throw error;
          base = record(theirs);
          await clash(tag, values);
        }
      },
      leave: () => done(theirs),
      back: () => host.replaceChildren(form),
    }));
    host.querySelector("h2")?.focus();
  }

  const form = deskForm({
    id: piece ? "piece" : "new-piece", words: piece ? "desk.save" : "piece.make", leave, values: piece ? base : { kind: "cable" },
    fields: [
      piece ? null : { name: "tag", label: t("piece.tag"), needed: true, most: 64, exact: true, hint: t("piece.tag.hint") },
      { name: "kind", label: t("piece.kind"), kind: "choice", options: KINDS.map((kind) => [kind, t(`kind.piece.${kind}`)]) },
      { name: "name", label: t("piece.name"), hint: t("piece.name.hint") },
      { name: "cable", label: t("piece.cable"), list: "known-cables", exact: true, hint: t("piece.cable.hint") },
      [{ name: "csa_mm2", label: t("piece.csa_mm2"), kind: "number", unit: "mm²" }, { name: "length_m", label: t("piece.length_m"), kind: "number", unit: "m" }],
      { name: "connector", label: t("piece.connector"), list: "known-connectors", exact: true },
      { name: "board", label: t("piece.board"), list: "known-boards", exact: true },
      { name: "fixture", label: t("piece.fixture"), exact: true },
      [{ name: "bought_on", label: t("piece.bought_on"), kind: "day" }, { name: "tested_on", label: t("piece.tested_on"), kind: "day", hint: t("piece.tested_on.hint") }],
      { name: "test_interval_months", label: t("piece.test_interval_months"), kind: "number", hint: t("piece.interval.hint") },
      { name: "note", label: t("desk.note"), kind: "note" },
    ].filter(Boolean),
    async send({ tag = piece?.tag, ...values }, key) {
      if (!piece) { done(await desk.addPiece({ tag, ...values }, key)); return; }
      const mine = { ...record(null), ...values };
      try {
        done((await desk.putPiece(tag, sent(mine), etag)).data);
      } catch (error) {
        if (error.status !== 412) throw error;
        await clash(tag, mine);
      }
    },
  });
  host.append(form);
  // Without an answer the types are typed without help.
  suggestions(host).catch(() => {});
  return host;
}
