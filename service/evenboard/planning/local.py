"""Swaps of loads, two at a time and four at a time, weighed all at once.

The search goes downhill on a potential: squared distance of every line from the mean of its
set-up, weighted by set-up. All swaps of two loads are one small matrix, so a step is a few array
operations; pairs of swaps are the product of the best single ones with themselves. An empty seat
counts as a load of nothing. Sums here are whole steps of 10 mA in double precision, small enough
that every product is exact: no library and no processor changes the outcome.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from evenboard.planning.measure import FloatArray, IntArray, Work, extremes
from evenboard.planning.problem import Problem
from evenboard.planning.state import State

__all__ = ["COARSE", "Aim", "Local"]

COARSE = 10_000
"""Microamps in a unit of the potential."""

HEAVIEST_WEIGHT = 4096.0
"""Of a set-up, times the least: its square in units of the potential stays exact (tried)."""

FORBIDDEN = float(2**60)
"""Change of the potential by what may not be done."""

MAX_TRIED = 12
"""Best swaps that are tried where ratings or seats may forbid them (tried)."""

SPARES = 4
"""Bins with empty seats that are looked at for each column (tried)."""


@dataclass(frozen=True, slots=True)
class Aim:
    """What a candidate is judged by: ``top`` the highest line aimed at, in units; how dear each.

    ``play`` is the least that a set-up is thought to have below the top: the less, the more a
    set-up without play outweighs the others.
    """

    top: float
    play: float = 3.0
    over: float = 100.0
    spread: float = 20.0


class Local:
    """The neighbourhood of a state for some loads that have one width of plug."""

    def __init__(
        self,
        state: State,
        loads: IntArray,
        aim: Aim,
        tolerance: float,
        stress: FloatArray,
        work: Work,
    ):
        problem = state.problem
        self.state, self.problem, self.work, self.aim = state, problem, work, aim
        self.loads = loads
        width = int(problem.width[state.bin[loads[0]]])
        spare = _spare_bins(state, width)
        self.real = len(loads)
        self.size = self.real + len(spare)
        amps = problem.amps[loads, width][:, None] * problem.on[loads]
        own = np.zeros((self.size, problem.setups))
        own[: self.real] = (amps + COARSE // 2) // COARSE
        self.own: FloatArray = own
        self.bins = np.concatenate([state.bin[loads], spare])
        self.allowed = np.concatenate(
            [problem.allowed[loads], np.ones((len(spare), len(problem.bins)), dtype=np.bool_)]
        )
        self.free = bool(self.allowed[:, np.unique(self.bins)].all())
        self.rows = np.arange(self.size)
        self.seats = np.array([len(b.seats) for b in problem.bins], dtype=np.int64)
        self.patterns = problem.columns.astype(np.float64)
        self.weigh(tolerance, stress)
        self.sync()

    def weigh(self, tolerance: float, stress: FloatArray) -> None:
        """Weight each set-up by how much play it has: ``tolerance`` units, less near the top.

        ``stress`` (S,) multiplies that: what has long been worst weighs more.
        """
        sums = self.state.sums
        mean = sums.sum(axis=1) / (COARSE * sums.shape[1])
        least = self.aim.play
        play = np.minimum(np.maximum(self.aim.top - mean, least), max(tolerance, least))
        ratio = float(play.max()) / play
        self.weight: FloatArray = np.minimum(np.floor(ratio * ratio * stress), HEAVIEST_WEIGHT)
        self.weighted = self.own * self.weight
        lines = float(sums.shape[1])
        self.cross: FloatArray = (-2.0 * lines) * (self.weighted @ self.own.T)
        self.square: FloatArray = self.cross.diagonal() * -0.5
        self.work.spend(self.size * self.size * (self.problem.setups // 2 + 2), 80)

    def sync(self) -> None:
        """Take sums and bins from the state."""
        sums = self.state.sums
        lines = sums.shape[1]
        total = sums.sum(axis=1)
        self.rest: FloatArray = ((lines * sums - total[:, None]) // COARSE).astype(np.float64)
        self.mean: FloatArray = total / (COARSE * lines)
        self.bins[: self.real] = self.state.bin[self.loads]
        self.column = self.problem.column[self.bins]
        placed = self.state.bin[self.state.bin >= 0]
        taken = np.bincount(placed, minlength=len(self.problem.bins))
        self.vacant: IntArray = self.seats - taken

    def changes(self) -> FloatArray:
        """What every swap does to the potential, shape (size, size)."""
        gain = (self.weighted @ self.rest) @ self.patterns.T
        one = gain[:, self.column]
        one -= (gain[self.rows, self.column] - self.square)[:, None]
        change: FloatArray = one + one.T
        change += self.cross
        if not self.free:
            may = self.allowed[:, self.bins]
            change[~(may & may.T)] = FORBIDDEN
        closed = self.real + np.flatnonzero(self.vacant[self.bins[self.real :]] <= 0)
        if len(closed):
            change[:, closed] = FORBIDDEN
            change[closed] = FORBIDDEN
        self.work.spend(7 * self.size * self.size, 16)
        return change

    def swap(self, first: int, second: int) -> bool:
        """Let two of them change places, a load and an empty seat too; whether that was sound."""
        if first >= self.real:
            first, second = second, first
        if first >= self.real:
            return False
        load, here, there = int(self.loads[first]), self.bins[first], self.bins[second]
        self.work.spend(0, 16)
        if second < self.real:
            done = self.state.exchange(load, int(self.loads[second]))
        else:
            done = self.state.move(load, int(there))
        if not done:
            return False
        shift = (self.own[first] - self.own[second]) * float(len(self.patterns[0]))
        self.rest += shift[:, None] * (
            self.patterns[self.column[second]] - self.patterns[self.column[first]]
        )
        self.bins[first] = there
        self.column[first] = self.problem.column[there]
        if second < self.real:
            self.bins[second] = here
            self.column[second] = self.problem.column[here]
        else:
            self.vacant[here] += 1
            self.vacant[there] -= 1
        return True

    def descend(self) -> FloatArray:
        """Take the best swap until none is better; the changes that are left to choose from."""
        while True:
            change = self.changes()
            if not self._step(change):
                return change
            if self.work.left <= 0:
                return self.changes()

    def _step(self, change: FloatArray) -> bool:
        for _ in range(MAX_TRIED):
            best = int(change.argmin())
            first, second = divmod(best, self.size)
            if change[first, second] > -0.5:
                return False
            if self.swap(first, second):
                return True
            change[first, second] = change[second, first] = FORBIDDEN
        return False

    def merit(self, rest: FloatArray) -> FloatArray:
        """How good residuals of shape (lines, setups, P) are, lower being better, shape (P,)."""
        lines = float(len(rest))
        highest, lowest = extremes(rest)
        spread = highest - lowest
        over = (highest / lines + self.mean[:, None]).max(axis=0) - self.aim.top
        merit: FloatArray = self.aim.over * np.maximum(over, 0.0) * lines
        merit += self.aim.spread * spread.max(axis=0)
        merit += spread.sum(axis=0)
        return merit

    @property
    def now(self) -> float:
        """Merit of the state as it is."""
        return float(self.merit(self.rest.T[:, :, None])[0])

    def deepen(self, change: FloatArray, pool: int, most: int) -> bool:
        """Look for one swap, or two at once, that betters the merit, and make the best."""
        apart = self.column[:, None] < self.column[None, :]
        flat = np.flatnonzero(apart & (change < FORBIDDEN))
        value = change.ravel()[flat]
        if len(value) > pool:
            keep = value <= np.partition(value, pool)[pool]
            flat, value = flat[keep][:pool], value[keep][:pool]
        count = len(flat)
        if not count:
            return False
        first, second = np.divmod(flat, self.size)
        move = self.patterns[self.column[second]] - self.patterns[self.column[first]]
        delta = move.T[:, None, :] * (self.own[first] - self.own[second]).T
        lines = float(len(delta))
        rows = delta.reshape(-1, count)
        pair = (rows * np.tile(self.weight * lines, len(delta))[:, None]).T @ rows
        pair += value
        pair += value[:, None]
        index = np.arange(count)
        pair[index, index] = value
        work = count * count * (10 + len(rows) // 3) + 12 * self.size * self.size
        self.work.spend(work, 100)
        lowest = pair.min(axis=1)
        rank = min(64, count - 1)
        near = np.flatnonzero((pair <= np.partition(lowest, rank)[rank]).ravel())
        one, two = np.divmod(near, count)
        keep = one <= two
        one, two = one[keep], two[keep]
        keep = (one == two) | ~self._collide(first, second, one, two)
        one, two = one[keep][:most], two[keep][:most]
        if not len(one):
            return False
        after = np.take(delta, one, axis=2)
        also = np.take(delta, two, axis=2)
        also[:, :, one == two] = 0.0
        after += also
        after *= lines
        after += self.rest.T[:, :, None]
        merit = self.merit(after)
        self.work.spend(after.size * 8)
        now = self.now
        for best in np.argsort(merit, kind="stable")[:MAX_TRIED].tolist():
            if merit[best] >= now - 0.5:
                return False
            steps = [(int(first[one[best]]), int(second[one[best]]))]
            if one[best] != two[best]:
                steps.append((int(first[two[best]]), int(second[two[best]])))
            if self._take(steps):
                return True
        return False

    def _take(self, steps: list[tuple[int, int]]) -> bool:
        touched = [int(self.loads[i]) for step in steps for i in step if i < self.real]
        before = [int(self.state.bin[load]) for load in touched]
        if all(self.swap(first, second) for first, second in steps):
            return True
        for load in touched:
            self.state.take(load)
        for load, bin_ in zip(touched, before, strict=True):
            self.state.put(load, bin_)
        self.sync()
        return False

    def _collide(
        self,
        first: NDArray[np.intp],
        second: NDArray[np.intp],
        one: NDArray[np.intp],
        two: NDArray[np.intp],
    ) -> NDArray[np.bool_]:
        a, b, c, d = first[one], second[one], first[two], second[two]
        hits: NDArray[np.bool_] = ((a == c) | (a == d)) & (a < self.real)
        hits |= ((b == c) | (b == d)) & (b < self.real)
        return hits


def _spare_bins(state: State, width: int) -> IntArray:
    """Bins of a width that a load may move to: of each column those with the most empty seats."""
    problem: Problem = state.problem
    placed = state.bin[state.bin >= 0]
    taken = np.bincount(placed, minlength=len(problem.bins))
    chosen: list[int] = []
    for column in range(len(problem.columns)):
        here = [
            (int(taken[b]) - len(bin_.seats), b)
            for b, bin_ in enumerate(problem.bins)
            if problem.column[b] == column and problem.width[b] == width and not bin_.fixed
        ]
        chosen += [b for _, b in sorted(here)[:SPARES]]
    return np.array(chosen, dtype=np.int64)
