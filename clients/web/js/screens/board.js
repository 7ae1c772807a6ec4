// The board: does it hold, per phase, and what to do about it.

import { button, h, redraw, steady } from "../dom.js";
import { addLoad, board, isLoose, label, load, mended, occupants, outletsOf, plug } from "../layout.js";
import { colourCode } from "../parts/conductor.js";
import "../parts/face.js";
import "../parts/findings.js";
import "../parts/gauges.js";
import { spoken } from "../parts/verdict.js";
import { boardTypes, cables, fixturesNamed, regions } from "../reference.js";
import { simpleSum } from "../simple-sum.js";
import { t } from "../text.js";
import { worksheet } from "../worksheet.js";
import { boardKeys, faultList, placingBar, setupKeys, supplyKey, table } from "./around.js";
import { caution } from "./cautions.js";
import { demoList } from "./demos.js";
import { burnPanel } from "./burn.js";
import { openAnother, openBoard } from "./feeder.js";
import { figuresTable, roomTable } from "./figures.js";
import { regionAtHand } from "./lamps.js";
import { stem } from "./lamp.js";
import { openLoad } from "./load.js";
import { openOutlet, openTaken } from "./outlet.js";
import {
  boardWords, findingsOf, gaugesOf, limitOf, ratingWords, setupWords, supplyGauges, tileOf,
} from "./readings.js";
import { openSetups } from "./setups.js";
import { sharedBar } from "./sharedbar.js";
import { newBoardForm, openSupply } from "./supply.js";

/** After so long without an answer the simple sum is shown. */
const SLOW_MS = 1500;

export async function boardScreen() {
  const [known, types, cableTypes] = await Promise.all([regions(), boardTypes(), cables()]);
  const screen = new BoardScreen(known, types, cableTypes);
  await screen.changed();
  return { title: t("tab.board"), node: screen.node, close: () => screen.close() };
}

class BoardScreen {
  node = h("div", { class: "screen board" });
  parts = {
    verdict: h("eb-verdict"), gauges: h("eb-gauges"), whole: h("eb-gauges"), first: h("eb-findings"),
    face: h("eb-face"), findings: h("eb-findings"), says: h("p", { class: "heard", role: "status" }),
  };
  bar = sharedBar();
  /** What is known of the fixtures that the layout names. */
  fixtures = new Map();
  /** The place of the finding last tapped, and the lamp that waits for an outlet. */
  lit = null;
  placing = null;
  #heardAt = worksheet.answeredAt;
  #slow = false;
  #timer = null;
  #listening = new AbortController();

  constructor(known, types, cableTypes) {
    Object.assign(this, { regions: known, types, cables: cableTypes });
    if (worksheet.layout && load(worksheet.layout, worksheet.placing)) this.placing = worksheet.placing;
    worksheet.placing = null;
    const { signal } = this.#listening;
    const { face, verdict, first, findings } = this.parts;
    worksheet.addEventListener("change", () => this.changed(), { signal });
    addEventListener("keydown", ({ key }) => { if (key === "Escape" && this.placing) this.place(null); }, { signal });
    face.addEventListener("outlet", ({ detail }) => this.tapped(detail));
    verdict.addEventListener("check", () => worksheet.checkNow());
    for (const list of [first, findings]) {
      list.addEventListener("finding", ({ detail }) => this.showPlace(detail.where ?? {}));
      list.addEventListener("mend", ({ detail }) =>
        worksheet.edit((layout) => mended(layout, detail.actions) ?? layout));
    }
  }

