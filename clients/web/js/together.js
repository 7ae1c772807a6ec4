// The board that several phones work on: opened by a link or the desk's key, listened to while the
// page is in sight, and changed through the outbox. What is shown is the service's last word with
// this phone's own changes on top that the service has not answered yet.

import * as api from "./api.js";
import { applied, differences, forced } from "./changes.js";
import { deedsWords } from "./deeds.js";
import { asLayout, board as boardOf, load as loadOf } from "./layout.js";
import { keep, recall } from "./memory.js";
import * as outbox from "./outbox.js";
import { worksheet } from "./worksheet.js";

/** Within two seconds is promised: a second between two questions, and the answer's way. */
const EVERY_MS = 1000;
const LONGEST_MS = 15_000;
const STEPS_BACK = 40;
const HISTORY = 60;
/** The service takes so many changes at once. */
const MOST_CHANGES = 100;
const LINK = "evl_";
const KEY = "evb_";
const MAY_CHANGE = new Set(["plug-link", "desk"]);
const MAY_READ_METERS = new Set(["crew", "plug-link", "desk"]);

/** Whether a text can be the desk's key; whether it can be a key or the secret of a link. */
export const isKey = (text) => text.startsWith(KEY);
export const isSecret = (text) => text.startsWith(LINK) || isKey(text);

const freshToken = () => [...crypto.getRandomValues(new Uint8Array(8))].map((byte) => byte.toString(16)).join("-");

class Shared extends EventTarget {
  /** `{secret, role, name, layoutId, orderRef}` of what opened it, or null. */
  link = null;
  /** `{id, version, name, body}` as the service last had it, or null. */
  board = null;
  /** The set-up that burns, this phone's own switch included. */
  burning = null;
  /** What happened, newest first, as far as it was asked for. */
  events = [];
  /** "off", "live", "away" (no line) or "ended" (the link opens it no more: `problem`). */
  state = "off";
  problem = null;
  /** When the service last answered, by this phone's clock. */
  heardAt = null;
  /** How this person is called. */
  who = "";
  /** Versions that this phone made. */
  mine = new Set();

  /** What takes back this phone's changes: `{token, changes}`, the latest last. */
  #past = [];
  /** Changes on their way into the outbox: `{token, changes}`. */
  #leaving = [];
  /** What the service took and the board does not show yet: `{version, changes}`. */
  #sent = [];
  #timer = null;
  #wait = EVERY_MS;
  #flight = null;
  #asking = false;

