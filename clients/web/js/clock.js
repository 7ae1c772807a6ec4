// How far the phone's clock is from the service's. A phone on set may be an hour out, and may be put
// right between a deed and the moment it is sent: how long ago that was is told by the service's.

const KEY = "evenboard-clock";
/** Less than this is the way of the answer and the whole seconds of its Date. [ms] */
const SAME_MS = 30_000;

let offset = null;
try {
  const kept = localStorage.getItem(KEY);
  offset = kept === null || !Number.isFinite(Number(kept)) ? null : Number(kept);
} catch { /* a private window: known again from the next answer */ }

/** Take the time from an answer's Date header. */
export function hear(date, now = Date.now()) {
  const then = Date.parse(date ?? "");
  if (Number.isNaN(then)) return;
  const found = then - now;
  if (offset !== null && Math.abs(found - offset) < SAME_MS) return;
  offset = found;
  try { localStorage.setItem(KEY, String(offset)); } catch { /* until the page closes */ }
}

/** The service's time less the phone's, or null before the service was ever heard. [ms] */
export const clockOffset = () => offset;

/** A moment to measure from later. */
export const moment = (now = Date.now()) => ({ at: now, offset });

/** How long ago a moment was, whatever was done to the phone's clock since. [s] */
export function secondsSince({ at, offset: then }, now = Date.now()) {
  const altered = then !== null && offset !== null ? offset - then : 0;
  return Math.max(0, (now - at + altered) / 1000);
}
