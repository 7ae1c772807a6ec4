// The layout document that is posted to the service, and the edits a crew makes to it. Every edit
// takes a layout and returns a new one, so that undo is the old one. No page, no network, no sums:
// which line an outlet hangs on is plugging, not electrics.

export const LINES = ["L1", "L2", "L3"];
export const ROWS = ["top", "middle", "bottom"];

/** A first layout: one board on the supply. */
export function newLayout({ name, region, supply, type, feeder }) {
  return {
    name, region, supply,
    boards: [{ id: "main", type, fed_from: null, ...(feeder ? { feeder } : {}) }],
    loads: [],
  };
}

/** The first of "stem", "stem 2", "stem 3" … that is free. */
export function freeName(stem, taken) {
  const names = new Set(taken);
  for (let n = 1; ; n += 1) {
    const name = n === 1 ? stem : `${stem} ${n}`;
    if (!names.has(name)) return name;
  }
}

const ids = (things) => (things ?? []).map((thing) => thing.id);
const swapIn = (list, id, change) =>
  list.map((item) => (item.id === id ? dropUndefined({ ...item, ...change }) : item));
const dropUndefined = (thing) =>
  Object.fromEntries(Object.entries(thing).filter(([, value]) => value !== undefined));
const loosened = ({ board, outlet, ...load }) => load;

export const load = (layout, id) => layout.loads.find((l) => l.id === id);
export const board = (layout, id) => layout.boards.find((b) => b.id === id);
/** What a load is called: its own name, else its id. */
export const label = (l) => l.name || l.id;
export const isLoose = (l) => !l.board || !l.outlet;

/** Add a load and say which id it got: `[layout, id]`. */
export function addLoad(layout, what, stem = "lamp") {
  const id = freeName(stem, ids(layout.loads));
  return [{ ...layout, loads: [...layout.loads, { id, count: 1, ...what }] }, id];
}

/** Change fields of a load; undefined takes a field away. */
export const changeLoad = (layout, id, change) =>
  ({ ...layout, loads: swapIn(layout.loads, id, change) });

export const removeLoad = (layout, id) =>
  ({ ...layout, loads: layout.loads.filter((l) => l.id !== id) });

export const plug = (layout, id, boardId, outlet) =>
  changeLoad(layout, id, { board: boardId, outlet });

export const unplug = (layout, id) =>
  changeLoad(layout, id, { board: undefined, outlet: undefined });

/** Put two plugged loads in each other's place. */
export function swap(layout, one, other) {
  const a = load(layout, one);
  const b = load(layout, other);
  return changeLoad(changeLoad(layout, one, { board: b.board, outlet: b.outlet }),
    other, { board: a.board, outlet: a.outlet });
}

/** Add a board of a type, on an outlet or (fedFrom null) on the supply: `[layout, id]`. */
export function addBoard(layout, { type, fedFrom, feeder, stem }) {
  const id = freeName(stem, ids(layout.boards));
  const added = { id, type, fed_from: fedFrom, ...(feeder ? { feeder } : {}) };
  return [{ ...layout, boards: [...layout.boards, added] }, id];
}

export const changeBoard = (layout, id, change) =>
  ({ ...layout, boards: swapIn(layout.boards, id, change) });

/** A board and all that hangs on it. */
export function withChildren(layout, id) {
  const found = [id];
  for (let i = 0; i < found.length; i += 1) {
    for (const b of layout.boards) {
      if (b.fed_from?.board === found[i] && !found.includes(b.id)) found.push(b.id);
    }
  }
  return found;
}

/** Take a board away, with the boards behind it. Their lamps stay on the list, loose. */
export function removeBoard(layout, id) {
  const gone = withChildren(layout, id);
  return {
    ...layout,
    boards: layout.boards.filter((b) => !gone.includes(b.id)),
    loads: layout.loads.map((l) => (gone.includes(l.board) ? loosened(l) : l)),
  };
}