  /** Take up what the phone remembers, and listen. */
  async wake() {
    const [kept, who] = await Promise.all([recall("shared"), recall("who"), outbox.ready]);
    this.who = who ?? "";
    if (kept?.link && kept.board) {
      Object.assign(this, {
        link: kept.link, board: kept.board, burning: kept.board.burning ?? null, heardAt: kept.heardAt,
        events: kept.events ?? [], mine: new Set(kept.mine), state: "away",
      });
      this.#past = kept.past ?? [];
      this.#sent = kept.sent ?? [];
      worksheet.carrier = this;
    }
    outbox.subscribe((_, news) => this.#outcome(news));
    document.addEventListener("visibilitychange", () => this.listen());
    addEventListener("online", () => this.listen());
    this.#show();
    this.listen();
  }

  get on() {
    return Boolean(this.link && this.board);
  }

  get mayChange() {
    return MAY_CHANGE.has(this.link?.role);
  }

  get mayMeter() {
    return MAY_READ_METERS.has(this.link?.role);
  }

  get path() {
    return `layouts/${this.board.id}`;
  }

  get canUndo() {
    return this.mayChange && this.#past.length > 0;
  }

  /** This phone's changes that wait to be sent. */
  get waiting() {
    return this.on ? outbox.entries(this.path).filter(({ state }) => state === "waiting") : [];
  }

  /** What the service refused because somebody else was there first, or else: a person decides. */
  get refused() {
    return this.on ? outbox.entries(this.path).filter(({ state }) => state === "refused") : [];
  }

  // -- coming and going ----------------------------------------------------------------------------

  /** What a secret opens: `{link, layouts}`, with the layouts to choose from where it is not one. */
  async look(secret) {
    const { role, name, order_ref: orderRef, layout_id: layoutId } = await api.whoami(secret);
    const link = { secret, role, name, orderRef, layoutId };
    return { link, layouts: layoutId ? null : await api.savedLayouts(secret) };
  }

  /** Open a layout with a link: from now on this phone works on it. */
  async open(link, id = link.layoutId) {
    const saved = await api.savedLayout(id, link.secret);
    this.leave();
    worksheet.open(asLayout(saved.body));
    worksheet.forgetSteps();
    Object.assign(this, { link, board: saved, burning: saved.burning, events: [], mine: new Set(), heardAt: Date.now(),
      state: "live", problem: null });
    worksheet.carrier = this;
    worksheet.look({ setup: saved.burning ?? null });
    await this.#history();
    this.#keep();
    this.#show();
    this.listen();
  }

  /** Work alone again: the layout stays on this phone as a copy, and what waits is still sent. */
  leave() {
    clearTimeout(this.#timer);
    this.#flight?.abort();
    if (worksheet.carrier) worksheet.forgetSteps();
    worksheet.carrier = null;
    this.#past = [];
    this.#sent = [];
    this.#leaving = [];
    Object.assign(this, { link: null, board: null, burning: null, events: [], state: "off", problem: null });
    this.#keep();
    this.#tell();
  }

  /** Say who this is; kept on the phone. */
  call(name) {
    this.who = name;
    keep("who", name);
    this.#tell();
  }

  // -- changing ------------------------------------------------------------------------------------

  /** Carry an edit of the worksheet to everybody. */
  carry(before, after) {
    const { burning } = this;
    this.#do(differences({ layout: before, burning }, { layout: after, burning }),
      differences({ layout: after, burning }, { layout: before, burning }));
  }

  /** Switch the set-up that burns. */
  burn(setup) {
    const was = this.burning;
    if (was === setup) return;
    this.#do([{ op: "burning", was, to: setup }], [{ op: "burning", was: setup, to: was }]);
    this.#show();
  }

  /** Take this phone's own last change back. */
  undo() {
    const step = this.#past.pop();
    if (!step) return;
    this.#send(step.changes, freshToken());
    this.#show();
  }

  /** Take back what an event did. */
  undoEvent({ undo }) {
    this.#do(undo, null);
    this.#show();
  }

  #do(changes, back) {
    if (!changes.length) return;
    const token = freshToken();
    if (back) this.#past = [...this.#past, { token, changes: back }].slice(-STEPS_BACK);
    this.#send(changes, token);
  }

  #send(changes, token) {
    const { layout } = worksheet;
    const about = (op, find, things) => [...new Set(changes.flatMap((c) => op(c)).filter(Boolean))]
      .map((id) => find(this.#base().layout, id) ?? things.find((x) => x.id === id)).filter(Boolean);
    const loads = about((c) => [c.load, c.with], loadOf, layout?.loads ?? []);
    const boards = about((c) => [c.board], boardOf, layout?.boards ?? []);
    for (let first = 0; first < changes.length; first += MOST_CHANGES) {
      const part = changes.slice(first, first + MOST_CHANGES);
      const body = { changes: part, ...(this.who ? { by: this.who } : {}) };
      this.#leaving.push({ token, changes: part });
      outbox.send("changes", {
        path: `${this.path}/changes`, body, secret: this.link.secret, target: this.path, token, about: { loads, boards },
        words: deedsWords(part, layout),
      });
    }
    this.#keep();
  }

  /** Decide over a change that collided: with `mine` it is made after all, else theirs stays. */
  async decide(id, mine) {
    const entry = this.refused.find((each) => each.id === id);
    if (!entry) return;
    if (!mine) {
      await outbox.discard(id);
      return;
    }
    await this.#fetch();
    const now = this.#base();
    const changes = differences(now, forced(now, entry.body.changes, entry.about));
    if (changes.length) await outbox.retry(id, { body: { ...entry.body, changes } });
    else await outbox.discard(id);
  }

  #outcome(news) {
    const ours = this.on && news?.entry?.target === this.path;
    if (ours && news.state === "sent" && news.answer?.event) {
      const { event, version } = news.answer;
      this.mine.add(version);
      this.#sent.push({ version, changes: event.changes });
      this.#keep();
      this.listen();
    }
    if (ours) {
      const { token } = news.entry;
      if (news.state === "waiting") this.#leaving.splice(this.#leaving.findIndex((each) => each.token === token), 1);
      // What did not happen, or happened otherwise than it was meant, cannot be taken back.
      if (["discarded", "refused"].includes(news.state)) this.#past = this.#past.filter((step) => step.token !== token);
      this.#show();
      if (news.state === "refused") this.dispatchEvent(new CustomEvent("refused", { detail: news.entry }));
    }
    this.#tell();
  }

