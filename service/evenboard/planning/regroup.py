"""Plug some loads anew, all others staying: every way within a window, by meeting in the middle."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from evenboard.planning.measure import IntArray, Levels, Work, evenness
from evenboard.planning.meet import Ways, join, list_ways
from evenboard.planning.problem import OUT, Problem
from evenboard.planning.state import State
from evenboard.planning.target import Goal, Window, within

__all__ = [
    "Regrouping",
    "Request",
    "Result",
    "bins_of",
    "carry_out",
    "near_bins",
    "prepare",
    "regroup",
    "ways_within",
]

MOST_PAIRS = 60_000
"""Pairs of halves that are looked at for one choice of loads."""


@dataclass(frozen=True, slots=True, eq=False)
class Request:
    """Loads to be plugged anew, the bins each may go to, and what has to be kept to.

    ``moves`` is how many plugged loads may be away from home in all, None for any number; ``out``
    how many of the loads may stay out (:data:`OUT` is then among their bins).
    """

    loads: Sequence[int]
    bins: Sequence[IntArray]
    window: Window
    levels: Levels
    goal: Goal | None = None
    moves: int | None = None
    out: int = 0


@dataclass(frozen=True, slots=True, eq=False)
class Regrouping:
    """The lists of both halves, and what there is without the loads.

    ``base`` (S, m) sums, ``away`` plugged loads away from home, ``left`` what the rooms and then
    the meters, set-up by set-up, still take.
    """

    base: IntArray
    away: int
    left: IntArray
    first: Ways
    second: Ways


@dataclass(frozen=True, slots=True, eq=False)
class Result:
    """Ways within a request: their sums (P, S, m), moves (P,) and where they are in the lists.

    ``out`` (P,) counts the loads that stay out. ``complete`` is False where not all ways could be
    looked at.
    """

    task: Regrouping
    first: NDArray[np.intp]
    second: NDArray[np.intp]
    sums: IntArray
    moves: IntArray
    out: IntArray
    complete: bool


def prepare(state: State, loads: Sequence[int], bins: Sequence[IntArray], work: Work) -> Regrouping:
    """List the ways of both halves.

    Parameters
    ----------
    state : State
        Is left as it is.
    loads : sequence of int
        Loads to be plugged anew.
    bins : sequence of ndarray of int64
        The bins each may go to.
    work : Work
        Counts what is done.

    Returns
    -------
    Regrouping
        Amounts are the lines of each set-up, one move or none, one out or none, rooms, meters.

    References
    ----------
    .. [1] E. Horowitz, S. Sahni, J. ACM 21 (1974).
    """
    problem = state.problem
    base = state.without(loads)
    reached = np.unique(np.concatenate(bins)) if len(bins) else np.zeros(0, dtype=np.int64)
    reached = reached[reached != OUT]
    rooms = sorted({r for b in reached.tolist() for r in problem.rooms_of[b]})
    meters = np.flatnonzero(problem.covers[reached].any(axis=0))
    size = problem.setups * problem.lines
    options = []
    for load, each in zip(loads, bins, strict=True):
        table = np.zeros((len(each), size + 2 + len(rooms) + len(meters) * problem.setups), int)
        amps = np.where(each == OUT, 0, problem.amps[load, problem.width[each]])[:, None]
        drawn = amps * problem.on[load]
        table[:, :size] = (drawn[:, :, None] * problem.pattern[each][:, None, :]).reshape(-1, size)
        moved = (problem.home[load] != OUT) & (each != problem.home[load])
        table[:, size] = moved & (each != OUT)
        table[:, size + 1] = each == OUT
        for k, r in enumerate(rooms):
            room = problem.rooms[r]
            if room.loads[load]:
                table[:, size + 2 + k] = each == room.bin
        if len(meters):
            table[:, size + 2 + len(rooms) :] = _metered(problem, load, each, drawn, meters)
        options.append(table)
    others = np.ones(problem.count, dtype=np.bool_)
    others[list(loads)] = False
    plugged = (problem.home != OUT) & (base.bin != OUT)
    away = int((others & plugged & (base.bin != problem.home)).sum())
    room_left = np.array([problem.rooms[r].most for r in rooms], dtype=np.int64)
    room_left -= base.inside[rooms]
    spare = (problem.limit[meters][:, None] - base.use[meters]).ravel()
    half = (len(loads) + 1) // 2
    alike = [i > 0 and _alike(problem, loads[i], loads[i - 1]) for i in range(len(loads))]
    width = size + 2 + len(room_left) + len(spare)
    return Regrouping(
        base.sums,
        away,
        np.concatenate([room_left, spare]),
        list_ways(options[:half], alike[:half], work),
        list_ways(options[half:], [False, *alike[half + 1 :]], work)
        if half < len(loads)
        else Ways(np.zeros((1, width), dtype=np.int64), np.zeros((1, 0), dtype=np.int16)),
    )


def _metered(
    problem: Problem, load: int, bins: IntArray, drawn: IntArray, meters: NDArray[np.intp]
) -> IntArray:
    """What a load adds to some meters in each of some bins, shape (bins, meters x S)."""
    behind = problem.covers[bins][:, meters] & (bins != OUT)[:, None]
    if problem.only_amps:
        added = drawn[:, None, :] * behind[:, :, None]
    else:
        leaks = np.broadcast_to(problem.leakage[load], drawn.shape)
        watts = np.broadcast_to(problem.watts[load], drawn.shape)
        table = np.stack([drawn, leaks, watts], axis=1)
        added = table[:, problem.weighs[meters]] * behind[:, :, None]
    return np.asarray(added.reshape(len(bins), -1))


def _alike(problem: Problem, load: int, other: int) -> bool:
    return bool(problem.kind[load] == problem.kind[other])


def ways_within(
    state: State, request: Request, work: Work, most: int, task: Regrouping | None = None
) -> Result:
    """Every way to plug the loads that keeps to the request.

    Parameters
    ----------
    state : State
        Is left as it is.
    request : Request
        What is asked for.
    work : Work
        Counts what is done.
    most : int
        Pairs of half ways that are looked at at most.
    task : Regrouping, optional
        What :func:`prepare` made of the same state, loads and bins.

    Returns
    -------
    Result
        In a fixed order.

    References
    ----------
    .. [1] As :func:`prepare`.
    """
    problem = state.problem
    if task is None:
        task = prepare(state, request.loads, request.bins, work)
    nothing = np.zeros(2 + len(task.left), dtype=np.int64)
    allowed = len(request.loads) if request.moves is None else request.moves - task.away
    low = np.concatenate([(request.window.low - task.base).ravel(), nothing])
    high = np.concatenate(
        [(request.window.high - task.base).ravel(), [allowed, request.out], task.left]
    )
    pairs = join(task.first, task.second, low.astype(np.int64), high.astype(np.int64), work, most)
    size = problem.setups * problem.lines
    both = task.first.amounts[pairs.first, : size + 2]
    both = both + task.second.amounts[pairs.second, : size + 2]
    sums = both[:, :size].reshape(-1, problem.setups, problem.lines) + task.base
    keep = within(sums, request.levels, request.goal)
    work.spend(16 * sums.size, 40 + 24 * len(request.loads))
    moves = both[:, size] + task.away
    return Result(
        *(task, pairs.first[keep], pairs.second[keep], sums[keep], moves[keep]),
        *(both[keep, size + 1], pairs.complete),
    )


def bins_of(request: Request, result: Result, index: int) -> list[int]:
    """Where a way plugs the loads.

    Parameters
    ----------
    request : Request
        The loads and the bins that each may be in.
    result : Result
        The ways that were found for it.
    index : int
        Which of them.

    Returns
    -------
    list of int
        A bin for each load of the request.

    References
    ----------
    .. [1] None; bookkeeping.
    """
    first = result.task.first.choice[result.first[index]].tolist()
    second = result.task.second.choice[result.second[index]].tolist()
    return [int(request.bins[i][pick]) for i, pick in enumerate([*first, *second])]


def carry_out(state: State, loads: Sequence[int], bins: Sequence[int]) -> bool:
    """Plug some loads into some bins.

    Parameters
    ----------
    state : State
        Is changed.
    loads : sequence of int
        The loads.
    bins : sequence of int
        Where each goes, or ``OUT``.

    Returns
    -------
    bool
        Whether anything has changed.

    References
    ----------
    .. [1] None; bookkeeping.
    """
    both = zip(loads, bins, strict=True)
    changes = [(load, bin_) for load, bin_ in both if state.bin[load] != bin_]
    for load, _ in changes:
        state.take(load)
    for load, bin_ in changes:
        if bin_ != OUT:
            state.put(load, bin_)
    return bool(changes)


def regroup(
    state: State, request: Request, work: Work, *, moves_first: bool = False, turn: int = 0
) -> bool:
    """Plug some loads the best way that keeps to the request.

    Parameters
    ----------
    state : State
        Is changed if a way is found.
    request : Request
        What is asked for.
    work : Work
        Counts what is done.
    moves_first : bool
        Whether fewer moves count before evenness.
    turn : int
        Which of equally good ways is taken: any number, to be varied from call to call.

    Returns
    -------
    bool
        Whether the state has changed.

    References
    ----------
    .. [1] Very large neighbourhoods: R. K. Ahuja et al., Discrete Applied Mathematics 123 (2002).
    """
    result = ways_within(state, request, work, MOST_PAIRS)
    if not len(result.first):
        return False
    highest, spread, total = evenness(result.sums)
    columns = [highest, spread, total]
    columns = [result.moves, *columns] if moves_first else [*columns, result.moves]
    keep = np.arange(len(highest))
    for column in columns:
        keep = keep[column[keep] == column[keep].min()]
    chosen = bins_of(request, result, int(keep[turn % len(keep)]))
    return carry_out(state, request.loads, chosen)


def near_bins(state: State, loads: Sequence[int]) -> list[IntArray]:
    """For each load its own bin, its home, and one of every other column.

    Parameters
    ----------
    state : State
        Where the loads are.
    loads : sequence of int
        The loads.

    Returns
    -------
    list of ndarray of int64
        Of another column that bin which is on the same board, or else the emptiest.

    References
    ----------
    .. [1] None; a choice that keeps the lists short.
    """
    problem = state.problem
    taken = np.bincount(state.bin[state.bin != OUT], minlength=len(problem.bins))
    seats = np.array([len(b.seats) for b in problem.bins])
    free = seats - taken + np.bincount(state.bin[list(loads)], minlength=len(problem.bins))
    board = np.array([b.board for b in problem.bins])
    found = []
    for load in loads:
        own = int(state.bin[load])
        choices = [own]
        may = problem.allowed[load] & (free > 0)
        for column in range(len(problem.columns)):
            here = np.flatnonzero(may & (problem.column == column))
            if len(here) and column != problem.column[own]:
                order = np.lexsort((here, -free[here], board[here] != board[own]))
                choices.append(int(here[order[0]]))
        home = int(problem.home[load])
        if home != OUT and home not in choices and may[home]:
            choices.append(home)
        found.append(np.array(choices, dtype=np.int64))
    return found
