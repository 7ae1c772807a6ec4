// A shared layout as small changes: what differs between two states as the changes that the service
// knows, and what they make of a state. A state is `{layout, burning}`. No page, no network, no sums.

import { withChildren } from "./layout.js";

const PLACE = ["board", "outlet", "lines"];
const BOARD_FIELDS = ["name", "type", "outlets", "rcds", "incomer", "fed_from", "feeder", "neutral", "tag"];
const LAYOUT_FIELDS = ["name", "region", "supply", "ambient_c", "setups", "start_order", "limits"];

const nothing = (value) => value === undefined || value === null || value === "";
const known = (value) => (nothing(value) ? null : value);
/** A value with its names in order. */
export const sorted = (value) => (value && typeof value === "object" && !Array.isArray(value)
  ? Object.fromEntries(Object.keys(value).sort().map((key) => [key, sorted(value[key])]))
  : Array.isArray(value) ? value.map(sorted) : value);
/** Whether two values are the same, whatever the order of their names; an empty text is none. */
export const alike = (one, other) => JSON.stringify(sorted(known(one))) === JSON.stringify(sorted(known(other)));

/** Where a load is plugged, or null where it is loose. */
export function placeOf(load) {
  if (!load || nothing(load.outlet)) return null;
  return Object.fromEntries(PLACE.filter((name) => !nothing(load[name])).map((name) => [name, load[name]]));
}

/** Whether two places are the same outlet, or both none. */
export const samePlace = (one, other) =>
  (one && other ? one.board === other.board && one.outlet === other.outlet : !one && !other);

const byId = (things, id) => things.find((thing) => thing.id === id);
const plugsIn = (layout, place, but) => [
  ...layout.loads.filter((l) => !but.includes(l.id) && samePlace(placeOf(l), place)),
  ...layout.boards.filter((b) => samePlace(b.fed_from ?? null, place)),
];

// -- what differs --------------------------------------------------------------------------------

/** The changes that lead from one state to another, in an order in which none is in the other's way. */
export function differences(before, after) {
  const a = before.layout;
  const b = after.layout;
  const changes = [];
  // What is where while the changes are made one after the other.
  const at = { loads: a.loads.map((l) => ({ ...l })), boards: a.boards.map((x) => ({ ...x })) };
  const push = (change) => { changes.push(change); carryOut(at, change); };

  const gone = a.boards.filter((x) => !byId(b.boards, x.id)).map((x) => x.id);
  const unplug = (l) => push({ op: "unplug", load: l.id, from: placeOf(l) });
  for (const l of a.loads) {
    if (!byId(b.loads, l.id)) push({ op: "remove", load: l.id, from: placeOf(l) });
    else if (placeOf(l) && (gone.includes(l.board) || !placeOf(byId(b.loads, l.id)))) unplug(l);
  }
  // Children before what they hang on.
  for (const x of a.boards.filter(({ id }) => gone.includes(id))
    .sort((one, other) => withChildren(a, one.id).length - withChildren(a, other.id).length)) {
    push({ op: "remove-board", board: x.id, from: x.fed_from ?? null });
  }
  moves(at, b, push);
  for (const l of b.loads.filter((each) => !byId(a.loads, each.id))) {
    push({ op: "add", new: l, ...beside(at, placeOf(l), l.id) });
  }
  boards(a, b, push);
  for (const l of b.loads) fields(byId(a.loads, l.id), l, push);
  for (const field of LAYOUT_FIELDS.filter((name) => !alike(a[name], b[name]))) {
    push({ op: "set-layout", field, was: known(a[field]), to: known(b[field]) });
  }
  if (before.burning !== after.burning) push({ op: "burning", was: before.burning, to: after.burning });
  return changes;
}

/** Loads that are in an outlet already: to be named, so that a second plug there is meant. */
function beside(at, place, id) {
  const names = place ? plugsIn(at, place, [id]).filter((x) => byId(at.loads, x.id) === x).map((x) => x.id) : [];
  return names.length ? { beside: names } : {};
}

