// The only place that speaks to the service. It knows no page: data in, data or a Problem out.

import { hear } from "./clock.js";

const ROOT = new URL("../v1/", import.meta.url);
const PATIENCE_MS = 12_000;
const JSON_FORM = "application/json";

/**
 * What came back instead of an answer. `kind` is "offline" (no answer at all), "refused" (the
 * service says what is wrong with the request, see `errors`; `conflicts` or `changes` where somebody
 * else was there first, `reasons` where a thing is not in a state for it) or "broken" (its own trouble).
 */
export class Problem extends Error {
  constructor(kind, { status = 0, type = "", title = "", detail = "", errors = [], conflicts = [], reasons = [], changes = [], retryAfter = null } = {}) {
    super(detail || title || kind);
    Object.assign(this, { kind, status, type, title, detail, errors, conflicts, reasons, changes, retryAfter });
  }
}

const given = (headers) => Object.fromEntries(Object.entries(headers).filter(([, value]) => value));

/**
 * Ask the service: `{data, etag}`. `secret` is a link's or the desk's, `key` makes a repeat known,
 * `ifMatch` the `etag` of what is changed, `form` the media type wanted. A `body` is sent as JSON, a `file` as
 * it is, under its `type`; `patience` is for what takes longer. Throws a Problem, or the abort of the `signal`.
 */
export async function ask(path, { method = "GET", query = {}, body, file, type, signal, secret, key, ifMatch, form = JSON_FORM, patience: most = PATIENCE_MS } = {}) {
  const url = new URL(path, ROOT);
  for (const [name, value] of Object.entries(query)) {
    if (value !== undefined && value !== null && value !== "") url.searchParams.set(name, value);
  }
  const patience = new AbortController();
  const timer = setTimeout(() => patience.abort(), most);
  const stop = () => patience.abort();
  if (signal?.aborted) stop();
  signal?.addEventListener("abort", stop);
  try {
    const response = await fetch(url, {
      method,
      signal: patience.signal,
      headers: given({
        Accept: form,
        "Content-Type": file !== undefined ? type : body === undefined ? null : JSON_FORM,
        Authorization: secret ? `Bearer ${secret}` : null,
        "Idempotency-Key": key ? `"${key}"` : null,
        "If-Match": ifMatch,
      }),
      body: file ?? (body === undefined ? undefined : JSON.stringify(body)),
    });
    hear(response.headers.get("Date"));
    if (!response.ok) throw await problem(response);
    const data = response.status === 204 ? null : await read(response, form);
    return { data, etag: response.headers.get("ETag") };
  } catch (error) {
    if (error instanceof Problem) throw error;
    // A caller who has lost interest gets the abort itself and shows nothing.
    if (signal?.aborted) throw new DOMException("stale", "AbortError");
    // fetch failed, patience ran out, or a 200 that is not JSON (a captive portal answers so).
    throw new Problem("offline");
  } finally {
    clearTimeout(timer);
    signal?.removeEventListener("abort", stop);
  }
}

const TEXT = /^(text\/|image\/svg)/;
const read = (response, form) => (form === JSON_FORM ? response.json() : TEXT.test(form) ? response.text() : response.blob());

async function problem(response) {
  let said = {};
  try {
    said = await response.json();
  } catch { /* a proxy's page: the status has to do */ }
  const refused = response.status >= 400 && response.status < 500 && response.status !== 408;
  return new Problem(refused ? "refused" : "broken", {
    status: response.status,
    type: said?.type ?? "",
    title: said?.title ?? "",
    detail: said?.detail ?? "",
    errors: Array.isArray(said?.errors) ? said.errors : [],
    conflicts: Array.isArray(said?.conflicts) ? said.conflicts : [],
    reasons: Array.isArray(said?.reasons) ? said.reasons : [],
    changes: Array.isArray(said?.changes) ? said.changes : [],
    retryAfter: Number(response.headers.get("Retry-After")) || null,
  });
}

const call = async (path, options) => (await ask(path, options)).data;

/** Send what changes something. */
export const post = call;

/** Whether there is a line to the service itself. Throws a Problem where there is none. */
export const pulse = () => call("../healthz");

async function everyPage(path, query = {}, secret = null) {
  const items = [];
  let cursor;
  do {
    const page = await call(path, { query: { ...query, cursor }, secret });
    items.push(...page.items);
    cursor = page.next_cursor;
  } while (cursor);
  return items;
}

export const regions = () => everyPage("regions");
export const boardTypes = () => everyPage("boards");
export const cables = () => everyPage("cables");
export const demoLayouts = () => everyPage("demo/layouts");

/** The whole lamp list, in pages of so many. */
export const everyFixture = (limit) => everyPage("fixtures", { limit });

/** One page of fixtures: `{items, next_cursor}`. Give a signal to call a stale search off. */
export const fixtures = (query, signal) => call("fixtures", { query, signal });
export const fixture = (slug, query, signal) =>
  call(`fixtures/${encodeURIComponent(slug)}`, { query, signal });

/** The phase figures, verdict and findings for a layout as plugged. */
export const balance = (layout, signal) => call("balance", { method: "POST", body: layout, signal });

/** Which lamp on which outlet: a plan for a layout with its `options`, before and after. */
export const plan = (body, signal) => call("plan", { method: "POST", body, signal });

/** The smallest boards and supplies that carry the lamps of a `list`, planned. */
export const boardsThatDo = (list, signal) => call("plan/boards", { method: "POST", body: list, signal });

/** The order of starting a set-up of a layout and of stopping it, as lists to tick. */
export const startup = (layout, setup, signal) =>
  call("startup", { method: "POST", body: layout, query: { setup }, signal });

/** Who a secret is, and what it opens. */
export const whoami = (secret) => call("whoami", { secret });
export const savedLayouts = (secret) => everyPage("layouts", {}, secret);
export const savedLayout = (id, secret) => call(`layouts/${encodeURIComponent(id)}`, { secret });
export const events = (id, after, secret, signal) =>
  call(`layouts/${encodeURIComponent(id)}/events`, { query: { after, limit: 500 }, secret, signal });
/** What a clamp reading means beside a layout that is sent along; nothing is kept. */
export const reading = (body, signal) => call("readings", { method: "POST", body, signal });
/** A page of the readings of a shared layout, the latest first. */
export const readings = (id, secret, signal) =>
  call(`layouts/${encodeURIComponent(id)}/readings`, { query: { limit: 50 }, secret, signal });

/** Save a layout for all phones; `key` makes a second try known. */
export const saveLayout = (body, secret, key) => call("layouts", { method: "POST", body, secret, key });
export const makeLink = (id, body, secret, key) =>
  call(`layouts/${encodeURIComponent(id)}/links`, { method: "POST", body, secret, key });
/** The QR code of the link that a secret is, as SVG text. */
export const linkCode = (secret) => call("link/qr", { secret, form: "image/svg+xml" });
