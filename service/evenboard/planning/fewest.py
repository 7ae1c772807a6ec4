"""The fewest moves: every way to move one load, two, up to eight, until one will do.

Loads that are alike and plugged alike make one kind of move. Lists of single moves, pairs and
triples are joined as in the small exact plans, each sum listed once: six moves of eighty lamps are
billions of ways, and some hundred thousand sums. The first number for which there is a way is the
smallest, proven by having looked at all others.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from evenboard.planning.measure import IntArray, Levels, Work, evenness
from evenboard.planning.meet import Ways, join
from evenboard.planning.state import State, weight
from evenboard.planning.target import Goal, Window, within

__all__ = ["Fewest", "fewest"]

MOST_MOVES, MANY_LOADS, MOST_OF_MANY = 8, 500, 6
"""Moves that are looked at, fewer of that many loads, whose plan would come too late."""

LISTED_AT_MOST = 400_000
"""Combinations of moves in a list; a longer one is not made."""

JOINED_AT_MOST = 3_000_000
"""Pairs of combinations that are looked at for one number of moves."""

SPELLED_AT_MOST = 4_096
"""Ways to make one sum that are looked at until one has enough loads of each kind."""


@dataclass(frozen=True, slots=True, eq=False)
class Fewest:
    """The best state with the fewest moves, or None; ``below`` moves are proven not to do."""

    state: State | None
    below: int


@dataclass(frozen=True, slots=True, eq=False)
class _Single:
    """Kinds of moves: what each changes, of which class of loads, and into which bin."""

    amounts: IntArray
    class_: IntArray
    bin: IntArray
    members: tuple[tuple[int, ...], ...]
    """The loads of each class: alike in all that sums show, and in one bin."""

    size: IntArray


@dataclass(frozen=True, slots=True, eq=False)
class _Combined:
    """So many moves at once: each sum once (R, D), and every way to make it.

    ``moves`` (W, k) are singles, ways of one sum side by side from ``start`` (R + 1,) on.
    """

    sums: IntArray
    moves: IntArray
    start: IntArray


def fewest(
    start: State,
    loads: IntArray,
    window: Window,
    levels: Levels,
    goal: Goal | None,
    most: int,
    work: Work,
    *,
    every: bool = False,
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
    every : bool
        Whether to go on to ``most`` moves and take the evenest of all, not the first.

    Returns
    -------
    Fewest
        Of all ways with that number of moves the evenest.

    References
    ----------
    .. [1] R. Schroeppel, A. Shamir, SIAM J. Comput. 10 (1981): lists of pairs in place of pairs of
       lists.
    """
    best: State | None = None
    if _suits(start, levels, goal) and start.is_sound:
        best = start.copy()
        if not every:
            return Fewest(best, 0)
    if most < 1 or not len(loads):
        return Fewest(best, 1)
    most = min(most, MOST_MOVES if len(loads) <= MANY_LOADS else MOST_OF_MANY)
    low, high = _windows(start, window)
    single = _single(start, loads, work)
    lists = [_nothing(len(low)), _combined(single, None, work)]
    proven = True
    for count in range(1, most + 1):
        while len(lists) <= (count + 1) // 2:
            lists.append(_combined(single, lists[-1], work))
        first, second = lists[(count + 1) // 2], lists[count // 2]
        if first is None or second is None or work.left <= 0:
            return Fewest(best, count)
        found, complete = _best_of(start, single, first, second, low, high, levels, goal, work)
        proven = proven and complete
        if found is not None and not every:
            return Fewest(found, count if proven else 0)
        if found is not None and (best is None or found.levels() < best.levels()):
            best = found
        if not complete and not every:
            return Fewest(None, count)
    return Fewest(best, most + 1 if proven else 0)


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


def _single(start: State, loads: IntArray, work: Work) -> _Single:
    """Moves of one load, those of loads that are alike once."""
    problem = start.problem
    classes: dict[bytes, list[int]] = {}
    for load in loads.tolist():
        key = np.concatenate(
            [
                *(problem.amps[load], problem.on[load], problem.allowed[load], start.bin[[load]]),
                *(problem.leakage[load], problem.watts[load]),
                [problem.rooms[r].loads[load] for r in range(len(problem.rooms))],
            ]
        )
        classes.setdefault(key.astype(np.int64).tobytes(), []).append(load)
    rows, class_, where = [], [], []
    for number, members in enumerate(classes.values()):
        load = members[0]
        here = int(start.bin[load])
        leaves = _adds(start, load, here)
        for bin_ in np.flatnonzero(problem.allowed[load]).tolist():
            if bin_ != here:
                rows.append(_adds(start, load, bin_) - leaves)
                class_.append(number)
                where.append(bin_)
    width = start.sums.size + len(problem.rooms) + start.use.size
    work.spend(len(rows) * width, 4 * len(loads) + 12 * len(rows))
    return _Single(
        np.array(rows, dtype=np.int64).reshape(len(rows), width),
        np.array(class_, dtype=np.int64),
        np.array(where, dtype=np.int64),
        tuple(tuple(members) for members in classes.values()),
        np.array([len(members) for members in classes.values()], dtype=np.int64),
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


def _nothing(width: int) -> _Combined:
    return _Combined(
        np.zeros((1, width), dtype=np.int64),
        np.zeros((1, 0), dtype=np.int64),
        np.array([0, 1], dtype=np.int64),
    )


def _combined(single: _Single, fewer: _Combined | None, work: Work) -> _Combined | None:
    """One move more; None if that makes too many."""
    count = len(single.class_)
    if fewer is None:
        moves = np.arange(count, dtype=np.int64).reshape(-1, 1)
        sums = single.amounts
    else:
        last = fewer.moves[:, -1]
        if not len(last) or int((count - last).sum()) > LISTED_AT_MOST:
            return None
        more = count - last
        before = np.repeat(np.arange(len(last)), more)
        added = np.arange(len(before)) - np.repeat(np.cumsum(more) - more, more)
        added += np.repeat(last, more)
        # The classes of the others have been counted before.
        class_ = single.class_[added]
        asked = (single.class_[fewer.moves[before]] == class_[:, None]).sum(axis=1)
        keep = asked < single.size[class_]
        before, added = before[keep], added[keep]
        moves = np.concatenate([fewer.moves[before], added[:, None]], axis=1)
        row = np.repeat(np.arange(len(fewer.sums)), np.diff(fewer.start))
        sums = fewer.sums[row[before]] + single.amounts[added]
    work.spend(4 * sums.size + 30 * len(sums), 30)
    return _listed(sums, moves)


def _enough(single: _Single, moves: IntArray) -> NDArray[np.bool_]:
    """Whether there are as many loads of each class as moves ask for."""
    class_ = single.class_[moves]
    asked = (class_[:, :, None] == class_[:, None, :]).sum(axis=2)
    enough: NDArray[np.bool_] = (asked <= single.size[class_]).all(axis=1)
    return enough


def _listed(sums: IntArray, moves: IntArray) -> _Combined:
    """Each sum once."""
    mixed = sums @ _MIX[: sums.shape[1]] if sums.shape[1] <= len(_MIX) else None
    if mixed is not None:
        _, first, which = np.unique(mixed, return_index=True, return_inverse=True)
    if mixed is None or bool((sums != sums[first][which]).any()):
        _, first, which = np.unique(sums, axis=0, return_index=True, return_inverse=True)
    which = which.reshape(-1)
    order = np.argsort(which, kind="stable")
    start = np.concatenate([[0], np.cumsum(np.bincount(which, minlength=len(first)))])
    return _Combined(sums[first], moves[order], start.astype(np.int64))


_MIX = np.array([pow(6364136223846793005, i + 1, 1 << 62) | 1 for i in range(4096)], dtype=np.int64)
"""Factors that make one number of a row; rows that it mixes up are told apart by all amounts."""


def _best_of(
    start: State,
    single: _Single,
    first: _Combined,
    second: _Combined,
    low: IntArray,
    high: IntArray,
    levels: Levels,
    goal: Goal | None,
    work: Work,
) -> tuple[State | None, bool]:
    """The evenest way that joins both lists, or None, and whether all were looked at."""
    none = np.zeros((0, 0), dtype=np.int16)
    found = join(Ways(first.sums, none), Ways(second.sums, none), low, high, work, JOINED_AT_MOST)
    one, two = found.first, found.second
    size = start.sums.size
    added = first.sums[one, :size] + second.sums[two, :size]
    sums = added.reshape(-1, *start.sums.shape) + start.sums
    work.spend(16 * sums.size, 30)
    keep = within(sums, levels, goal)
    one, two, sums = one[keep], two[keep], sums[keep]
    if not len(one):
        return None, found.complete
    rank = np.stack(evenness(sums), axis=1)
    for index in np.lexsort(rank.T[::-1]).tolist():
        moves, complete = _spelled(single, first, second, int(one[index]), int(two[index]))
        work.spend(0, 20)
        if moves is not None:
            return _carried_out(start, single, moves), found.complete
        if not complete or work.left <= 0:
            return None, False
    return None, found.complete


def _spelled(
    single: _Single, first: _Combined, second: _Combined, one: int, two: int
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
    good = np.flatnonzero(_enough(single, both))
    if len(good):
        return both[good[0]].tolist(), True
    return None, len(left) == len(a) and len(right) == len(b)


def _carried_out(start: State, single: _Single, moves: list[int]) -> State:
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
