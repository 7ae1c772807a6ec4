// What a person did and the service has not heard yet. It is kept on the phone in its order, each
// with a key made once when the person acted, and sent when there is a line: so a deed is done once,
// however often it is sent. What the service refuses stays too, until a person says what to do.

import { post, Problem, pulse } from "./api.js";
import { moment, secondsSince } from "./clock.js";
import { withRoom } from "./room.js";

/** Kinds whose body says how long ago it was done. */
const AGED = new Set(["changes", "reading"]);
/** Longer than this the service does not know a repeat from a new request. [s] */
const KNOWN_S = 7 * 86_400 - 3600;
const FIRST_WAIT_MS = 2000;
const LONGEST_WAIT_MS = 60_000;
const NAME = "evenboard-outbox";
const STORE = "entries";

const listeners = new Set();
/** Who waits for what becomes of an entry: `{resolve, listed}`, not listed before it is in the queue. */
const waiters = new Map();
const channel = globalThis.BroadcastChannel ? new BroadcastChannel(NAME) : null;
let opening = null;
/** What could not be written on the phone: kept as long as the page is open. */
let unwritten = [];
let known = [];
/** Whether the service was heard since there was last no line. */
let heard = true;
let sending = false;
let trouble = null;
let wait = FIRST_WAIT_MS;
let timer = null;
let running = null;
let again = false;

/**
 * Do something that the service must hear of, now or when there is a line again.
 *
 * `kind` is "changes", "reading" or another word for what it is; `request` is `{path, body}`, the path
 * as below /v1 ("layouts/x1/changes"), with `method` (POST), `secret` (the link's or key's), `ifMatch`, `target` (what is sent in order among
 * itself; by default the layout of the path), `words` (for the person: what this is) and whatever
 * else the caller wants back. The answer is `{state, id}` with state "sent" (and `answer`),
 * "waiting", or "refused" (and `problem`).
 */
export async function send(kind, request) {
  const entry = {
    method: "POST", secret: null, ifMatch: null, words: "", target: targetOf(request.path), ...request,
    id: freshKey(), kind, done: moment(), state: "waiting", problem: null,
  };
  await ready;
  const outcome = outcomeOf(entry.id);
  await add(entry);
  inQueue(entry.id);
  flush();
  return outcome;
}

/** Send a refused one again, as it was or with a changed `body`, `ifMatch` or `secret`. */
export async function retry(id, change = {}) {
  const entry = known.find((each) => each.id === id);
  if (!entry) return { state: "gone", id };
  // Another request needs another key; the same one keeps its own, in case it was done after all.
  const next = { ...entry, ...change, state: "waiting", problem: null };
  if (Object.keys(change).length || entry.problem?.kind === "old") next.id = freshKey();
  next.willed = true;
  const outcome = outcomeOf(next.id);
  await put(next, entry);
  await refresh({ news: { id, state: "retried", entry: next } });
  inQueue(next.id);
  flush();
  return outcome;
}

/** Give one up. Only a person decides that. */
export async function discard(id) {
  const entry = known.find((each) => each.id === id);
  if (!entry) return;
  await remove(entry);
  await refresh({ news: { id, state: "discarded", entry } });
}

/** Try to send now. */
export function flush() {
  wait = FIRST_WAIT_MS;
  return drain();
}

/** The entries not yet done with, in order; those of one target where that is named. */
export const entries = (target) =>
  (target === undefined ? known : known.filter((each) => each.target === target));

/** `{waiting, refused, entries, sending, trouble, written}`: counts, and whether all is on the phone. */
export const status = () => ({
  waiting: known.filter((each) => each.state === "waiting").length,
  refused: known.filter((each) => each.state === "refused").length,
  entries: known, sending, trouble, written: unwritten.length === 0,
});

/**
 * Hear of every change: `listener(status, news)` at once and from then on; `news` is null or
 * `{id, state, entry, answer | problem}` of the one that was sent, refused, retried or discarded,
 * in this tab or another. Gives a function that ends it.
 */
