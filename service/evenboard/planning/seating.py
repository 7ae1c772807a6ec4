"""Which seat of its bin each load takes: who is plugged stays, large lamps to the bottom row.

A sum does not see this; moves, rows and breakers do. In each bin it is a transportation problem
with costs in order: a plugged load that changes its outlet, a row that is not the one of the lamp's
size, a breaker loaded above its continuous share, a larger outlet than needed.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from evenboard.planning.measure import UNIT, IntArray
from evenboard.planning.problem import OUT, Problem
from evenboard.planning.transport import transport

__all__ = ["Seater", "Seating"]

MOVE, ROW, BREAKER = 1 << 60, 1 << 40, 1 << 20
"""What a move, a step of row and a loaded breaker cost against amps of an outlet's rating."""


@dataclass(frozen=True, slots=True, eq=False)
class Seating:
    """``seat`` (n,) of every load, -1 where it is out; moves, row steps and loaded breakers."""

    seat: IntArray
    moves: int
    rows: int
    breakers: int


@dataclass(frozen=True, slots=True)
class _Kind:
    """Seats of a bin that differ in nothing a load would notice.

    ``carries`` is the share of its breaker that a load may lastingly take, ``takes`` (n,) which
    loads fit in. [uA]
    """

    row: int | None
    rating_a: float
    carries: float
    takes: tuple[bool, ...]
    seats: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class _Bin:
    """The seats taken in a bin, in the order of its loads; None where they do not do."""

    seats: tuple[int, ...] | None
    moves: int = 0
    rows: int = 0
    breakers: int = 0


