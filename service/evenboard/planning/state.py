"""An assignment in the making: which bin each load is in, and what that adds up to."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from evenboard.planning.measure import IntArray, Levels, evenness
from evenboard.planning.problem import OUT, Problem

__all__ = ["State", "weight"]


class State:
    """Loads in bins with every sum kept up to date.

    ``bin`` (n,) holds a bin or :data:`OUT`; ``sums`` (S, m) the lines of the supply; ``inside``
    (rooms,) how many loads each room holds; ``use`` (K, S) what each meter carries.
    """

    __slots__ = ("bin", "inside", "problem", "sums", "use")

    def __init__(self, problem: Problem, bins: Sequence[int] | IntArray | None = None) -> None:
        self.problem = problem
        self.bin: IntArray = np.full(problem.count, OUT, dtype=np.int64)
        self.sums: IntArray = np.zeros((problem.setups, problem.lines), dtype=np.int64)
        self.inside: IntArray = np.zeros(len(problem.rooms), dtype=np.int64)
        self.use: IntArray = np.zeros((len(problem.meters), problem.setups), dtype=np.int64)
        if bins is not None:
            where = np.asarray(bins, dtype=np.int64)
            placed = np.flatnonzero(where != OUT)
            self.fill(placed.tolist(), where[placed].tolist())

    def copy(self) -> State:
        """The same, to be changed apart."""
        other = State.__new__(State)
        other.problem = self.problem
        other.bin, other.sums = self.bin.copy(), self.sums.copy()
        other.inside, other.use = self.inside.copy(), self.use.copy()
        return other

    def take_from(self, other: State) -> None:
        """Become what another state of the same problem is."""
        self.bin, self.sums = other.bin.copy(), other.sums.copy()
        self.inside, self.use = other.inside.copy(), other.use.copy()

    def without(self, loads: Sequence[int]) -> State:
        """Another, with some loads unplugged."""
        if 2 * len(loads) > self.problem.count:
            bins = self.bin.copy()
            bins[list(loads)] = OUT
            return State(self.problem, bins)
        other = self.copy()
        for load in loads:
            other.take(load)
        return other

    def levels(self) -> Levels:
        """Highest line, largest spread, sum of spreads. [0.1 A]"""
        highest, spread, total = evenness(self.sums)
        return int(highest), int(spread), int(total)

    @property
    def moves(self) -> int:
        """Plugged loads that are in another bin; a seat may cost more."""
        plugged = (self.problem.home != OUT) & (self.bin != OUT)
        return int((plugged & (self.bin != self.problem.home)).sum())

    @property
    def is_within_limit(self) -> bool:
        """Whether no more loads are away from home than may move."""
        limit = self.problem.move_limit
        return limit is None or self.moves <= limit

    @property
    def out(self) -> list[int]:
        """Loads that are in no bin."""
        return [int(i) for i in np.flatnonzero(self.bin == OUT)]

    def put(self, load: int, bin_: int) -> None:
        """Plug a load in, whether it fits or not."""
        self._add(load, bin_, 1)
        self.bin[load] = bin_

    def fill(self, loads: Sequence[int], bins: Sequence[int]) -> None:
        """Plug many loads in that are out, whether they fit or not."""
        problem = self.problem
        if not loads:
            return
        who, where = np.array(loads), np.array(bins)
        self.bin[who] = where
        amps = problem.amps[who, problem.width[where]][:, None] * problem.on[who]
        self.sums += amps.T @ problem.pattern[where]
        for r, room in enumerate(problem.rooms):
            self.inside[r] += np.count_nonzero(room.loads[who] & (where == room.bin))
        for kind, table in enumerate((amps, problem.leakage[who], problem.watts[who])):
            weighed = np.flatnonzero(problem.weighs == kind)
            if len(weighed):
                self.use[weighed] += problem.covers[where][:, weighed].T.astype(np.int64) @ table

    def take(self, load: int) -> int:
        """Unplug a load; the bin it was in."""
        bin_ = int(self.bin[load])
        if bin_ != OUT:
            self._add(load, bin_, -1)
            self.bin[load] = OUT
        return bin_

    def _add(self, load: int, bin_: int, sign: int) -> None:
        problem = self.problem
        self.sums[:, problem.bins[bin_].lines] += sign * problem.current(load, bin_)[:, None]
        for r in problem.rooms_of[bin_]:
            if problem.rooms[r].loads[load]:
                self.inside[r] += sign
        if len(problem.meters):
            self.use += sign * weight(problem, load, bin_)

    def can_put(self, load: int, bin_: int) -> bool:
        """Whether a load that is out finds a seat in a bin and breaks no meter."""
        problem = self.problem
        if not problem.allowed[load, bin_]:
            return False
        for r in problem.rooms_of[bin_]:
            if problem.rooms[r].loads[load] and self.inside[r] >= problem.rooms[r].most:
                return False
        if not len(problem.meters):
            return True
        more = weight(problem, load, bin_)
        return not bool(((self.use + more > problem.limit[:, None]) & (more > 0)).any())

    def open_bins(self, load: int) -> IntArray:
        """The bins that a load that is out can be put in, as :meth:`can_put` says, in order."""
        problem = self.problem
        may = problem.allowed[load].copy()
        for bin_ in np.flatnonzero(may).tolist():
            for r in problem.rooms_of[bin_]:
                room = problem.rooms[r]
                if self.inside[r] >= room.most and room.loads[load]:
                    may[bin_] = False
        for width in set(problem.width[may].tolist()) if len(problem.meters) else ():
            amps = problem.amps[load, width] * problem.on[load]
            table = np.stack([amps, problem.leakage[load], problem.watts[load]])
            more = table[problem.weighs]
            over = ((self.use + more > problem.limit[:, None]) & (more > 0)).any(axis=1)
            may &= ~(problem.covers[:, over].any(axis=1) & (problem.width == width))
        return np.flatnonzero(may)

    def move(self, load: int, bin_: int) -> bool:
        """Move a load if that breaks nothing; whether it has moved."""
        before = self.take(load)
        if self.can_put(load, bin_):
            self.put(load, bin_)
            return True
        if before != OUT:
            self.put(load, before)
        return False

    def exchange(self, first: int, second: int) -> bool:
        """Let two loads change bins if that breaks nothing; whether they have."""
        problem = self.problem
        one, other = int(self.bin[first]), int(self.bin[second])
        if first == second:
            return False
        if problem.plain and one != OUT and other != OUT:
            if not (problem.allowed[first, other] and problem.allowed[second, one]):
                return False
            if problem.width[one] == problem.width[other]:
                change = problem.current(second, one) - problem.current(first, one)
                self.sums += change[:, None] * (problem.pattern[one] - problem.pattern[other])
                self.bin[first], self.bin[second] = other, one
                return True
        self.take(first)
        self.take(second)
        if other != OUT and self.can_put(first, other):
            self.put(first, other)
            if one != OUT and self.can_put(second, one):
                self.put(second, one)
                return True
            self.take(first)
        if one != OUT:
            self.put(first, one)
        if other != OUT:
            self.put(second, other)
        return False

    @property
    def is_sound(self) -> bool:
        """Whether no room and no meter is overrun."""
        problem = self.problem
        most = np.array([room.most for room in problem.rooms], dtype=np.int64)
        return bool((self.inside <= most).all() and (self.use <= problem.limit[:, None]).all())


def weight(problem: Problem, load: int, bin_: int) -> IntArray:
    """What a load in a bin adds to every meter.

    Parameters
    ----------
    problem : Problem
        What is to be planned.
    load, bin_ : int
        The load, and the bin it would be in.

    Returns
    -------
    ndarray, shape (K, S)
        0.1 A, 0.1 mA or W, as each meter weighs.

    References
    ----------
    .. [1] None; a reading of the problem's arrays.
    """
    amps = problem.current(load, bin_)
    added: IntArray
    if problem.only_amps:
        added = amps * problem.covers[bin_][:, None]
    else:
        table = np.stack([amps, problem.leakage[load], problem.watts[load]])
        added = table[problem.weighs] * problem.covers[bin_][:, None]
    return added
