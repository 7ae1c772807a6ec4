// Starting a set-up and stopping it: a list to tick, the next step always in sight.

import * as api from "../api.js";
import { burning } from "../burning.js";
import { button, h, redraw } from "../dom.js";
import { age, amps, percent } from "../format.js";
import { forPosting, isLoose } from "../layout.js";
import { keep, recall } from "../memory.js";
import { shared } from "../together.js";
import { englishNote, quoted } from "../parts/service.js";
import { t } from "../text.js";
import { worksheet } from "../worksheet.js";
import { caution } from "./cautions.js";

/** A list that was begun longer ago is another day's. */
const DAY_MS = 12 * 3_600_000;
const WAYS = ["start", "stop"];

export async function startScreen() {
  const kept = await recall("start");
  const screen = new StartScreen(kept ?? {});
  screen.begin();
  return { title: t("start.title"), node: screen.node, close: () => screen.close() };
}

class StartScreen {
  node = h("div", { class: "screen narrow start" });
  body = h("div", { class: "form" });
  says = h("p", { class: "heard", role: "status" });
  way = "start";
  answer = null;
  problem = null;
  at = null;
  /** When each step was ticked: key -> moment, one for each way. */
  ticks = { start: {}, stop: {} };
  #of = null;
  #kept;
  #asking = null;
  #listening = new AbortController();

  constructor(kept) {
    this.#kept = kept;
  }

  close() {
    this.#listening.abort();
    this.#asking?.abort();
  }

