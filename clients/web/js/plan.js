// A plan and how far it is carried out. What is done is read off the layout, not kept beside it: so
// undo, a reload and a lamp that was moved by hand all tell the truth. No page, no network, no sums.

import { isLoose, load, plug, unplug } from "./layout.js";

/** What each wish asks of the service. */
const GOALS = {
  even: () => ({ objective: "even" }),
  fewest: () => ({ objective: "fewest-moves" }),
  most: ({ most }) => ({ objective: "even", max_moves: most }),
  place: () => ({ objective: "even", max_moves: 0 }),
};
export const GOAL_NAMES = Object.keys(GOALS);
export const FIRST_WISHES = { goal: "even", most: 3, spare: 0 };

const unplugged = ({ board, outlet, ...rest }) => rest;

/** The body to post: the layout with the lamps on the table, and what is wished for. */
export const planBody = (layout, wishes) => ({
  ...layout,
  loads: layout.loads.map((l) => (isLoose(l) ? unplugged(l) : l)),
  options: { ...GOALS[wishes.goal](wishes), ...(wishes.spare ? { spare_a: wishes.spare } : {}) },
});

/** The layout but for where the plan's own lamps are, and its name: what a plan hangs on. */
function ground(layout, steps) {
  const moving = new Set(steps.map((step) => step.load));
  const { name: _, ...rest } = layout;
  return JSON.stringify({
    ...rest, loads: layout.loads.map((l) => (moving.has(l.id) || isLoose(l) ? unplugged(l) : l)),
  });
}

/** A plan to keep: the answer, what was wished for, and what it hangs on. */
export const planOf = (answer, wishes, layout, at) =>
  ({ answer, wishes, at, ground: ground(layout, answer.steps) });

const same = (l, place) =>
  (place ? l.board === place.board && l.outlet === place.outlet : isLoose(l));

/** Where a lamp is before the first of its steps and after each: one place more than steps. */
function stations(steps, id) {
  const own = steps.filter((step) => step.load === id);
  return { own, places: [own[0].from, ...own.map((step) => step.to)] };
}

/** How many of a lamp's own steps are done, or null where it is in none of its places. */
function reached(layout, steps, id) {
  const l = load(layout, id);
  if (!l) return null;
  const { places } = stations(steps, id);
  const at = places.findIndex((place) => same(l, place));
  return at < 0 ? null : at;
}

/** Whether a plan is no longer one for this layout. */
export function isStale({ answer: { steps }, ground: of }, layout) {
  return !layout || ground(layout, steps) !== of
    || steps.some((step) => reached(layout, steps, step.load) === null);
}

const isDone = (layout, steps, step) =>
  stations(steps, step.load).own.indexOf(step) < (reached(layout, steps, step.load) ?? 0);

/** Who has a place, other than a lamp itself. */
const inTheWay = (layout, place, id) =>
  place && layout.loads.find((l) => l.id !== id && same(l, place));

/** What a step waits for: `{why, step}` or `{why, load}`, or null where it can be taken now. */
function waitsFor(layout, steps, step) {
  const before = steps.slice(0, steps.indexOf(step)).filter((each) => !isDone(layout, steps, each));
  const unplugging = before.find((each) => each.action === "unplug");
  const other = inTheWay(layout, step.to, step.load);
  const frees = other && before.find((each) => each.load === other.id);
  if (frees) return { why: "outlet", step: frees };
  if (other) return { why: "taken", load: other };
  return unplugging ? { why: "room", step: unplugging } : null;
}

/** What keeps a step that is done from being taken back, or null. */
function heldBy(layout, steps, step) {
  const after = steps.slice(steps.indexOf(step) + 1).filter((each) => isDone(layout, steps, each));
  const own = after.find((each) => each.load === step.load);
  // Room that an unplugged lamp left is used by whatever was done since.
  const later = own ?? (step.action === "unplug" ? after.at(-1) : null);
  if (later) return { why: "back", step: later };
  const other = inTheWay(layout, step.from, step.load);
  if (!other) return null;
  const into = after.find((each) => each.load === other.id);
  return into ? { why: "back", step: into } : { why: "taken", load: other };
}

/** Each step with how it stands: `{step, done, waits, skipped}`. */
export function progress({ answer: { steps } }, layout) {
  return steps.map((step, index) => {
    const done = isDone(layout, steps, step);
    return {
      step, done, waits: done ? heldBy(layout, steps, step) : waitsFor(layout, steps, step),
      skipped: !done && steps.slice(0, index).some((each) => !isDone(layout, steps, each)),
    };
  });
}

const put = (layout, id, place) => (place ? plug(layout, id, place.board, place.outlet) : unplug(layout, id));

export const takeStep = (layout, step) => put(layout, step.load, step.to);
export const takeBack = (layout, step) => put(layout, step.load, step.from);

/** All that is left of a plan in one change. */
export const takeAll = ({ answer: { steps } }, layout) => steps
  .filter((step) => !isDone(layout, steps, step)).reduce(takeStep, layout);
