// One piece of equipment: what it is, where it is, whether it may go out, what to do with it, what it went through.

import * as desk from "../../desk.js";
import { button, h, redraw } from "../../dom.js";
import { dayWords, momentWords, plain } from "../../format.js";
import { openSheet } from "../../parts/sheet.js";
import { quoted } from "../../parts/service.js";
import { t } from "../../text.js";
import { actForm } from "./acts.js";
import { attempt, frame } from "./door.js";
import { historySection } from "./history.js";
import { labelsSheet } from "./labels.js";
import { orderPlace } from "./orders.js";
import { pieceForm } from "./pieceform.js";
import { photoRow } from "./photofield.js";
import { outcome, sizeWords, stateTag } from "./pieces.js";

/** What may be done in each state, the likeliest first. */
const DEEDS = {
  "in-service": ["check-out", "inspect", "test", "withdraw"],
  out: ["return", "inspect", "test", "withdraw"],
  withdrawn: [],
  missing: [],
  retired: ["restore"],
};
const FACTS = ["name", "cable", "csa_mm2", "length_m", "connector", "board", "fixture", "bought_on", "tested_on", "note"];

export async function pieceScreen(tag) {
  const gone = new AbortController();
  const host = h("div", { class: "desk-panes" });
  const said = h("div", { class: "said", role: "status" });
  let piece = null;
  let etag = null;

  async function load() {
    const [one, past, pictures] = await Promise.all([desk.piece(tag), desk.history(tag), desk.photos(tag)]);
    if (gone.signal.aborted) return;
    ({ data: piece, etag } = one);
    redraw(host,
      h("div", { class: "desk-pane" }, standing(), path(), deeds(), facts()),
      h("div", { class: "desk-pane" }, historySection(piece, past, pictures.items, gone.signal),
        pictures.items.length ? h("section", {}, h("h2", {}, t("photo.all", { n: pictures.items.length })), photoRow(tag, pictures.items, gone.signal)) : null));
  }

  const again = () => attempt(said, load);

  /** Open the sheet of a deed; what came of it is said, and the page shows the piece as it is now. */
  function act(name) {
    openSheet(t(`act.${name}`), (close) => actForm(name, piece, etag, {
      look: () => { close(); again(); },
      done: (answer) => {
        close();
        redraw(said, outcome(answer));
        again();
      },
    }), () => {}, "desk.leave");
  }
  const deed = (name, main) => button(t(`act.${name}`), () => act(name), { class: main ? "main-key" : "key-text", key: `act:${name}` });

  const standing = () => h("section", { class: "standing", "data-state": piece.fit || piece.state === "out" ? "fit" : "unfit" },
    h("p", {}, stateTag({ ...piece, hire: null }), " ", h("b", {}, t(piece.state === "out" ? "piece.is-out" : piece.fit ? "piece.fit" : "piece.unfit"))),
    piece.hire ? h("p", {}, h("a", { class: "row-link", href: orderPlace(piece.hire.order_ref) }, piece.hire.order_ref), " ",
      t("piece.since", { when: momentWords(piece.hire.since), name: piece.hire.by }),
      piece.hire.until ? ` ${t("piece.until", { day: dayWords(piece.hire.until) })}` : "") : null,
    piece.unfit_because.length ? h("ul", { class: "points" }, piece.unfit_because.map((each) => quoted("li", {}, each.detail))) : null,
    h("details", { "data-key": "due" },
      h("summary", {}, t("piece.due.words", { day: dayWords(piece.test_due_on), n: piece.test_interval.months })),
      h("p", { class: "hint" }, t("piece.due.basis"), " ", quoted("span", {}, piece.test_interval.basis))));

  /** The way back into service, a step at a time. */
  function path() {
    const { withdrawal } = piece;
    if (!withdrawal || piece.state === "retired") return null;
    const cause = withdrawal.cause && withdrawal.cause.cause !== "unknown" ? withdrawal.cause : null;
    const steps = [
      ["withdrawn", [t("piece.withdrawn.by", { name: withdrawal.by, when: momentWords(withdrawal.since) }),
        [...withdrawal.found.map((code) => t(`found.${code}`, {}, code)), withdrawal.note].filter(Boolean).join(", ")].join(" "), true],
      ["cause", withdrawal.cause ? [t(`cause.${withdrawal.cause.cause}`, {}, withdrawal.cause.cause), withdrawal.cause.note].filter(Boolean).join(". ") : t("path.cause.words"), Boolean(cause)],
      ["test", withdrawal.passed ? t("path.passed", { name: withdrawal.passed.competent_person, day: dayWords(withdrawal.passed.on) }) : t("path.test.words"), Boolean(cause && withdrawal.passed)],
      ["release", t("path.release.words"), false],
    ];
    const next = steps.findIndex(([, , done]) => !done);
    return h("section", { class: "path" }, h("h2", {}, t("path.title")),
      h("ol", { class: "path-steps" }, steps.map(([name, words, done], n) => h("li", { "data-done": String(done), "aria-current": n === next ? "step" : null },
        h("b", {}, t(`path.${name}`), done ? h("span", { class: "heard" }, ` ${t("path.done")}`) : null), h("p", {}, words),
        name === "withdrawn" ? null : n === next || (name === "cause" && !withdrawal.passed) ? deed(name, n === next) : null))),
      h("div", { class: "keys" }, piece.hire ? deed("return") : null, deed("inspect")));
  }

  const deeds = () => (DEEDS[piece.state]?.length && !piece.withdrawal ? h("section", {}, h("h2", {}, t("piece.deeds")),
    h("div", { class: "keys deeds" }, DEEDS[piece.state].map((name, n) => deed(name, n === 0)))) : piece.state === "retired"
    ? h("div", { class: "keys" }, deed("restore", true)) : null);

  const value = (name) => (name === "csa_mm2" ? t("mm2", { n: plain(piece[name]) }) : name === "length_m" ? t("metres", { n: plain(piece[name]) })
    : name.endsWith("_on") ? dayWords(piece[name]) : piece[name]);

  function facts() {
    const section = h("section", {});
    const show = () => redraw(section, h("h2", {}, t("piece.record")),
      h("dl", { class: "facts" }, h("dt", {}, t("piece.kind")), h("dd", {}, t(`kind.piece.${piece.kind}`, {}, piece.kind)),
        FACTS.filter((name) => piece[name]).map((name) => [h("dt", {}, t(`piece.${name}`)), h("dd", {}, value(name))])),
      h("p", { class: "aside" }, t("order.changed", { name: piece.updated_by, when: momentWords(piece.updated_at) })),
      h("div", { class: "keys" },
        piece.state === "retired" ? null : button(t("piece.edit"), edit, { class: "key-text", key: "piece:edit" }),
        button(t("piece.label"), () => labelsSheet([tag]), { class: "key-text", key: "piece:label" }),
        ["out", "retired"].includes(piece.state) ? null : deed("retire")));
    // What is typed is held against the piece as it was when typing began.
    const edit = () => attempt(section, async () => {
      ({ data: piece, etag } = await desk.piece(tag));
      redraw(section, h("h2", { tabindex: "-1" }, t("piece.record")), pieceForm({ piece, etag, leave: show, done: () => again() }));
      section.querySelector("h2").focus();
    });
    show();
    return section;
  }

  await load();
  return {
    title: tag, close: () => gone.abort(),
    node: frame([h("span", { class: "aside over" }, sizeWords(piece)), " ", tag],
      h("p", { class: "back" }, h("a", { href: "#/equipment" }, t("equipment.title"))), said, host),
  };
}

