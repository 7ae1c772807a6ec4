// Even it out: ask for a plan, see before and after, and carry it out step by step.

import * as api from "../api.js";
import { button, h, redraw, steady } from "../dom.js";
import { age } from "../format.js";
import { asLayout, changeLoad, isLoose, label, load, namedPath } from "../layout.js";
import { keep, recall } from "../memory.js";
import { colourCode } from "../parts/conductor.js";
import { tickField } from "../parts/field.js";
import { stepper } from "../parts/stepper.js";
import "../parts/verdict.js";
import { FIRST_WISHES, GOAL_NAMES, isStale, planBody, planOf, progress, takeAll, takeBack, takeStep } from "../plan.js";
import { fixturesNamed, regions } from "../reference.js";
import { quoted } from "../parts/service.js";
import { t } from "../text.js";
import { worksheet } from "../worksheet.js";
import { boardsThatDo } from "./boardsthatdo.js";
import { kindOf } from "./load.js";
import { resultOf } from "./planresult.js";
import { stepList } from "./plansteps.js";

/** `wish` "place" asks at once for places for what is on the table. */
export async function planScreen({ wish }) {
  const [known, kept] = await Promise.all([regions(), recall("plan")]);
  const screen = new PlanScreen(known, kept ?? null, wish === "place");
  // A reload must go on with this plan, not ask for another.
  if (wish) history.replaceState(null, "", "#/plan");
  screen.begin();
  return { title: t("plan.title"), node: screen.node, close: () => screen.close() };
}

class PlanScreen {
  node = h("div", { class: "screen narrow plan" });
  parts = {
    wishes: h("div", { class: "form" }), state: h("div", { class: "plan-state" }), result: h("section", {}),
    steps: h("section", {}), verdict: h("eb-verdict"),
    boards: boardsThatDo({
      layout: () => worksheet.layout,
      take: (layout) => { worksheet.open(asLayout(layout)); location.hash = "#/board"; },
    }),
    says: h("p", { class: "heard", role: "status" }),
  };
  fixtures = new Map();
  problem = null;
  asking = null;
  /** What stood in the body last posted, for the names in what was refused. */
  #body = null;
  #listening = new AbortController();

  constructor(known, kept, placing) {
    this.regions = known;
    this.plan = kept;
    this.placing = placing;
    this.wishes = { ...FIRST_WISHES, ...kept?.wishes, ...(placing ? { goal: "place" } : {}) };
    const { signal } = this.#listening;
    worksheet.addEventListener("change", () => this.draw(), { signal });
    this.parts.verdict.addEventListener("check", () => worksheet.checkNow());
    const clock = setInterval(() => {
      const told = this.parts.state.querySelector(".age");
      if (told) told.textContent = t("plan.age", { age: age(this.plan.at) });
    }, 5000);
    signal.addEventListener("abort", () => clearInterval(clock));
  }

  close() {
    this.#listening.abort();
    this.asking?.abort();
  }

  begin() {
    const { layout } = worksheet;
    if (!layout?.boards.length) return this.#nothing();
    this.#drawWishes();
    redraw(this.node,
      h("p", { class: "back" }, h("a", { href: "#/board" }, t("plan.back"))),
      h("h1", { tabindex: "-1" }, t("plan.title")),
      h("p", {}, t("plan.words")),
      Object.values(this.parts));
    // A plan that was begun is gone on with; one for another layout, none of it done, is not missed.
    const begun = this.plan && progress(this.plan, layout).some(({ done }) => done);
    if (this.placing || !this.plan || (isStale(this.plan, layout) && !begun)) this.ask();
    else this.draw();
    this.#nameLamps(layout);
    return undefined;
  }

  async #nameLamps(layout) {
    this.fixtures = await fixturesNamed(layout.loads.map((l) => l.fixture).filter(Boolean));
    if (this.#listening.signal.aborted) return;
    this.#drawWishes();
    this.draw();
  }

