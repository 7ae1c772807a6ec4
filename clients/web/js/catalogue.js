// The whole lamp list on the phone, and finding in it without a line: words with slips, watts, amps.
// The service ranks better and is asked first; this is for where it cannot be.

import * as api from "./api.js";
import { keep, recall } from "./memory.js";
import { plugCurrentA, versionFor } from "./simple-sum.js";

const PAGE = 200;
/** Watts and amps within this still answer, the less the farther. */
const NEAR = 0.25;
const STOP = new Set(("a an and any are at by draw draws for in is it kind lamp lamps me of on or some that the "
  + "to type what which with").split(" "));
const FIGURE = /(\d+(?:[.,]\d+)?)\s*(kw|kilowatts?|k|watts?|w|amperes?|amps?|a)?(?![a-z])/g;

let copy = null;

/** The copy: `{items, at}`, or null where none was ever fetched. */
export async function kept() {
  copy ??= (await recall("catalogue")) ?? null;
  return copy;
}

/** Fetch the list anew. What has not changed costs a few bytes. */
export async function refreshCatalogue() {
  const items = await api.everyFixture(PAGE);
  copy = { items, at: Date.now() };
  await keep("catalogue", copy);
  return copy;
}

/** One lamp out of the copy as it is at a voltage, or null: `{fixture, at}`. */
export async function keptFixture(slug, voltage) {
  const found = (await kept())?.items.find((item) => item.slug === slug);
  return found ? { fixture: atVoltage(found, voltage), at: copy.at } : null;
}

/** Lamps out of the copy, best first: `{items, at}`, or null where there is no copy. */
export async function findKept(query, voltage) {
  const have = await kept();
  if (!have) return null;
  return { items: find(have.items, query, voltage).map((item) => atVoltage(item, voltage)), at: have.at };
}

/** What a lamp draws at a voltage, in the form in which the service says it. */
function atVoltage(item, voltage) {
  if (!voltage || item.at_voltage?.voltage_v === voltage) return item;
  const made = versionFor(item, voltage);
  const current = made ? plugCurrentA(item, voltage) : null;
  const lines = item.connection === "single" ? 1 : 3;
  return {
    ...item,
    at_voltage: made ? { voltage_v: voltage, current_a: current, apparent_va: current * voltage * lines } : null,
  };
}

/** The lamps that answer to a query, best first. */
export function find(items, { q = "", family = "", size_class: size = "", max_current_a: most = null }, voltage = 230) {
  const asked = read(q);
  const scored = [];
  for (const item of items) {
    if ((family && item.family !== family) || (size && item.size_class !== size)) continue;
    const made = versionFor(item, voltage);
    const amps = plugCurrentA(item, voltage);
    if (most !== null && (!made || amps > most)) continue;
    const parts = [
      ...asked.words.map((word) => wordScore(wordsOf(item), word)),
      ...asked.figures.map((figure) => figureScore(item, figure, amps)),
    ];
    const answered = parts.filter((score) => score > 0).length;
    const total = parts.reduce((sum, score) => sum + score, 0);
    if (!parts.length || answered) scored.push({ item, answered, score: total + (made ? 0 : -0.2) });
  }
  // Where none answers to all of it, those that answer to most.
  const best = Math.max(0, ...scored.map((each) => each.answered));
  return scored.filter((each) => each.answered === best)
    .sort((a, b) => b.score - a.score).map((each) => each.item);
}

const plain = (text) => text.toLowerCase().normalize("NFKD").replace(/\p{M}/gu, "").replace(/×/g, "x");
const split = (text) => plain(text).split(/[^\p{L}\p{N}.]+/u).filter(Boolean);
const singular = (word) => (word.length > 3 && word.endsWith("s") && !word.endsWith("ss") ? word.slice(0, -1) : word);

/** What was typed, taken apart: words, and figures with their units. */
function read(text) {
  const figures = [];
  const rest = plain(text).slice(0, 200).replace(/\b(\d+)k(\d)\b/g, "$1.$2k").replace(FIGURE, (_, number, unit = "") => {
    figures.push({ value: Number(number.replace(",", ".")), unit: unit[0] ?? "" });
    return " ";
  });
  const words = split(rest).map(singular).filter((word) => /\p{L}/u.test(word) && !STOP.has(word));
  return { words: [...new Set(words)].slice(0, 12), figures: figures.slice(0, 12) };
}

const known = new WeakMap();

/** Every word a lamp goes by, with its weight: its own name's counts most. */
function wordsOf(item) {
  if (!known.has(item)) {
    const words = new Map();
    const add = (text, weight) => split(text).forEach((word) => {
      const one = singular(word);
      words.set(one, Math.max(weight, words.get(one) ?? 0));
    });
    add(item.name, 1);
    add(item.slug.replace(/-/g, " "), 0.95);
    add(item.also_known_as.join(" "), 0.97);
    known.set(item, words);
  }
  return known.get(item);
}

function wordScore(words, typed) {
  let best = 0;
  for (const [word, weight] of words) {
    const like = word === typed ? 1
      : word.startsWith(typed) ? 0.75 + (0.2 * typed.length) / word.length
        : typed.length >= 4 && slips(typed, word, typed.length <= 5 ? 1 : 2);
    best = Math.max(best, like * weight);
  }
  return best;
}

/** How alike two words are with so many slips at most: letters left out, added, changed or swapped. */
function slips(one, other, most) {
  if (Math.abs(one.length - other.length) > most) return 0;
  let before = [];
  let row = Array.from({ length: other.length + 1 }, (_, index) => index);
  for (let i = 1; i <= one.length; i += 1) {
    const next = [i];
    for (let j = 1; j <= other.length; j += 1) {
      const same = one[i - 1] === other[j - 1];
      next[j] = Math.min(row[j] + 1, next[j - 1] + 1, row[j - 1] + (same ? 0 : 1));
      if (i > 1 && j > 1 && one[i - 1] === other[j - 2] && one[i - 2] === other[j - 1]) {
        next[j] = Math.min(next[j], before[j - 2] + 1);
      }
    }
    [before, row] = [row, next];
  }
  const found = row[other.length];
  return found > most ? 0 : 0.85 - 0.12 * (found - 1);
}

function figureScore(item, { value, unit }, amps) {
  const watts = (asked) => Math.max(near(item.power_w, asked) * 0.95, near(item.lamp_power_w ?? item.power_w, asked));
  if (unit === "a") return near(amps, value);
  if (unit === "k") return Math.max(watts(value * 1000), wordsOf(item).has(`${value}k`) ? 1 : 0);
  if (unit === "w") return watts(value);
  // Without a unit: watts, kilowatts, or part of a name.
  return Math.max(watts(value), value <= 24 ? 0.95 * watts(value * 1000) : 0, wordsOf(item).has(String(value)) ? 1 : 0);
}

function near(value, asked) {
  if (!(asked > 0) || !(value > 0)) return 0;
  const away = Math.abs(Math.log(value / asked));
  return away < 0.012 ? 1 : Math.max(0, 0.8 * (1 - away / NEAR));
}
