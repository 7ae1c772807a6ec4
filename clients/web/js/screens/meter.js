// Clamp-meter readings: entered in seconds, expected beside measured, what it means, and earlier ones.

import * as api from "../api.js";
import { burning } from "../burning.js";
import { h, redraw } from "../dom.js";
import { age, amps, figure, typedNumber } from "../format.js";
import { board as boardOf, forPosting, linesOf } from "../layout.js";
import { keep, recall } from "../memory.js";
import * as outbox from "../outbox.js";
import { chart } from "../parts/chart.js";
import { choiceField } from "../parts/field.js";
import { boardTypes, regions } from "../reference.js";
import { shared } from "../together.js";
import { englishNote, quoted } from "../parts/service.js";
import { t } from "../text.js";
import { worksheet } from "../worksheet.js";
import { askWho } from "./who.js";

const AGAIN_MS = 15_000;
const CHARTED = 20;
/** So many are kept on the phone. */
const MOST = 50;
const METERS = ["true-rms", "averaging"];

export async function meterScreen() {
  const [types, known, kind] = await Promise.all([boardTypes(), regions(), recall("meter")]);
  const screen = new MeterScreen(types, known, kind);
  await screen.begin();
  return { title: t("meter.title"), node: screen.node, close: () => screen.close() };
}

class MeterScreen {
  node = h("div", { class: "screen narrow meter" });
  says = h("p", { class: "said", role: "status" });
  fault = h("p", { class: "fault", role: "alert", hidden: true });
  form = h("form", { class: "form" });
  past = h("div", { class: "form" });
  place = "";
  setup = null;
  readings = [];
  inputs = new Map();
  #listening = new AbortController();

  constructor(types, known, kind) {
    Object.assign(this, { types, regions: known, kind: METERS.includes(kind) ? kind : METERS[0] });
  }

  close() {
    this.#listening.abort();
  }

