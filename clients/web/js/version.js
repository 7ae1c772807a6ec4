// The worker that keeps the client on the phone, and what to do when a newer client has come. Without
// a secure context there is no worker: all works then, as long as there is a line.

const LOOK_EVERY_MS = 15 * 60_000;

/**
 * Start the worker. `offer(use)` is called once a newer version waits, or is used in another tab;
 * `use()` goes over to it. `full()` is called where the phone has no room for the client's files.
 * `before()` is called before the page is loaded anew.
 */
export async function keepOnPhone({ offer, full, before = () => {} }) {
  const workers = navigator.serviceWorker;
  if (!workers) return;
  let asked = false;
  let controlled = Boolean(workers.controller);
  let loaded = false;
  const reload = () => {
    if (loaded) return;
    loaded = true;
    before();
    location.reload();
  };
  workers.addEventListener("message", ({ data }) => { if (data === "full") full(); });
  workers.addEventListener("controllerchange", () => {
    // The first worker of a first visit takes a page over that is of its own version.
    if (asked) reload();
    else if (controlled) offer(reload);
    else workers.controller?.postMessage({ asked: performance.getEntriesByType("resource").map(({ name }) => name) });
    controlled = true;
  });
  let registration;
  try {
    registration = await workers.register(new URL("../sw.js", import.meta.url), { updateViaCache: "none" });
  } catch {
    // A certificate that the phone does not trust, or no line just now.
    return;
  }
  // Where workers are turned off, some browsers answer with nothing.
  if (!registration) return;
  const waits = () => {
    if (!registration.waiting || !workers.controller) return;
    offer(() => {
      asked = true;
      // Gone where another tab was faster.
      if (registration.waiting) registration.waiting.postMessage("use");
      else reload();
    });
  };
  registration.addEventListener("updatefound", () => {
    registration.installing?.addEventListener("statechange", waits);
  });
  waits();
  // What an older version lacks is no use where a newer waits, which could not start meanwhile.
  if (!registration.waiting) registration.active?.postMessage("mend");
  let looked = Date.now();
  const look = () => {
    if (document.visibilityState === "hidden" || Date.now() - looked < LOOK_EVERY_MS) return;
    looked = Date.now();
    // Without a line there is nothing to be seen.
    registration.update().catch(() => {});
  };
  document.addEventListener("visibilitychange", look);
  addEventListener("online", look);
  setInterval(look, LOOK_EVERY_MS);
}

/** Ask the browser not to clear this phone's memory by itself; true where it promises that. */
export async function persist() {
  try {
    return (await navigator.storage.persisted()) || (await navigator.storage.persist());
  } catch { return false; }
}
