"""Lists of moves: single ones, pairs, triples, each sum once, all that can help or some drawn.

Loads that are alike and plugged alike make one kind of move. Listed is what can still end up in the
window. Where that is too much, combinations are drawn, by a fixed sequence and in whole numbers:
the same on every machine.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from evenboard.planning.measure import IntArray, Work
from evenboard.planning.state import State, weight

__all__ = ["Combined", "Lists", "Single", "enough", "singles_of"]

TILTS = (0, 1, 2, 3, 4, 6, 8, 12, 16, 24, 32, 48, 64, 96, 128, 192, 256, 384, 512, 768)
"""How much likelier a move is drawn that goes the way: twice as likely for each share of the way
that it goes, times so many sixteenths."""

MILLI = 1000
"""Microamps in the unit in which ways are compared, so that their squares stay small."""

HEAVIEST, LARGEST_SHARE = 32, 4096
"""Doublings between the likeliest move and the least likely, and the most sixteenths of its share
of the way that a move counts for: so sums stay exact."""


@dataclass(frozen=True, slots=True, eq=False)
class Single:
    """Kinds of moves: what each changes, of which class of loads, and into which bin."""

    amounts: IntArray
    class_: IntArray
    bin: IntArray
    members: tuple[tuple[int, ...], ...]
    """The loads of each class: alike in all that sums show, and in one bin."""

    size: IntArray


@dataclass(frozen=True, slots=True, eq=False)
class Combined:
    """So many moves at once: each sum once (R, D), and every way to make it.

    ``moves`` (W, k) are singles, ways of one sum side by side from ``start`` (R + 1,) on.
    ``complete`` is False where a combination that could help may be missing.
    """

    sums: IntArray
    moves: IntArray
    start: IntArray
    complete: bool


def singles_of(start: State, loads: IntArray, work: Work) -> Single:
    """Moves of one load, those of loads that are alike once.

    Parameters
    ----------
    start : State
        How it is plugged now.
    loads : ndarray of int64
        The loads that may move.
    work : Work
        Counts what is done.

    Returns
    -------
    Single
        Amounts are the lines of each set-up, rooms, meters in each set-up.

    References
    ----------
    .. [1] None; bookkeeping.
    """
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
    return Single(
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


class Lists:
    """Combinations of moves for the halves of a number of moves.

    Parameters
    ----------
    single : Single
        The moves.
    low, high : ndarray of int64, shape (D,)
        The window that all moves together have to end up in.
    lines : int
        How many of the amounts, from the first on, are amps of lines. The others are limits only.
    most : int
        Moves at most.
    work : Work
        Counts what is done.

    References
    ----------
    .. [1] R. Schroeppel, A. Shamir, SIAM J. Comput. 10 (1981): lists of pairs in place of pairs of
       lists.
    .. [2] Drawn where all are too many: importance sampling by tilting.
    """

    def __init__(
        self, single: Single, low: IntArray, high: IntArray, lines: int, most: int, work: Work
    ) -> None:
        self._single, self._low, self._high, self._work = single, low, high, work
        self._lines = lines
        self._least, self._largest = _reach(single, most)

    def can_reach(self, count: int) -> bool:
        """False where so many moves are proven not to end up in the window."""
        reached = (self._largest[count] >= self._low) & (self._least[count] <= self._high)
        return bool(reached.all())

    def halves(self, count: int, most: int, drawn: int) -> tuple[Combined, Combined]:
        """Two lists that make so many moves together, the larger half first.

        What so many moves cannot bring into the window any more is not listed; where more than
        ``most`` would be, ``drawn`` are drawn.
        """
        usable = np.flatnonzero(self._mended(self._single.amounts, count - 1))
        single = replace(
            self._single,
            amounts=self._single.amounts[usable],
            class_=self._single.class_[usable],
            bin=self._single.bin[usable],
        )
        sizes = (count + 1) // 2, count // 2
        lists: list[Combined | None] = [_nothing(len(self._low))]
        while len(lists) <= sizes[0]:
            fewer = lists[-1]
            left = count - len(lists)
            lists.append(None if fewer is None else self._more(single, fewer, left, most))
        halves = []
        for turn, size in enumerate(sizes):
            made = lists[size]
            if made is None:
                made = self._drawn(single, size, count, drawn, turn)
            halves.append(replace(made, moves=usable[made.moves]))
        return halves[0], halves[1]

    def _mended(self, sums: IntArray, left: int) -> NDArray[np.bool_]:
        """Which sums could be brought into the window by so many moves more."""
        keep = (sums + self._largest[left] >= self._low) & (sums + self._least[left] <= self._high)
        self._work.spend(4 * sums.size, 10)
        mended: NDArray[np.bool_] = keep.all(axis=1)
        return mended

    def _more(self, single: Single, fewer: Combined, left: int, most: int) -> Combined | None:
        """One move more, and only what the moves that are left can mend; None if too many."""
        last = fewer.moves[:, -1] if fewer.moves.shape[1] else np.zeros(1, dtype=np.int64)
        more = len(single.class_) - last
        if int(more.sum()) > most:
            return None
        before = np.repeat(np.arange(len(last)), more)
        added = np.arange(len(before)) - np.repeat(np.cumsum(more) - more, more)
        added += np.repeat(last, more)
        row = np.repeat(np.arange(len(fewer.sums)), np.diff(fewer.start))
        sums = fewer.sums[row[before]] + single.amounts[added]
        self._work.spend(3 * sums.size + 12 * len(sums), 20)
        keep = self._mended(sums, left)
        # The classes of the others have been counted before.
        class_ = single.class_[added]
        asked = (single.class_[fewer.moves[before]] == class_[:, None]).sum(axis=1)
        keep &= asked < single.size[class_]
        before, added, sums = before[keep], added[keep], sums[keep]
        moves = np.concatenate([fewer.moves[before], added[:, None]], axis=1)
        self._work.spend(2 * sums.size + 20 * len(sums), 20)
        return _listed(sums, moves, complete=True)

    def _drawn(self, single: Single, size: int, count: int, many: int, turn: int) -> Combined:
        """Some combinations, those likelier whose moves go the way that all have to go."""
        weight = self._likelihood(single, count).cumsum()
        raw = np.random.PCG64(size + 97 * turn).random_raw(many * size) >> np.uint64(2)
        place = (raw.astype(np.int64) % weight[-1]).reshape(many, size)
        moves = np.sort(np.searchsorted(weight, place, side="right"), axis=1)
        self._work.spend(60 * moves.size, 20)
        moves = moves[enough(single, moves)]
        sums = single.amounts[moves].sum(axis=1)
        keep = self._mended(sums, count - size)
        self._work.spend(4 * size * sums.size, 10)
        return _listed(sums[keep], moves[keep], complete=False)

    def _likelihood(self, single: Single, count: int) -> IntArray:
        """Weights that make so many moves end up where they have to in the mean, shape (W,)."""
        reach = slice(0, self._lines)
        way = np.clip(0, self._low[reach], self._high[reach]) // MILLI
        long = max(int((way * way).sum()), 1)
        # Sixteenths of the share of the way that falls to each move.
        share = (single.amounts[:, reach] // MILLI @ way) * (16 * count) // long
        share = np.clip(share, -LARGEST_SHARE, LARGEST_SHARE)
        weight = np.ones(len(share), dtype=np.int64)
        for tilt in TILTS:
            power = tilt * share // 256
            weight = np.int64(1) << np.maximum(power - power.max() + HEAVIEST, 0)
            self._work.spend(10 * len(share), 10)
            if int((weight * share).sum()) >= 16 * int(weight.sum()):
                break
        return weight


def _nothing(width: int) -> Combined:
    none = np.zeros((1, 0), dtype=np.int64)
    amounts = np.zeros((1, width), dtype=np.int64)
    return Combined(amounts, none, np.array([0, 1], dtype=np.int64), True)


def _reach(single: Single, most: int) -> tuple[IntArray, IntArray]:
    """How far up to ``most`` moves change each amount at best, down and up, (most + 1, D) each."""
    often = np.minimum(single.size, most)[single.class_]
    every = np.sort(np.repeat(single.amounts, often, axis=0), axis=0)
    nothing = np.zeros((1, single.amounts.shape[1]), dtype=np.int64)
    filled = np.zeros((max(most - len(every), 0), single.amounts.shape[1]), dtype=np.int64)
    up = np.concatenate([every[::-1][:most], filled])
    down = np.concatenate([every[:most], filled])
    least = np.concatenate([nothing, np.minimum(down, 0).cumsum(axis=0)])
    largest = np.concatenate([nothing, np.maximum(up, 0).cumsum(axis=0)])
    return least, largest


def enough(single: Single, moves: IntArray) -> NDArray[np.bool_]:
    """Whether there are as many loads of each class as moves ask for.

    Parameters
    ----------
    single : Single
        The kinds of moves.
    moves : ndarray of int64, shape (W, k)
        So many of them together.

    Returns
    -------
    ndarray of bool, shape (W,)
        False where a load would move twice.

    References
    ----------
    .. [1] None; bookkeeping.
    """
    class_ = single.class_[moves]
    asked = (class_[:, :, None] == class_[:, None, :]).sum(axis=2)
    there: NDArray[np.bool_] = (asked <= single.size[class_]).all(axis=1)
    return there


def _listed(sums: IntArray, moves: IntArray, *, complete: bool) -> Combined:
    """Each sum once."""
    if not len(sums):
        return Combined(sums, moves, np.zeros(1, dtype=np.int64), complete)
    order = np.argsort(sums @ np.resize(_MIX, sums.shape[1]), kind="stable")
    sums = sums[order]
    new = (sums[1:] != sums[:-1]).any(axis=1)
    first = np.concatenate([[0], np.flatnonzero(new) + 1])
    return Combined(sums[first], moves[order], np.append(first, len(sums)), complete)


_MIX = np.array([pow(6364136223846793005, i + 1, 1 << 62) | 1 for i in range(64)], dtype=np.int64)
"""Factors that make one number of a row: like rows come to stand side by side."""
