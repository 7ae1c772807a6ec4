"""The levels below the amps of the supply: boards, like lamps apart, rows.

Done by exchanges that leave the levels above as they are, best first, in a fixed order.
"""

from __future__ import annotations

import numpy as np

from evenboard.planning.finish import Boards, Key, key_of
from evenboard.planning.measure import IntArray, Work
from evenboard.planning.problem import OUT, Problem
from evenboard.planning.state import State

__all__ = ["polish"]

LOADS_AT_MOST = 160
COST = 60_000


def polish(state: State, work: Work) -> State:
    """Better boards, groups and rows without touching what stands above them.

    Parameters
    ----------
    state : State
        Sound. Is left as it is.
    work : Work
        Counts what is done, and ends the search when it runs out.

    Returns
    -------
    State
        No worse in any level than before, in order.

    References
    ----------
    .. [1] Common practice, no source: like lamps over all phases, large ones in the bottom row.
    """
    problem, boards = state.problem, Boards.of(state.problem)
    first = key_of(problem, boards, state.bin)
    if first is None:
        return state
    best, key = state.copy(), first[0]
    if not key[4] and not key[5] and not key[6]:
        return best
    improved = True
    while improved and work.left > 0:
        improved = False
        for one, other in _exchanges(best):
            if work.left <= 0:
                break
            trial = best.copy()
            done = trial.exchange(one, other) if other >= 0 else trial.move(one, -1 - other)
            work.spend(COST)
            if not done or trial.levels() > key[:3] or trial.moves > key[3]:
                continue
            if not _may_help(problem, boards, trial.bin, key):
                continue
            keyed = key_of(problem, boards, trial.bin)
            work.spend(3 * COST)
            if keyed is not None and keyed[0] < key:
                best, key, improved = trial, keyed[0], True
                break
    return best


def _may_help(problem: Problem, boards: Boards, bins: IntArray, key: Key) -> bool:
    return True if not len(boards.behind) else boards.unevenness(problem, bins) <= key[4]


def _exchanges(state: State) -> list[tuple[int, int]]:
    """Pairs of loads that draw alike, and moves to other boards on the same line."""
    problem = state.problem
    loads = np.flatnonzero((state.bin != OUT) & ~problem.pinned)[:LOADS_AT_MOST].tolist()
    at = state.bin
    found: list[tuple[int, int]] = []
    for position, one in enumerate(loads):
        for other in loads[position + 1 :]:
            if at[one] == at[other] or problem.kind[one] == problem.kind[other]:
                continue
            same_line = problem.column[at[one]] == problem.column[at[other]]
            alike = (problem.amps[one] == problem.amps[other]).all() and (
                problem.on[one] == problem.on[other]
            ).all()
            if same_line or alike:
                found.append((one, other))
        found += [
            (one, -1 - bin_)
            for bin_ in np.flatnonzero(problem.allowed[one]).tolist()
            if bin_ != at[one] and problem.column[bin_] == problem.column[at[one]]
        ]
    return found
