"""When not everything fits: the smallest set of loads that has to stay out.

Fewest first; of sets of one size those with the fewest plugged loads, then the fewest amps.
"""

from __future__ import annotations

import numpy as np

from evenboard.planning.construct import make_rooms, place_all
from evenboard.planning.exact import MANY_WAYS, PAIRS_AT_MOST, is_small, order_of
from evenboard.planning.filling import Filling
from evenboard.planning.measure import IntArray, Work
from evenboard.planning.problem import OUT, BoolArray, Problem
from evenboard.planning.regroup import Request, Result, bins_of, carry_out, prepare, ways_within
from evenboard.planning.state import State
from evenboard.planning.target import ANYTHING, window_for
from evenboard.planning.transport import transport

__all__ = ["Fitted", "fit"]

SWAPS_TRIED = 400

TRIED_WHEN_FULL = 40
"""Loads that are still tried, each larger than the last, once the first has not gone in."""

NEVER = np.iinfo(np.int64).max


class Fitted:
    """A state that holds as many loads as could be placed, and whether no plan holds more."""

    __slots__ = ("proven", "state")

    def __init__(self, state: State, proven: bool) -> None:
        self.state, self.proven = state, proven


def fit(state: State, work: Work) -> Fitted:
    """Place as many loads as go in.

    Parameters
    ----------
    state : State
        Sound; some loads may be out.
    work : Work
        Counts what is done.

    Returns
    -------
    Fitted
        The fullest state found.

    References
    ----------
    .. [1] Maximum cardinality first: a list is cut where the fewest lamps are lost; common
       practice, no source.
    """
    problem = state.problem
    hopeless: BoolArray = np.asarray(~problem.allowed.any(axis=1))
    if not [i for i in state.out if not hopeless[i]]:
        return Fitted(state, True)
    if any(problem.pinned[i] for i in state.out):
        state = _pins_first(state, work)
        hopeless |= problem.pinned & (state.bin == OUT)
    short = max(_short_of_seats(problem, ~hopeless), _short_of_amps(problem, ~hopeless))
    loads = np.flatnonzero(~problem.pinned & ~hopeless).astype(np.int64)
    if is_small(problem, loads, MANY_WAYS):
        exact = _exactly(state, loads, work, short)
        if exact is not None:
            return Fitted(exact, True)
    best = _fullest(state, work)
    return Fitted(best, len(best.out) <= int(hopeless.sum()) + short)


def _pins_first(state: State, work: Work) -> State:
    """What has to stay is too much by itself: the smallest part of it that has to go."""
    problem = state.problem
    alone = State(problem)
    pins = np.flatnonzero(problem.pinned & problem.allowed.any(axis=1)).astype(np.int64)
    for load in pins.tolist():
        if state.bin[load] != OUT:
            alone.put(load, int(state.bin[load]))
    if is_small(problem, pins, MANY_WAYS):
        alone = _exactly(alone, pins, work, 0) or alone
    filling = Filling(alone)
    for load in np.flatnonzero((problem.home != OUT) & ~problem.pinned).tolist():
        filling.put(load, int(problem.home[load]))
    filling.finish()
    place_all(alone, [i for i in alone.out if not problem.pinned[i]], work)
    return alone


def _exactly(state: State, loads: IntArray, work: Work, least: int) -> State | None:
    """The smallest set of all, by looking at sets of ever more loads, from a lower bound on."""
    if not len(loads):
        return state.copy()
    problem = state.problem
    order = order_of(problem, loads)
    bins = []
    for load in order:
        mine = np.flatnonzero(problem.allowed[load]).astype(np.int64)
        bins.append(np.concatenate([mine, np.array([OUT], dtype=np.int64)]))
    window = window_for(state, ANYTHING, constant=False)
    task = prepare(state, order, bins, work)
    for out in range(least, len(loads) + 1):
        request = Request(order, bins, window, ANYTHING, None, problem.move_limit, out)
        result = ways_within(state, request, work, PAIRS_AT_MOST, task)
        if not result.complete:
            return None
        if len(result.first):
            found = state.copy()
            carry_out(found, order, bins_of(request, result, _cheapest(state, request, result)))
            return found
    return None


def _cheapest(state: State, request: Request, result: Result) -> int:
    """The way that leaves the fewest plugged loads and then the fewest amps out."""
    problem = state.problem
    plugged, amps = [], []
    largest = np.where(problem.amps > 0, problem.amps, 0).max(axis=1)
    for one, two in zip(result.first.tolist(), result.second.tolist(), strict=True):
        picks = [*result.task.first.choice[one].tolist(), *result.task.second.choice[two].tolist()]
        gone = [
            load
            for load, each, pick in zip(request.loads, request.bins, picks, strict=True)
            if each[pick] == OUT
        ]
        plugged.append(sum(int(problem.home[i] != OUT) for i in gone))
        amps.append(int(largest[gone].sum()))
    return int(np.lexsort((result.moves, np.array(amps), np.array(plugged)))[0])


