"""The whole aim of a plan as one comparable key, and the levels below the amps of the supply."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenboard.planning.measure import STEP, IntArray, evenness
from evenboard.planning.problem import OUT, Problem
from evenboard.planning.seating import Seater, Seating

__all__ = ["Boards", "Key", "group_unevenness", "key_of"]

Key = tuple[int, ...]
"""Highest line, largest spread, sum of spreads, moves, boards, groups, rows, breakers."""


@dataclass(frozen=True, slots=True, eq=False)
class Boards:
    """Evenness of the feeders of boards: ``behind`` (boards, B) and ``has`` (boards, m), 0 or 1.

    Only boards that have more than one line and are not all there is count.
    """

    behind: IntArray
    has: IntArray

    @classmethod
    def of(cls, problem: Problem) -> Boards:
        """Those of a problem."""
        layout = problem.layout
        below: list[set[int]] = [{b} for b in range(len(layout.boards))]
        for b in range(len(layout.boards) - 1, -1, -1):
            parent = layout.boards[b].parent
            if parent is not None:
                below[parent] |= below[b]
        where = [bin_.board for bin_ in problem.bins]
        behind, has = [], []
        for b, board in enumerate(layout.boards):
            row = [int(w in below[b]) for w in where]
            if len(board.supply_lines) > 1 and any(row) and not all(row):
                behind.append(row)
                has.append([int(line in board.supply_lines) for line in range(problem.lines)])
        shape = len(behind), len(problem.bins)
        return cls(
            np.array(behind, dtype=np.int64).reshape(shape),
            np.array(has, dtype=np.int64).reshape(len(behind), problem.lines),
        )

    def sums(self, problem: Problem, bins: IntArray) -> IntArray:
        """What each board's lines carry, shape (boards, S, m). [uA]"""
        placed = np.flatnonzero(bins != OUT)
        at = bins[placed]
        amps = problem.amps[placed, problem.width[at]][:, None] * problem.on[placed]
        each = amps[:, :, None] * problem.pattern[at][:, None, :]
        sums: IntArray = np.tensordot(self.behind[:, at], each, axes=1)
        return sums

    def unevenness(self, problem: Problem, bins: IntArray) -> int:
        """Sum over the boards of their largest spread. [0.1 A]"""
        if not len(self.behind):
            return 0
        has = self.has[:, None, :] > 0
        sums = self.sums(problem, bins)
        highest = np.where(has, sums, 0).max(axis=2)
        lowest = np.where(has, sums, np.iinfo(np.int64).max).min(axis=2)
        total = int((highest - lowest).max(axis=1).sum())
        return (total + STEP // 2) // STEP


def group_unevenness(problem: Problem, bins: IntArray) -> int:
    """How far like lamps are from being spread over the lines.

    Parameters
    ----------
    problem : Problem
        What is planned.
    bins : ndarray, shape (n,)
        The bin of each load, or ``OUT``.

    Returns
    -------
    int
        Most less fewest of a group on a line, summed over the groups.

    References
    ----------
    .. [1] Spread like lamps over the phases: common practice, no source.
    """
    placed = np.flatnonzero(bins != OUT)
    if not len(placed) or problem.lines < 2:
        return 0
    counts = np.zeros((int(problem.group.max()) + 1, problem.lines), dtype=np.int64)
    np.add.at(counts, problem.group[placed], problem.pattern[bins[placed]])
    return int((counts.max(axis=1) - counts.min(axis=1)).sum())


def key_of(boards: Boards, seater: Seater, bins: IntArray) -> tuple[Key, Seating] | None:
    """The key that assignments are ranked by.

    Parameters
    ----------
    boards : Boards
        The boards below the supply, whose evenness counts too.
    seater : Seater
        Knows the problem and finds the outlets.
    bins : ndarray, shape (n,)
        The bin of each load, or ``OUT``.

    Returns
    -------
    tuple of Key and Seating, or None
        The key, lower being better, and the outlets; None where the outlets do not do.

    References
    ----------
    .. [1] README.md of this room: the aim, level by level.
    """
    problem = seater.problem
    seating = seater.seated(bins)
    if seating is None:
        return None
    sums = np.zeros((problem.setups, problem.lines), dtype=np.int64)
    placed = np.flatnonzero(bins != OUT)
    amps = problem.amps[placed, problem.width[bins[placed]]][:, None] * problem.on[placed]
    sums += amps.T @ problem.pattern[bins[placed]]
    highest, spread, total = (int(x) for x in evenness(sums))
    key = (
        *(highest, spread, total, seating.moves),
        *(boards.unevenness(problem, bins), group_unevenness(problem, bins)),
        *(seating.rows, seating.breakers),
    )
    return key, seating
