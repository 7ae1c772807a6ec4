// Regions, board types and cables: asked for once, kept on the phone, refreshed when the page loads.

import * as api from "./api.js";
import { keep, recall } from "./memory.js";

const asked = new Map();

/**
 * The list under a name. The service's answer is waited for; where it gives none, the copy kept
 * from an earlier visit stands in, and only without either does this fail.
 */
function list(name, fetchIt) {
  if (!asked.has(name)) {
    asked.set(name, (async () => {
      try {
        const items = await fetchIt();
        keep(name, items);
        return items;
      } catch (error) {
        asked.delete(name);
        const kept = await recall(name);
        if (kept) return kept;
        throw error;
      }
    })());
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
 * What is known of the fixtures that a layout names: Map slug -> {slug, name, size_class}. What is
 * not yet known is asked for; one that the service does not know either is left out.
 */
export async function fixturesNamed(slugs) {
  if (!fixtures.size) {
    for (const known of (await recall("fixtures")) ?? []) fixtures.set(known.slug, known);
  }
  const wanted = [...new Set(slugs)].filter((slug) => !fixtures.has(slug));
  if (wanted.length) {
    await Promise.allSettled(wanted.map(async (slug) => remember(await api.fixture(slug))));
  }
  return fixtures;
}

/** Keep the few things a board's drawing needs of a fixture that was found. */
export function remember({ slug, name, size_class: size, also_known_as: names, power_w: power }) {
  fixtures.set(slug, { slug, name, size_class: size, power_w: power, also_known_as: names });
  keep("fixtures", [...fixtures.values()]);
}