  close() {
    this.#listening.abort();
    clearTimeout(this.#timer);
    this.bar.close();
    document.body.classList.remove("placing");
  }

  /** The board shown. */
  get board() {
    return board(worksheet.layout, worksheet.view.board) ?? worksheet.layout.boards[0];
  }

  // -- what happens ------------------------------------------------------------------------------

  async changed() {
    this.#waitForSum();
    const answered = worksheet.fresh && worksheet.answeredAt !== this.#heardAt;
    // A finding's place is lit until the next answer: it may be gone with it.
    if (answered) this.lit = null;
    this.draw();
    if (answered) {
      this.#heardAt = worksheet.answeredAt;
      this.parts.says.textContent = spoken(worksheet.answer);
    }
    const slugs = (worksheet.layout?.loads ?? []).map((l) => l.fixture);
    if (slugs.some((slug) => slug && !this.fixtures.has(slug))) {
      this.fixtures = new Map(await fixturesNamed(slugs.filter(Boolean)));
      this.draw();
    }
  }

  /** Start placing a lamp, or with null give it up. */
  place(id) {
    this.placing = id;
    this.draw();
    if (id) this.parts.face.scrollIntoView({ block: "center" });
  }

  tapped(outletId) {
    const { layout } = worksheet;
    const here = occupants(layout, this.board.id, outletId);
    const placing = this.placing && load(layout, this.placing);
    if (placing) this.#put(placing, outletId, here);
    else {
      this.lit = null;
      if (here.loads.length === 1 && !here.boards.length) openLoad(here.loads[0].id, this.#sheets());
      else openOutlet(this.board.id, outletId, this.#sheets());
    }
  }

  #put(l, outletId, here) {
    const { id } = this.board;
    if (here.boards.length) {
      // A lead hangs there: its own outlets are where the lamp can go.
      worksheet.look({ board: here.boards[0].id });
      return;
    }
    this.placing = null;
    if (l.board === id && l.outlet === outletId) this.draw();
    else if (here.loads.length) openTaken(l.id, here.loads[0].id, id, outletId, () => this.draw());
    else worksheet.edit((layout) => plug(layout, l.id, id, outletId));
  }

  /** Show where a finding is: its board, its set-up, its outlet or phase. */
  showPlace(where) {
    const { layout, view } = worksheet;
    this.lit = where;
    worksheet.look({
      board: where.board ?? load(layout, where.load)?.board ?? view.board,
      setup: layout.setups?.some((s) => s.id === where.setup) ? where.setup : view.setup,
    });
    const target = this.node.querySelector('.tile[data-lit="true"]')
      ?? this.node.querySelector('.gauge[data-lit="true"]') ?? this.parts.gauges;
    const still = matchMedia("(prefers-reduced-motion: reduce)").matches;
    target.scrollIntoView({ block: "center", behavior: still ? "auto" : "smooth" });
    target.focus({ preventScroll: true });
  }

  /** What a sheet needs to know, and the ways on from it. */
  #sheets() {
    const { regions: known, types, cables: cableTypes, fixtures } = this;
    return {
      regions: known, types, cables: cableTypes, fixtures, move: (id) => this.place(id),
      edit: (id) => openLoad(id, this.#sheets()), show: (id) => worksheet.look({ board: id }),
    };
  }

  /** Whether the simple sum stands in: the service was asked, and has not answered in good time. */
  get #summed() {
    return !worksheet.fresh && (worksheet.state === "stuck" || this.#slow);
  }

  #waitForSum() {
    if (worksheet.fresh || worksheet.state !== "working") {
      clearTimeout(this.#timer);
      this.#timer = null;
      this.#slow = false;
    } else this.#timer ??= setTimeout(() => { this.#slow = true; this.draw(); }, SLOW_MS);
  }

  // -- what is seen ------------------------------------------------------------------------------

  draw() {
    steady(this.node, () => {
      document.body.classList.toggle("placing", Boolean(this.placing));
      if (worksheet.layout?.boards.length) this.#drawBoard();
      // What is half filled in stays.
      else if (!this.node.querySelector(".new-board")) redraw(this.node, this.#begin());
    });
  }

  #drawBoard() {
    const { layout, view } = worksheet;
    const region = this.regions.get(layout.region);
    const setup = layout.setups?.some((s) => s.id === view.setup) ? view.setup : null;
    const seen = {
      layout, region, types: this.types, b: this.board, setup, answer: worksheet.answer,
      findings: findingsOf(layout, worksheet.answer), lit: this.lit, fixtures: this.fixtures,
      code: colourCode(region, view.colours), several: layout.boards.filter((each) => !each.fed_from).length > 1,
      sum: this.#summed ? simpleSum(layout, { fixtures: this.fixtures, types: this.types, region, setup }) : null,
    };
    this.#fillParts(seen);
    const placed = this.placing && load(layout, this.placing);
    redraw(this.node,
      h("h1", { tabindex: "-1", class: "sheet-name" }, layout.name || t("board.unnamed")),
      this.bar.node,
      supplyKey(layout, region, () => openSupply(this.#sheets())),
      layout.boards.length > 1 ? boardKeys(layout, seen.b, seen.findings) : null,
      h("div", { class: "panes" },
        h("div", { class: "pane-says" }, this.#says(seen)),
        h("div", { class: "pane-face" }, this.#face(seen)),
        h("div", { class: "pane-more" }, this.#more(seen))),
      placed ? placingBar(placed, this.fixtures, () => this.place(null)) : null);
  }

  #fillParts({ code, several, ...seen }) {
    const { layout, region, findings, b } = seen;
    const { answer, answeredAt, state, problem, fresh } = worksheet;
    const { verdict, gauges, whole, first, face, findings: all } = this.parts;
    const columns = gaugesOf(seen);
    const old = !fresh && !seen.sum;
    const look = { code, limitPct: limitOf(layout, region), old };
    verdict.show({
      answer, answeredAt, state, problem, fresh,
      loose: layout.loads.filter(isLoose).length, setups: layout.setups?.length ?? 0,
    });
    gauges.show({ ...columns, ...look });
    if (several) whole.show({ ...supplyGauges(seen), ...look });
    face.show({
      boardId: b.id, code, placing: this.placing, lines: columns.phases, neutral: columns.neutral,
      old,
      outlets: outletsOf(b, this.types).map((outlet) => tileOf({ ...seen, outlet })),
    });
    const telling = {
      findings,
      mendable: ({ actions }) => fresh && mended(layout, actions) !== null,
      named: (id) => (load(layout, id) ? label(load(layout, id)) : id),
    };
    first.show({ ...telling, first: true });
    all.show(telling);
    // Findings stay while the next answer is on its way, so that nothing jumps under a thumb.
    for (const list of [first, all]) list.classList.toggle("old", !fresh);
  }

  #says({ layout, b, setup, answer, code, several, sum }) {
    const captions = [
      sum ? t("gauges.simple.words") : null,
      sum?.unknown.length ? t("gauges.simple.unknown", { n: sum.unknown.length }) : null,
      setupWords(layout, answer, b, setup), ratingWords(answer, b, layout),
      code ? t("colours.shown", { code: code.code }) : null,
    ];
    return [
      this.parts.verdict,
      faultList(layout, {
        openLoad: (id) => openLoad(id, this.#sheets()), openBoard: (id) => openBoard(id, this.#sheets()),
        openSupply: () => openSupply(this.#sheets()),
      }),
      several ? h("section", {}, h("h2", {}, t("gauges.supply")), this.parts.whole) : null,
      h("section", { "aria-label": t("gauges.label") },
        setupKeys(layout, setup, () => openSetups(this.#sheets())),
        burnPanel(layout, setup, () => { if (!this.#listening.signal.aborted) this.draw(); }),
        several || b.fed_from ? h("h2", {}, t("face.title", { name: b.id })) : null,
        this.parts.gauges,
        h("p", { class: "aside code" }, captions.filter(Boolean).join(" "))),
      this.parts.first,
      h("div", { class: "day", role: "group", "aria-label": t("day.title") },
        h("a", { class: "key-text", href: "#/plan", "data-key": "plan" }, t("plan.open")),
        ["meter", "start", "log"].map((name) =>
          h("a", { class: "key-text", href: `#/${name}`, "data-key": name }, t(`day.${name}`)))),
      this.parts.says,
    ];
  }

  #face({ layout, b, answer, region }) {
    return [
      h("div", { class: "face-head" },
        h("h2", {}, t("face.title", { name: b.id })),
        button(t("face.change"), () => openBoard(b.id, this.#sheets()), { class: "quiet", key: "board" })),
      h("p", { class: "aside" }, boardWords(b, this.types, answer)),
      this.parts.face,
      table(layout, {
        fixtures: this.fixtures, placing: this.placing, place: (id) => this.place(id),
        edit: (id) => openLoad(id, this.#sheets()),
      }),
      button(t("board.another"), () => openAnother(region, this.types), { class: "key-text", key: "another" }),
    ];
  }

  #more({ b, answer, findings }) {
    return [
      h("section", {},
        h("h2", {}, t("findings.title", { n: findings.length })),
        findings.length ? null : h("p", {}, t(answer ? "findings.none" : "findings.unknown")),
        this.parts.findings),
      roomTable(answer),
      figuresTable(answer, b),
      caution(answer),
    ];
  }

  /** Before there is a board: set one up, with a lamp that waits for it, or look at a demo. */
  #begin() {
    const wanted = worksheet.waiting;
    return [
      h("h1", { tabindex: "-1" }, t("begin.title")),
      h("p", {}, wanted ? t("begin.lamp", { name: wanted.name }) : t("begin.words")),
      newBoardForm({
        regions: this.regions, types: this.types, regionId: regionAtHand(this.regions)?.id,
        done: (layout) => {
          if (wanted) {
            [layout, this.placing] = addLoad(layout, { fixture: wanted.slug }, stem(wanted));
            worksheet.waiting = null;
          }
          worksheet.open(layout);
          scrollTo(0, 0);
          this.node.querySelector("h1").focus({ preventScroll: true });
        },
      }),
      demoList(),
    ];
  }
}
