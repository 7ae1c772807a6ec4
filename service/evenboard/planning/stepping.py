"""One step of 0.1 A evener, all ways for some loads at a time.

Where lamps are coarse the last step needs several to change at once, which no walk downhill comes
upon.
"""

from __future__ import annotations

import numpy as np

from evenboard.planning.measure import STEP, IntArray, Levels, Work
from evenboard.planning.refine import Chance
from evenboard.planning.regroup import Request, near_bins, regroup
from evenboard.planning.state import State
from evenboard.planning.target import ANYTHING, NO_LIMIT, Window, window_for

__all__ = ["by_one_step"]

TOGETHER = 14
"""Loads that are plugged anew at once to gain a step: some millions of ways."""

ON_TWO = 22
"""Loads that are plugged anew at once on two lines only: some millions of ways as well."""

TRIES = 6
"""Choices of loads that are tried in vain before a level is left as it is."""


def by_one_step(
    state: State, loads: IntArray, floor: Levels, work: Work, *, constant: bool
) -> bool:
    """Lower the first level that is above its bound, a step at a time, until tries are in vain.

    Parameters
    ----------
    state : State
        Sound. Is changed for the better only.
    loads : ndarray of int64
        The placed loads that have a choice.
    floor : tuple of int
        Proven lower bounds of the levels. [0.1 A]
    work : Work
        What may be spent.
    constant : bool
        Whether the totals of the set-ups stay as they are, whatever goes where.

    Returns
    -------
    bool
        Whether the state is evener now.

    References
    ----------
    .. [1] Very large neighbourhoods: R. K. Ahuja et al., Discrete Applied Mathematics 123 (2002).
    """
    problem, chance = state.problem, Chance(7)
    before, failed = state.levels(), 0
    while failed < TRIES and work.left > 0 and len(loads) > 1:
        levels = state.levels()
        if levels[0] > floor[0]:
            aim = levels[0] - 1, NO_LIMIT, NO_LIMIT
        elif levels[1] > floor[1] and problem.setups == 1:
            # Where set-ups tie the loads, swaps even the spread for less work.
            aim = levels[0], levels[1] - 1, NO_LIMIT
        else:
            break
        window = window_for(state, aim, constant=constant)
        if problem.lines == 3 and constant:
            done = _line_by_line(state, loads, aim, window, chance, work)
        else:
            some = _on_the_worst(state, loads, chance, levels[0] > floor[0])
            request = Request(some, near_bins(state, some), window, aim)
            done = regroup(state, request, work, turn=chance.below(1 << 30))
        failed = 0 if done else failed + 1
    return state.levels() < before


def _line_by_line(
    state: State, loads: IntArray, aim: Levels, window: Window, chance: Chance, work: Work
) -> bool:
    """Bring one line into its window at the cost of another, then that and the third into theirs.

    In the set-up with the highest line; in the others all stay in their windows. On two lines many
    more loads can be plugged anew at once than on three.
    """
    setup = int(state.sums.max(axis=1).argmax())
    sums, low, high = state.sums[setup], window.low.copy(), window.high.copy()
    order = chance.sample(np.arange(3), 3).tolist()
    inside = (sums >= low[setup]) & (sums <= high[setup])
    if inside.sum() == 1:
        order = [int(inside.argmax()), *(line for line in order if not inside[line])]
    lit = loads[state.problem.on[loads, setup] > 0]
    trial = state.copy()
    if not inside[order[0]]:
        at_its_cost = order[1:]
        low[setup, at_its_cost], high[setup, at_its_cost] = 0, NO_LIMIT * STEP
        if not _on_two(trial, lit, order[:2], Window(low, high), ANYTHING, chance, work):
            return False
    if not _on_two(trial, lit, order[1:], window, aim, chance, work):
        return False
    state.take_from(trial)
    return True


def _on_two(
    state: State,
    loads: IntArray,
    lines: list[int],
    window: Window,
    aim: Levels,
    chance: Chance,
    work: Work,
) -> bool:
    """Plug some loads of two lines anew on these lines; whether that has come into the window."""
    problem = state.problem
    there = (problem.width == 1) & (problem.pattern[:, lines].sum(axis=1) > 0)
    some = chance.sample(loads[there[state.bin[loads]]], ON_TWO).tolist()
    bins = [each[there[each]] for each in near_bins(state, some)]
    request = Request(some, bins, window, aim)
    return bool(some) and regroup(state, request, work, turn=chance.below(1 << 30))


def _on_the_worst(state: State, loads: IntArray, chance: Chance, top: bool) -> list[int]:
    """Some loads of the highest line in its set-up, or in that of the largest spread; others."""
    problem = state.problem
    highest = state.sums.max(axis=1)
    worst = highest if top else highest - state.sums.min(axis=1)
    setup = int(worst.argmax())
    line = int(state.sums[setup].argmax())
    lit = problem.on[loads, setup] > 0
    there = problem.pattern[state.bin[loads], line] > 0
    first = chance.sample(loads[lit & there], TOGETHER // 2)
    rest = loads[~(lit & there)]
    return [*first.tolist(), *chance.sample(rest, TOGETHER - len(first)).tolist()]