function moves(at, b, push) {
  const wanted = (l) => placeOf(byId(b.loads, l.id));
  const waiting = () => at.loads.filter((l) => byId(b.loads, l.id) && wanted(l) && !samePlace(placeOf(l), wanted(l)));
  // Who is in the outlet now and does not stay there.
  const inTheWay = (l) => plugsIn(at, wanted(l), [l.id])
    .filter((x) => byId(at.loads, x.id) === x && !samePlace(wanted(x), wanted(l)));
  for (let left = waiting(); left.length; left = waiting()) {
    const free = left.find((l) => !inTheWay(l).length);
    const one = free ?? left[0];
    const here = placeOf(one);
    const to = wanted(one);
    const [other] = inTheWay(one);
    const swapping = !free && here && other && samePlace(wanted(other), here)
      && inTheWay(one).length === 1 && !plugsIn(at, here, [one.id, other.id]).length;
    if (swapping) push({ op: "swap", load: one.id, from: here, with: other.id, to: placeOf(other) });
    else if (free) {
      push({ ...(here ? { op: "move", load: one.id, from: here, to } : { op: "plug", load: one.id, to }),
        ...beside(at, to, one.id) });
    } else {
      const blocking = placeOf(one) ? one : other;
      push({ op: "unplug", load: blocking.id, from: placeOf(blocking) });
    }
  }
}

function boards(a, b, push) {
  const fresh = b.boards.filter((x) => !byId(a.boards, x.id));
  const there = new Set(b.boards.filter((x) => byId(a.boards, x.id)).map((x) => x.id));
  // What a board hangs on comes first.
  while (fresh.length) {
    const index = fresh.findIndex((x) => !x.fed_from || there.has(x.fed_from.board));
    const [x] = fresh.splice(Math.max(0, index), 1);
    there.add(x.id);
    push({ op: "add-board", new: x });
  }
  for (const x of b.boards) {
    const old = byId(a.boards, x.id);
    for (const field of old ? BOARD_FIELDS : []) {
      if (!alike(old[field], x[field])) {
        push({ op: "set-board", board: x.id, field, was: known(old[field]), to: known(x[field]) });
      }
    }
  }
}

function fields(old, l, push) {
  if (!old) return;
  const moved = !samePlace(placeOf(old), placeOf(l));
  for (const field of new Set([...Object.keys(old), ...Object.keys(l)])) {
    if (["id", "board", "outlet"].includes(field) || (field === "lines" && moved)) continue;
    const [was, to] = [known(old[field]), known(l[field])];
    if (alike(was, to)) continue;
    if (field === "dimmed_to") push({ op: "dim", load: l.id, was, to });
    else push({ op: "set", load: l.id, field, was, to });
  }
}

// -- what they make of a state -------------------------------------------------------------------

const copied = ({ layout, burning }) => ({
  ...layout, loads: layout.loads.map((l) => ({ ...l })), boards: layout.boards.map((b) => ({ ...b })), burning,
});
const state = ({ burning, ...layout }) => ({ layout, burning });

/**
 * The state after some changes, all of them or, where one finds something else than it believed,
 * none: as the service would have it.
 */
export function applied(before, changes) {
  const work = copied(before);
  for (const change of changes) {
    if (isDone(work, change)) continue;
    if (!fits(work, change)) return before;
    carryOut(work, change);
  }
  return state(work);
}

/**
 * The state with some changes made whatever is there now: what is in the way goes on the table.
 * `loads` and `boards` are those that the changes are about, as they were when they were made.
 */
export function forced(before, changes, { loads = [], boards: kept = [] } = {}) {
  const work = copied(before);
  const have = (id) => {
    if (!byId(work.loads, id) && byId(loads, id)) {
      work.loads.push({ ...byId(loads, id), board: undefined, outlet: undefined });
    }
  };
  const clear = (place, but) => {
    for (const other of place ? plugsIn(work, place, but) : []) {
      if (work.loads.includes(other)) put(other, null);
    }
  };
  for (const change of changes) {
    if (change.load) have(change.load);
    if (change.with) have(change.with);
    if (change.op === "add" && byId(work.loads, change.new.id)) {
      work.loads = work.loads.filter((l) => l.id !== change.new.id);
    }
    if (change.op === "add-board" && byId(work.boards, change.new.id)) continue;
    if (change.op === "set-board" && !byId(work.boards, change.board) && byId(kept, change.board)) {
      work.boards.push({ ...byId(kept, change.board) });
    }
    const to = change.op === "add" ? placeOf(change.new) : change.op === "add-board" ? change.new.fed_from
      : ["plug", "move", "swap"].includes(change.op) ? change.to : null;
    clear(to, [change.load, change.with, ...(change.beside ?? [])]);
    if (change.op === "swap") clear(change.from, [change.load, change.with]);
    if (change.op === "remove-board") {
      work.loads.filter((l) => l.board === change.board).forEach((l) => put(l, null));
      work.boards = work.boards.filter((b) => b.fed_from?.board !== change.board);
    }
    carryOut(work, change);
  }
  return state(work);
}

