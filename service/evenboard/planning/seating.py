"""Which seat of its bin each load takes: who is plugged stays, large lamps to the bottom row.

A sum does not see this; moves, rows and breakers do. In each bin it is an assignment problem with
costs in order: a plugged load that changes its outlet, a row that is not the one of the lamp's
size, a breaker loaded above its continuous share, a larger outlet than needed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from evenboard.planning.measure import UNIT, IntArray
from evenboard.planning.problem import OUT, Problem

__all__ = ["Seating", "seated"]

MOVE, ROW, BREAKER, WASTE = 1 << 44, 1 << 34, 1 << 24, 1 << 10
IMPOSSIBLE = 1 << 58


@dataclass(frozen=True, slots=True, eq=False)
class Seating:
    """``seat`` (n,) of every load, -1 where it is out; moves, row steps and loaded breakers."""

    seat: IntArray
    moves: int
    rows: int
    breakers: int


def seated(problem: Problem, bins: Sequence[int] | IntArray) -> Seating | None:
    """Seat every load within its bin.

    Parameters
    ----------
    problem : Problem
        What is planned.
    bins : sequence of int, shape (n,)
        The bin of each load.

    Returns
    -------
    Seating or None
        The cheapest; None if the loads of a bin do not all find a seat.

    References
    ----------
    .. [1] The assignment problem by shortest augmenting paths: H. W. Kuhn, Naval Research Logistics
       Quarterly 2 (1955); R. Jonker, A. Volgenant, Computing 38 (1987).
    """
    seat = np.full(problem.count, -1, dtype=np.int64)
    members: dict[int, list[int]] = {}
    for load, bin_ in enumerate(np.asarray(bins).tolist()):
        if bin_ != OUT:
            members.setdefault(bin_, []).append(load)
    for bin_, loads in members.items():
        if not _seat(problem, bin_, loads, seat):
            return None
    placed = seat >= 0
    moved = int((placed & (problem.origin >= 0) & (seat != problem.origin)).sum())
    rows = breakers = 0
    for load in np.flatnonzero(placed).tolist():
        row, breaker, _ = _comfort(problem, load, int(seat[load]))
        rows += row
        breakers += breaker
    return Seating(seat, moved, rows, breakers)


def _comfort(problem: Problem, load: int, seat: int) -> tuple[int, int, int]:
    """Row steps away from the lamp's own, breaker above its share, amps of outlet unused."""
    place = problem.seats[seat]
    row = 0 if place.row is None else abs(place.row - int(problem.size[load]))
    kind = place.outlet.type
    amps = int(problem.amps[load, len(place.lines)])
    share = problem.layout.limits.breaker_loading_pct / 100.0
    loaded = kind.breaker is not None and amps > kind.breaker.rating_a * share * UNIT
    return row, int(loaded), min(int(max(kind.rating_a - amps / UNIT, 0.0)), 1000)


def _seat(problem: Problem, bin_: int, loads: list[int], seat: IntArray) -> bool:
    seats = problem.bins[bin_].seats
    fits = problem.fits[np.ix_(loads, seats)]
    free = list(range(len(seats)))
    left = list(range(len(loads)))
    if bool(fits.all()):
        for k in list(left):
            origin = int(problem.origin[loads[k]])
            if origin in seats and seats.index(origin) in free:
                seat[loads[k]] = origin
                free.remove(seats.index(origin))
                left.remove(k)
    if not left:
        return True
    if len(left) > len(free):
        return False
    columns = _thinned(problem, bin_, free, loads, left)
    cost = np.full((len(left), len(columns)), IMPOSSIBLE, dtype=np.int64)
    for row, k in enumerate(left):
        origin = int(problem.origin[loads[k]])
        for column, o in enumerate(columns):
            if fits[k, o]:
                rank, breaker, waste = _comfort(problem, loads[k], seats[o])
                moved = origin >= 0 and seats[o] != origin
                cost[row, column] = (
                    moved * MOVE + rank * ROW + breaker * BREAKER + waste * WASTE + column
                )
    chosen = _cheapest(cost)
    if chosen is None:
        return False
    for row, column in enumerate(chosen):
        seat[loads[left[row]]] = seats[columns[column]]
    return True


def _thinned(
    problem: Problem, bin_: int, free: list[int], loads: list[int], left: list[int]
) -> list[int]:
    """Seats to choose from: of seats that are alike no more than there are loads."""
    seats = problem.bins[bin_].seats
    origins = {int(problem.origin[loads[k]]) for k in left}
    seen: dict[tuple[object, ...], int] = {}
    kept = []
    for o in free:
        kind = problem.seats[seats[o]].outlet.type
        alike = kind.row, kind.rating_a, kind.breaker, kind.connector, kind.neutral
        seen[alike] = seen.get(alike, 0) + 1
        if seen[alike] <= len(left) or seats[o] in origins:
            kept.append(o)
    return kept


def _cheapest(cost: IntArray) -> list[int] | None:
    """Column of each row, cheapest in all; None where some row finds none."""
    rows, columns = cost.shape
    row_price = [0] * (rows + 1)
    column_price = np.zeros(columns + 1, dtype=np.int64)
    row_of = np.zeros(columns + 1, dtype=np.int64)
    padded = np.zeros((rows + 1, columns + 1), dtype=np.int64)
    padded[1:, 1:] = cost
    for row in range(1, rows + 1):
        row_of[0] = row
        column = 0
        distance = np.full(columns + 1, IMPOSSIBLE * 2, dtype=np.int64)
        came_from = np.zeros(columns + 1, dtype=np.int64)
        done = np.zeros(columns + 1, dtype=np.bool_)
        while True:
            done[column] = True
            at = int(row_of[column])
            slack = padded[at] - row_price[at] - column_price
            better = ~done & (slack < distance)
            better[0] = False
            distance[better] = slack[better]
            came_from[better] = column
            open_ = np.where(done, IMPOSSIBLE * 4, distance)
            open_[0] = IMPOSSIBLE * 4
            nearest = int(open_.argmin())
            step = int(open_[nearest])
            if step >= IMPOSSIBLE // 2:
                return None
            for j in np.flatnonzero(done).tolist():
                row_price[int(row_of[j])] += step
                column_price[j] -= step
            distance[~done] -= step
            column = nearest
            if row_of[column] == 0:
                break
        while column:
            before = int(came_from[column])
            row_of[column] = row_of[before]
            column = before
    chosen = [0] * rows
    for column in range(1, columns + 1):
        if row_of[column]:
            chosen[int(row_of[column]) - 1] = column - 1
    return chosen