  #nothing() {
    redraw(this.node, h("h1", { tabindex: "-1" }, t("plan.title")), h("p", {}, t("plan.no-board")),
      h("a", { class: "main-key", href: "#/board" }, t("board.start")));
  }

  // -- what happens ------------------------------------------------------------------------------

  async ask() {
    this.asking?.abort();
    const flight = (this.asking = new AbortController());
    const { layout } = worksheet;
    const wishes = { ...this.wishes };
    this.problem = null;
    this.#body = planBody(layout, wishes);
    this.draw();
    try {
      const answer = await api.plan(this.#body, flight.signal);
      this.plan = planOf(answer, wishes, layout, Date.now());
      keep("plan", this.plan);
    } catch (error) {
      if (error.name === "AbortError") return;
      // The last plan stays: what went wrong is said beside it.
      this.problem = error instanceof api.Problem ? error : new api.Problem("broken", { detail: String(error) });
    }
    this.asking = null;
    this.draw();
    this.#say(this.problem ? this.parts.state.textContent : this.parts.result.querySelector(".sum")?.textContent);
  }

  #say(words) {
    this.parts.says.textContent = words ?? "";
  }

  #wish(change) {
    this.wishes = { ...this.wishes, ...change };
    this.#drawWishes();
    this.draw();
  }

  tick({ step, done, waits }) {
    if (waits || this.asking || isStale(this.plan, worksheet.layout)) return this.draw();
    worksheet.edit((layout) => (done ? takeBack : takeStep)(layout, step));
    return this.#say(t(done ? "steps.taken-back" : "steps.entered", { n: step.number }));
  }

  // -- what is seen ------------------------------------------------------------------------------

  draw() {
    const { layout, answer, answeredAt, state, problem, fresh } = worksheet;
    // Undo may have taken the board itself away.
    if (!layout?.boards.length) { this.#nothing(); return; }
    if (!this.node.contains(this.parts.wishes)) { this.begin(); return; }
    const { parts, plan } = this;
    const stale = Boolean(plan) && isStale(plan, layout);
    steady(this.node, () => {
      parts.verdict.show({ answer, answeredAt, state, problem, fresh, loose: layout.loads.filter(isLoose).length });
      redraw(parts.state, this.#state(plan, stale));
      parts.result.hidden = parts.steps.hidden = !plan;
      if (!plan) return;
      const region = this.regions.get(layout.region);
      redraw(parts.result, resultOf(plan, {
        layout, region, code: colourCode(region, worksheet.view.colours),
        named: (id) => (load(layout, id) ? label(load(layout, id)) : id), old: stale,
      }));
      redraw(parts.steps, stepList(plan, layout, {
        stale, asking: Boolean(this.asking), tick: (each) => this.tick(each),
        all: () => { worksheet.edit((x) => takeAll(plan, x)); this.#say(t("steps.entered.all")); },
      }));
    });
  }

  #state(plan, stale) {
    const other = plan && JSON.stringify(plan.wishes) !== JSON.stringify(this.wishes);
    return [
      this.asking ? h("p", { class: "said" }, t("plan.asking")) : null,
      this.problem ? this.#trouble(this.problem, plan) : null,
      stale && !this.asking ? h("p", { class: "trouble" }, t("plan.stale")) : null,
      other && !stale && !this.asking ? h("p", { class: "aside" }, t("plan.other.options")) : null,
      button(t(plan ? "plan.again" : "plan.ask"), () => this.ask(),
        { class: !plan || stale || other || this.problem ? "main-key" : "wide-key", key: "ask" }),
      plan ? h("p", { class: "age" }, t("plan.age", { age: age(plan.at) })) : null,
    ];
  }

  #trouble(problem, plan) {
    const refused = problem.kind === "refused";
    return h("div", { class: "form" },
      h("p", { class: "trouble" }, refused ? t("plan.refused") : t(`trouble.${problem.kind}`)),
      refused ? h("ul", { class: "points" }, this.#refusals(problem).map(([place, words]) =>
        h("li", {}, place ? h("b", {}, place) : null, quoted("span", {}, words)))) : null,
      plan ? h("p", { class: "aside" }, t("plan.kept")) : null);
  }

  #refusals({ errors, detail, title }) {
    if (!errors.length) return [[null, detail || title]];
    return errors.map(({ pointer = "", detail: words = "" }) => {
      const [kind, id] = namedPath(this.#body, pointer).split("/").map(decodeURIComponent);
      const l = kind === "loads" && load(worksheet.layout, id);
      return [l ? label(l) : id ?? kind, words];
    });
  }

  #drawWishes() {
    const { goal, most, spare } = this.wishes;
    const loads = worksheet.layout.loads.filter((l) => !isLoose(l));
    const pinned = loads.filter((l) => l.keep).length;
    redraw(this.parts.wishes,
      h("fieldset", {},
        h("legend", {}, t("plan.goal")),
        h("div", { class: "chips" }, GOAL_NAMES.map((name) => button(t(`plan.goal.${name}`),
          () => this.#wish({ goal: name }), { class: "chip", key: `goal:${name}`, pressed: goal === name })))),
      goal === "most" ? stepper({
        label: t("plan.most"), value: most, low: 0, high: 1000,
        change: (n) => { this.wishes = { ...this.wishes, most: Math.round(n) }; this.draw(); },
      }) : null,
      stepper({
        label: t("plan.spare"), value: spare, low: 0, high: 1000, unit: "A",
        change: (n) => { this.wishes = { ...this.wishes, spare: n }; this.draw(); },
      }),
      loads.length ? h("details", { "data-key": "pins" },
        h("summary", {}, t("plan.pins", { n: pinned })),
        h("div", { class: "form" }, loads.map((l) => tickField([`${label(l)} · `, quoted("span", {}, kindOf(l, this.fixtures))], {
          checked: l.keep ?? false, key: `pin:${l.id}`,
          change: (on) => {
            worksheet.edit((x) => changeLoad(x, l.id, { keep: on || undefined }));
            this.#drawWishes();
          },
        })))) : null);
  }
}
