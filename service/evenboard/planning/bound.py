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
from evenboard.planning.problem import BoolArray, Problem

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
    table = _Table.of(problem, placed)
    for setup in range(problem.setups):
        found = _of_setup(problem, table, setup, work)
        spreads.append(found[1])
        if found[0].highest > best.highest:
            best = found[0]
    levels = step_of(best.highest), step_of(max(spreads, default=0)), step_of(sum(spreads))
    return Bound(levels, best.highest, best.reason, best.setup, best.lines, best.load)


@dataclass(frozen=True, slots=True, eq=False)
class _Table:
    """What holds of the placed loads in every set-up; ``groups`` (C,) are sets of lines.

    ``least`` (C, n) is the least that a load puts on a group together, ``must`` and ``apart``
    (C, S) what the lit ones do and how many of them can keep off it, ``seats`` (C,) how many
    outlets there are off it. ``single`` (n,) is the least that a load puts on a line, ``width``
    (n,) on how many lines it goes, 0 where that can differ.
    """

    placed: IntArray
    groups: tuple[tuple[int, ...], ...]
    least: IntArray
    must: IntArray
    apart: IntArray
    seats: tuple[int, ...]
    single: IntArray
    width: IntArray

    @classmethod
    def of(cls, problem: Problem, placed: IntArray) -> _Table:
        """That of a problem."""
        lines, on = range(problem.lines), problem.on[placed]
        groups = tuple(g for size in lines for g in combinations(lines, size + 1))
        amps, allowed = problem.amps[placed], problem.allowed[placed]
        each = np.where(allowed, amps[:, problem.width], NEVER)
        least = np.zeros((len(groups), len(placed)), dtype=np.int64)
        seats = []
        for index, group in enumerate(groups):
            shared = problem.pattern[:, list(group)].sum(axis=1)
            seats.append(sum(len(problem.bins[b].seats) for b in np.flatnonzero(shared == 0)))
            if len(shared):
                lowest = np.where(allowed, each * shared, NEVER).min(axis=1)
                least[index] = np.where(lowest == NEVER, 0, lowest)
        drawn = np.where(amps > 0, amps, NEVER).min(axis=1, initial=NEVER)
        return cls(
            *(placed, groups, least, least @ on, (least == 0).astype(np.int64) @ on),
            tuple(seats),
            np.where(drawn == NEVER, 0, drawn),
            problem.sole_width(placed),
        )


NEVER = 1 << 60
"""More than any load draws. [uA]"""


def _of_setup(problem: Problem, table: _Table, setup: int, work: Work) -> tuple[Bound, int]:
    """Bound on the highest line of one set-up, and on its spread."""
    here = problem.on[table.placed, setup] > 0
    best, reason, on_lines, who = 0, "share", tuple(range(problem.lines)), None
    total = int(table.must[-1, setup])
    for index, group in enumerate(table.groups):
        must, why = _must_carry(problem, table, here, index, setup)
        share = -(-must // len(group))
        if share > best:
            best, on_lines = share, group
            reason = "share" if len(group) == problem.lines else why
    work.spend(8 * int(here.sum()) * len(problem.bins))
    if here.any():
        single = np.where(here, table.single, 0)
        largest = int(single.argmax())
        if int(single[largest]) > best:
            best, reason, who = int(single[largest]), "largest", int(table.placed[largest])
    if not bool((table.width[here] > 0).all()):
        return Bound((0, 0, 0), best, reason, setup, on_lines, who), 0
    spread = max((problem.lines * best - total + problem.lines - 2) // max(problem.lines - 1, 1), 0)
    if problem.lines < 2:
        spread = 0
    sums = _sums(problem, table, here) if problem.lines > 1 else None
    if sums is not None:
        above = sums.least_from(max(best, -(-total // problem.lines)))
        below = sums.most_to(total // problem.lines)
        if above > best:
            best, reason, who = above, "coarse", None
        spread = max(spread, above - below)
    return Bound((0, 0, 0), best, reason, setup, on_lines, who), spread


def _must_carry(
    problem: Problem, table: _Table, here: BoolArray, index: int, setup: int
) -> tuple[int, str]:
    """What some lines together cannot be spared in a set-up."""
    must, group = int(table.must[index, setup]), table.groups[index]
    more = int(table.apart[index, setup]) - table.seats[index]
    if more > 0 and len(group) < problem.lines:
        shared = problem.pattern[:, list(group)].sum(axis=1) > 0
        inside = problem.allowed[table.placed][:, shared].any(axis=1)
        candidates = np.sort(table.single[here & inside & (table.least[index] == 0)])
        if more <= len(candidates):
            return must + int(candidates[:more].sum()), "seats"
    return must, "pins"


def _sums(problem: Problem, table: _Table, here: BoolArray) -> Sums | None:
    """Every sum that a line can have, or None where nothing follows from them.

    Sums are bits of one long whole number: adding a load shifts it and lays it over itself. Amounts
    are rounded to a grain first, and what that can amount to is kept as ``play``.
    """
    lit, width = table.placed[here], table.width[here]
    drawn = problem.amps[lit, width]
    forced = int(drawn[width == problem.lines].sum())
    amounts: list[int] = drawn[width != problem.lines].tolist()
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