/** Give a board another type. Lamps and boards on outlets that the new one lacks come loose or go. */
export function changeBoardType(layout, id, type, outlets) {
  const names = new Set(ids(outlets));
  let next = { ...layout, boards: layout.boards.map((b) =>
    (b.id === id ? { id: b.id, type, fed_from: b.fed_from, ...(b.feeder ? { feeder: b.feeder } : {}) } : b)) };
  for (const b of layout.boards) {
    if (b.fed_from?.board === id && !names.has(b.fed_from.outlet)) next = removeBoard(next, b.id);
  }
  return { ...next, loads: next.loads.map((l) =>
    (l.board === id && !names.has(l.outlet) ? loosened(l) : l)) };
}

/** Give a board another id; all that names it follows. */
export function renameBoard(layout, id, wanted) {
  if (!wanted || ids(layout.boards).includes(wanted)) return layout;
  return {
    ...layout,
    boards: layout.boards.map((b) => ({
      ...b,
      id: b.id === id ? wanted : b.id,
      fed_from: b.fed_from?.board === id ? { ...b.fed_from, board: wanted } : b.fed_from,
    })),
    loads: layout.loads.map((l) => (l.board === id ? { ...l, board: wanted } : l)),
  };
}

export const addSetup = (layout, stem) => {
  const id = freeName(stem, ids(layout.setups));
  return [{ ...layout, setups: [...(layout.setups ?? []), { id }] }, id];
};

/** Rename a set-up; the lamps that burn in it follow. */
export function renameSetup(layout, id, wanted) {
  if (!wanted || ids(layout.setups).includes(wanted)) return layout;
  return {
    ...layout,
    setups: swapIn(layout.setups, id, { id: wanted }),
    loads: layout.loads.map((l) =>
      (l.setups ? { ...l, setups: l.setups.map((s) => (s === id ? wanted : s)) } : l)),
  };
}

/** Take a set-up away. With the last one gone there is again the one where all is on. */
export function removeSetup(layout, id) {
  const setups = layout.setups.filter((s) => s.id !== id);
  const left = new Set(ids(setups));
  const { setups: _, ...rest } = layout;
  return {
    ...rest,
    ...(setups.length ? { setups } : {}),
    loads: layout.loads.map((l) => {
      if (!l.setups) return l;
      const { setups: on, ...others } = l;
      return left.size ? { ...others, setups: on.filter((s) => left.has(s)) } : others;
    }),
  };
}

/** Whether a lamp burns in a set-up; a lamp that names none burns in all. */
export const burnsIn = (l, setup) => !l.setups || l.setups.includes(setup);

/** Switch a lamp on or off in one set-up. On in all of them is said by naming none. */
export function switchLoad(layout, id, setup, on) {
  const all = ids(layout.setups);
  const l = load(layout, id);
  const setups = all.filter((s) => (s === setup ? on : burnsIn(l, s)));
  return changeLoad(layout, id, { setups: setups.length === all.length ? undefined : setups });
}

/** What is plugged into an outlet: `{loads, boards}`. */
export function occupants(layout, boardId, outletId) {
  return {
    loads: layout.loads.filter((l) => l.board === boardId && l.outlet === outletId),
    boards: layout.boards.filter((b) => b.fed_from?.board === boardId && b.fed_from?.outlet === outletId),
  };
}

/** The outlets on a board's face: spelled out in the layout, or its type's. */
export const outletsOf = (b, types) => b.outlets ?? types.get(b.type)?.outlets ?? [];

/** A board's own lines, from what is on its face. */
export function linesOf(b, types) {
  const used = new Set(outletsOf(b, types).flatMap((outlet) => outlet.lines));
  const lines = LINES.filter((line) => used.has(line));
  return lines.length ? lines : ["L1"];
}

/** Which line of the supply stands behind a board's own line, for its colour. */
export function supplyLine(layout, types, boardId, line) {
  let b = board(layout, boardId);
  let name = line;
  for (let depth = 0; b?.fed_from && depth < layout.boards.length; depth += 1) {
    const parent = board(layout, b.fed_from.board);
    if (!parent) return name;
    const outlet = outletsOf(parent, types).find((o) => o.id === b.fed_from.outlet);
    const order = b.fed_from.phase_order ?? outlet?.lines;
    name = order?.[LINES.indexOf(name)] ?? name;
    b = parent;
  }
  return name;
}

