"""All ways to plug a handful of loads at once, by meeting in the middle.

The loads are halved, every way to plug each half is listed with what it adds up to, and the lists
are joined: sorted along the tightest amount, only pairs within its window are looked at, and each
further amount thins them out. A dozen loads have half a million ways; a few thousand are touched.
What a seat, a meter or a line may take are all windows on sums, so one join serves them all.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from evenboard.planning.measure import IntArray, Work

__all__ = ["Pairs", "Ways", "join", "list_ways"]

Index = NDArray[np.intp]


@dataclass(frozen=True, slots=True, eq=False)
class Ways:
    """Ways to plug some loads: ``amounts`` (W, D) what each adds, ``choice`` (W, loads)."""

    amounts: IntArray
    choice: NDArray[np.int16]


@dataclass(frozen=True, slots=True, eq=False)
class Pairs:
    """Ways of two halves that go together; ``complete`` is False where not all were looked at."""

    first: Index
    second: Index
    complete: bool


def list_ways(options: Sequence[IntArray], alike: Sequence[bool], work: Work) -> Ways:
    """Every way to choose one option for each load.

    Parameters
    ----------
    options : sequence of ndarray of int64, each shape (choices, D)
        What each option of a load adds to every amount.
    alike : sequence of bool
        Whether a load is like the one before it, so that exchanging the two changes nothing: of
        such ways only one is listed.
    work : Work
        Counts what is done.

    Returns
    -------
    Ways
        In a fixed order.

    References
    ----------
    .. [1] E. Horowitz, S. Sahni, "Computing partitions with applications to the knapsack problem",
       J. ACM 21 (1974).
    """
    depth = options[0].shape[1] if len(options) else 0
    amounts: IntArray = np.zeros((1, depth), dtype=np.int64)
    choice = np.zeros((1, len(options)), dtype=np.int16)
    for index, option in enumerate(options):
        count = len(option)
        wide = (amounts[:, None, :] + option[None, :, :]).reshape(-1, depth)
        chosen = np.repeat(choice, count, axis=0)
        chosen[:, index] = np.tile(np.arange(count, dtype=np.int16), len(amounts))
        if index and alike[index]:
            keep = chosen[:, index] >= chosen[:, index - 1]
            wide, chosen = wide[keep], chosen[keep]
        amounts, choice = wide, chosen
        work.spend(4 * amounts.size, 10)
    return Ways(amounts, choice)


def join(
    first: Ways,
    second: Ways,
    low: IntArray,
    high: IntArray,
    work: Work,
    most: int,
) -> Pairs:
    """Pairs of ways whose sums lie in a window along every amount.

    Parameters
    ----------
    first, second : Ways
        The halves.
    low, high : ndarray of int64, shape (D,)
        The window, both ends included.
    work : Work
        Counts what is done.
    most : int
        Pairs along the tightest amount that are looked at; if there are more, those nearest to the
        middle of its window.

    Returns
    -------
    Pairs
        Positions in both lists.

    References
    ----------
    .. [1] As :func:`list_ways`.
    """
    empty = np.zeros(0, dtype=np.intp)
    rows = _within_reach(first, second, low, high, work)
    columns = _within_reach(second, first, low, high, work)
    if not len(rows) or not len(columns):
        return Pairs(empty, empty, True)
    u, v = first.amounts[rows], second.amounts[columns]
    least, largest = u.min(axis=0) + v.min(axis=0), u.max(axis=0) + v.max(axis=0)
    binds = (least < low) | (largest > high)
    order = np.argsort((high - low) / (largest - least + 1.0), kind="stable")
    order = order[binds[order]] if binds.any() else order[:1]
    tightest = int(order[0])
    by = np.argsort(v[:, tightest], kind="stable")
    keys = v[by, tightest]
    whose, complete = np.arange(len(u)), True
    start, count = _span(keys, int(low[tightest]), int(high[tightest]), u[:, tightest])
    work.spend(len(u) * 60 + len(v) * 30, 40)
    if int(count.sum()) > most:
        run = _by_cells(u, v, low, high, order[:2].tolist()) if len(order) > 1 else None
        work.spend(len(u) * 120 + len(v) * 30, 40)
        if run is not None and int(run[3].sum()) <= most:
            by, whose, start, count = run
        else:
            complete = False
            window = int(low[tightest]), int(high[tightest])
            start, count = _nearest(keys, *window, u[:, tightest], most)
    total = int(count.sum())
    work.spend(total * 12, 10)
    if not total:
        return Pairs(empty, empty, complete)
    one = np.repeat(whose, count)
    offset = np.arange(total) - np.repeat(np.cumsum(count) - count, count)
    two = by[np.repeat(start, count) + offset]
    for amount in order.tolist():
        sums = u[one, amount] + v[two, amount]
        keep = (sums >= low[amount]) & (sums <= high[amount])
        work.spend(16 * len(one), 8)
        if not keep.all():
            one, two = one[keep], two[keep]
            if not len(one):
                break
    return Pairs(rows[one], columns[two], complete)


def _within_reach(ways: Ways, other: Ways, low: IntArray, high: IntArray, work: Work) -> Index:
    """Ways that some way of the other half could bring into the window, amount by amount."""
    least, largest = other.amounts.min(axis=0), other.amounts.max(axis=0)
    keep = ((ways.amounts + largest >= low) & (ways.amounts + least <= high)).all(axis=1)
    work.spend(5 * ways.amounts.size, 8)
    return np.flatnonzero(keep)


def _span(keys: IntArray, low: int, high: int, of: IntArray) -> tuple[Index, Index]:
    """Where in the sorted keys the partners of each value begin, and how many there are."""
    start = np.searchsorted(keys, low - of, "left")
    return start, np.searchsorted(keys, high - of, "right") - start


def _by_cells(
    u: IntArray, v: IntArray, low: IntArray, high: IntArray, amounts: Sequence[int]
) -> tuple[Index, Index, Index, Index]:
    """Partners within both windows, and some near them: the order of ``v``, and runs in it.

    Cells are as large as the windows, so that the partners of one lie in two by two of them: two
    runs of two cells side by side.
    """
    cell = []
    first = []
    for amount in amounts:
        size, origin = int(high[amount] - low[amount]) + 1, int(v[:, amount].min())
        cell.append((v[:, amount] - origin) // size)
        first.append((low[amount] - u[:, amount] - origin) // size)
    wide = int(cell[1].max()) + 3
    key = cell[0] * wide + cell[1] + 1
    by = np.argsort(key, kind="stable")
    key = key[by]
    column = np.clip(first[1], -1, wide - 3) + 1
    starts, counts = [], []
    for row in (first[0], first[0] + 1):
        start = np.searchsorted(key, row * wide + column, "left")
        starts.append(start)
        counts.append(np.searchsorted(key, row * wide + column + 1, "right") - start)
    who = np.arange(len(u))
    return by, np.concatenate([who, who]), np.concatenate(starts), np.concatenate(counts)


def _nearest(keys: IntArray, low: int, high: int, of: IntArray, most: int) -> tuple[Index, Index]:
    """Partners nearest to the middle of the window, at most so many in all."""
    while True:
        start, count = _span(keys, low, high, of)
        total = int(count.sum())
        if total <= most:
            return start, count
        if high - low <= 2:
            return start, np.where(np.cumsum(count) <= most, count, 0)
        middle, half = (low + high) // 2, max((high - low) * most // (2 * total), 1)
        low, high = middle - half, middle + half