  // -- listening -----------------------------------------------------------------------------------

  /** Ask now, and then every second for as long as the page is in sight. */
  listen() {
    clearTimeout(this.#timer);
    if (!this.on || this.state === "ended" || document.visibilityState === "hidden") return;
    this.#wait = EVERY_MS;
    this.#ask();
  }

  async #ask() {
    if (this.#asking) return;
    this.#asking = true;
    const flight = (this.#flight = new AbortController());
    const { board } = this;
    try {
      // Asked from the last deed that is known: the board itself may be fetched in a later state.
      const known = this.events[0]?.version ?? 0;
      const { items, version } = await api.events(board.id, known, this.link.secret, flight.signal);
      if (flight.signal.aborted) return;
      const before = this.state;
      Object.assign(this, { state: "live", problem: null, heardAt: Date.now() });
      this.#wait = EVERY_MS;
      if (items.length || version !== board.version) {
        this.events = [...items.toReversed(), ...this.events].slice(0, HISTORY);
        if (version > this.board.version) await this.#fetch();
        else this.#tell();
        this.dispatchEvent(new CustomEvent("heard", { detail: items.filter((each) => !this.mine.has(each.version)) }));
      } else if (before !== "live") this.#tell();
      else this.dispatchEvent(new Event("pulse"));
    } catch (error) {
      if (error.name === "AbortError") return;
      this.#lost(error);
    } finally {
      this.#asking = false;
      clearTimeout(this.#timer);
      if (this.on && this.state !== "ended" && document.visibilityState !== "hidden") {
        this.#timer = setTimeout(() => this.#ask(), this.#wait);
      }
    }
  }

  #lost(error) {
    const ended = error.kind === "refused" && [401, 403, 404].includes(error.status);
    this.state = ended ? "ended" : "away";
    this.problem = error;
    this.#wait = Math.min(this.#wait * 2, LONGEST_MS);
    this.#tell();
  }

  async #fetch() {
    const saved = await api.savedLayout(this.board.id, this.link.secret);
    // Meanwhile another board may have been opened, or a later state heard of.
    if (saved.id !== this.board?.id || saved.version < this.board.version) return;
    this.board = saved;
    this.#sent = this.#sent.filter(({ version }) => version > saved.version);
    this.#keep();
    this.#show();
  }

  async #history() {
    const { id, version } = this.board;
    const after = Math.max(0, version - HISTORY);
    try {
      const { items } = await api.events(id, after, this.link.secret);
      this.events = items.toReversed();
    } catch { /* the list of deeds comes with the next question */ }
  }

  // -- what is shown -------------------------------------------------------------------------------

  /** The service's state with what it has taken of this phone's since. */
  #base() {
    const known = { layout: asLayout(this.board.body), burning: this.board.burning ?? null };
    return this.#sent.filter(({ version }) => version > this.board.version)
      .reduce((state, { changes }) => applied(state, changes), known);
  }

  #show() {
    if (!this.on) { this.#tell(); return; }
    const state = [...this.waiting.map(({ body }) => body), ...this.#leaving]
      .reduce((s, { changes }) => applied(s, changes), this.#base());
    const turned = state.burning !== this.burning;
    this.burning = state.burning;
    worksheet.take(state.layout);
    // The bars follow what burns.
    if (turned && state.burning) worksheet.look({ setup: state.burning });
    this.#tell();
  }

  #keep() {
    keep("shared", this.on ? {
      link: this.link, board: this.board, heardAt: this.heardAt, events: this.events.slice(0, HISTORY),
      mine: [...this.mine].slice(-200), past: this.#past, sent: this.#sent,
    } : null);
  }

  #tell() {
    this.dispatchEvent(new Event("change"));
  }
}

export const shared = new Shared();
