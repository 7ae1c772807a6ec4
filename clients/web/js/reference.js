// Regions, board types and cables: asked for once a visit, kept on the phone.

import * as api from "./api.js";
import { kept } from "./catalogue.js";
import { keep, recall } from "./memory.js";

const asked = new Map();

/**
 * The list under a name. The copy kept from an earlier visit is given at once, and what the service
 * says then takes its place for whoever asks next; without a copy the service's answer is waited for.
 */
function list(name, fetchIt) {
  if (!asked.has(name)) {
    const fresh = fetchIt().then((items) => {
      keep(name, items);
      asked.set(name, Promise.resolve(items));
      return items;
    });
    const given = recall(name).then((kept) => kept ?? fresh);
    asked.set(name, given);
    // Without an answer the next visit, or the next who asks in vain, asks again.
    fresh.catch(() => {});
    given.catch(() => asked.delete(name));
  }
  return asked.get(name);
}

const byId = async (items) => new Map((await items).map((item) => [item.id, item]));

export const regions = () => byId(list("regions", api.regions));
export const boardTypes = () => byId(list("boards", api.boardTypes));
export const cables = () => byId(list("cables", api.cables));

/** The region a phone is most likely in, from the language it is set to. */
export function likelyRegion(languages = navigator.languages ?? [navigator.language ?? ""]) {
  const country = { AU: "au", NZ: "au", GB: "uk", IE: "uk", US: "us", CA: "us", JP: "jp" };
  for (const tag of languages) {
    const part = tag.split("-").pop().toUpperCase();
    if (country[part]) return country[part];
  }
  return "eu";
}

const fixtures = new Map();

/**
 * What is known of the fixtures that a layout names: Map slug -> fixture. What is not yet known is
 * asked for; one that the service does not know either is left out.
 */
export async function fixturesNamed(slugs) {
  if (!fixtures.size) {
    for (const known of (await recall("fixtures")) ?? []) fixtures.set(known.slug, known);
  }
  const missing = () => [...new Set(slugs)].filter((slug) => !fixtures.get(slug)?.input_ranges_v);
  const list = missing().length ? (await kept())?.items ?? [] : [];
  const wanted = new Set(missing());
  list.filter((item) => wanted.has(item.slug)).forEach(remember);
  await Promise.allSettled(missing().map(async (slug) => remember(await api.fixture(slug))));
  return fixtures;
}

/** What a board's drawing and the simple sum need of a fixture. */
const NEEDED = ["slug", "name", "size_class", "also_known_as", "power_w", "power_factor",
  "displacement_factor", "third_harmonic_pct", "load_model", "connection", "input_ranges_v"];

/** Keep what is needed of a fixture that was found. */
export function remember(found) {
  fixtures.set(found.slug, Object.fromEntries(NEEDED.map((name) => [name, found[name]])));
  keep("fixtures", [...fixtures.values()]);
}
