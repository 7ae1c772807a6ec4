// The check reports of an order: those that were issued, and a new one from a saved layout or the open board.

import * as desk from "../../desk.js";
import { button, h, redraw } from "../../dom.js";
import { momentWords } from "../../format.js";
import { deskForm, showProblem } from "../../parts/desk-form.js";
import { deskTable } from "../../parts/desk-table.js";
import { openSheet } from "../../parts/sheet.js";
import { likelyRegion } from "../../reference.js";
import { quoted } from "../../parts/service.js";
import { t } from "../../text.js";
import { worksheet } from "../../worksheet.js";
import { hasBoard, openName } from "./boards.js";
import { attempt } from "./door.js";

const OPEN_BOARD = "open";
const NONE = "none";
const SEVERITY = { pass: "note", caution: "caution", fail: "fail" };

/** The paper's address on one size of paper. */
function paperAddress(report, paper) {
  const url = new URL(report.links.pdf, location.href);
  url.searchParams.set("paper", paper);
  return url.href;
}

const links = (report) => h("span", { class: "row-keys" },
  [["a4", "report.a4"], ["letter", "report.letter"]].map(([paper, words]) =>
    h("a", { class: "key-text", href: paperAddress(report, paper), target: "_blank", rel: "noopener", "data-key": `pdf:${paper}:${report.number}`,
      "aria-label": t("report.open", { n: report.number, paper: t(words) }) }, t(words))),
  h("a", { class: "key-text", href: report.links.verify, target: "_blank", rel: "noopener",
    "aria-label": t("report.verify.n", { n: report.number }) }, t("report.verify")));

/** `{node, load}` */
export function reportsSection(order, signal, boards) {
  const host = h("div", { class: "desk-list" });
  const said = h("div", { class: "said", role: "status" });
  let items = [];

  async function load() {
    await attempt(host, async () => {
      ({ items } = await desk.reports(order.ref));
      const number = (id) => items.find((each) => each.id === id)?.number;
      redraw(host, items.length ? deskTable(t("reports.title"), [
        { words: t("report.number"), cell: (r) => [t("report.n", { n: r.number }), " ", h("span", { class: "title" }, r.title)] },
        { words: t("report.verdict"), cell: (r) => h("span", { class: "tag", "data-severity": SEVERITY[r.verdict] }, t(`verdict.${r.verdict}`)) },
        { words: t("report.state"), cell: (r) => (r.status === "superseded"
          ? h("span", { class: "superseded" }, t("report.superseded", { n: number(r.superseded_by) ?? "?", when: momentWords(r.superseded_at) }))
          : t("report.current")) },
        { words: t("report.issued"), cell: (r) => t("report.by", { name: r.issued_by, when: momentWords(r.issued_at) }) },
        { words: t("report.paper"), cell: links },
      ], items, { key: (r) => r.number, mark: (r) => (r.status === "superseded" ? "past" : null) })
        : h("p", { class: "aside" }, t("reports.none")));
    });
  }

  function issue() {
    openSheet(t("report.new"), (close) => issueForm(order, boards, items.filter((each) => each.status === "current"), (made) => {
      close();
      // The next form knows of it at once, however long the list takes to come.
      const overtaken = { status: "superseded", superseded_by: made.id, superseded_at: made.issued_at };
      items = [made, ...items.map((each) => (each.id === made.supersedes ? { ...each, ...overtaken } : each))];
      redraw(said, h("p", {}, h("b", {}, t("report.made", { n: made.number }))), links(made));
      load();
    }), () => {}, "desk.leave");
  }

  const keys = h("div", { class: "keys" });
  function draw() {
    const can = boards.items().length || hasBoard();
    redraw(keys, can ? button(t("report.new"), issue, { class: "main-key", key: "issue" }) : h("p", { class: "hint" }, t("report.nothing")));
  }
  boards.node.addEventListener("changed", draw, { signal });
  draw();
  return { node: h("section", {}, h("h2", {}, t("reports.title")), host, said, keys), load };
}

function issueForm(order, boards, current, done) {
  const sources = [
    ...boards.items().map((layout) => [layout.id, t("report.from.saved", { name: layout.name || t("board.unnamed") })]),
    ...(hasBoard() ? [[OPEN_BOARD, t("report.from.open", { name: openName() })]] : []),
  ];
  const against = h("div", { class: "against", hidden: true });
  // Who answers for a layout that fails is asked only where it fails.
  const accept = (name, most) => (spec) => {
    const control = h(name === "by" ? "input" : "textarea", { type: name === "by" ? "text" : null, rows: 2, class: "words", maxlength: most, autocomplete: "off", "data-key": spec.id, "data-path": `/accept_fail/${name}`, id: spec.id });
    const node = h("div", { class: "field accept", hidden: true },
      h("label", { class: "label", for: spec.id }, t(`report.accept.${name}`)), control,
      h("p", { class: "fault", hidden: true }));
    return { node, control, read: () => control.value.trim() || undefined };
  };
  const form = deskForm({
    id: "report", words: "report.issue",
    values: { paper: likelyRegion() === "us" ? "letter" : "a4" },
    fields: [
      { name: "source", label: t("report.from"), kind: "choice", options: sources },
      [{ name: "paper", label: t("report.paper"), kind: "choice", options: [["a4", t("report.a4")], ["letter", t("report.letter")]] },
        { name: "issued_by", label: t("report.issued_by"), most: 100, hint: t("report.issued_by.hint") }],
      { name: "title", label: t("report.title"), hint: t("report.title.hint") },
      ...(current.length ? [{ name: "supersedes", label: t("report.supersedes"), kind: "choice", options: [["", t("report.supersedes.usual")],
        ...current.map((each) => [each.id, t("report.supersedes.n", { n: each.number, title: each.title })]), [NONE, t("report.supersedes.none")]] }] : []),
      { name: "note", label: t("report.note"), kind: "note", hint: t("report.note.hint") },
      against,
      { name: "accept_by", kind: accept("by", 100) },
      { name: "accept_reason", kind: accept("reason", 500) },
    ],
    async send({ source, accept_by: by, accept_reason: reason, supersedes, ...body }, key) {
      const from = source === OPEN_BOARD ? { layout: worksheet.layout } : { layout_id: source };
      const accepted = against.hidden ? {} : { accept_fail: { by: by ?? "", reason: reason ?? "" } };
      const place = supersedes ? { supersedes: supersedes === NONE ? null : supersedes } : {};
      done(await desk.issue(order.ref, { ...from, ...body, ...place, ...accepted }, key));
    },
    refused(problem) {
      const fails = problem.type?.endsWith("/failing-layout");
      if (!fails && !problem.type?.endsWith("/equipment-withdrawn")) return false;
      redraw(against,
        h("h3", { tabindex: "-1" }, t(fails ? "report.fails" : "report.withdrawn")),
        h("ul", { class: "points" }, problem.errors.map((each) => quoted("li", {}, each.detail))),
        h("p", {}, t(fails ? "report.fails.words" : "report.withdrawn.words")));
      against.hidden = false;
      for (const each of form.querySelectorAll(".accept")) each.hidden = !fails;
      against.querySelector("h3").focus();
      return true;
    },
  });
  // Another board may hold after all.
  form.querySelector("select").addEventListener("change", () => {
    against.hidden = true;
    for (const each of form.querySelectorAll(".accept")) each.hidden = true;
    showProblem(form, { kind: "refused", errors: [], reasons: [], detail: "" });
  });
  return form;
}