// What a finding's remedy says in a form a program can carry out, as far as a layout can hold it.
const MENDS = {
  move: (layout, { load: id, board: b, outlet }) => plug(layout, id, b, outlet),
  unplug: (layout, { load: id }) => unplug(layout, id),
  resize: (layout, action) => action.csa_mm2 && changeRun(layout, action, (run) =>
    ({ ...run, csa_mm2: action.csa_mm2, neutral_csa_mm2: undefined })),
  "lay-out": (layout, action) => changeRun(layout, action, (run) =>
    ({ ...run, laid: "surface", coil_layers: undefined })),
  "separate-runs": (layout, action) => changeRun(layout, action, (run) =>
    ({ ...run, laid: "surface", grouped_circuits: undefined })),
};

function changeRun(layout, { board: b, load: l }, change) {
  const run = b ? board(layout, b)?.feeder : load(layout, l)?.lead;
  if (!run || run.conductor) return null;
  return b ? changeBoard(layout, b, { feeder: dropUndefined(change(run)) })
    : changeLoad(layout, l, { lead: dropUndefined(change(run)) });
}

/** The layout with a finding's remedy carried out, or null where a layout cannot hold all of it. */
export function mended(layout, actions) {
  if (!actions?.length) return null;
  return actions.reduce((next, action) => next && (MENDS[action.kind]?.(next, action) || null), layout);
}

/** The body to post: as plugged, without loose loads, which only a plan can place. */
export const forPosting = (layout) => ({ ...layout, loads: layout.loads.filter((l) => !isLoose(l)) });

/** The body to post for one set-up alone: with the lamps that burn in it and no other. */
export function onlySetup(layout, id) {
  const loads = forPosting(layout).loads.filter((l) => burnsIn(l, id)).map(({ setups, ...l }) => l);
  const there = new Set(ids(loads));
  return {
    ...layout, loads, setups: layout.setups.filter((s) => s.id === id),
    ...(layout.start_order ? { start_order: layout.start_order.map((group) => group.filter((name) => there.has(name))) } : {}),
  };
}

/** A path of names; a name may hold a slash itself. */
export const path = (...names) => names.map(encodeURIComponent).join("/");

/** A pointer into the posted body as a path with ids for numbers: /loads/3/fixture -> loads/key/fixture. */
export function namedPath(body, pointer) {
  const parts = pointer.split("/").slice(1).map((p) => p.replace(/~1/g, "/").replace(/~0/g, "~"));
  let here = body;
  return path(...parts.map((part) => {
    const inList = Array.isArray(here);
    here = here?.[part];
    return inList && typeof here?.id === "string" ? here.id : part;
  }));
}

const thing = (value) => value !== null && typeof value === "object" && !Array.isArray(value);
const named = (value) => thing(value) && typeof value.id === "string";
const listOf = (value, sound) => Array.isArray(value) && value.every(sound);
const absent = (value) => value === undefined || value === null;

/**
 * Take a parsed document as a layout, if it has the shape of one; else null. Only what the drawing
 * needs is looked at: what a layout means, and whether it makes sense, is the service's to say.
 */
export function asLayout(document) {
  const found = thing(document?.layout) ? document.layout : document;
  if (!thing(found) || !thing(found.supply)) return null;
  const boardSound = (b) => named(b) &&
    (absent(b.fed_from) || thing(b.fed_from)) && (absent(b.feeder) || thing(b.feeder)) &&
    (absent(b.outlets) || listOf(b.outlets, (o) => named(o) && listOf(o.lines, (l) => typeof l === "string")));
  const loadSound = (l) => named(l) && (absent(l.setups) || Array.isArray(l.setups)) &&
    (absent(l.custom) || thing(l.custom)) && (absent(l.lead) || thing(l.lead));
  if (!listOf(found.boards, boardSound) || !listOf(found.loads ?? [], loadSound)) return null;
  if (!absent(found.setups) && !listOf(found.setups, named)) return null;
  return { name: "", ...found, loads: found.loads ?? [] };
}
