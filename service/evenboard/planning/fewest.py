"""The fewest moves: every way to move one load, two, and so on, until one will do.

Lists of combined moves are joined as in the small exact plans: six moves of eighty lamps are
billions of ways, and some hundred thousand sums. The first number for which there is a way is the
smallest, proven by having ruled out all below: by what so many moves can carry at best, or by
having looked at all of them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenboard.planning.listing import Combined, Lists, Single, enough, singles_of
from evenboard.planning.measure import IntArray, Levels, Work, evenness
from evenboard.planning.meet import Ways, join
from evenboard.planning.state import State
from evenboard.planning.target import Goal, Window, within

__all__ = ["Fewest", "fewest"]

MOST_MOVES = 24
"""Moves that are looked at."""

SHORT, LONG = (60_000, 12_000), (400_000, 40_000)
"""Combinations of moves in a list, and how many are drawn where there are more. A way is sought in
short lists first: that there is none only long ones show."""

ANY_NUMBER = 1 << 30
"""More moves than anybody makes."""

JOINED_FIRST, JOINED_AT_MOST = 200_000, 3_000_000
"""Pairs of combinations that are looked at for one number of moves; of many some most often do."""

SPELLED_AT_MOST = 4_096
"""Ways to make one sum that are looked at until one has enough loads of each kind."""


@dataclass(frozen=True, slots=True, eq=False)
class Fewest:
    """The best state with the fewest moves found, or None; fewer than ``below`` cannot do."""

    state: State | None
    below: int


def fewest(
    start: State,
    loads: IntArray,
    window: Window,
    levels: Levels,
    goal: Goal | None,
    most: int,
    work: Work,
    *,
    floor: Levels | None = None,
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
    floor : tuple of int, optional
        Lower bounds of the levels: then the evenest of all with up to ``most`` moves is looked for,
        until it is on them, and not the first that will do. [0.1 A]

    Returns
    -------
    Fewest
        Of the ways with that number of moves that were looked at the evenest.

    References
    ----------
    .. [1] R. Schroeppel, A. Shamir, SIAM J. Comput. 10 (1981): lists of pairs in place of pairs of
       lists.
    """
    best: State | None = None
    every = floor is not None
    if _suits(start, levels, goal) and start.is_sound:
        best = start.copy()
        if not every:
            return Fewest(best, 0)
    if most < 1 or not len(loads):
        return Fewest(best, 1)
    most = min(most, MOST_MOVES)
    amounts = _windows(start, window)
    single = singles_of(start, loads, work)
    if not len(single.class_):
        return Fewest(best, most + 1)
    lists = Lists(single, *amounts, start.sums.size, most, work)
    below = 1
    for count in range(1, most + 1):
        if lists.can_reach(count):
            if work.left <= 0:
                break
            for listed in (LONG,) if every else (SHORT, LONG):
                halves = lists.halves(count, *listed)
                found, looked = _best_of(start, single, halves, amounts, levels, goal, work, every)
                if found is not None or looked:
                    break
            if found is not None and not every:
                return Fewest(found, below)
            if found is not None and (best is None or found.levels() < best.levels()):
                best = found
        else:
            looked = True
        if looked and below == count:
            below = count + 1
        if floor is not None and best is not None and best.levels() <= floor:
            # None is evener, with however many moves.
            return Fewest(best, ANY_NUMBER if below >= count else below)
    return Fewest(best, below)


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


def _best_of(
    start: State,
    single: Single,
    halves: tuple[Combined, Combined],
    window: tuple[IntArray, IntArray],
    levels: Levels,
    goal: Goal | None,
    work: Work,
    every: bool,
) -> tuple[State | None, bool]:
    """The evenest way that joins both lists, or None, and whether all were looked at."""
    first, second = halves
    if not len(first.sums) or not len(second.sums):
        return None, first.complete and second.complete
    none = np.zeros((0, 0), dtype=np.int16)
    ways = Ways(first.sums, none), Ways(second.sums, none)
    size = start.sums.size
    for most in (JOINED_AT_MOST,) if every else (JOINED_FIRST, JOINED_AT_MOST):
        found = join(*ways, *window, work, most)
        one, two = found.first, found.second
        added = first.sums[one, :size] + second.sums[two, :size]
        sums = added.reshape(-1, *start.sums.shape) + start.sums
        work.spend(16 * sums.size, 30)
        keep = within(sums, levels, goal)
        one, two, sums = one[keep], two[keep], sums[keep]
        if found.complete or len(one):
            break
    looked = found.complete and first.complete and second.complete
    if not len(one):
        return None, looked
    rank = np.stack(evenness(sums), axis=1)
    for index in np.lexsort(rank.T[::-1]).tolist():
        moves, complete = _spelled(single, first, second, int(one[index]), int(two[index]))
        work.spend(0, 20)
        if moves is not None:
            return _carried_out(start, single, moves), looked
        if not complete or work.left <= 0:
            return None, False
    return None, looked


def _spelled(
    single: Single, first: Combined, second: Combined, one: int, two: int
) -> tuple[list[int] | None, bool]:
    """Moves that make two sums together, if there are loads enough for any such."""
    a = first.moves[first.start[one] : first.start[one + 1]]
    b = second.moves[second.start[two] : second.start[two + 1]]
    most = max(SPELLED_AT_MOST // max(len(b), 1), 1)
    left = a[:most]
    right = b[:SPELLED_AT_MOST]
    both = np.concatenate(
        [np.repeat(left, len(right), axis=0), np.tile(right, (len(left), 1))], axis=1
    )
    good = np.flatnonzero(enough(single, both))
    if len(good):
        return both[good[0]].tolist(), True
    return None, len(left) == len(a) and len(right) == len(b)


def _carried_out(start: State, single: Single, moves: list[int]) -> State:
    state = start.copy()
    used = [0] * len(single.members)
    steps = []
    for move in moves:
        class_ = int(single.class_[move])
        steps.append((single.members[class_][used[class_]], int(single.bin[move])))
        used[class_] += 1
    for load, _ in steps:
        state.take(load)
    for load, bin_ in steps:
        state.put(load, bin_)
    return state
