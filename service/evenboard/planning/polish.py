"""The levels below the amps of the supply: boards, like lamps apart, rows.

Done by exchanges that leave the levels above as they are: two loads on the same lines, or two that
draw the same. What each does to boards and groups is worked out for all at once; rows, which need
outlets, are then looked at one by one.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenboard.planning.finish import Boards, Key, key_of
from evenboard.planning.measure import STEP, IntArray, Work
from evenboard.planning.problem import OUT, BoolArray, Problem
from evenboard.planning.seating import Seater
from evenboard.planning.state import State

__all__ = ["polish"]

CELLS_AT_MOST = 100_000
"""Sums of boards that are worked out at once."""

LOOKED_AT = 12
"""Of the exchanges that promise something, how many are tried before another look at all."""

SEATED = 400
"""Work units of seating one load, which is done without arrays."""

SHARE = 16
"""Part of the budget that may go here."""


@dataclass(frozen=True, slots=True, eq=False)
class _Exchanges:
    """Loads ``one`` (P,) change places with ``other``, or move to ``bin`` where that is OUT."""

    one: IntArray
    other: IntArray
    bin: IntArray


def polish(state: State, seater: Seater, work: Work) -> State:
    """Better boards, groups and rows without touching what stands above them.

    Parameters
    ----------
    state : State
        Sound. Is left as it is.
    seater : Seater
        Finds the outlets.
    work : Work
        Counts what is done, and ends the search when a share of it has run out.

    Returns
    -------
    State
        No worse in any level than before, in order.

    References
    ----------
    .. [1] Common practice, no source: like lamps over all phases, large ones in the bottom row.
    """
    boards = Boards.of(state.problem)
    first = key_of(boards, seater, state.bin)
    work.spend(state.problem.count * SEATED, 60)
    if first is None:
        return state
    best, key = state, first[0]
    end = work.left - max(work.budget // SHARE, 0)
    tried: set[tuple[int, int, int]] = set()
    while any(key[4:7]) and work.left > end:
        found = _exchanges(best, boards, key, work)
        lower = _lower(best, boards, found, work)
        improved = False
        size = state.problem.size
        apart = np.where(found.other == OUT, 0, -abs(size[found.one] - size[found.other]))
        for index in np.lexsort((apart, lower))[:LOOKED_AT].tolist():
            step = int(found.one[index]), int(found.other[index]), int(found.bin[index])
            if step in tried or lower[index] > key[4] * _BOARD + key[5] or work.left <= end:
                continue
            tried.add(step)
            trial = best.copy()
            done = trial.exchange(*step[:2]) if step[1] >= 0 else trial.move(step[0], step[2])
            work.spend(0, 12)
            if not done or trial.levels() > key[:3]:
                continue
            keyed = key_of(boards, seater, trial.bin)
            work.spend(state.problem.count * SEATED, 60)
            if keyed is not None and keyed[0] < key:
                best, key, improved = trial, keyed[0], True
                break
        if not improved:
            break
        tried.clear()
    return best


_BOARD = 1 << 20
"""A step of uneven boards against uneven groups, which are below it."""


def _exchanges(state: State, boards: Boards, key: Key, work: Work) -> _Exchanges:
    """Pairs that may change places, and loads that may move to another bin on their lines."""
    problem, at = state.problem, state.bin
    movable = np.flatnonzero((at != OUT) & ~problem.pinned & (problem.allowed.sum(axis=1) > 1))
    cells = max(len(boards.behind), 1) * problem.setups * problem.lines
    most = max(CELLS_AT_MOST // cells, 64)
    loads = movable[: int(most**0.5 * 2)]
    here = at[loads]
    work.spend(len(loads) * (8 * len(loads) + 4 * len(problem.bins)), 40)
    apart = here[:, None] < here[None, :]
    same = problem.column[here][:, None] == problem.column[here][None, :]
    if key[5]:
        same |= _alike(problem, loads)
    kind = problem.kind[loads]
    pairs = apart & same & (kind[:, None] != kind[None, :])
    may = problem.allowed[np.ix_(loads, here)]
    one, other = np.nonzero(pairs & may & may.T)
    empty = _with_room(state)
    free = problem.allowed[loads] & empty & (here[:, None] != np.arange(len(problem.bins)))
    free &= problem.column[here][:, None] == problem.column[None, :]
    who, where = np.nonzero(free)
    found = _Exchanges(
        np.concatenate([loads[one], loads[who]]),
        np.concatenate([loads[other], np.full(len(who), OUT, dtype=np.int64)]),
        np.concatenate([here[other], where]),
    )
    keep = _moves_more(problem, state, found) <= 0
    index = np.flatnonzero(keep)[:most]
    return _Exchanges(found.one[index], found.other[index], found.bin[index])


def _alike(problem: Problem, loads: IntArray) -> BoolArray:
    """Which of some loads draw the same in every set-up, however plugged."""
    draw = np.concatenate([problem.amps[loads], problem.on[loads]], axis=1)
    _, number = np.unique(draw, axis=0, return_inverse=True)
    number = number.reshape(-1)
    return np.asarray(number[:, None] == number[None, :])


def _with_room(state: State) -> BoolArray:
    """Which bins have more seats than loads."""
    problem = state.problem
    taken = np.bincount(state.bin[state.bin != OUT], minlength=len(problem.bins))
    seats = np.array([len(b.seats) for b in problem.bins], dtype=np.int64)
    return np.asarray(taken < seats)


def _moves_more(problem: Problem, state: State, found: _Exchanges) -> IntArray:
    """Plugged loads that an exchange takes away from home, less those that it brings there."""
    more = np.zeros(len(found.one), dtype=np.int64)
    for who, there in ((found.one, found.bin), (found.other, state.bin[found.one])):
        home = np.where(who == OUT, OUT, problem.home[who])
        plugged = home != OUT
        more += (plugged & (there != home)).astype(np.int64)
        more -= plugged & (state.bin[who] != home)
    return more


def _lower(state: State, boards: Boards, found: _Exchanges, work: Work) -> IntArray:
    """Boards and groups after each exchange, as one number, lower being better."""
    problem, at = state.problem, state.bin
    count = len(found.one)
    first, second = problem.pattern[at[found.one]], problem.pattern[found.bin]
    result = np.zeros(count, dtype=np.int64)
    if len(boards.behind) and count:
        width = problem.width[at[found.one]]
        own = problem.amps[found.one, width][:, None] * problem.on[found.one]
        moved = problem.amps[found.other, width][:, None] * problem.on[found.other]
        given = np.where(found.other[:, None] == OUT, 0, moved) - own
        sums = boards.sums(problem, at)
        for behind, has, each in zip(boards.behind, boards.has, sums, strict=True):
            there = behind[at[found.one]][:, None] * first - behind[found.bin][:, None] * second
            after = (each + given[:, :, None] * there[:, None, :])[:, :, has > 0]
            result += (after.max(axis=2) - after.min(axis=2)).max(axis=1)
            work.spend(after.size * 4, 12)
    result = (result + STEP // 2) // STEP * _BOARD
    counts = np.zeros((int(problem.group.max(initial=0)) + 1, problem.lines), dtype=np.int64)
    placed = np.flatnonzero(at != OUT)
    np.add.at(counts, problem.group[placed], problem.pattern[at[placed]])
    spread = counts.max(axis=1) - counts.min(axis=1)
    result += int(spread.sum())
    for who, change in ((found.one, second - first), (found.other, first - second)):
        group = problem.group[who]
        after = counts[group] + change
        alone = (who != OUT) & (problem.group[found.one] != problem.group[found.other])
        alone |= found.other == OUT
        alone &= who != OUT
        result += np.where(alone, after.max(axis=1) - after.min(axis=1) - spread[group], 0)
    return result
