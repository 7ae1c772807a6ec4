"""Sharing out things of a few kinds over places of a few kinds, as cheaply as can be.

Loads that are alike and seats that are alike are counted, not listed: a hall with hundreds of
lamps on hundreds of outlets is a table of a few rows and columns.
"""

from __future__ import annotations

from collections.abc import Sequence

__all__ = ["transport"]

FAR = 1 << 100


def transport(
    supply: Sequence[int], capacity: Sequence[int], cost: Sequence[Sequence[int | None]]
) -> list[list[int]]:
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
    if _all_at_their_cheapest(left, free, flow, cost):
        return flow
    _give_what_nobody_else_takes(left, free, flow, cost)
    while True:
        path = _cheapest_path(left, free, flow, cost)
        if path is None:
            return flow
        row, column = path[0][0], path[-1][1]
        amount = min(left[row], free[column])
        # Every second edge of a path takes something back.
        for r, c in path[1::2]:
            amount = min(amount, flow[r][c])
        for index, (r, c) in enumerate(path):
            flow[r][c] += -amount if index % 2 else amount
        left[row] -= amount
        free[column] -= amount


def _all_at_their_cheapest(
    left: Sequence[int],
    free: Sequence[int],
    flow: list[list[int]],
    cost: Sequence[Sequence[int | None]],
) -> bool:
    """Whether each kind finds room in its cheapest place; then that is the flow."""
    room = list(free)
    chosen = []
    for amount, costs in zip(left, cost, strict=True):
        cheapest = min((FAR if each is None else each, c) for c, each in enumerate(costs))
        room[cheapest[1]] -= amount
        if cheapest[0] == FAR or room[cheapest[1]] < 0:
            return False
        chosen.append(cheapest[1])
    for row, (amount, column) in enumerate(zip(left, chosen, strict=True)):
        flow[row][column] = amount
    return True


def _give_what_nobody_else_takes(
    left: list[int],
    free: list[int],
    flow: list[list[int]],
    cost: Sequence[Sequence[int | None]],
) -> None:
    """Fill the cheapest place of a kind with it where no other kind can go there."""
    takers = [sum(row[c] is not None for row in cost) for c in range(len(free))]
    for r, costs in enumerate(cost):
        cheapest, column = min((FAR if each is None else each, c) for c, each in enumerate(costs))
        if cheapest < FAR and takers[column] == 1:
            flow[r][column] = min(left[r], free[column])
            left[r] -= flow[r][column]
            free[column] -= flow[r][column]


def _cheapest_path(
    left: Sequence[int],
    free: Sequence[int],
    flow: Sequence[Sequence[int]],
    cost: Sequence[Sequence[int | None]],
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
