// What this phone remembers, in IndexedDB. Where the browser allows none (a private window), it
// remembers until the page is closed, and says so through `lasting`.

import { mayGo, tellFull, withRoom } from "./room.js";

const NAME = "evenboard";
const STORE = "kept";
/** Kept so that it is there without a line; the service has it all, so these go first. */
const FETCHED = new Set(["catalogue", "regions", "boards", "cables", "fixtures", "demos"]);
const fallback = new Map();
let opening = null;

/** Whether what is kept outlives the page; null until first used. */
export let lasting = null;

function open() {
  opening ??= new Promise((resolve) => {
    const failed = () => { lasting = false; resolve(null); };
    try {
      const request = indexedDB.open(NAME, 1);
      request.onupgradeneeded = () => request.result.createObjectStore(STORE);
      request.onsuccess = () => {
        lasting = true;
        // Another tab with a newer version must not be held up by this one.
        request.result.onversionchange = () => { request.result.close(); opening = null; };
        resolve(request.result);
      };
      request.onerror = failed;
      request.onblocked = failed;
    } catch { failed(); }
  });
  return opening;
}

async function run(mode, work) {
  const database = await open();
  if (!database) return undefined;
  return new Promise((resolve, reject) => {
    const transaction = database.transaction(STORE, mode);
    const request = work(transaction.objectStore(STORE));
    transaction.oncomplete = () => resolve(request.result);
    transaction.onerror = transaction.onabort = () => reject(transaction.error);
  });
}

/** Keep a plain value under a key. What a person made finds room at the cost of what was fetched. */
export async function keep(key, value) {
  fallback.set(key, value);
  const write = () => run("readwrite", (store) => store.put(value, key));
  if (!FETCHED.has(key)) {
    if (!await withRoom(write)) lasting = false;
    return;
  }
  try {
    await write();
  } catch (error) {
    if (error?.name === "QuotaExceededError") tellFull();
  }
}

/** What was kept under a key, or undefined. */
export async function recall(key) {
  try {
    const value = await run("readonly", (store) => store.get(key));
    if (value !== undefined) return value;
  } catch { lasting = false; }
  return fallback.get(key);
}

/** Forget what was kept under these keys. */
export async function forget(keys) {
  keys.forEach((key) => fallback.delete(key));
  try {
    await run("readwrite", (store) => { keys.forEach((key) => store.delete(key)); return {}; });
  } catch { lasting = false; }
}

mayGo(() => forget([...FETCHED]));
