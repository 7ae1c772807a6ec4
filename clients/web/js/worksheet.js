// The layout at hand and what the service last said of it: one per page. Screens edit through it
// and listen to its "change"; it keeps all on the phone and asks the service after each edit.

import { balance, Problem } from "./api.js";
import { alike } from "./changes.js";
import { asLayout, forPosting, namedPath } from "./layout.js";
import { keep, recall } from "./memory.js";

const SETTLE_MS = 450;
const RETRY_MS = 15_000;
const STEPS_BACK = 40;
const SHELF_SIZE = 8;

const AT_REST = () => ({ state: "quiet", problem: null, faults: new Map() });

class Worksheet extends EventTarget {
  /** The layout document, null before a first board is chosen. */
  layout = null;
  /** The last good answer, and when it came. Older than the layout while `fresh` is false. */
  answer = null;
  answeredAt = null;
  /** "quiet", "working", or "stuck" with `problem` set. */
  state = "quiet";
  problem = null;
  /** Faults of the layout as posted: Map from path ("loads/key/fixture") to what is wrong. */
  faults = new Map();
  /** Layouts that another one replaced: [{layout, at}], newest first. */
  shelf = [];
  /** Who carries edits to other phones, or null: see together.js. */
  carrier = null;
  /** What the screen shows, kept too: region, colour code, board, set-up. */
  view = {};

  #answerOf = null;
  #past = [];
  #timer = null;
  #flight = null;

  /** Take up what the phone remembers. */
  async wake() {
    const [layout, answer, shelf, view] = await Promise.all(
      ["layout", "answer", "shelf", "view"].map(recall));
    this.layout = layout ? asLayout(layout) : null;
    this.shelf = shelf ?? [];
    this.view = view ?? {};
    if (answer && this.layout) {
      this.answer = answer.answer;
      this.answeredAt = answer.at;
      this.#answerOf = answer.of;
    }
    this.#announce();
    if (this.layout && !this.fresh) this.checkNow();
    addEventListener("online", () => this.#again());
    document.addEventListener("visibilitychange", () => this.#again());
    setInterval(() => this.#again(), RETRY_MS);
  }

  /** Whether the answer is for the layout as it stands. */
  get fresh() {
    return Boolean(this.answer) && this.#answerOf === this.#posting();
  }

  get canUndo() {
    return this.carrier ? this.carrier.canUndo : this.#past.length > 0;
  }

  /** Change the layout; `change` takes the old one and returns the new one. */
  edit(change) {
    const before = this.layout;
    const next = change(before);
    if (next === before) return;
    if (this.carrier && !this.carrier.mayChange) {
      // Seen, and not taken: the link only reads.
      this.dispatchEvent(new Event("barred"));
      this.#announce();
      return;
    }
    if (!this.carrier) this.#past = [...this.#past, before].slice(-STEPS_BACK);
    this.#set(next);
    this.carrier?.carry(before, next);
  }

  undo() {
    if (this.carrier) this.carrier.undo();
    else if (this.#past.length) this.#set(this.#past.pop());
  }

  /** Take what others have made of a shared layout. */
  take(layout) {
    if (alike(layout, this.layout)) return;
    this.#set(layout);
  }

  /** Put a whole other layout on the sheet; the one before goes to the shelf. */
  open(layout) {
    // A shared board is the service's: it needs no place on this phone's shelf.
    const shared = Boolean(this.carrier);
    this.carrier?.leave();
    if (this.layout && !shared) {
      const { layout: before } = this;
      const text = JSON.stringify(before);
      this.shelf = [{ layout: before, at: Date.now() },
        ...this.shelf.filter((kept) => JSON.stringify(kept.layout) !== text)].slice(0, SHELF_SIZE);
      keep("shelf", this.shelf);
    }
    this.answer = null;
    this.answeredAt = null;
    this.#answerOf = null;
    this.look({ board: null, setup: null, burning: null, ...(layout?.region ? { region: layout.region } : {}) });
    this.edit(() => layout);
    if (shared) this.forgetSteps();
  }

  /** From here no undo leads back: what was before is another board's. */
  forgetSteps() {
    this.#past = [];
    this.#announce();
  }

  /** Change what is shown, without touching the layout. */
  look(change) {
    this.view = { ...this.view, ...change };
    keep("view", this.view);
    this.#announce();
  }

  /** Ask the service without waiting for the hands to rest. */
  async checkNow() {
    clearTimeout(this.#timer);
    this.#flight?.abort();
    if (!this.layout?.boards.length) return;
    const flight = (this.#flight = new AbortController());
    const body = forPosting(this.layout);
    const of = JSON.stringify(body);
    this.state = "working";
    this.#announce();
    try {
      const answer = await balance(body, flight.signal);
      Object.assign(this, { answer, answeredAt: Date.now() }, AT_REST());
      this.#answerOf = of;
      keep("answer", { answer, at: this.answeredAt, of });
    } catch (error) {
      if (error.name === "AbortError") return;
      const problem = error instanceof Problem ? error : new Problem("broken", { detail: String(error) });
      const faults = new Map();
      for (const { pointer = "", detail = "" } of problem.errors) {
        const path = namedPath(body, pointer);
        faults.set(path, faults.has(path) ? `${faults.get(path)} ${detail}` : detail);
      }
      Object.assign(this, { state: "stuck", problem, faults });
    }
    this.#announce();
  }

  /** The faults at or under a path, as [path, what is wrong]. */
  faultsUnder(path) {
    return [...this.faults].filter(([at]) => at === path || at.startsWith(`${path}/`));
  }

  #posting() {
    return this.layout ? JSON.stringify(forPosting(this.layout)) : null;
  }

  #set(layout) {
    this.layout = layout;
    keep("layout", layout);
    // An answer still under way is for a layout that is no more.
    this.#flight?.abort();
    if (!layout?.boards.length) {
      Object.assign(this, { answer: null, answeredAt: null }, AT_REST());
      this.#announce();
      return;
    }
    this.state = "working";
    this.#announce();
    clearTimeout(this.#timer);
    this.#timer = setTimeout(() => this.checkNow(), SETTLE_MS);
  }

  // A layout that the service could not be asked about is asked about again; one that it refused is not.
  #again() {
    if (document.visibilityState === "hidden" || this.state !== "stuck") return;
    if (this.problem?.kind !== "refused" || this.problem.status === 429) this.checkNow();
  }

  #announce() {
    this.dispatchEvent(new Event("change"));
  }
}

export const worksheet = new Worksheet();
