"""Even in many set-ups at once: annealing of many plans side by side, for starts of the search.

Where set-ups tie some dozens of loads, a walk downhill ends in one of many corners, most of them
far from the best. Plans are changed by chance here, worse ones being taken less and less often; now
and then the better half takes the place of the other. All plans are offered the same change, so
that it is made by adding rows of short whole numbers, millions of changes in a fifth of a second.
The sequence of chance is fixed: the same on every machine. Seats are counted line by line; what
ratings and boards forbid is looked at afterwards, and dropped.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from evenboard.planning.measure import (
    IntArray,
    Levels,
    ShortArray,
    Work,
    extremes,
    spread_at_most,
)
from evenboard.planning.problem import BoolArray, Problem
from evenboard.planning.refine import movable
from evenboard.planning.state import State

__all__ = ["annealed"]

SIDE_BY_SIDE, SUMS = 2048, 43_008
"""Plans at most, and sums of their lines: so many fit a processor's cache (tried)."""

PARTS, STEPS = 8, 300
"""Parts of the annealing, and changes that each plan is offered in each at most (tried)."""

FIRST_CHOICE, FIRST_RISE = 2, 4
"""Parts at whose end the better half is taken twice for the first time, and the highest line counts
twice as much for the first time (tried)."""

COST_OF_TWO, SHARE_IN_5 = 3, 3
"""Work units of two sums in a change (measured: short numbers are added fast), and how many fifths
of the work that is left may go into changes."""

KEPT, TRIED = 16, 96
"""Plans that are gone on with, and of how many."""

MOST_KINDS = 32
"""Kinds of loads that seats are counted for."""

MOST_UNITS, LEAST_UNIT = 32_000, 1_000
"""What all loads of a set-up come to at most, in units, so that sums take 16 bits and merits 32;
and microamps in a unit at least."""

OVER, SPREAD, CROWDED = (50, 200), 20, 1_000_000
"""How dear at first the highest line above its bound is, in either half of the plans, and the
largest spread, where the sum of spreads is 1 (tried). A line with a load more than it has seats for
counts as so far above the bound. [uA]"""

HOT, HALVINGS = 24_000_000, 4
"""What a change for the worse may cost at first, about [uA], and how often that is halved in the
end (tried)."""

MOVES_IN_256, NEAR_IN_256, NEAR = 40, 230, 8
"""Of so many changes, moves of one load, the others being swaps of two; of so many swaps, those
with one of the loads that are most alike, and of how many (tried)."""

DRAWS = 4096
_LUCK = np.array([round(-1024 * math.log((i + 0.5) / DRAWS)) for i in range(DRAWS)], dtype=np.int32)
"""Exponentially distributed, mean 1024: what a change may cost, in shares of the heat."""

MeritArray = NDArray[np.int32]


@dataclass(frozen=True, slots=True, eq=False)
class _Task:
    """Loads to be put on lines, in units of some microamps.

    ``own`` (n, S + K) what each draws in each set-up and whether it counts for each of K kinds of
    seats; ``may`` (n, m) the lines it may be on; ``rest`` (m, S + K) what is there besides; ``top``
    the bound of the highest line; ``most`` (m, K) seats of a line.
    """

    own: ShortArray
    may: BoolArray
    rest: ShortArray
    most: ShortArray
    top: int
    unit: int


