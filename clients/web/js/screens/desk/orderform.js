// Making an order and changing one. Where somebody else changed it meanwhile, both are shown and a person chooses.

import * as desk from "../../desk.js";
import { h } from "../../dom.js";
import { dayWords } from "../../format.js";
import { deskForm, sayUnder, showProblem } from "../../parts/desk-form.js";
import { t } from "../../text.js";
import { clashBox } from "./clash.js";

const FIELDS = ["production", "contact", "starts_on", "ends_on", "note"];
const only = (order) => Object.fromEntries(FIELDS.map((name) => [name, order?.[name] || ""]));
const sent = (values) => Object.fromEntries(FIELDS.filter((name) => values[name]).map((name) => [name, values[name]]));
const shown = (name, value) => (!value ? t("none") : name.endsWith("_on") ? dayWords(value) : value);

/** The form of a new order, or of a known one with its `etag`; `done(order, etag)` once it is kept. */
export function orderForm({ order = null, etag = null, done, leave = null }) {
  const host = h("div", { class: "form" });
  let base = only(order);
  let read = etag;

  async function put(ref, values, ifMatch) {
    const { data, etag: next } = await desk.putOrder(ref, sent(values), ifMatch);
    done(data, next);
  }

  /** Somebody was faster: what is there now beside what was typed here. */
  async function clash(ref, mine) {
    const { data: theirs, etag: now } = await desk.order(ref);
    host.replaceChildren(clashBox({
      title: order ? t("clash.order") : t("clash.order.there", { ref }),
      by: theirs.updated_by, at: theirs.updated_at,
      names: FIELDS, label: (name) => t(`order.${name}`), shown,
      base: order ? base : only(null), mine, theirs: only(theirs),
      async save(values) {
        try {
          await put(ref, values, now);
        } catch (error) {
          if (error.status !== 412) throw error;
          base = only(theirs);
          await clash(ref, values);
        }
      },
      leave: () => done(theirs, now),
      back: () => host.replaceChildren(form),
    }));
    host.querySelector("h2")?.focus();
  }

  const form = deskForm({
    id: order ? "order" : "new-order", words: order ? "desk.save" : "order.make", leave, values: order ?? {},
    fields: [
      order ? null : { name: "ref", label: t("order.ref"), needed: true, most: 64, exact: true, hint: t("order.ref.hint") },
      { name: "production", label: t("order.production") },
      { name: "contact", label: t("order.contact"), hint: t("order.contact.hint") },
      [{ name: "starts_on", label: t("order.starts_on"), kind: "day" }, { name: "ends_on", label: t("order.ends_on"), kind: "day" }],
      { name: "note", label: t("order.note"), kind: "note" },
    ].filter(Boolean),
    async send({ ref = order?.ref, ...values }) {
      const mine = { ...only(null), ...values };
      try {
        await put(ref, mine, read);
      } catch (error) {
        if (error.status === 412 || error.status === 428) await clash(ref, mine);
        else throw error;
      }
    },
    refused(error) {
      const about = error.errors?.find((each) => each.parameter === "order_ref");
      if (!about) return false;
      showProblem(form, { ...error, errors: [] });
      sayUnder(form, "/ref", about.detail);
      return true;
    },
  });
  host.append(form);
  return host;
}
