"""From a sound assignment to an even one: downhill, deeper, a kick, and again.

Iterated local search. What counts is the order of the aim: highest line, then the largest spread,
then the sum of spreads, in steps of 0.1 A; the potential that the search runs on only leads there.
"""

from __future__ import annotations

import numpy as np

from evenboard.planning.local import COARSE, Aim, Local
from evenboard.planning.measure import (
    FloatArray,
    IntArray,
    Levels,
    Work,
    spread_at_most,
    step_of,
)
from evenboard.planning.problem import OUT, Problem
from evenboard.planning.state import State

__all__ = ["Chance", "movable", "refine"]

WINDOW = 120
"""Loads whose swaps are weighed at once; more are taken in changing samples."""

POOL, TRIED = 150, 500
"""Single swaps that are paired, and pairs that are judged by merit (tried)."""

KICKS, NEAR = 4, 12
"""Swaps of a kick, each of a load and one of so many nearest to it (tried)."""

FIRST_TOLERANCE = 200.0
"""Play at first: 2 A, in units of 10 mA (tried)."""

PLAYS = (10.0, 30.0, 3.0)
"""Play in units that the rounds in turn give a set-up with none: now the top leads, now all."""

BACK_AFTER = 10
"""Rounds in vain before the search goes on from the best again."""

RAISE, FORGET = 1.5, 0.9
"""How the weight of a set-up grows in a round in which it is the worst, and shrinks in all."""


class Chance:
    """A fixed sequence of pseudo-random numbers (xorshift, 64 bits), the same everywhere."""

    __slots__ = ("_x",)

    def __init__(self, seed: int = 1) -> None:
        self._x = (seed * 0x9E3779B97F4A7C15 + 0x2545F4914F6CDD1D) % 2**64 or 1

    def below(self, limit: int) -> int:
        """A number from 0 to one less than the limit."""
        x = self._x
        x ^= (x << 13) % 2**64
        x ^= x >> 7
        x ^= (x << 17) % 2**64
        self._x = x
        return (x >> 11) % limit

    def sample(self, items: IntArray, count: int) -> IntArray:
        """Some of the items, none twice, in the order drawn."""
        pool = items.copy()
        for i in range(min(count, len(pool))):
            j = i + self.below(len(pool) - i)
            pool[i], pool[j] = pool[j], pool[i]
        return pool[:count]


def movable(problem: Problem, state: State, width: int) -> IntArray:
    """Loads on so many lines that could be on other lines as well.

    Parameters
    ----------
    problem : Problem
        What is planned.
    state : State
        Where the loads are.
    width : int
        Lines of their present bins.

    Returns
    -------
    ndarray of int64
        Their indices.

    References
    ----------
    .. [1] None; bookkeeping.
    """
    reach = np.zeros((problem.count, len(problem.columns)), dtype=np.bool_)
    for bin_ in range(len(problem.bins)):
        if problem.width[bin_] == width:
            reach[:, problem.column[bin_]] |= problem.allowed[:, bin_]
    if not len(problem.bins):
        return np.zeros(0, dtype=np.int64)
    here = (state.bin != OUT) & (problem.width[state.bin] == width)
    some = (problem.amps[:, width] > 0) & problem.on.any(axis=1)
    loads: IntArray = np.flatnonzero(here & some & (reach.sum(axis=1) > 1)).astype(np.int64)
    return loads


def refine(state: State, floor: Levels, work: Work) -> State:
    """The evenest state found within the work that is left.

    Parameters
    ----------
    state : State
        Sound. Is left as it is.
    floor : tuple of int
        Proven lower bounds of the three levels; the search ends when it is on them. [0.1 A]
    work : Work
        What may be spent.

    Returns
    -------
    State
        Sound, no less even.

    References
    ----------
    .. [1] Iterated local search: H. R. Lourenco, O. C. Martin, T. Stuetzle, in "Handbook of
       Metaheuristics" (2003).
    """
    problem = state.problem
    best, levels = state.copy(), _not_below(floor, state)
    groups = [movable(problem, state, w) for w in (1, 2)]
    groups = [g for g in groups if len(g) > 1 or (len(g) and problem.lines > 1)]
    if not groups or levels <= floor:
        return best
    chance = Chance()
    aims = [Aim(spread_at_most(floor[0]) / COARSE, play) for play in PLAYS]
    current, merit = state.copy(), np.inf
    tolerance, round_, vain = FIRST_TOLERANCE, 0, 0
    stress = np.ones(problem.setups)
    while work.left > 0 and levels > floor:
        group = groups[round_ % len(groups)]
        loads = group if len(group) <= WINDOW else chance.sample(group, WINDOW)
        trial = current.copy()
        aim = aims[round_ // len(groups) % len(aims)]
        local = Local(trial, loads, aim, tolerance, stress, work)
        if round_ >= len(groups):
            _kick(local, chance)
        change = local.descend()
        while work.left > 0 and local.deepen(change, POOL, TRIED):
            change = local.changes()
        found = _not_below(floor, trial)
        if found < levels:
            best, levels = trial.copy(), found
        if local.now <= merit or round_ < len(groups):
            current, merit = trial, local.now
        vain = vain + 1 if found > levels else 0
        if vain > BACK_AFTER:
            current, merit, vain = best.copy(), np.inf, 0
        tolerance = max(0.6 * _worst_spread(trial), 6.0)
        stress = _stressed(stress, trial, floor)
        round_ += 1
    return best


def _not_below(floor: Levels, state: State) -> Levels:
    """Levels of a state, the first no lower than its floor: what is below that counts alike."""
    highest, spread, total = state.levels()
    return max(highest, floor[0]), spread, total


def _stressed(stress: FloatArray, state: State, floor: Levels) -> FloatArray:
    """More weight for the set-up that is worst now, less for the others in time."""
    highest = state.sums.max(axis=1)
    above = step_of(int(highest.max())) > floor[0]
    worst = int((highest if above else highest - state.sums.min(axis=1)).argmax())
    raised = np.maximum(stress * FORGET, 1.0)
    raised[worst] *= RAISE
    return raised


def _worst_spread(state: State) -> float:
    sums = state.sums
    return float((sums.max(axis=1) - sums.min(axis=1)).max()) / COARSE


def _kick(local: Local, chance: Chance) -> None:
    """Swap a few pairs that are nearly alike, so that the next descent goes elsewhere."""
    for _ in range(KICKS):
        first = chance.below(local.size)
        distance = local.square + local.square[first] + local.cross[first]
        distance[local.column == local.column[first]] = np.inf
        near = np.argsort(distance, kind="stable")[:NEAR]
        near = near[np.isfinite(distance[near])]
        if len(near):
            local.swap(first, int(near[chance.below(len(near))]))
