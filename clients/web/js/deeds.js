// Small changes of a shared layout in words: what was done, for the list of deeds and for choices.

import { outletName, percent, plain } from "./format.js";
import { label } from "./layout.js";
import { t } from "./text.js";

/** A place in words; the board is named where there are several. */
export function placeWords(place, layout) {
  if (!place) return t("deed.table");
  const name = outletName(place.outlet);
  return layout && layout.boards.length < 2 ? name : `${place.board} ${name}`;
}

function called(id, change, layout) {
  const found = layout?.loads.find((l) => l.id === id) ?? (change.new?.id === id ? change.new : null);
  return found ? label(found) : id;
}

const known = (name) => t(`field.${name}`, {}, name.replaceAll("_", " "));

/** One change in words. */
export function deedWords(change, layout) {
  const place = (where) => placeWords(where, layout);
  const values = {
    load: () => called(change.load ?? change.new?.id, change, layout),
    other: () => called(change.with, change, layout),
    board: () => change.board ?? change.new?.id,
    from: () => place(change.from),
    to: () => (["plug", "move", "swap"].includes(change.op) ? place(change.to)
      : change.op === "add" ? place(change.new.outlet ? change.new : null)
        : change.op === "add-board" ? (change.new.fed_from ? place(change.new.fed_from) : t("where.supply"))
          : change.op === "dim" ? t("percent", { n: percent((change.to ?? 1) * 100) }) : worth(change.to)),
    field: () => known(change.field),
  };
  const filled = Object.fromEntries(Object.entries(values).map(([name, words]) => [name, safely(words)]));
  const key = change.op === "burning" && !change.to ? "deed.burning.none" : `deed.${change.op}`;
  return t(key, filled, change.op);
}

// A kind of change has not every part.
function safely(words) {
  try { return words() ?? ""; } catch { return ""; }
}

function worth(value) {
  if (value === null || value === undefined) return t("none");
  if (typeof value === "number") return plain(value);
  if (typeof value === "string") return value;
  if (typeof value === "boolean") return t(value ? "yes" : "no");
  return "…";
}

/** Several changes in a sentence each, the first few of them. */
export function deedsWords(changes, layout, most = 3) {
  const said = changes.slice(0, most).map((change) => deedWords(change, layout));
  const more = changes.length - said.length;
  return [...said, more > 0 ? t("deed.more", { n: more }) : ""].filter(Boolean).join(" ");
}

/** What an event did, in the reader's own language where it is made of small changes. */
export function eventWords(event, layout) {
  if (event.kind === "changed" && event.changes.length) return deedsWords(event.changes, layout);
  if (event.kind === "created") return t("deed.created");
  return event.words.join(" ");
}
