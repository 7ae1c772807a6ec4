// What is done with a piece, each as a form: out on an order, looked over, withdrawn, cause, test, back into service.

import * as desk from "../../desk.js";
import { button, h, redraw } from "../../dom.js";
import { momentWords, todayHere } from "../../format.js";
import { deskForm, showProblem } from "../../parts/desk-form.js";
import { quoted } from "../../parts/service.js";
import { t } from "../../text.js";
import { inspectForm } from "./inspect.js";
import { CAUSES } from "./pieces.js";

const note = { name: "note", label: t("desk.note"), kind: "note" };

/** Fields of each deed and the part of the address it is sent to. */
const ACTS = {
  "check-out": { to: "check-outs", fields: () => [
    { name: "order_ref", label: t("order.ref"), needed: true, most: 64, exact: true },
    { name: "until", label: t("out.until"), kind: "day" }, note] },
  withdraw: { to: "withdrawals", grave: true, fields: () => [{ ...note, label: t("withdraw.why"), needed: true }] },
  cause: { to: "causes", fields: () => [
    { name: "cause", label: t("act.cause.what"), kind: "choice", options: CAUSES.map((code) => [code, t(`cause.${code}`)]), hint: t("act.cause.hint") }, note],
  values: (piece) => ({ cause: piece.withdrawal?.cause?.cause ?? "unknown" }) },
  test: { to: "tests", fields: () => [
    { name: "passed", label: t("test.result"), kind: "choice", options: [["", t("test.choose")], ["yes", t("test.passed")], ["no", t("test.failed")]], needed: true, missing: "test.result.missing" },
    { name: "competent_person", label: t("test.person"), needed: true, most: 100, hint: t("test.person.hint") },
    { name: "tested_on", label: t("test.on"), kind: "day" },
    [{ name: "continuity_ohm", label: t("test.continuity"), kind: "number", unit: "Ω" }, { name: "insulation_mohm", label: t("test.insulation"), kind: "number", unit: "MΩ" }],
    [{ name: "polarity", label: t("test.polarity"), kind: "choice", options: [["", t("test.unmeasured")], ["correct", t("test.correct")], ["wrong", t("test.wrong")]] },
      { name: "loop_impedance_ohm", label: t("test.loop"), kind: "number", unit: "Ω" }],
    note],
  values: () => ({ tested_on: todayHere() }), body: ({ passed, ...body }) => ({ ...body, passed: passed === "yes" }) },
  release: { to: "releases", fields: () => [note] },
  restore: { to: "restorations", fields: () => [note] },
  retire: { grave: true, fields: () => [], words: "act.retire.words" },
};

/**
 * The form of a deed on a piece that was read with `etag`. Where somebody was faster, what they did is shown
 * and a person chooses: `look` shows the piece as it is now, or it is done all the same.
 */
export function actForm(name, piece, etag, { done, look }) {
  let mark = etag;
  const changed = h("div", { class: "against", hidden: true, role: "alert" });
  const host = h("div", { class: "form" });

  const send = (to) => (body, key) => desk.happen(piece.tag, to, body, key, mark);

  function refused(problem, form) {
    const before = problem.changes?.length ? h("ul", { class: "points" }, problem.changes.map((each) => h("li", {},
      quoted("span", {}, each.words.join(" ")), " ", h("span", { class: "aside" }, t("report.by", { name: each.by, when: momentWords(each.at) }))))) : null;
    if (problem.status === 412) {
      redraw(changed, h("h3", {}, t("clash.piece")), before, h("p", {}, t("act.changed")), h("div", { class: "keys" },
        button(t("act.look"), look, { class: "key-text", key: "act:look" }),
        name === "retire" ? null : button(t("act.anyway"), () => { mark = null; changed.hidden = true; form.requestSubmit(); }, { class: "key-text", key: "act:anyway" })));
    } else if (problem.status === 409 && problem.reasons?.length) {
      redraw(changed, h("h3", {}, t("act.refused")), h("ul", { class: "points" }, problem.reasons.map((each) => quoted("li", {}, each.detail))),
        before ? [h("p", { class: "aside" }, t("act.last")), before] : null,
        h("div", { class: "keys" }, button(t("act.look"), look, { class: "key-text", key: "act:look" })));
    } else return false;
    changed.hidden = false;
    changed.scrollIntoView({ block: "nearest" });
    return true;
  }

  if (name === "return" || name === "inspect") {
    const form = inspectForm(piece, { returned: name === "return", done, send: async (body, key) => {
      try {
        return await send("inspections")(body, key);
      } catch (error) {
        if (refused(error, form)) throw Object.assign(new Error(), { kind: "refused", own: true, reasons: [], errors: [], detail: t("act.above") });
        throw error;
      }
    } });
    host.append(changed, form);
    return host;
  }

  const act = ACTS[name];
  const form = deskForm({
    id: `act-${name}`, words: `act.${name}.do`, grave: act.grave, values: act.values?.(piece) ?? {},
    fields: act.fields(),
    async send(body, key) {
      if (name === "retire") {
        await desk.retirePiece(piece.tag, mark);
        done({ said: t("act.retired", { tag: piece.tag }), warnings: [] });
      } else done(await send(act.to)(act.body ? act.body(body) : body, key));
    },
    refused: (problem) => {
      if (!refused(problem, form)) return false;
      showProblem(form, { kind: "refused", own: true, errors: [], reasons: [], detail: t("act.above") });
      return true;
    },
  });
  host.append(act.words ? h("p", {}, t(act.words)) : "", changed, form);
  return host;
}