@dataclass(slots=True, eq=False)
class _Plans:
    """``at`` (n, m, R) whether a load is on a line, ``sums`` (m, S + K, R), ``merit`` (R,)."""

    at: ShortArray
    sums: ShortArray
    merit: MeritArray

    def ranked(self) -> IntArray:
        """The best of each half first, shape (2, R / 2): merits of the halves do not compare."""
        halves = self.merit.reshape(len(OVER), -1)
        first = np.arange(len(OVER))[:, None] * halves.shape[1]
        order: IntArray = np.argsort(halves, axis=1, kind="stable") + first
        return order

    def choose(self) -> None:
        """In each half take the better ones twice."""
        ranked = self.ranked()
        better = ranked[:, : ranked.shape[1] // 2]
        keep = np.concatenate([better, better], axis=1).ravel()
        self.at, self.sums = self.at[:, :, keep].copy(), self.sums[:, :, keep].copy()
        self.merit = self.merit[keep]


class _Change(NamedTuple):
    """A load that moves ``turn`` lines on, or that changes places with a second.

    ``offset`` is where in the draws the luck of the plans begins.
    """

    first: int
    second: int | None
    turn: int
    offset: int


def annealed(state: State, floor: Levels, work: Work) -> list[State]:
    """Even plans, the best of each half in turn, no two with the same sums.

    Parameters
    ----------
    state : State
        Sound. Says which loads are placed, and where those stay that have no choice of line.
    floor : tuple of int
        Proven lower bounds of the levels. [0.1 A]
    work : Work
        Counts what is done; three fifths of what is left may go into annealing.

    Returns
    -------
    list of State
        Sound, all placed loads in them; empty where none fits, or no load has a choice.

    References
    ----------
    .. [1] S. Kirkpatrick, C. D. Gelatt, M. P. Vecchi, "Optimization by simulated annealing",
       Science 220 (1983).
    """
    loads = movable(state.problem, state, 1)
    if len(loads) < 2:
        return []
    task = _task_of(state, loads, floor)
    plans = _cooled(task, work)
    line = plans.at.argmax(axis=1)
    base = state.without(loads.tolist())
    found: dict[bytes, State] = {}
    tried: set[bytes] = set()
    for index in plans.ranked().T.ravel().tolist():
        # Lines that only change their names make no other plan.
        sums = sorted(plans.sums[:, : state.problem.setups, index].tolist())
        key, plan = np.array(sums).tobytes(), line[:, index]
        if key in found or plan.tobytes() in tried:
            continue
        tried.add(plan.tobytes())
        placed = _placed(base, loads, plan, work)
        if placed is not None:
            found[key] = placed
        if len(found) == KEPT or len(tried) == TRIED:
            break
    return list(found.values())


def _task_of(state: State, loads: IntArray, floor: Levels) -> _Task:
    problem = state.problem
    may = np.zeros((len(loads), problem.lines), dtype=np.bool_)
    for bin_ in np.flatnonzero(problem.width == 1).tolist():
        may[:, problem.bins[bin_].lines[0]] |= problem.allowed[loads, bin_]
    drawn = problem.amps[loads, 1][:, None] * problem.on[loads]
    rest = state.without(loads.tolist())
    unit = max(LEAST_UNIT, 1 + int(state.sums.sum(axis=1).max()) // MOST_UNITS)
    kinds, most = _seats(problem, loads, rest)
    own = np.concatenate([(drawn + unit // 2) // unit, kinds.T], axis=1)
    beside = np.concatenate([rest.sums.T // unit, np.zeros_like(most)], axis=1)
    return _Task(
        own.astype(np.int16),
        may,
        beside.astype(np.int16),
        most.astype(np.int16),
        spread_at_most(floor[0]) // unit,
        unit,
    )


def _seats(problem: Problem, loads: IntArray, rest: State) -> tuple[BoolArray, IntArray]:
    """Kinds of loads (K, n) that are more than a line (m, K) has seats for, and these."""
    kinds: dict[bytes, dict[int, int]] = {}
    for room, inside in zip(problem.rooms, rest.inside.tolist(), strict=True):
        if problem.width[room.bin] > 1:
            continue
        key = room.loads[loads].tobytes()
        free = kinds.setdefault(key, {})
        free[room.bin] = min(room.most - inside, free.get(room.bin, len(loads)))
    masks: list[BoolArray] = []
    most: list[IntArray] = []
    for key, free in kinds.items():
        mask = np.frombuffer(key, dtype=np.bool_)
        bins = problem.allowed[loads[mask]].any(axis=0) & (problem.width == 1)
        seats = np.zeros(problem.lines, dtype=np.int64)
        for bin_ in np.flatnonzero(bins).tolist():
            here = problem.bins[bin_]
            seats[here.lines[0]] += free.get(bin_, len(here.seats))
        if (seats < mask.sum()).any() and len(masks) < MOST_KINDS:
            masks.append(mask)
            most.append(np.minimum(seats, len(loads)))
    return (
        np.array(masks, dtype=np.bool_).reshape(len(masks), len(loads)),
        np.array(most, dtype=np.int64).reshape(len(most), problem.lines).T,
    )


def _cooled(task: _Task, work: Work) -> _Plans:
    """Plans that were offered every change, from hot to cold."""
    own, lines = task.own, len(task.rest)
    source = np.random.PCG64(1)
    side = min(SUMS // task.rest.size // 4 * 4, SIDE_BY_SIDE)
    a_change = side * task.rest.size * COST_OF_TWO // 2
    steps = min(max(work.left, 0) * SHARE_IN_5 // 5 // (PARTS * a_change), STEPS)
    over = np.repeat(np.array(OVER, dtype=np.int32), side // len(OVER))
    at = _any_line(task.may, side, source)
    sums = task.rest[:, :, None] + np.einsum("nmr,ns->msr", at, own)
    plans = _Plans(at, sums, _merit(sums, task, over))
    luck = _LUCK[np.argsort(source.random_raw(DRAWS), kind="stable")]
    free = bool(task.may.all())
    barred = (~task.may).astype(np.int16)
    turned = [np.roll(np.arange(lines), turn) for turn in range(lines)]
    changes = _changes(task, PARTS * steps, DRAWS - side, source)
    for step, (first, second, turn, offset) in enumerate(changes):
        here = plans.at[first]
        there = here[turned[turn]] if second is None else plans.at[second]
        shift = there - here
        more = own[first] if second is None else own[first] - own[second]
        change = shift[:, None] * more[:, None]
        merit = _merit(plans.sums + change, task, over)
        heat = _heat(step, PARTS * steps) // task.unit
        taken = merit <= plans.merit + (luck[offset : offset + side] * heat >> 10)
        if not free:
            taken &= barred[first] @ there == 0
            if second is not None:
                taken &= barred[second] @ here == 0
        np.copyto(plans.merit, merit, where=taken)
        change *= taken
        plans.sums += change
        shift *= taken
        here += shift
        if second is not None:
            there -= shift
        part, within = divmod(step + 1, steps)
        if within == 0 and FIRST_CHOICE <= part < PARTS:
            plans.choose()
            over <<= part >= FIRST_RISE
            plans.merit = _merit(plans.sums, task, over)
    work.spend(PARTS * steps * a_change)
    return plans


def _any_line(may: BoolArray, side: int, source: np.random.PCG64) -> ShortArray:
    """For each load and plan one of the lines that it may be on is marked, shape (n, m, R)."""
    count, lines = may.shape
    raw = source.random_raw(side * count).reshape(count, side) >> np.uint64(2)
    pick = raw.astype(np.int64) % may.sum(axis=1)[:, None]
    chosen = (may.cumsum(axis=1)[:, :, None] > pick[:, None]).argmax(axis=1)
    marked: ShortArray = (chosen[:, None] == np.arange(lines)[:, None]).astype(np.int16)
    return marked


def _changes(task: _Task, number: int, offsets: int, source: np.random.PCG64) -> Iterator[_Change]:
    """What is offered to all plans, one after another."""
    count, lines = task.may.shape
    own = task.own.astype(np.int64)
    distance = ((own[:, None] - own) ** 2).sum(axis=2)
    # To change places with itself or its like makes no other plan.
    distance[distance == 0] = np.iinfo(np.int64).max
    alike = distance.argsort(axis=1, kind="stable")[:, :NEAR].tolist()
    for raw in source.random_raw(number).tolist():
        first, other = (raw & 0xFFFF) * count >> 16, raw >> 16 & 0xFFFF
        offset = (raw >> 48 & 0xFF) * offsets >> 8
        if raw >> 32 & 0xFF < MOVES_IN_256:
            yield _Change(first, None, 1 + (raw >> 40 & 0xFF) % (lines - 1), offset)
        elif raw >> 56 < NEAR_IN_256:
            yield _Change(first, alike[first][other * len(alike[first]) >> 16], 0, offset)
        else:
            yield _Change(first, other * count >> 16, 0, offset)


def _heat(step: int, steps: int) -> int:
    """From the first heat down, halved in even times, straight in between. [uA]"""
    halved, within = divmod(step * HALVINGS, steps)
    return (HOT * (2 * steps - within) // (2 * steps)) >> halved


def _merit(sums: ShortArray, task: _Task, over: MeritArray) -> MeritArray:
    """How good sums (m, S + K, R) are, lower being better. [units]"""
    setups = sums.shape[1] - task.most.shape[1]
    highest, lowest = extremes(sums[:, :setups])
    spread = highest - lowest
    above = np.maximum(highest.max(axis=0).astype(np.int32) - task.top, 0)
    if task.most.size:
        crowd = (sums[:, setups:] - task.most[:, :, None]).max(axis=(0, 1))
        above += np.maximum(crowd, 0).astype(np.int32) * (CROWDED // task.unit)
    merit: MeritArray = over * above + SPREAD * spread.max(axis=0).astype(np.int32)
    merit += spread.sum(axis=0, dtype=np.int32)
    return merit


def _placed(base: State, loads: IntArray, line: IntArray, work: Work) -> State | None:
    """Loads that are out put on these lines, each where most seats are free; None if one cannot."""
    problem, placed = base.problem, base.copy()
    seats = np.array([len(b.seats) for b in problem.bins])
    amps = problem.amps[loads, 1]
    work.spend(0, 20 * len(loads))
    for index in np.argsort(-amps, kind="stable").tolist():
        load = int(loads[index])
        fits = problem.allowed[load] & (problem.width == 1)
        bins = np.flatnonzero(fits & (problem.pattern[:, line[index]] > 0))
        free = seats[bins] - np.bincount(placed.bin[placed.bin >= 0], minlength=len(seats))[bins]
        for bin_ in bins[np.argsort(-free, kind="stable")].tolist():
            if placed.can_put(load, bin_):
                placed.put(load, bin_)
                break
        else:
            return None
    return placed
