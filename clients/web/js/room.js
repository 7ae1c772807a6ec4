// Room on a full phone. What can be fetched again goes; what a person made or did never does.

import { forget } from "./memory.js";

/** Kept under these names so that it is there without a line; the service has it all. */
const FETCHED = ["catalogue", "regions", "boards", "cables", "fixtures", "demos"];

/** Give room: "data" what was fetched of the service, "shell" the copies of the client's own files. */
export async function makeRoom(what) {
  if (what === "data") await forget(FETCHED);
  else if (globalThis.caches) {
    const names = (await caches.keys()).filter((name) => name.startsWith("evenboard-"));
    await Promise.all(names.map((name) => caches.delete(name)));
  }
}
