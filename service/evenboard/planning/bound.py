"""How even a plan can be at best: lower bounds that hold for every plan.

Three arguments, each for every set-up by itself. What cannot be kept off some lines weighs on them.
The largest load sits somewhere. And a line's sum is made of whole loads: with few kinds of coarse
lamps only some sums exist, and the highest line is one of those not below the mean.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

import numpy as np

from evenboard.planning.measure import IntArray, Levels, Work, step_of
from evenboard.planning.problem import Problem

__all__ = ["Bound", "bound_of"]

SUMS_AT_MOST = 60_000


@dataclass(frozen=True, slots=True)
class Bound:
    """Lower bounds of highest line, largest spread, sum of spreads, and what the first rests on.

    ``reason`` is "share" (the loads shared out evenly), "pins" (loads that can only be on some
    lines), "seats" (too few outlets elsewhere), "largest" (one load) or "coarse" (whole loads).
    """

    levels: Levels
    highest: int
    reason: str
    setup: int
    lines: tuple[int, ...]
    load: int | None


def bound_of(problem: Problem, placed: IntArray, work: Work, *, deep: bool) -> Bound:
    """Bounds for plans that place some loads.

    Parameters
    ----------
    problem : Problem
        What is planned.
    placed : ndarray of int64
        The loads that are placed.
    work : Work
        Counts what is done.
    deep : bool
        Whether to list the sums that whole loads can make.

    Returns
    -------
    Bound
        In steps, the first also in uA.

    References
    ----------
    .. [1] Bounds for number partitioning: R. E. Korf, "Multi-way number partitioning", IJCAI
       (2009); the sums of coarse lamps are the reachable subset sums.
    """
    best = Bound((0, 0, 0), 0, "share", 0, (), None)
    spreads = []
    for setup in range(problem.setups):
        found = _of_setup(problem, placed, setup, work, deep)
        spreads.append(found[1])
        if found[0].highest > best.highest:
            best = found[0]
    levels = step_of(best.highest), step_of(max(spreads, default=0)), step_of(sum(spreads))
    return Bound(levels, best.highest, best.reason, best.setup, best.lines, best.load)


def _of_setup(
    problem: Problem, placed: IntArray, setup: int, work: Work, deep: bool
) -> tuple[Bound, int]:
    """Bound on the highest line of one set-up, and on its spread."""
    lit = placed[problem.on[placed, setup] > 0]
    amps = problem.amps[lit]
    best, reason, on_lines, who = 0, "share", tuple(range(problem.lines)), None
    lowest_must = np.zeros(problem.lines, dtype=np.int64)
    total = int(_least(amps, problem, lit, tuple(range(problem.lines))).sum())
    for size in range(1, problem.lines + 1):
        for lines in combinations(range(problem.lines), size):
            must, why = _must_carry(problem, lit, amps, lines)
            if size == 1:
                lowest_must[lines[0]] = must
            share = -(-must // size)
            if share > best:
                best, reason, on_lines = share, "share" if size == problem.lines else why, lines
    work.spend(8 * len(lit) * len(problem.bins))
    if len(lit):
        single = np.where(amps > 0, amps, np.iinfo(np.int64).max).min(axis=1)
        single = np.where((amps > 0).any(axis=1), single, 0)
        largest = int(single.argmax())
        if int(single[largest]) > best:
            best, reason, who = int(single[largest]), "largest", int(lit[largest])
    fixed_total = bool((problem.width == 1).all()) or _one_width(problem, lit)
    spread = max((problem.lines * best - total + problem.lines - 2) // max(problem.lines - 1, 1), 0)
    if problem.lines < 2:
        spread = 0
    if not fixed_total:
        return Bound((0, 0, 0), best, reason, setup, on_lines, who), 0
    if deep and problem.lines > 1:
        sums = _sums(problem, lit, setup, work)
        if sums is not None:
            mean_up = -(-total // problem.lines)
            above, below = sums[sums >= max(best, mean_up)], sums[sums <= total // problem.lines]
            if len(above) and int(above.min()) > best:
                best, reason, who = int(above.min()), "coarse", None
            if len(above) and len(below):
                spread = max(spread, int(above.min()) - int(below.max()))
    return Bound((0, 0, 0), best, reason, setup, on_lines, who), spread


def _one_width(problem: Problem, lit: IntArray) -> bool:
    """Whether each load draws the same total wherever it goes."""
    widths = [set(problem.width[problem.allowed[i]].tolist()) for i in lit.tolist()]
    return all(len(each) == 1 for each in widths)


def _least(amps: IntArray, problem: Problem, lit: IntArray, lines: tuple[int, ...]) -> IntArray:
    """The least that each load puts on some lines together, shape (len(lit),). [uA]"""
    if not len(problem.bins) or not len(lit):
        return np.zeros(len(lit), dtype=np.int64)
    shared = problem.pattern[:, list(lines)].sum(axis=1)
    each = amps[:, problem.width] * shared
    big = np.iinfo(np.int64).max
    least: IntArray = np.where(problem.allowed[lit], each, big).min(axis=1)
    return np.where(least == big, 0, least)


def _must_carry(
    problem: Problem, lit: IntArray, amps: IntArray, lines: tuple[int, ...]
) -> tuple[int, str]:
    """What some lines together cannot be spared."""
    least = _least(amps, problem, lit, lines)
    must = int(least.sum())
    shared = problem.pattern[:, list(lines)].sum(axis=1)
    outside = [b for b in range(len(problem.bins)) if not shared[b]]
    seats = sum(len(problem.bins[b].seats) for b in outside)
    apart = np.flatnonzero(least == 0)
    if len(apart) > seats and len(lines) < problem.lines:
        inside = np.where(problem.allowed[lit][:, shared > 0].any(axis=1), 1, 0)
        smallest = np.where(amps > 0, amps, np.iinfo(np.int64).max).min(axis=1)
        candidates = np.sort(smallest[apart[inside[apart] > 0]])
        more = len(apart) - seats
        if more <= len(candidates):
            return must + int(candidates[:more].sum()), "seats"
    return must, "pins"


def _sums(problem: Problem, lit: IntArray, setup: int, work: Work) -> IntArray | None:
    """Every sum that a line can have, or None where there are too many to matter."""
    del setup
    sums = np.zeros(1, dtype=np.int64)
    forced = 0
    kinds: dict[int, int] = {}
    for load in lit.tolist():
        bins = np.flatnonzero(problem.allowed[load])
        widths = set(problem.width[bins].tolist())
        if len(widths) != 1:
            return None
        amount = int(problem.amps[load, widths.pop()])
        if int(problem.width[bins[0]]) == problem.lines:
            forced += amount
        else:
            kinds[amount] = kinds.get(amount, 0) + 1
    for amount, count in sorted(kinds.items(), key=lambda each: -each[1]):
        more = np.arange(count + 1, dtype=np.int64) * amount
        if len(sums) * len(more) > 8 * SUMS_AT_MOST:
            return None
        sums = np.unique(sums[:, None] + more[None, :])
        work.spend(12 * len(sums) * len(more))
        if len(sums) > SUMS_AT_MOST:
            return None
    return sums + forced