  begin() {
    const { signal } = this.#listening;
    redraw(this.node,
      h("p", { class: "back" }, h("a", { href: "#/board" }, t("log.back"))),
      h("h1", { tabindex: "-1" }, t("start.title")));
    const { layout } = worksheet;
    if (!layout?.boards.length) {
      this.node.append(h("p", {}, t("start.no-board")), h("a", { class: "main-key", href: "#/board" }, t("board.start")));
      return;
    }
    this.node.append(h("p", { class: "aside" }, t("start.words")), this.body, this.says);
    this.setup = burning() ?? layout.setups?.[0]?.id ?? null;
    this.#recallTicks();
    this.ask();
    worksheet.addEventListener("change", () => { if (this.#posting() !== this.#of) this.ask(); }, { signal });
    const clock = setInterval(() => this.#count(), 1000);
    signal.addEventListener("abort", () => clearInterval(clock));
  }

  /** What the ticks belong to: another board or set-up has its own. */
  get #list() {
    const where = shared.on ? shared.board.id : worksheet.layout.boards.map((b) => b.id).join("/");
    return `${where}|${worksheet.layout.name}|${this.setup}`;
  }

  #recallTicks() {
    const { list, ticks } = this.#kept;
    this.ticks = { start: {}, stop: {} };
    if (list !== this.#list || !ticks) return;
    for (const way of WAYS) {
      const latest = Math.max(0, ...Object.values(ticks[way] ?? {}));
      if (Date.now() - latest < DAY_MS) this.ticks[way] = ticks[way];
    }
  }

  #keep() {
    this.#kept = { list: this.#list, ticks: this.ticks, answer: this.answer, at: this.at };
    keep("start", this.#kept);
  }

  #posting() {
    return JSON.stringify(forPosting(worksheet.layout));
  }

  async ask() {
    this.#asking?.abort();
    const flight = (this.#asking = new AbortController());
    const of = this.#posting();
    try {
      const answer = await api.startup(forPosting(worksheet.layout), this.setup, flight.signal);
      Object.assign(this, { answer, at: Date.now(), problem: null });
      this.#of = of;
      this.#keep();
    } catch (error) {
      if (error.name === "AbortError") return;
      this.problem = error;
      this.#of = of;
      if (!this.answer && this.#kept.list === this.#list && this.#kept.answer) {
        Object.assign(this, { answer: this.#kept.answer, at: this.#kept.at });
      }
    }
    this.draw();
  }

  #choose(setup) {
    this.setup = setup || null;
    this.answer = null;
    this.#recallTicks();
    this.draw();
    this.ask();
  }

  // -- ticking -------------------------------------------------------------------------------------

  get steps() {
    return this.answer?.[this.way] ?? [];
  }

  /** The first step that is not ticked: its place in the list. */
  get current() {
    const index = this.steps.findIndex((step) => !this.ticks[this.way][step.key]);
    return index < 0 ? this.steps.length : index;
  }

  tick() {
    const step = this.steps[this.current];
    if (!step) return;
    // Who begins to start has stopped before, and the other way round: the other list is done with.
    if (this.current === 0) this.ticks[this.way === "start" ? "stop" : "start"] = {};
    this.ticks[this.way][step.key] = Date.now();
    this.#keep();
    this.draw();
    const next = this.steps[this.current];
    this.says.textContent = next ? `${t("start.next")}: ${next.text}` : t(`start.finished.${this.way}`);
    this.body.querySelector(".step-now, .said")?.scrollIntoView({ block: "center" });
  }

  back() {
    const step = this.steps[this.current - 1];
    if (!step) return;
    delete this.ticks[this.way][step.key];
    this.#keep();
    this.draw();
  }

  clear() {
    this.ticks[this.way] = {};
    this.#keep();
    this.draw();
  }

  /** How long to wait still after the last tick, in whole seconds. */
  get left() {
    const last = this.steps[this.current - 1];
    if (!last?.wait_s || this.current >= this.steps.length) return 0;
    return Math.max(0, Math.ceil(last.wait_s - (Date.now() - this.ticks[this.way][last.key]) / 1000));
  }

  #count() {
    const told = this.body.querySelector(".wait");
    if (!told) return;
    const { left } = this;
    const words = left ? t("start.wait.left", { n: duration(left) }) : t("start.wait.over");
    if (told.textContent !== words) told.textContent = words;
    told.dataset.over = String(!left);
  }

  // -- what is seen --------------------------------------------------------------------------------

  draw() {
    const { layout } = worksheet;
    const loose = layout.loads.filter(isLoose).length;
    const { steps, current } = this;
    redraw(this.body,
      layout.setups?.length ? h("div", { class: "chips", role: "group", "aria-label": t("start.setup") }, layout.setups.map((s) =>
        button(s.id, () => this.#choose(s.id), { class: "chip", key: `setup:${s.id}`, pressed: s.id === this.setup }))) : null,
      h("div", { class: "chips ways", role: "group", "aria-label": t("start.way") }, WAYS.map((way) =>
        button(t(`start.${way}`), () => { this.way = way; this.draw(); }, { class: "chip", key: way, pressed: way === this.way }))),
      this.#trouble(),
      loose ? h("p", { class: "aside" }, t("start.loose", { n: loose })) : null,
      this.answer ? [
        englishNote(),
        h("ul", { class: "points cautions" }, this.answer.cautions.map((words) => quoted("li", {}, words))),
        h("p", { class: "steps-done" }, t("start.done", { n: current, all: steps.length })),
        current ? h("details", { "data-key": "past" },
          h("summary", {}, t("start.past", { n: current })),
          h("ol", { class: "start-steps" }, steps.slice(0, current).map((step, index) => this.#step(step, index, current)))) : null,
        h("ol", { class: "start-steps", start: current + 1 }, steps.slice(current).map((step, index) => this.#step(step, current + index, current))),
        current >= steps.length ? h("p", { class: "said" }, t(`start.finished.${this.way}`)) : null,
        this.way === "start" && current >= steps.length && shared.on ? h("a", { class: "main-key", href: "#/meter" }, t("day.meter")) : null,
        current ? h("div", { class: "keys" },
          button(t("start.back-one"), () => this.back(), { class: "key-text", key: "back-one" }),
          button(t("start.clear"), () => this.clear(), { class: "key-text", key: "clear" })) : null,
        caution(this.answer),
      ] : null);
    this.#count();
  }

  #trouble() {
    const { problem } = this;
    if (!problem) return null;
    if (problem.kind !== "refused" && this.answer) return h("p", { class: "trouble" }, t("start.away", { age: age(this.at) }));
    const words = problem.kind !== "refused" ? t(`trouble.${problem.kind}`)
      : problem.errors?.length ? t("trouble.refused", { n: problem.errors.length }) : problem.detail || problem.title;
    return h("p", { class: "trouble" }, words);
  }

  #step(step, index, current) {
    const done = index < current;
    const now = index === current;
    return h("li", { class: now ? "start-step step-now" : "start-step", "data-done": String(done), "aria-current": now ? "step" : null },
      now && index && this.steps[index - 1].wait_s ? h("p", { class: "wait", role: "timer" }) : null,
      h("p", { class: "step-text" }, done ? h("span", { class: "done-mark" }, "✓ ") : h("b", {}, `${index + 1}. `), quoted("span", {}, step.text)),
      now ? facts(step) : null,
      now ? button(t("start.tick"), () => this.tick(), { class: "main-key", key: "tick" }) : null);
  }
}

function facts(step) {
  const running = step.running_a && Object.entries(step.running_a).map(([line, a]) => `${line} ${amps(a)} A`).join(", ");
  return [
    step.caution ? quoted("p", { class: "caution" }, step.caution) : null,
    running ? h("p", { class: "figure" }, t("start.after", { words: running })) : null,
    typeof step.peak_a === "number" ? h("p", { class: "aside" }, [
      t("start.peak", { n: amps(step.peak_a) }),
      typeof step.step_pct === "number" ? t("start.step", { n: percent(step.step_pct) }) : null,
    ].filter(Boolean).join(" · ")) : null,
    step.wait_s ? h("p", { class: "aside" }, t("start.wait", { n: duration(step.wait_s) })) : null,
    h("p", { class: "aside" }, t("start.basis"), " ", quoted("span", {}, step.basis)),
  ];
}

const duration = (seconds) => (seconds < 90 ? t("start.seconds", { n: seconds })
  : t("start.minutes", { n: `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, "0")}` }));
