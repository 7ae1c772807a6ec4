// The desk's key on this phone: typed once, kept beyond this page only where that was asked for.

import { keep, recall } from "./memory.js";

const NAME = "desk-key";
let held = null;

/** The key, or "" where there is none. */
export async function deskKey() {
  held ??= (await recall(NAME)) ?? "";
  return held;
}

/** Use a key until the page is closed; with `kept`, until it is forgotten. */
export async function holdKey(key, { kept = false } = {}) {
  held = key;
  await keep(NAME, kept ? key : null);
}

/** Sign out: nothing of the key stays here. */
export const forgetKey = () => holdKey("");
