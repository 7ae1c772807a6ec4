"""Sharing out things of a few kinds over places of a few kinds, as cheaply as can be.

Loads that are alike and seats that are alike are counted, not listed: a hall with hundreds of
lamps on hundreds of outlets is a table of a few rows and columns.
"""

from __future__ import annotations

from collections.abc import Sequence

__all__ = ["transport"]

FAR = 1 << 100

Costs = Sequence[Sequence[int | None]]


def transport(supply: Sequence[int], capacity: Sequence[int], cost: Costs) -> list[list[int]]:
    """As many as can be, and of all such ways the cheapest.

    Parameters
    ----------
    supply : sequence of int
        How many there are of each kind.
    capacity : sequence of int
        How many places there are of each kind.
    cost : sequence of sequence of int or None
        What one of a kind costs in a place of a kind; None where it cannot go.

    Returns
    -------
    list of list of int
        How many of each kind go to each kind of place.

    References
    ----------
    .. [1] Successive shortest paths: R. G. Busacker, P. J. Gowen, Operations Research Office
       report 15 (1961); the transportation problem: F. L. Hitchcock, J. Math. Phys. 20 (1941).

    Examples
    --------
    >>> transport([2, 1], [1, 5], [[0, 3], [0, None]])
    [[0, 2], [1, 0]]
    """
    left, free = list(supply), list(capacity)
    flow = [[0] * len(free) for _ in left]
    _settle(left, free, flow, cost)
    while any(left):
        path = _cheapest_path(left, free, flow, cost)
        if path is None:
            break
        row, column = path[0][0], path[-1][1]
        amount = min(left[row], free[column])
        # Every second edge of a path takes something back.
        for r, c in path[1::2]:
            amount = min(amount, flow[r][c])
        for index, (r, c) in enumerate(path):
            flow[r][c] += -amount if index % 2 else amount
        left[row] -= amount
        free[column] -= amount
    return flow


def _settle(left: list[int], free: list[int], flow: list[list[int]], cost: Costs) -> None:
    """Give kinds their cheapest place where all find room there, or else where none else can go."""
    cheapest = [min((FAR if x is None else x, c) for c, x in enumerate(costs)) for costs in cost]
    wanted, takers = [0] * len(free), [0] * len(free)
    for amount, (_, column), costs in zip(left, cheapest, cost, strict=True):
        wanted[column] += amount
        for c, each in enumerate(costs):
            takers[c] += each is not None
    for_all = all(price < FAR for price, _ in cheapest)
    for_all &= all(amount <= room for amount, room in zip(wanted, free, strict=True))
    for r, (price, column) in enumerate(cheapest):
        if price < FAR and (for_all or takers[column] == 1):
            flow[r][column] = min(left[r], free[column])
            left[r] -= flow[r][column]
            free[column] -= flow[r][column]


def _cheapest_path(
    left: Sequence[int],
    free: Sequence[int],
    flow: Sequence[Sequence[int]],
    cost: Costs,
) -> list[tuple[int, int]] | None:
    """From a kind with some left to a place with some free: pairs in turn there and back."""
    to_row = [0 if amount else FAR for amount in left]
    to_column = [FAR] * len(free)
    came: list[int] = [-1] * len(free)
    back: list[int] = [-1] * len(left)
    changed = True
    while changed:
        changed = False
        for r, costs in enumerate(cost):
            if to_row[r] == FAR:
                continue
            for c, each in enumerate(costs):
                if each is not None and to_row[r] + each < to_column[c]:
                    to_column[c], came[c], changed = to_row[r] + each, r, True
        for r, costs in enumerate(cost):
            for c, each in enumerate(costs):
                if flow[r][c] and each is not None and to_column[c] - each < to_row[r]:
                    to_row[r], back[r], changed = to_column[c] - each, c, True
    open_ = [c for c, amount in enumerate(free) if amount and to_column[c] < FAR]
    if not open_:
        return None
    column = min(open_, key=lambda c: to_column[c])
    path: list[tuple[int, int]] = []
    while True:
        row = came[column]
        path.append((row, column))
        if back[row] < 0:
            return path[::-1]
        path.append((row, back[row]))
        column = back[row]