export function subscribe(listener) {
  listeners.add(listener);
  listener(status(), null);
  return () => listeners.delete(listener);
}

/** Settled once what an earlier visit left is known. */
export const ready = refresh().then(() => {
  if (!known.length) return;
  heard = false;
  flush();
});

const targetOf = (path) => path.split("?")[0].split("/").slice(0, 2).join("/");

function freshKey() {
  // Not randomUUID: a phone on plain HTTP has none.
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

// -- sending ---------------------------------------------------------------------------------------

function drain() {
  if (running) { again = true; return running; }
  clearTimeout(timer);
  // One tab at a time. Where there are no locks (plain HTTP) each tab goes through the queue in its
  // order, and the keys see to it that nothing is done twice.
  const alone = navigator.locks
    ? (work) => navigator.locks.request(NAME, work) : (work) => work();
  running = (async () => {
    do {
      again = false;
      await alone(pass);
    } while (again);
  })().catch((error) => { trouble = { kind: "broken", detail: String(error) }; }).finally(() => {
    running = null;
    sending = false;
    settle();
    tell();
    if (known.some((each) => each.state === "waiting")) later();
  });
  return running;
}

/** Go through the queue once: all that can be sent is sent, a target's first trouble stops that target. */
async function pass() {
  await writeAgain();
  await refresh();
  const stopped = new Set();
  trouble = null;
  for (;;) {
    const entry = known.find((each) => each.state === "waiting" && !stopped.has(each.target));
    if (!entry) return;
    sending = true;
    tell();
    try {
      // After a time without a line the service's clock comes first: this phone's may have been put
      // right meanwhile, and how long ago things were done is told by it.
      if (!heard) await pulse();
      heard = true;
      const answer = await deliver(entry);
      wait = FIRST_WAIT_MS;
      await remove(entry);
      await refresh({ news: { id: entry.id, state: "sent", entry, answer } });
    } catch (error) {
      const problem = error instanceof Problem ? { ...error } : { kind: "broken", detail: String(error) };
      if (problem.kind === "old" || (problem.kind === "refused" && problem.status !== 429)) {
        const refused = { ...entry, state: "refused", problem };
        await put(refused);
        await refresh({ news: { id: entry.id, state: "refused", entry: refused, problem } });
      } else {
        trouble = problem;
        if (problem.retryAfter) wait = Math.max(wait, problem.retryAfter * 1000);
        if (problem.kind === "offline") { heard = false; return; }
        stopped.add(entry.target);
      }
    }
  }
}

async function deliver(entry) {
  const age = secondsSince(entry.done);
  if (age > KNOWN_S && !entry.willed) throw new Problem("old");
  const body = AGED.has(entry.kind)
    ? { ...entry.body, age_s: Math.round(Math.min(age, KNOWN_S) * 10) / 10 } : entry.body;
  return post(entry.path, {
    method: entry.method, body, secret: entry.secret, ifMatch: entry.ifMatch, key: entry.id,
  });
}

function later() {
  clearTimeout(timer);
  // Not all phones of a crew at the same moment.
  timer = setTimeout(drain, wait * (0.75 + Math.random() / 2));
  wait = Math.min(wait * 2, LONGEST_WAIT_MS);
}

const outcomeOf = (id) => new Promise((resolve) => { waiters.set(id, { resolve, listed: false }); });

function inQueue(id) {
  const waiter = waiters.get(id);
  if (waiter) waiter.listed = true;
}

/** Whoever waits for an outcome and has none yet hears that it waits. */
function settle() {
  for (const [id, { resolve, listed }] of waiters) {
    // What is still being put in is not gone.
    if (!listed) continue;
    const entry = known.find((each) => each.id === id);
    waiters.delete(id);
    // What is gone was sent by another tab, whose answer stayed there.
    if (!entry) resolve({ state: "sent", id, answer: null });
    else resolve({ state: entry.state, id, problem: entry.problem });
  }
}

function answered({ id, state, answer, problem }) {
  const waiter = waiters.get(id);
  if (!waiter || (state !== "sent" && state !== "refused")) return;
  waiters.delete(id);
  waiter.resolve(state === "sent" ? { state, id, answer } : { state, id, problem });
}

// -- telling ---------------------------------------------------------------------------------------

function tell(news = null) {
  const now = status();
  for (const listener of [...listeners]) {
    // What cannot be shown is sent all the same.
    try { listener(now, news); } catch (error) { reportError(error); }
  }
}

async function refresh({ news = null, quiet = false } = {}) {
  const written = await readAll();
  const ids = new Set(unwritten.map((each) => each.id));
  known = [...written.filter((each) => !ids.has(each.id)), ...unwritten].sort((a, b) => a.seq - b.seq);
  if (news) answered(news);
  if (news && !quiet) channel?.postMessage(news);
  tell(news);
}

channel?.addEventListener("message", ({ data }) => refresh({ news: data, quiet: true }));
globalThis.addEventListener?.("online", flush);
globalThis.document?.addEventListener("visibilitychange", () => {
  if (document.visibilityState === "visible" && known.length) flush();
});

// -- keeping ---------------------------------------------------------------------------------------

function open() {
  opening ??= new Promise((resolve, reject) => {
    const request = indexedDB.open(NAME, 1);
    request.onupgradeneeded = () => request.result.createObjectStore(STORE, { keyPath: "seq" });
    request.onsuccess = () => {
      request.result.onversionchange = () => { request.result.close(); opening = null; };
      request.result.onclose = () => { opening = null; };
      resolve(request.result);
    };
    request.onerror = () => reject(request.error);
  }).catch((error) => { opening = null; throw error; });
  return opening;
}

async function run(mode, work) {
  const database = await open();
  return new Promise((resolve, reject) => {
    // Written through to the disk before it counts as kept: a phone's battery may end any time.
    const transaction = database.transaction(STORE, mode, { durability: "strict" });
    let thrown = null;
    const guard = (step) => {
      try { return step(); } catch (error) { thrown = error; transaction.abort(); return null; }
    };
    transaction.oncomplete = () => resolve(request?.result);
    transaction.onerror = transaction.onabort = () => reject(thrown ?? transaction.error);
    const request = guard(() => work(transaction.objectStore(STORE), guard));
  });
}

async function readAll() {
  try {
    return await run("readonly", (store) => store.getAll());
  } catch { return []; }
}

const last = () => [...known, ...unwritten].reduce((most, each) => Math.max(most, each.seq), 0);

/** Add at the end. */
async function add(entry) {
  if (!await append(entry)) unwritten.push({ ...entry, seq: last() + 1 });
  await refresh({ news: { id: entry.id, state: "waiting", entry } });
}

/** Write at the end. The number is given inside the transaction, so that two tabs get different ones. */
const append = (entry) => write((store, guard) => {
  const cursor = store.openCursor(null, "prev");
  cursor.onsuccess = () => guard(() => {
    store.put({ ...entry, seq: Math.max(cursor.result?.key ?? 0, last()) + 1 });
  });
});

/** Put one in the place of `before`, by default of itself. */
async function put(entry, before = entry) {
  const stray = unwritten.findIndex((each) => each.id === before.id);
  if (stray >= 0) unwritten[stray] = entry;
  else if (!await write((store) => store.put(entry))) unwritten.push(entry);
}

async function remove(entry) {
  unwritten = unwritten.filter((each) => each.id !== entry.id);
  try {
    await run("readwrite", (store) => store.delete(entry.seq));
  } catch { /* it is sent again from here, and answered as before */ }
}

const write = (work) => withRoom(() => run("readwrite", work));

async function writeAgain() {
  for (const entry of [...unwritten]) {
    if (await append(entry)) unwritten = unwritten.filter((each) => each.id !== entry.id);
  }
}
