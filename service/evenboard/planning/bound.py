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

GRAINS_AT_MOST = 1_000_000
"""Bits of a list of sums."""

ROUNDING = 200_000
"""What amounts that are multiples of one may be off by, times the steps of Euclid. [nA]"""

PLAY_AT_MOST = 20_000_000
"""Rounding of a whole list of sums, a fifth of a step of comparison. [nA]"""

FINE_AT_MOST = 40
"""Loads without a common grain whose sums are listed; of more, nearly every sum can be made."""


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


def bound_of(problem: Problem, placed: IntArray, work: Work) -> Bound:
    """Bounds for plans that place some loads.

    Parameters
    ----------
    problem : Problem
        What is planned.
    placed : ndarray of int64
        The loads that are placed.
    work : Work
        Counts what is done.

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
        found = _of_setup(problem, placed, setup, work)
        spreads.append(found[1])
        if found[0].highest > best.highest:
            best = found[0]
    levels = step_of(best.highest), step_of(max(spreads, default=0)), step_of(sum(spreads))
    return Bound(levels, best.highest, best.reason, best.setup, best.lines, best.load)


def _of_setup(problem: Problem, placed: IntArray, setup: int, work: Work) -> tuple[Bound, int]:
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
    sums = _sums(problem, lit) if problem.lines > 1 else None
    if sums is not None:
        above = sums.least_from(max(best, -(-total // problem.lines)))
        below = sums.most_to(total // problem.lines)
        if above > best:
            best, reason, who = above, "coarse", None
        spread = max(spread, above - below)
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


def _sums(problem: Problem, lit: IntArray) -> Sums | None:
    """Every sum that a line can have, or None where nothing follows from them.

    Sums are bits of one long whole number: adding a load shifts it and lays it over itself. Amounts
    are rounded to a grain first, and what that can amount to is kept as ``play``.
    """
    amounts: list[int] = []
    forced = 0
    for load in lit.tolist():
        widths = set(problem.width[problem.allowed[load]].tolist())
        if len(widths) != 1:
            return None
        width = widths.pop()
        amount = int(problem.amps[load, width])
        if width == problem.lines:
            forced += amount
        else:
            amounts.append(amount)
    if not amounts:
        return None
    grain = _grain(amounts)
    total = sum(amounts) * 1000
    if grain * GRAINS_AT_MOST < total:
        grain = PLAY_AT_MOST // len(amounts)
        if grain * GRAINS_AT_MOST < total or len(amounts) > FINE_AT_MOST:
            return None
    bits, play = 1, 0
    for amount in amounts:
        count = (amount * 1000 + grain // 2) // grain
        play += abs(amount * 1000 - count * grain)
        bits |= bits << count
    return Sums(bits, grain, -(-play // 1000), forced)


def _grain(amounts: list[int]) -> int:
    """An amount that all amounts are whole multiples of but for rounding (Euclid). [nA]"""
    grain, largest = 0, 0
    for amount in sorted({each * 1000 for each in amounts}):
        one, other = amount, grain
        while other > ROUNDING:
            rest = one % other
            one, other = other, min(rest, other - rest)
        largest = amount
        # Of the largest so far it is told most exactly: the rounding is shared by many.
        grain = max(largest // max((largest + one // 2) // one, 1), 1)
    return grain


@dataclass(frozen=True, slots=True)
class Sums:
    """Sums that whole loads can make, as bits of ``grain`` nA, true to ``play`` uA."""

    bits: int
    grain: int
    play: int
    forced: int

    def least_from(self, amount: int) -> int:
        """No sum of at least an amount is below this. [uA]"""
        position = max(-(-(amount - self.forced - self.play) * 1000 // self.grain), 0)
        above = self.bits >> position
        if not above:
            return amount
        step = position + (above & -above).bit_length() - 1
        return max(amount, self.forced + step * self.grain // 1000 - self.play)

    def most_to(self, amount: int) -> int:
        """No sum of at most an amount is above this. [uA]"""
        position = (amount - self.forced + self.play) * 1000 // self.grain
        if position < 0:
            return amount
        below = self.bits & ((1 << (position + 1)) - 1)
        step = below.bit_length() - 1
        return min(amount, self.forced - (-step * self.grain // 1000) + self.play)
