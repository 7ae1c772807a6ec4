"""Loads put into bins one after another, each where it burdens the lines least.

In plain numbers and lists: for one load at a time these are several times faster than arrays. What
is put in is written to the state at the end.
"""

from __future__ import annotations

import numpy as np

from evenboard.planning.meters import AMPS, LEAKAGE
from evenboard.planning.problem import OUT, Problem
from evenboard.planning.state import State

__all__ = ["Filling"]

Column = tuple[int, int, tuple[int, ...], list[int]]
"""Its number, how many lines, which, and the bins that are on them."""

Added = list[tuple[int, list[tuple[int, int]]]]
"""Meters, and what each gets in which set-up."""


class Filling:
    """A state in the filling.

    Parameters
    ----------
    state : State
        Is changed by :meth:`finish`.

    References
    ----------
    .. [1] Longest processing time first: R. L. Graham, SIAM J. Appl. Math. 17 (1969).
    """

    def __init__(self, state: State) -> None:
        problem = state.problem
        self._state, self._problem = state, problem
        self._sums: list[list[int]] = state.sums.T.tolist()
        self._inside: list[int] = state.inside.tolist()
        self._use: list[list[int]] = state.use.tolist()
        self._limit: list[int] = problem.limit.tolist()
        self._weighs: list[int] = problem.weighs.tolist()
        self._full = [
            max(use) / max(limit, 1) for use, limit in zip(self._use, self._limit, strict=True)
        ]
        self._own, self._common = _shared_meters(problem)
        self._sees: dict[int, list[int]] = {}
        for bin_, own in enumerate(self._own):
            for k in own:
                self._sees.setdefault(k, []).append(bin_)
        self._share = [self._fullest(bin_) for bin_ in range(len(problem.bins))]
        self._rooms = [(room.loads.tolist(), room.most) for room in problem.rooms]
        self._for_all = [
            bool((room.loads >= problem.allowed[:, room.bin]).all()) for room in problem.rooms
        ]
        self._closed: set[int] = set()
        self._lit = [[s for s, on in enumerate(row) if on] for row in problem.on.tolist()]
        self._moves = state.moves
        self._columns: dict[bytes, list[Column]] = {}
        self._placed: dict[int, int] = {}

    def place(self, load: int) -> bool:
        """Put a load that is out where the squares of the sums grow least; whether it is in now."""
        problem = self._problem
        home = int(problem.home[load])
        stays = problem.move_limit is not None and home != OUT
        stays = stays and self._moves >= (problem.move_limit or 0)
        lit, amps = self._lit[load], problem.amps[load].tolist()
        columns = self._columns_of(load)
        costs: dict[int, list[Column]] = {}
        for column in columns:
            _, width, lines, _ = column
            amount = amps[width]
            base = sum(self._sums[line][s] for line in lines for s in lit)
            cost = amount * (2 * base + amount * width * len(lit))
            costs.setdefault(cost, []).append(column)
        many = sum(len(column[3]) for column in columns) > problem.lines
        for cost in sorted(costs):
            # What meters that all bins on some lines are behind do not take, none of these takes.
            bins, shared = [], {}
            for number, width, _, here in costs[cost]:
                shared[number] = self._added(load, self._common[number], amps[width], lit)
                if shared[number] is not None:
                    bins += [b for b in here if b not in self._closed]
            bins.sort()
            if many and self._limit:
                bins.sort(key=self._share.__getitem__)
            for bin_ in bins:
                added = shared[int(problem.column[bin_])]
                if (not stays or bin_ == home) and self._put(load, bin_, amps, lit, added):
                    self._moves += home not in (OUT, bin_)
                    return True
        return False

    def put(self, load: int, bin_: int) -> bool:
        """Put a load that is out into a bin if that breaks nothing; whether it is in now."""
        if not self._problem.allowed[load, bin_]:
            return False
        amps, lit = self._problem.amps[load].tolist(), self._lit[load]
        column, width = int(self._problem.column[bin_]), int(self._problem.width[bin_])
        shared = self._added(load, self._common[column], amps[width], lit)
        return self._put(load, bin_, amps, lit, shared)

    def finish(self) -> None:
        """Write to the state what has been put in."""
        self._state.fill(list(self._placed), list(self._placed.values()))
        self._placed = {}

    def _columns_of(self, load: int) -> list[Column]:
        """Where a load may go, by lines."""
        problem = self._problem
        row = problem.allowed[load]
        key = row.tobytes()
        if key not in self._columns:
            found: dict[int, Column] = {}
            for bin_ in row.nonzero()[0].tolist():
                column = int(problem.column[bin_])
                here = found.setdefault(
                    column, (column, int(problem.width[bin_]), problem.bins[bin_].lines, [])
                )
                here[3].append(bin_)
            self._columns[key] = list(found.values())
        return self._columns[key]

    def _fullest(self, bin_: int) -> float:
        """How full the fullest meter is that not all bins on the same lines are behind."""
        return max([self._full[k] for k in self._own[bin_]], default=0.0)

    def _added(self, load: int, meters: list[int], amount: int, lit: list[int]) -> Added | None:
        """What a load adds to meters, by set-up; None if one would be overrun."""
        problem, added = self._problem, []
        for k in meters:
            if self._weighs[k] == AMPS:
                more = [(s, amount) for s in lit]
            else:
                table = problem.leakage if self._weighs[k] == LEAKAGE else problem.watts
                more = [(s, x) for s, x in enumerate(table[load].tolist()) if x > 0]
            use, limit = self._use[k], self._limit[k]
            for s, x in more:
                if x > 0 and use[s] + x > limit:
                    return None
            added.append((k, more))
        return added

    def _put(
        self, load: int, bin_: int, amps: list[int], lit: list[int], shared: Added | None
    ) -> bool:
        """Put a load into a bin if that breaks nothing, the meters of all on its lines seen to."""
        problem = self._problem
        rooms = [r for r in problem.rooms_of[bin_] if self._rooms[r][0][load]]
        if shared is None or any(self._inside[r] >= self._rooms[r][1] for r in rooms):
            return False
        amount = amps[int(problem.width[bin_])]
        own = self._added(load, self._own[bin_], amount, lit)
        if own is None:
            return False
        added = [*shared, *own]
        for k, more in added:
            use = self._use[k]
            for s, x in more:
                use[s] += x
            self._full[k] = max(use) / max(self._limit[k], 1)
        for k, _ in added:
            for other in self._sees.get(k, ()):
                self._share[other] = self._fullest(other)
        for line in problem.bins[bin_].lines:
            sums = self._sums[line]
            for s in lit:
                sums[s] += amount
        for r in rooms:
            self._inside[r] += 1
            if self._for_all[r] and self._inside[r] >= self._rooms[r][1]:
                self._closed.add(bin_)
        self._placed[load] = bin_
        return True


def _shared_meters(problem: Problem) -> tuple[list[list[int]], list[list[int]]]:
    """Meters that some bins on the same lines are behind, by bin; that all are, by column."""
    own: list[list[int]] = [[] for _ in problem.bins]
    common = []
    for column in range(len(problem.columns)):
        here = np.flatnonzero(problem.column == column)
        covers = problem.covers[here]
        shared = covers.all(axis=0)
        common.append(np.flatnonzero(shared).tolist())
        for bin_, row in zip(here.tolist(), covers & ~shared, strict=True):
            own[bin_] = np.flatnonzero(row).tolist()
    return own, common
