// Keeps the client's own files on the phone, so that it opens without a network: always all of one
// version, never some of each. It keeps nothing that the service computes; the pages do that, and
// say how old it is.

/** Address -> tag of its bytes. The service writes it in, so that another file is another worker. */
const SHELL = {};
/** The same of what not every phone needs: the rental desk's pages, another language. Kept once it was asked for. */
const LATER = {};

const PREFIX = "evenboard-shell-";
const revision = [SHELL, LATER].flatMap((list) => Object.entries(list)).flat().join("\n");
let name = null;

/** The cache of this version. */
async function shell() {
  if (!name) {
    // A short name for the list. Not from crypto.subtle: this is no secret.
    let sum = 0x811c9dc5;
    for (let i = 0; i < revision.length; i += 1) sum = Math.imul(sum ^ revision.charCodeAt(i), 0x01000193) >>> 0;
    name = `${PREFIX}${sum.toString(16)}-${Object.keys(SHELL).length}`;
  }
  return caches.open(name);
}

/** Whether an answer has the bytes that the list means: it names the beginning of their tag. */
const is = (response, tag) => (response?.headers.get("ETag") ?? "").replace(/^W\/|"/g, "").startsWith(tag);

/** Fill the cache with what it lacks: from an older version where the bytes are the same. */
async function fill() {
  await Promise.all(Object.entries(SHELL).map(([path, tag]) => take(path, tag)));
  // A phone that speaks another language goes on speaking it in a newer version.
  await Promise.all(Object.entries(LATER).map(async ([path, tag]) => {
    if (await caches.match(path, { ignoreVary: true })) await take(path, tag);
  }));
}

/** See to it that the cache has this file, of this version. */
async function take(path, tag) {
  const cache = await shell();
  const kept = await caches.match(path, { ignoreVary: true });
  if (is(kept, tag)) {
    if (!await cache.match(path, { ignoreVary: true })) await cache.put(path, kept);
    return;
  }
  // What the page has just fetched is not fetched again.
  let response = await fetch(path, { cache: "force-cache" });
  if (!is(response, tag)) response = await fetch(path, { cache: "reload" });
  // A file of yet another version: not this one, then. The browser tries again later.
  if (!response.ok || !is(response, tag)) throw new Error(`${path} is not what was listed`);
  await cache.put(path, response);
}

async function tellPages(said) {
  for (const page of await clients.matchAll({ includeUncontrolled: true })) page.postMessage(said);
}

const full = (error) => error.name === "QuotaExceededError";

addEventListener("install", (event) => {
  event.waitUntil(fill().catch(async (error) => {
    await caches.delete(name);
    if (full(error)) await tellPages("full");
    throw error;
  }));
});

addEventListener("activate", (event) => {
  event.waitUntil((async () => {
    await shell();
    const old = (await caches.keys()).filter((each) => each.startsWith(PREFIX) && each !== name);
    await Promise.all(old.map((each) => caches.delete(each)));
    // The page of a first visit works offline from now on, not only after it is opened again.
    await clients.claim();
  })());
});

addEventListener("message", (event) => {
  if (event.data === "use") skipWaiting();
  // What the page had asked for before there was a worker to keep it.
  if (event.data?.asked) event.waitUntil(keepAsked(event.data.asked));
  // What was given up on a full phone is fetched again once there is room and a line.
  if (event.data === "mend") event.waitUntil(fill().catch((error) => (full(error) ? tellPages("full") : null)));
});

const base = new URL("./", location);

addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== base.origin || !url.pathname.startsWith(base.pathname)) return;
  const path = url.pathname.slice(base.pathname.length) || "./";
  if (Object.hasOwn(SHELL, path) || path === "index.html") {
    event.respondWith(kept(path === "index.html" ? "./" : path, request));
  } else if (Object.hasOwn(LATER, path)) {
    event.respondWith(later(path, request));
  } else if (request.mode === "navigate") {
    // Another page of the service, such as the one behind a report's code. Without a line the client.
    event.respondWith(fetch(request).catch(() => Response.redirect(base.href)));
  }
});

async function kept(path, request) {
  const cache = await shell();
  return (await cache.match(path, { ignoreVary: true })) ?? fetch(request);
}

async function keepAsked(addresses) {
  const paths = addresses.filter((each) => each.startsWith(base.href)).map((each) => each.slice(base.href.length));
  const later = paths.filter((path) => Object.hasOwn(LATER, path));
  // Without a line just now it is kept when it is used the next time.
  await Promise.allSettled(later.map((path) => take(path, LATER[path])));
}

/** What is kept once it is used. One of another version is not given out: the page would be of both. */
async function later(path, request) {
  try {
    await take(path, LATER[path]);
  } catch (error) {
    // On a full phone it is used without being kept, as long as there is a line.
    if (full(error)) return fetch(request);
    registration.update().catch(() => {});
    return Response.error();
  }
  return kept(path, request);
}
