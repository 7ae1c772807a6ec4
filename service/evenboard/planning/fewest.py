"""The fewest moves: every way to move one load, two, three or four, until one will do.

Lists of single moves and of pairs of moves are joined as in the small exact plans, so that four
moves of eighty loads, sixty million ways, are looked through in a blink. The first number for
which there is a way is the smallest, proven by having looked at all others.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenboard.planning.measure import IntArray, Levels, Work, evenness
from evenboard.planning.meet import Ways, join
from evenboard.planning.state import State, weight
from evenboard.planning.target import Goal, Window, within

__all__ = ["Fewest", "fewest"]

PAIRS_AT_MOST = 40_000
JOINED_AT_MOST = 1_500_000
MOST_MOVES = 4


@dataclass(frozen=True, slots=True, eq=False)
class Fewest:
    """The best state with the fewest moves, or None; ``below`` moves are proven not to do."""

    state: State | None
    below: int


@dataclass(frozen=True, slots=True, eq=False)
class _Moves:
    """Lists of moves: what each changes, and for each which loads (W, k) and bins (W, k)."""

    ways: Ways
    loads: IntArray
    bins: IntArray


def fewest(
    start: State,
    loads: IntArray,
    window: Window,
    levels: Levels,
    goal: Goal | None,
    most: int,
    work: Work,
) -> Fewest:
    """Reach levels and target from a state by moving as few loads as can be.

    Parameters
    ----------
    start : State
        How it is plugged now.
    loads : ndarray of int64
        The loads that may move.
    window : Window
        Where each line has to end up.
    levels : tuple of int
        Steps that have to be kept to. [0.1 A]
    goal : Goal or None
        A target to be met as well.
    most : int
        Moves at most.
    work : Work
        Counts what is done, and ends the search when it runs out.

    Returns
    -------
    Fewest
        Of all ways with that number of moves the evenest.

    References
    ----------
    .. [1] R. Schroeppel, A. Shamir, SIAM J. Comput. 10 (1981): lists of pairs in place of pairs of
       lists.
    """
    if _suits(start, levels, goal) and start.is_sound:
        return Fewest(start.copy(), 0)
    if most < 1 or not len(loads):
        return Fewest(None, 1)
    low, high = _windows(start, window)
    single = _single(start, loads, work)
    none = _Moves(
        Ways(np.zeros((1, len(low)), dtype=np.int64), np.zeros((1, 0), dtype=np.int16)),
        np.zeros((1, 0), dtype=np.int64),
        np.zeros((1, 0), dtype=np.int64),
    )
    pairs: _Moves | None = None
    for count in range(1, min(most, MOST_MOVES) + 1):
        if count > 2 and pairs is None:
            pairs = _pairs(single, work)
            if pairs is None:
                return Fewest(None, count)
        halves = {1: (single, none), 2: (single, single)}
        if pairs is not None:
            halves |= {3: (pairs, single), 4: (pairs, pairs)}
        found = _best_of(start, *halves[count], low, high, levels, goal, work)
        if found is None:
            return Fewest(None, count)
        if found.bin.shape[0] and found is not start:
            return Fewest(found, count)
        if work.left <= 0:
            return Fewest(None, count + 1)
    return Fewest(None, min(most, MOST_MOVES) + 1)


def _suits(state: State, levels: Levels, goal: Goal | None) -> bool:
    return bool(within(state.sums[None], levels, goal)[0])


def _windows(start: State, window: Window) -> tuple[IntArray, IntArray]:
    problem = start.problem
    size = len(problem.rooms) + len(problem.meters) * problem.setups
    room = np.array([r.most for r in problem.rooms], dtype=np.int64) - start.inside
    spare = (problem.limit[:, None] - start.use).ravel()
    low = np.concatenate([(window.low - start.sums).ravel(), np.full(size, -(1 << 50))])
    high = np.concatenate([(window.high - start.sums).ravel(), room, spare])
    used = np.concatenate([start.inside, start.use.ravel()])
    low[len(low) - size :] = -used
    return low.astype(np.int64), high.astype(np.int64)


def _single(start: State, loads: IntArray, work: Work) -> _Moves:
    problem = start.problem
    rows, who, where = [], [], []
    for load in loads.tolist():
        here = int(start.bin[load])
        bins = np.flatnonzero(problem.allowed[load])
        leaves = _adds(start, load, here)
        for bin_ in bins.tolist():
            if bin_ != here:
                rows.append(_adds(start, load, bin_) - leaves)
                who.append(load)
                where.append(bin_)
    width = start.sums.size + len(problem.rooms) + start.use.size
    amounts = np.array(rows, dtype=np.int64).reshape(len(rows), width)
    work.spend(len(rows) * 4 * width, 16 * len(rows))
    return _Moves(
        Ways(amounts, np.zeros((len(rows), 0), dtype=np.int16)),
        np.array(who, dtype=np.int64).reshape(-1, 1),
        np.array(where, dtype=np.int64).reshape(-1, 1),
    )


def _adds(start: State, load: int, bin_: int) -> IntArray:
    problem = start.problem
    sums = problem.current(load, bin_)[:, None] * problem.pattern[bin_]
    rooms = np.zeros(len(problem.rooms), dtype=np.int64)
    for r in problem.rooms_of[bin_]:
        rooms[r] = problem.rooms[r].loads[load]
    if not len(problem.meters):
        return np.concatenate([sums.ravel(), rooms])
    return np.concatenate([sums.ravel(), rooms, weight(problem, load, bin_).ravel()])


def _pairs(single: _Moves, work: Work) -> _Moves | None:
    """Two moves of different loads, the first load before the second; None if they are too many."""
    count = len(single.loads)
    if count * (count - 1) // 2 > PAIRS_AT_MOST:
        return None
    one, two = np.triu_indices(count, 1)
    keep = single.loads[one, 0] < single.loads[two, 0]
    one, two = one[keep], two[keep]
    amounts = single.ways.amounts[one] + single.ways.amounts[two]
    work.spend(4 * amounts.size)
    return _Moves(
        Ways(amounts, np.zeros((len(one), 0), dtype=np.int16)),
        np.concatenate([single.loads[one], single.loads[two]], axis=1),
        np.concatenate([single.bins[one], single.bins[two]], axis=1),
    )


def _best_of(
    start: State,
    first: _Moves,
    second: _Moves,
    low: IntArray,
    high: IntArray,
    levels: Levels,
    goal: Goal | None,
    work: Work,
) -> State | None:
    """The evenest way that joins both lists; ``start`` itself where none does, None if unsure."""
    found = join(first.ways, second.ways, low, high, work, JOINED_AT_MOST)
    if not found.complete:
        return None
    one, two = found.first, found.second
    if second.loads.shape[1]:
        keep = first.loads[one, -1] < second.loads[two, 0]
        one, two = one[keep], two[keep]
    size = start.sums.size
    added = first.ways.amounts[one, :size] + second.ways.amounts[two, :size]
    sums = added.reshape(-1, *start.sums.shape) + start.sums
    work.spend(16 * sums.size, 30)
    keep = within(sums, levels, goal)
    one, two, sums = one[keep], two[keep], sums[keep]
    if not len(one):
        return start
    rank = np.stack(evenness(sums), axis=1)
    best = int(np.lexsort(rank.T[::-1])[0])
    state = start.copy()
    moves = [
        *zip(first.loads[one[best]].tolist(), first.bins[one[best]].tolist(), strict=True),
        *zip(second.loads[two[best]].tolist(), second.bins[two[best]].tolist(), strict=True),
    ]
    for load, _ in moves:
        state.take(load)
    for load, bin_ in moves:
        state.put(load, bin_)
    return state