function put(load, place) {
  for (const name of PLACE) delete load[name];
  Object.assign(load, place ?? {});
}

function carryOut(work, change) {
  const l = byId(work.loads, change.load);
  const set = (thing, field, value) => {
    if (!thing) return;
    if (nothing(value)) delete thing[field];
    else thing[field] = value;
  };
  const deeds = {
    plug: () => l && put(l, change.to),
    move: () => l && put(l, change.to),
    unplug: () => l && put(l, null),
    swap: () => {
      const other = byId(work.loads, change.with);
      if (!l || !other) return;
      put(l, change.to);
      put(other, change.from);
    },
    dim: () => set(l, "dimmed_to", change.to),
    set: () => set(l, change.field, change.to),
    add: () => work.loads.push({ ...change.new }),
    remove: () => { work.loads = work.loads.filter((each) => each.id !== change.load); },
    burning: () => { work.burning = change.to; },
    "add-board": () => work.boards.push({ ...change.new }),
    "remove-board": () => { work.boards = work.boards.filter((each) => each.id !== change.board); },
    "set-board": () => set(byId(work.boards, change.board), change.field, change.to),
    "set-layout": () => set(work, change.field, change.to),
  };
  deeds[change.op]?.();
}

function isDone(work, change) {
  const l = byId(work.loads, change.load);
  const done = {
    plug: () => l && samePlace(placeOf(l), change.to),
    move: () => l && samePlace(placeOf(l), change.to),
    unplug: () => l && !placeOf(l),
    swap: () => l && samePlace(placeOf(l), change.to)
      && samePlace(placeOf(byId(work.loads, change.with)), change.from),
    dim: () => l && (l.dimmed_to ?? 1) === (change.to ?? 1),
    set: () => l && alike(l[change.field], change.to),
    add: () => alike(byId(work.loads, change.new.id), change.new),
    remove: () => !l,
    burning: () => work.burning === change.to,
    "add-board": () => alike(byId(work.boards, change.new.id), change.new),
    "remove-board": () => !byId(work.boards, change.board),
    "set-board": () => alike(byId(work.boards, change.board)?.[change.field], change.to),
    "set-layout": () => alike(work[change.field], change.to),
  };
  return Boolean(done[change.op]?.());
}

function fits(work, change) {
  const l = byId(work.loads, change.load);
  const free = (place, ...but) =>
    !place || !plugsIn(work, place, [change.load, ...(change.beside ?? []), ...but]).length;
  const fit = {
    plug: () => l && !placeOf(l) && free(change.to),
    move: () => l && samePlace(placeOf(l), change.from) && free(change.to),
    unplug: () => l && samePlace(placeOf(l), change.from),
    swap: () => l && samePlace(placeOf(l), change.from)
      && samePlace(placeOf(byId(work.loads, change.with)), change.to),
    dim: () => l && (l.dimmed_to ?? 1) === (change.was ?? 1),
    set: () => l && alike(l[change.field], change.was),
    add: () => !byId(work.loads, change.new.id) && free(placeOf(change.new)),
    remove: () => samePlace(placeOf(l), change.from),
    burning: () => work.burning === change.was,
    "add-board": () => !byId(work.boards, change.new.id) && free(change.new.fed_from ?? null)
      && (!change.new.fed_from || byId(work.boards, change.new.fed_from.board)),
    "remove-board": () => !work.loads.some((each) => each.board === change.board && placeOf(each))
      && !work.boards.some((each) => each.fed_from?.board === change.board),
    "set-board": () => alike(byId(work.boards, change.board)?.[change.field], change.was),
    "set-layout": () => alike(work[change.field], change.was),
  };
  return Boolean(fit[change.op]?.());
}
