"""Small plans, solved outright: every way to plug them, by meeting in the middle.

Loads that are alike are listed once. What comes out is the best in every level of the aim, and
proven so; where the lists would grow too long nothing is claimed.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from evenboard.planning.finish import Boards, Key, group_unevenness
from evenboard.planning.measure import IntArray, Levels, Work, evenness
from evenboard.planning.problem import OUT, Problem
from evenboard.planning.regroup import Request, Result, bins_of, prepare, ways_within
from evenboard.planning.seating import Seater
from evenboard.planning.state import State
from evenboard.planning.target import ANYTHING, NO_LIMIT, Goal, met, window_for

__all__ = ["FEW_WAYS", "MANY_WAYS", "Solved", "is_small", "solve"]

FEW_WAYS = 1_500
"""Ways to plug a half of the loads that are always looked at, for the levels below the amps."""

MANY_WAYS = 20_000
"""Ways to plug a half of the loads that are looked at where nothing else proves a plan."""

PAIRS_AT_MOST = 400_000
"""Pairs of halves that are looked at: beyond, not every way is."""

SEATED_AT_MOST = 1_000
"""Ways of like amps that are seated and compared below the amps."""


@dataclass(frozen=True, slots=True, eq=False)
class Solved:
    """The best bins, and whether the levels below the moves are the best as well."""

    bins: IntArray
    complete: bool


def order_of(problem: Problem, loads: IntArray) -> list[int]:
    """Loads that are alike side by side, the largest first."""
    return sorted(
        loads.tolist(), key=lambda i: (-int(problem.amps[i].max()), int(problem.kind[i]), i)
    )


def is_small(problem: Problem, loads: IntArray, most: int) -> bool:
    """Whether every way to plug each half of the loads can be listed.

    Parameters
    ----------
    problem : Problem
        What is planned.
    loads : ndarray of int64
        The loads that have a choice.
    most : int
        Ways to plug a half.

    Returns
    -------
    bool
        True where both lists stay short.

    References
    ----------
    .. [1] Combinations with repetition for loads that are alike.
    """
    choices = problem.allowed[loads].sum(axis=1).tolist()
    of_kind = Counter(zip(problem.kind[loads].tolist(), choices, strict=True))
    whole = 1
    for (_, choice), count in of_kind.items():
        whole *= math.comb(choice + count - 1, count)
        # Two short lists make no more ways than this.
        if whole > most * most:
            return False
    order = order_of(problem, loads)
    half = (len(order) + 1) // 2
    return all(_ways(problem, part, most) <= most for part in (order[:half], order[half:]))


def _ways(problem: Problem, part: Sequence[int], most: int) -> int:
    total, run = 1, 0
    for index, load in enumerate(part):
        alike = index > 0 and problem.kind[load] == problem.kind[part[index - 1]]
        run = run + 1 if alike else 1
        choices = int(problem.allowed[load].sum())
        total = total * (choices + run - 1) // run
        if total > most * 4:
            break
    return total


def solve(
    state: State,
    loads: IntArray,
    floor: Levels,
    seater: Seater,
    work: Work,
    *,
    constant: bool,
    moves: int | None = None,
    goal: Goal | None = None,
) -> Solved | None:
    """The best way to plug the loads that have a choice.

    Parameters
    ----------
    state : State
        A sound assignment within the moves allowed, as good as is known.
    loads : ndarray of int64
        The loads that have a choice, all placed.
    floor : tuple of int
        Proven lower bounds of the levels. [0.1 A]
    seater : Seater
        Finds the outlets.
    work : Work
        Counts what is done.
    constant : bool
        Whether the totals of the set-ups stay as they are, whatever goes where.
    moves : int, optional
        Moves that are allowed.
    goal : Goal, optional
        A target to be met in the fewest moves.

    Returns
    -------
    Solved or None
        None where the lists grow too long to look at all pairs, or no way meets the target.

    References
    ----------
    .. [1] E. Horowitz, S. Sahni, J. ACM 21 (1974).
    """
    problem = state.problem
    if not len(loads):
        return Solved(state.bin.copy(), True) if goal is None or reached(state, goal) else None
    chosen = order_of(problem, loads)
    bins = [np.flatnonzero(problem.allowed[i]).astype(np.int64) for i in chosen]

    task = prepare(state, chosen, bins, work)

    def ask(levels: Levels, most: int | None) -> tuple[Request, Result]:
        window = window_for(state, levels, constant=constant, goal=goal)
        request = Request(chosen, bins, window, levels, goal, most)
        return request, ways_within(state, request, work, PAIRS_AT_MOST, task)

    if goal is not None:
        most = int((problem.home != OUT).sum()) if moves is None else moves
        for allowed in range(most + 1):
            request, result = ask(ANYTHING, allowed)
            if not result.complete:
                return None
            if len(result.first):
                return _finest(state, seater, request, result, work)
        return None
    levels = state.levels()
    if levels[0] > floor[0]:
        request, result = ask((levels[0] - 1, NO_LIMIT, NO_LIMIT), moves)
        if not result.complete:
            return None
        if len(result.first):
            return _finest(state, seater, request, result, work)
    request, result = ask(levels, moves)
    if not result.complete or not len(result.first):
        return None
    return _finest(state, seater, request, result, work)


def reached(state: State, goal: Goal) -> bool:
    """Whether a state meets a target."""
    return bool(met(goal, state.sums[None])[0])


def _rank(result: Result) -> IntArray:
    """Levels and moves of every way, shape (P, 4)."""
    return np.stack([*evenness(result.sums), result.moves], axis=1)


def _finest(
    state: State, seater: Seater, request: Request, result: Result, work: Work
) -> Solved | None:
    """Of all ways that are best in amps, the best in the levels below as well."""
    problem, boards = state.problem, Boards.of(state.problem)
    rank = _rank(result)
    order = np.lexsort(rank.T[::-1])
    best: tuple[Key, IntArray] | None = None
    looked = 0
    bins = state.bin.copy()
    for index in order.tolist():
        rough = tuple(int(x) for x in rank[index])
        if best is not None and rough > best[0][:4]:
            break
        bins[request.loads] = bins_of(request, result, index)
        if looked >= SEATED_AT_MOST or work.left < 0:
            return Solved(best[1] if best else bins.copy(), False)
        lower = boards.unevenness(problem, bins), group_unevenness(problem, bins)
        work.spend(0, 25)
        if best is not None and (*rough, *lower) > best[0][:6]:
            continue
        looked += 1
        work.spend(0, 60)
        seating = seater.seated(bins)
        if seating is None:
            continue
        key = (*rough[:3], seating.moves, *lower, seating.rows, seating.breakers)
        if best is None or key < best[0]:
            best = key, bins.copy()
    return None if best is None else Solved(best[1], True)