class Seater:
    """Seats the loads of bins; what was once worked out for a bin is kept."""

    __slots__ = ("_amps", "_at", "_cost", "_kind", "_known", "_origin", "_size", "kinds", "problem")

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        takes: dict[bytes, tuple[bool, ...]] = {}
        self.kinds = [_kinds(problem, bin_.seats, takes) for bin_ in problem.bins]
        self._at = {seat: kind for kinds in self.kinds for kind in kinds for seat in kind.seats}
        self._size: list[int] = problem.size.tolist()
        self._kind: list[int] = problem.kind.tolist()
        self._origin: list[int] = problem.origin.tolist()
        self._amps: list[list[int]] = problem.amps.tolist()
        self._known: dict[tuple[int, ...], _Bin] = {}
        self._cost: dict[tuple[int, int], tuple[int | None, ...]] = {}

    def seated(self, bins: Sequence[int] | IntArray) -> Seating | None:
        """Seat every load within its bin.

        Parameters
        ----------
        bins : sequence of int, shape (n,)
            The bin of each load.

        Returns
        -------
        Seating or None
            The cheapest; None if the loads of a bin do not all find a seat.

        References
        ----------
        .. [1] :func:`evenboard.planning.transport.transport`.
        """
        members: dict[int, list[int]] = {}
        for load, bin_ in enumerate(np.asarray(bins).tolist()):
            if bin_ != OUT:
                members.setdefault(bin_, []).append(load)
        seat = np.full(self.problem.count, -1, dtype=np.int64)
        moves = rows = breakers = 0
        for bin_, loads in members.items():
            key = (bin_, *loads)
            if key not in self._known:
                self._known[key] = self._seat(bin_, loads)
            found = self._known[key]
            if found.seats is None:
                return None
            seat[loads] = found.seats
            moves += found.moves
            rows += found.rows
            breakers += found.breakers
        return Seating(seat, moves, rows, breakers)

    def _seat(self, bin_: int, loads: list[int]) -> _Bin:
        problem, kinds = self.problem, self.kinds[bin_]
        width = len(problem.bins[bin_].lines)
        origin = [self._origin[load] for load in loads]
        mine = set(problem.bins[bin_].seats)
        stays = {k: o for k, o in enumerate(origin) if o in mine}
        chosen = self._share_out(kinds, loads, width, stays)
        if chosen is None and stays:
            # One who stays bars the only seat of another.
            chosen = self._share_out(_apart(kinds, set(stays.values())), loads, width, {}, stays)
        if chosen is None:
            return _Bin(None)
        rows = breakers = 0
        for k, place in chosen.items():
            row, breaker = self._comfort(loads[k], self._at[place], width)
            rows += row
            breakers += breaker
        moves = sum(o >= 0 and chosen[k] != o for k, o in enumerate(origin))
        return _Bin(tuple(chosen[k] for k in range(len(loads))), moves, rows, breakers)

    def _share_out(
        self,
        kinds: Sequence[_Kind],
        loads: list[int],
        width: int,
        seat: dict[int, int],
        stays: dict[int, int] | None = None,
    ) -> dict[int, int] | None:
        """Seats for the loads that have none yet, cheapest in all; None where some find none.

        ``stays`` are seats that loads leave only if they must.
        """
        left = [k for k in range(len(loads)) if k not in seat]
        if not left:
            return dict(seat)
        taken = set(seat.values())
        free = [[o for o in kind.seats if o not in taken] for kind in kinds]
        groups: dict[tuple[int | None, ...], list[int]] = {}
        for k in left:
            if stays is not None:
                costs = self._costs(loads[k], kinds, width, stays.get(k))
            else:
                key = self._kind[loads[k]], kinds[0].seats[0]
                if key not in self._cost:
                    self._cost[key] = self._costs(loads[k], kinds, width, None)
                costs = self._cost[key]
            groups.setdefault(costs, []).append(k)
        flow = transport(
            [len(group) for group in groups.values()], [len(each) for each in free], list(groups)
        )
        if sum(map(sum, flow)) < len(left):
            return None
        chosen = dict(seat)
        used = [0] * len(kinds)
        for group, row in zip(groups.values(), flow, strict=True):
            waiting = iter(group)
            for kind, amount in enumerate(row):
                for _ in range(amount):
                    chosen[next(waiting)] = free[kind][used[kind]]
                    used[kind] += 1
        return chosen

    def _costs(
        self, load: int, kinds: Sequence[_Kind], width: int, own: int | None
    ) -> tuple[int | None, ...]:
        costs: list[int | None] = []
        for kind in kinds:
            if not kind.takes[load]:
                costs.append(None)
                continue
            row, breaker = self._comfort(load, kind, width)
            moved = own is not None and kind.seats != (own,)
            cost = moved * MOVE + row * ROW + breaker * BREAKER + min(int(kind.rating_a), 1000)
            costs.append(cost)
        return tuple(costs)

    def _comfort(self, load: int, kind: _Kind, width: int) -> tuple[int, int]:
        """Row steps away from the lamp's own, and whether its breaker is above its share."""
        row = 0 if kind.row is None else abs(kind.row - self._size[load])
        return row, int(self._amps[load][width] > kind.carries)


def _apart(kinds: Sequence[_Kind], seats: set[int]) -> list[_Kind]:
    """Kinds with some seats taken out, each of a kind of its own."""
    split = []
    for kind in kinds:
        rest = tuple(o for o in kind.seats if o not in seats)
        alone = [(o,) for o in kind.seats if o in seats]
        split += [replace(kind, seats=part) for part in ([rest] if rest else []) + alone]
    return split


def _kinds(
    problem: Problem, seats: Sequence[int], takes: dict[bytes, tuple[bool, ...]]
) -> list[_Kind]:
    """Seats by row, rating, breaker and who fits in; ``takes`` keeps what was read of that."""
    share = problem.layout.limits.breaker_loading_pct / 100.0 * UNIT
    found: dict[tuple[int | None, float, float, bytes], list[int]] = {}
    for seat in seats:
        place = problem.seats[seat]
        kind = place.outlet.type
        carries = math.inf if kind.breaker is None else kind.breaker.rating_a * share
        key = place.row, kind.rating_a, carries, problem.fits[:, seat].tobytes()
        found.setdefault(key, []).append(seat)
    for *_, who in found:
        if who not in takes:
            takes[who] = tuple(np.frombuffer(who, dtype=np.bool_).tolist())
    return [_Kind(*key[:3], takes[key[3]], tuple(members)) for key, members in found.items()]
