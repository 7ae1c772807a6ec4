"""A first assignment: largest first onto the line that it burdens least, room made if need be."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from evenboard.planning.filling import Filling
from evenboard.planning.measure import Work
from evenboard.planning.problem import OUT, Problem
from evenboard.planning.state import State

__all__ = ["first_state", "make_room", "make_rooms", "place_all"]

GIVEN_UP_AFTER = 4
"""Loads in a row for which no room is found before the others are not tried any more."""


def first_state(problem: Problem, work: Work, *, stay: bool) -> State:
    """Every load in a bin, as far as they go.

    Parameters
    ----------
    problem : Problem
        What is to be planned.
    work : Work
        Counts what is done.
    stay : bool
        Whether plugged loads start where they are, or are planned afresh with the loose ones.

    Returns
    -------
    State
        Sound; loads for which no room was found are out.

    References
    ----------
    .. [1] Longest processing time first: R. L. Graham, SIAM J. Appl. Math. 17 (1969).
    """
    state = State(problem)
    fixed = problem.pinned | (problem.allowed.sum(axis=1) == 1)
    first = [i for i in np.flatnonzero(problem.home != OUT).tolist() if stay or fixed[i]]
    filling = Filling(state)
    for load in sorted(first, key=lambda i: (not problem.pinned[i], i)):
        filling.put(load, int(problem.home[load]))
    filling.finish()
    place_all(state, [i for i in range(problem.count) if state.bin[i] == OUT], work)
    return state


def place_all(state: State, loads: Iterable[int], work: Work) -> list[int]:
    """Place loads that are out, the least free and the largest first.

    Parameters
    ----------
    state : State
        Is changed.
    loads : iterable of int
        Loads that are out.
    work : Work
        Counts what is done.

    Returns
    -------
    list of int
        The loads for which no room was found.

    References
    ----------
    .. [1] As :func:`first_state`.
    """
    problem = state.problem
    total, choices = problem.total, problem.allowed.sum(axis=1)
    order = sorted(loads, key=lambda i: (int(choices[i]) > 1, -int(total[i]), int(choices[i]), i))
    filling = Filling(state)
    left = [load for load in order if not filling.place(load)]
    filling.finish()
    return make_rooms(state, left, work)


def make_rooms(state: State, loads: Iterable[int], work: Work) -> list[int]:
    """Place loads by moving others out of their way, until some in a row do not go in.

    Parameters
    ----------
    state : State
        Is changed.
    loads : iterable of int
        Loads that are out.
    work : Work
        Half of what is left may go here.

    Returns
    -------
    list of int
        Those that stay out.

    References
    ----------
    .. [1] As :func:`make_room`.
    """
    spare = Work(work.left // 2)
    still_out: list[int] = []
    failed = 0
    for load in loads:
        if failed >= GIVEN_UP_AFTER or not make_room(state, load, spare):
            still_out.append(load)
            failed += 1
        else:
            failed = 0
    work.spend(spare.spent)
    return still_out


def make_room(state: State, load: int, work: Work) -> bool:
    """Place a load by moving one other, or two, out of its way.

    Parameters
    ----------
    state : State
        Is changed if room is found, else left as it was.
    load : int
        A load that is out.
    work : Work
        Counts what is done, and ends the search when it runs out.

    Returns
    -------
    bool
        Whether the load is in now.

    References
    ----------
    .. [1] Ejection chains: F. Glover, Discrete Applied Mathematics 65 (1996).
    """
    problem = state.problem
    for depth in (1, 2):
        for bin_ in np.flatnonzero(problem.allowed[load]).tolist():
            for other in _movable(state, bin_, work):
                if work.left <= 0:
                    return False
                if _eject(state, load, bin_, other, work, depth):
                    return True
    return False


def _movable(state: State, bin_: int, work: Work) -> list[int]:
    """Loads that may leave a bin, or that stand in the way on one of its meters, largest first."""
    problem = state.problem
    behind = problem.covers[bin_]
    near = (
        (problem.covers & behind).any(axis=1) if len(behind) else np.zeros(len(problem.bins), bool)
    )
    near[bin_] = True
    placed = state.bin != OUT
    free = placed & ~problem.pinned & (problem.allowed.sum(axis=1) > 1)
    candidates = np.flatnonzero(free & near[state.bin])
    work.spend(problem.count * 8, 14)
    largest = problem.amps[candidates].max(axis=1, initial=0)
    # Loads that are alike in one bin stand in the way alike: one of each is enough.
    ordered = candidates[np.lexsort((candidates, -largest))]
    _, first = np.unique(
        np.stack([problem.kind[ordered], state.bin[ordered]]), axis=1, return_index=True
    )
    return [int(i) for i in ordered[np.sort(first)]]


def _eject(state: State, load: int, bin_: int, other: int, work: Work, depth: int) -> bool:
    problem = state.problem
    before = state.take(other)
    work.spend(len(problem.bins) * (len(problem.meters) + 8), 40)
    if state.can_put(load, bin_):
        state.put(load, bin_)
        for target in state.open_bins(other).tolist():
            if target != before:
                state.put(other, target)
                if state.is_within_limit:
                    return True
                state.take(other)
        if depth > 1:
            for target in np.flatnonzero(problem.allowed[other]).tolist():
                for third in _movable(state, target, work):
                    if third in (load, other) or work.left <= 0:
                        continue
                    if _eject(state, other, target, third, work, depth - 1):
                        return True
        state.take(load)
    state.put(other, before)
    return False