def _fullest(state: State, work: Work) -> State:
    """Small loads first, as many go in so: on what is plugged, and on an empty board."""
    problem = state.problem
    plugged = State(problem)
    pinned = State(problem)
    for load in np.flatnonzero(state.bin != OUT).tolist():
        if problem.pinned[load]:
            pinned.put(load, int(state.bin[load]))
        if problem.home[load] == state.bin[load]:
            plugged.put(load, int(state.bin[load]))
    tried = [state, _filled(pinned, work)]
    if bool(((problem.home != OUT) & ~problem.pinned).any()):
        tried.append(_filled(plugged, work))
    return min((_larger(each, work) for each in tried), key=_loss)


def _loss(state: State) -> tuple[int, int, int]:
    """Loads out; of them plugged ones; their amps."""
    problem = state.problem
    out = state.out
    return len(out), int((problem.home[out] != OUT).sum()), int(problem.total[out].sum())


def _filled(state: State, work: Work) -> State:
    """Loads that are out put in, the smallest first."""
    problem = state.problem
    amps = problem.total
    order = sorted(state.out, key=lambda i: (int(amps[i]), problem.home[i] == OUT, i))
    left: list[int] = []
    full = 0
    filling = Filling(state)
    for load in order:
        if not problem.allowed[load].any():
            continue
        # What does not go in after many smaller ones did not will not either.
        if full >= TRIED_WHEN_FULL or not filling.place(load):
            left.append(load)
            full += 1
    filling.finish()
    work.spend(0, 40 * (len(order) - len(left) + full))
    make_rooms(state, left, work)
    return state


def _larger(state: State, work: Work) -> State:
    """A load that is out for a smaller one that is in, where that goes: fewer amps stay out."""
    problem = state.problem
    amps = problem.total
    tried = 0
    for load in sorted(state.out, key=lambda i: (-int(amps[i]), i)):
        inside = np.flatnonzero((state.bin != OUT) & ~problem.pinned & (amps < amps[load]))
        if problem.home[load] == OUT:
            inside = inside[problem.home[inside] == OUT]
        seen: set[tuple[int, int]] = set()
        for other in inside[np.lexsort((inside, amps[inside]))].tolist():
            alike = int(problem.kind[other]), int(state.bin[other])
            if alike in seen or not problem.allowed[load, state.bin[other]]:
                continue
            if tried >= SWAPS_TRIED or work.left <= 0:
                return state
            seen.add(alike)
            tried += 1
            work.spend(0, 16)
            bin_ = state.take(other)
            if state.can_put(load, bin_):
                state.put(load, bin_)
                if state.is_within_limit:
                    break
                state.take(load)
            state.put(other, bin_)
    return state


def _short_of_seats(problem: Problem, hopeful: BoolArray) -> int:
    """Loads beyond what the seats can hold, whatever goes where."""
    rows: dict[bytes, list[int]] = {}
    for load in np.flatnonzero(hopeful).tolist():
        rows.setdefault(problem.fits[load].tobytes(), []).append(load)
    kinds = problem.fits[[members[0] for members in rows.values()]]
    columns: dict[bytes, list[int]] = {}
    for seat, column in enumerate(kinds.T):
        columns.setdefault(column.tobytes(), []).append(seat)
    seats = kinds[:, [members[0] for members in columns.values()]]
    cost = [[0 if fits else None for fits in row] for row in seats.tolist()]
    many, places = list(map(len, rows.values())), list(map(len, columns.values()))
    held = transport(many, places, cost)
    return sum(many) - sum(map(sum, held))


def _short_of_amps(problem: Problem, hopeful: BoolArray) -> int:
    """Loads beyond what the lines of the supply can carry in some set-up, whatever goes where.

    All lines together carry no more than their amps, and each no more loads than the smallest.
    """
    worst = 0
    limits = [m.limit for m in problem.all_meters if m.part == "supply"]
    for setup in range(problem.setups):
        lit = hopeful & (problem.on[:, setup] > 0)
        line = np.sort(_least(problem.amps[lit]))
        total = np.sort(_least(problem.amps[lit] * np.arange(4)))
        together = int(np.searchsorted(np.cumsum(total), sum(limits), "right"))
        each = np.searchsorted(np.cumsum(line), np.array(limits, dtype=np.int64), "right")
        worst = max(worst, len(line) - min(together, int(each.sum())))
    return worst


def _least(amps: IntArray) -> IntArray:
    least: IntArray = np.where(amps > 0, amps, NEVER).min(axis=1, initial=NEVER)
    return np.where(least == NEVER, 0, least)