  async begin() {
    const { signal } = this.#listening;
    redraw(this.node,
      h("p", { class: "back" }, h("a", { href: "#/board" }, t("log.back"))),
      h("h1", { tabindex: "-1" }, t("meter.title")));
    if (!worksheet.layout?.boards.length) {
      this.node.append(h("p", {}, t("start.no-board")), h("a", { class: "main-key", href: "#/board" }, t("board.start")));
      return;
    }
    const { layout, view } = worksheet;
    // What burns, else what was looked at: it can be chosen otherwise.
    this.setup = burning() ?? (layout.setups?.some((s) => s.id === view.setup) ? view.setup : null);
    const may = !shared.on || shared.mayMeter;
    this.node.append(
      h("p", { class: "aside" }, t(may ? "meter.words" : "meter.read-only")),
      ...(may ? [this.form] : []), this.says, this.past,
      ...(shared.on ? [] : [h("p", { class: "aside" }, t("meter.alone"), " ", h("a", { href: "#/hand-over" }, t("meter.share")))]));
    this.form.addEventListener("submit", (event) => { event.preventDefault(); this.send(); });
    this.#drawForm();
    worksheet.addEventListener("change", () => this.#drawExpected(), { signal });
    this.readings = (await recall(this.#kept)) ?? [];
    this.#drawPast();
    if (!shared.on) return;
    this.fetch();
    const clock = setInterval(() => { if (document.visibilityState === "visible") this.fetch(); }, AGAIN_MS);
    signal.addEventListener("abort", () => clearInterval(clock));
  }

  /** Under which name the readings are kept on the phone: of the shared board, or of this one. */
  get #kept() {
    const { name, boards } = worksheet.layout;
    return `readings:${shared.on ? shared.board.id : [name, ...boards.map((b) => b.id)].join("/")}`;
  }

  async fetch() {
    if (!shared.on) return;
    const { id } = shared.board;
    try {
      const { items } = await api.readings(id, shared.link.secret, this.#listening.signal);
      if (JSON.stringify(items) === JSON.stringify(this.readings)) return;
      this.readings = items;
      keep(this.#kept, items);
      this.#drawPast();
    } catch { /* what is known stays on the screen, with its age */ }
  }

  // -- entering ------------------------------------------------------------------------------------

  /** The lines that can be clamped at the place chosen. */
  #lines() {
    const { layout } = worksheet;
    const at = this.place && boardOf(layout, this.place);
    if (at) return linesOf(at, this.types);
    const system = layout.supply.system ?? "three-phase";
    return this.regions.get(layout.region)?.systems?.find((s) => s.system === system)?.lines
      ?? (worksheet.answer?.phases ?? []).map((p) => p.phase);
  }

  #drawForm() {
    const { layout } = worksheet;
    const kept = new Map([...this.inputs].map(([name, input]) => [name, input.value]));
    const conductors = [...this.#lines(), "N"];
    this.inputs = new Map();
    const setups = layout.setups ?? [];
    redraw(this.form,
      layout.boards.length ? choiceField(t("meter.at"), {
        value: this.place, options: [["", t("meter.supply")], ...layout.boards.map((b) => [b.id, b.id])],
        change: (place) => { this.place = place; this.#drawForm(); },
      }) : null,
      setups.length ? choiceField(t("meter.setup"), {
        value: this.setup ?? "", options: [...(this.setup ? [] : [["", t("meter.setup.choose")]]), ...setups.map((s) => [s.id, s.id])],
        change: (id) => { this.setup = id || null; this.#drawExpected(); },
      }) : null,
      h("div", { class: "clamps" }, conductors.map((name, index) => this.#clamp(name, kept.get(name), index, conductors))),
      this.fault,
      h("button", { type: "submit", class: "main-key", "data-key": "send-reading" }, t("meter.send")),
      choiceField(t("meter.kind"), {
        value: this.kind, options: METERS.map((kind) => [kind, t(`meter.${kind}`)]),
        change: (kind) => { this.kind = kind; keep("meter", kind); },
      }));
    this.#drawExpected();
  }

  #clamp(name, value, index, conductors) {
    const id = `clamp-${name}`;
    const input = h("input", {
      id, type: "text", inputmode: "decimal", autocomplete: "off", class: "figure clamp", "data-key": id, value: value ?? "",
      enterkeyhint: index + 1 < conductors.length ? "next" : "done", "aria-describedby": `${id}-expected`,
      on: { keydown: (event) => {
        const next = this.inputs.get(conductors[index + 1]);
        // On to the next core; after the last the reading is entered.
        if (event.key === "Enter" && next) { event.preventDefault(); next.focus(); }
      } },
    });
    this.inputs.set(name, input);
    return h("div", { class: "clamp-row" },
      h("label", { for: id, class: "label" }, h("b", {}, name), name === "N" ? h("span", { class: "heard" }, t("meter.neutral")) : null),
      h("span", { class: "control" }, input, h("span", { class: "unit", "aria-hidden": "true" }, "A")),
      h("p", { class: "aside", id: `${id}-expected` }));
  }

  /** What the service last expected there: of the set-up chosen, as far as the answer has it. */
  #expected() {
    const { answer } = worksheet;
    const one = (told) => told && new Map([
      ...told.phases.map((p) => [p.phase, p.current_a]), ["N", told.neutral?.current_a]]);
    if (!answer) return null;
    const alone = !worksheet.layout.setups?.length;
    if (!this.place) return one(alone ? answer : answer.setups?.find((s) => s.id === this.setup));
    const told = answer.boards?.find((b) => b.id === this.place);
    const root = worksheet.layout.boards.filter((b) => !b.fed_from);
    if (root.length === 1 && root[0].id === this.place && !alone) return one(answer.setups?.find((s) => s.id === this.setup));
    return alone || told?.setup === this.setup ? one(told) : null;
  }

  #drawExpected() {
    const expected = this.#expected();
    for (const [name, input] of this.inputs) {
      const a = expected?.get(name);
      input.closest(".clamp-row").querySelector(".aside").textContent =
        typeof a === "number" ? t("meter.expected", { n: amps(a) })
          : worksheet.layout.setups?.length && !this.setup ? "" : t("meter.expected.none");
    }
  }

  async send() {
    const read = new Map([...this.inputs].map(([name, input]) => [name, typedNumber(input.value)]));
    const unread = [...read].filter(([, n]) => Number.isNaN(n) || n < 0).map(([name]) => name);
    for (const [name, input] of this.inputs) input.setAttribute("aria-invalid", String(unread.includes(name)));
    const phases = Object.fromEntries([...read].filter(([name, n]) => name !== "N" && n !== null));
    const wrong = unread.length ? t("fault.number") : Object.keys(phases).length ? null : t("meter.missing");
    this.fault.hidden = !wrong;
    this.fault.textContent = wrong ?? "";
    if (wrong) {
      this.inputs.get(unread[0] ?? [...this.inputs.keys()][0]).focus();
      return;
    }
    const measured = {
      phases, meter: this.kind, ...((read.get("N") ?? null) === null ? {} : { neutral: read.get("N") }),
      ...(this.setup ? { setup: this.setup } : {}), ...(this.place ? { board: this.place } : {}),
    };
    if (!shared.on) { await this.#alone(measured); return; }
    if (!shared.who) askWho();
    const body = { ...measured, ...(shared.who ? { by: shared.who } : {}) };
    const words = Object.entries(phases).map(([name, n]) => `${name} ${amps(n)} A`).join(", ");
    const outcome = await outbox.send("reading", {
      path: `${shared.path}/readings`, body, secret: shared.link.secret, target: `${shared.path}/readings`, words,
    });
    this.#sent(outcome);
  }

  /** On a board of this phone alone: explained at once and kept here. */
  async #alone(measured) {
    try {
      const told = await api.reading({ ...measured, layout: forPosting(worksheet.layout) }, this.#listening.signal);
      const now = Date.now();
      this.#entered({ ...told, id: String(now), at: new Date(now).toISOString(), by: shared.who || t("log.me") });
    } catch (error) {
      if (error.name === "AbortError") return;
      this.fault.hidden = false;
      this.fault.textContent = error.kind === "refused" ? t("meter.refused", { words: refusal(error) }) : t("meter.unsent");
    }
  }

  #entered(reading) {
    for (const input of this.inputs.values()) input.value = "";
    this.readings = [reading, ...this.readings.filter((each) => each.id !== reading.id)].slice(0, MOST);
    keep(this.#kept, this.readings);
    this.#drawPast();
    this.says.textContent = t("meter.sent");
    this.past.querySelector("h2")?.focus({ preventScroll: false });
  }

  #sent({ state, id, answer, problem }) {
    if (state === "refused") {
      this.fault.hidden = false;
      this.fault.textContent = t("meter.refused", { words: refusal(problem) });
      // What was typed stands in the fields; the refused one must not stand in the way.
      outbox.discard(id);
      return;
    }
    if (state === "sent" && answer) { this.#entered(answer); return; }
    for (const input of this.inputs.values()) input.value = "";
    this.says.textContent = t("meter.kept");
  }

  // -- what it means, and what was before ----------------------------------------------------------

  #drawPast() {
    const [last] = this.readings;
    redraw(this.past, last ? [this.#meaning(last), this.#history(last)] : h("p", { class: "aside" }, t("meter.none")));
  }

  #meaning(reading) {
    const word = reading.fits === null ? "unknown" : reading.fits ? "fits" : "differs";
    return h("section", { class: "meaning", "data-verdict": { fits: "pass", differs: "caution", unknown: "unknown" }[word] },
      h("h2", { tabindex: "-1" }, t("meter.result")),
      h("p", { class: "verdict-word" }, t(`meter.${word}`)),
      h("p", { class: "aside" }, this.#by(reading)),
      englishNote(),
      reading.cautions.map((words) => quoted("p", { class: "trouble" }, words)),
      quoted("p", { class: "summary", role: "status" }, reading.summary),
      reading.hypotheses.length > 1 ? [
        h("p", {}, t("meter.maybe")),
        h("ul", { class: "points" }, reading.hypotheses.map(({ sentence }) => quoted("li", {}, sentence))),
      ] : null,
      h("div", { class: "scroller", tabindex: "0", role: "group", "aria-label": t("meter.result") }, differencesTable(reading)));
  }

  #by(reading) {
    return t("meter.by", {
      age: age(Date.parse(reading.at)), name: reading.by, place: reading.board ?? t("meter.supply"), setup: reading.setup,
    });
  }

  /** The last readings at the same place, as small charts and as a table. */
  #history(last) {
    const alike = this.readings.filter((r) => (r.board ?? null) === (last.board ?? null)).slice(0, CHARTED).reverse();
    if (alike.length < 2) return null;
    const conductors = [...new Set(alike.flatMap((r) => r.differences.map((d) => d.conductor)))];
    const of = (r, name) => r.differences.find((d) => d.conductor === name);
    return h("section", {},
      h("h2", {}, t("meter.history")),
      h("div", { class: "charts" }, conductors.map((name) => chart(name, alike.map((r) =>
        ({ measured: of(r, name)?.measured_a ?? null, expected: of(r, name)?.expected_a ?? null }))))),
      h("p", { class: "aside" }, t("meter.chart.key")),
      h("details", { "data-key": "readings-table" },
        h("summary", {}, t("meter.chart.table")),
        h("div", { class: "scroller", tabindex: "0", role: "group", "aria-label": t("meter.chart.table") },
          h("table", {},
            h("thead", {}, h("tr", {}, h("th", { scope: "col" }, t("meter.when")),
              conductors.map((name) => h("th", { scope: "col" }, name)), h("th", { scope: "col" }, t("meter.who")))),
            h("tbody", {}, alike.toReversed().map((r) => h("tr", {},
              h("th", { scope: "row" }, age(Date.parse(r.at))),
              conductors.map((name) => h("td", { class: "figure" }, amps(of(r, name)?.measured_a))),
              h("td", {}, r.by))))))));
  }
}

const refusal = (problem) => problem.errors?.map((each) => each.detail).join(" ") || problem.detail || problem.title;

function differencesTable(reading) {
  const head = ["meter.conductor", "meter.table.expected", "meter.table.measured", "meter.table.difference"];
  return h("table", {},
    h("thead", {}, h("tr", {}, head.map((key) => h("th", { scope: "col" }, t(key))))),
    h("tbody", {}, reading.differences.map((d) => h("tr", { "data-off": d.fits ? null : "true" },
      h("th", { scope: "row" }, d.conductor),
      h("td", { class: "figure" }, t("amps", { n: amps(d.expected_a) })),
      h("td", { class: "figure" }, t("amps", { n: amps(d.measured_a) })),
      h("td", { class: "figure" }, t("amps", { n: `${d.difference_a > 0 ? "+" : ""}${figure(d.difference_a, 1)}` }),
        h("span", { class: "fit" }, t(d.fits ? "meter.ok" : "meter.off")))))));
}
