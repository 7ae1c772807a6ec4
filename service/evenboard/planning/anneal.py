"""Even in many set-ups at once: annealing of many plans side by side, for starts that lie apart.

Where set-ups tie some dozens of loads, a walk downhill ends in one of many corners, most of them
far from the best. Plans are changed by chance here, worse ones being taken less and less often, all
of them by the same array operations. Whole numbers and a fixed sequence throughout: the same on
every machine. Ratings and seats are looked at afterwards: what does not fit is dropped.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from evenboard.planning.measure import IntArray, Levels, Work, extremes, spread_at_most
from evenboard.planning.problem import BoolArray
from evenboard.planning.refine import movable
from evenboard.planning.state import State

__all__ = ["annealed"]

SIDE_BY_SIDE, STEPS = 64, 600
"""Plans, and changes that each is offered (tried)."""

KEPT = 16
"""Plans that are gone on with."""

MILLI = 1000
"""Microamps in the unit of the merit."""

OVER, SPREAD = 50, 20
"""How dear the highest line above its bound and the largest spread are, the sum of spreads 1."""

HOT, HALVINGS = 16_000, 4
"""What a change for the worse may cost at first, about, and how often that is halved in the end."""

MOVES_IN_256 = 102
"""Of so many changes, moves of one load; the others are swaps of two."""

_LUCK = np.array([round(-1024 * math.log((i + 0.5) / 256)) for i in range(256)], dtype=np.int64)
"""Exponentially distributed, mean 1024: what a change may cost, in shares of the heat."""


@dataclass(slots=True, eq=False)
class _Plans:
    """``line`` (R, n) of each load, ``sums`` (m, S, R) and ``merit`` (R,) of each plan."""

    line: IntArray
    sums: IntArray
    merit: IntArray


def annealed(state: State, floor: Levels, work: Work) -> list[State]:
    """Plans that lie apart, the evenest first.

    Parameters
    ----------
    state : State
        Sound. Says which loads are placed, and where those stay that have no choice of line.
    floor : tuple of int
        Proven lower bounds of the levels. [0.1 A]
    work : Work
        Counts what is done.

    Returns
    -------
    list of State
        Sound, all placed loads in them; empty where none fits.

    References
    ----------
    .. [1] S. Kirkpatrick, C. D. Gelatt, M. P. Vecchi, "Optimization by simulated annealing",
       Science 220 (1983).
    """
    problem = state.problem
    loads = movable(problem, state, 1)
    if len(loads) < 2:
        return []
    may = np.zeros((len(loads), problem.lines), dtype=np.bool_)
    for bin_ in np.flatnonzero(problem.width == 1).tolist():
        may[:, problem.bins[bin_].lines[0]] |= problem.allowed[loads, bin_]
    drawn = problem.amps[loads, 1][:, None] * problem.on[loads] // MILLI
    now = problem.pattern[state.bin[loads]].argmax(axis=1)
    rest = state.sums.T // MILLI
    for line in range(problem.lines):
        rest[line] -= drawn[now == line].sum(axis=0)
    plans = _cooled(drawn, may, rest, spread_at_most(floor[0]) // MILLI, work)
    base = state.without(loads.tolist())
    found: list[State] = []
    seen: set[bytes] = set()
    for index in np.argsort(plans.merit, kind="stable")[: 2 * KEPT].tolist():
        key = plans.sums[:, :, index].tobytes()
        if key not in seen and len(found) < KEPT:
            seen.add(key)
            placed = _placed(base, loads, plans.line[index], work)
            if placed is not None:
                found.append(placed)
    return found


def _cooled(drawn: IntArray, may: BoolArray, rest: IntArray, top: int, work: Work) -> _Plans:
    """Annealing: loads (n, S) that may be on some lines (n, m), beside what is there (m, S)."""
    count, lines = may.shape
    source = np.random.PCG64(1)
    who = np.arange(SIDE_BY_SIDE)
    line = _any_line(may, source)
    sums = np.stack([rest[each][:, None] + ((line == each) @ drawn).T for each in range(lines)])
    plans = _Plans(line, sums, _merit(sums, top))
    raw = source.random_raw(STEPS * SIDE_BY_SIDE).reshape(STEPS, SIDE_BY_SIDE)
    chance = (raw >> np.uint64(1)).astype(np.int64)
    first, second = (chance & 0xFFFF) * count >> 16, (chance >> 16 & 0xFFFF) * count >> 16
    alone = (chance >> 32 & 0xFF) < MOVES_IN_256
    shift = 1 + (chance >> 40 & 0xFF) % max(lines - 1, 1)
    luck = _LUCK[chance >> 48 & 0xFF] * np.array([[_heat(step)] for step in range(STEPS)]) >> 10
    # A load that moves alone changes places with nothing.
    given = np.concatenate([drawn, np.zeros_like(drawn[:1])])
    change = given[np.where(alone, count, second)] - drawn[first]
    free = np.concatenate([may, np.ones_like(may[:1])])
    for step in range(STEPS):
        one, two, moved = first[step], second[step], alone[step]
        here = plans.line[who, one]
        there = np.where(moved, (here + shift[step]) % lines, plans.line[who, two])
        sums = plans.sums.copy()
        sums[here, :, who] += change[step]
        sums[there, :, who] -= change[step]
        merit = _merit(sums, top)
        taken = (merit <= plans.merit + luck[step]) & (here != there)
        taken &= may[one, there] & free[np.where(moved, count, two), here]
        taken = np.flatnonzero(taken)
        plans.sums[:, :, taken], plans.merit[taken] = sums[:, :, taken], merit[taken]
        plans.line[taken, one[taken]] = there[taken]
        swapped = taken[~moved[taken]]
        plans.line[swapped, two[swapped]] = here[swapped]
    work.spend(STEPS * plans.sums.size * 12, STEPS * 26)
    return plans


def _any_line(may: BoolArray, source: np.random.PCG64) -> IntArray:
    """For each plan and load one of the lines that it may be on, shape (R, n)."""
    count = len(may)
    raw = source.random_raw(SIDE_BY_SIDE * count).reshape(SIDE_BY_SIDE, count) >> np.uint64(2)
    pick = raw.astype(np.int64) % may.sum(axis=1)
    lines: IntArray = (may.cumsum(axis=1)[None] > pick[:, :, None]).argmax(axis=2)
    return lines


def _heat(step: int) -> int:
    """From the first heat down, halved in even times, straight in between."""
    halved, within = divmod(step * HALVINGS, STEPS)
    return (HOT * (2 * STEPS - within) // (2 * STEPS)) >> halved


def _merit(sums: IntArray, top: int) -> IntArray:
    """How good sums (m, S, R) are, lower being better."""
    highest, lowest = extremes(sums)
    spread = highest - lowest
    over = np.maximum(highest.max(axis=0) - top, 0)
    merit: IntArray = OVER * over + SPREAD * spread.max(axis=0) + spread.sum(axis=0)
    return merit


def _placed(base: State, loads: IntArray, line: IntArray, work: Work) -> State | None:
    """Loads that are out put on these lines, each where most seats are free; None if one cannot."""
    problem, placed = base.problem, base.copy()
    seats = np.array([len(b.seats) for b in problem.bins])
    amps = problem.amps[loads, 1]
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
    work.spend(0, 20 * len(loads))
    return placed
