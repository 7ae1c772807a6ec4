"""From a layout to a plan: read, place, even out, prove, count the moves, seat, tell why."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenboard.electrics.layout import Layout
from evenboard.planning.bound import Bound, bound_of
from evenboard.planning.construct import first_state
from evenboard.planning.exact import is_small, solve
from evenboard.planning.fewest import fewest
from evenboard.planning.finish import Boards, key_of
from evenboard.planning.fit import fit
from evenboard.planning.measure import UNIT, IntArray, Levels, Work
from evenboard.planning.polish import polish
from evenboard.planning.problem import OUT, Problem, problem_of
from evenboard.planning.refine import Chance, refine
from evenboard.planning.regroup import Request, near_bins, regroup
from evenboard.planning.result import Assignment, Plan, PlanOptions, Proven
from evenboard.planning.seating import Seater, Seating
from evenboard.planning.state import State
from evenboard.planning.steps import place_of, steps_of
from evenboard.planning.target import NO_LIMIT, Goal, goal_of, met, window_for
from evenboard.planning.why import unplaced_of, why_of

__all__ = ["plan"]

ANYTHING: Levels = (NO_LIMIT, NO_LIMIT, NO_LIMIT)
TOGETHER = 10
"""Loads that are plugged anew at once where moves are limited or to be saved."""

IDLE_ROUNDS = 40


@dataclass(slots=True)
class _Found:
    """The best state so far and what is proven of it."""

    state: State
    bound: Bound
    seater: Seater
    worst: bool = False
    spread: bool = False
    total: bool = False
    moves: bool = False


def plan(layout: Layout, options: PlanOptions | None = None) -> Plan:
    """Which load on which outlet.

    Parameters
    ----------
    layout : Layout
        Loads loose or plugged; what has ``keep`` set stays.
    options : PlanOptions, optional
        Aim, moves, target, spare, budget.

    Returns
    -------
    Plan
        Breaks no rating, connector or pin. Where not everything fits, the rest is planned and
        ``unplaced`` says what stays out and why.

    References
    ----------
    .. [1] README.md of this room: aim, method, proofs, measured figures.

    Examples
    --------
    Three loose lamps of 2 kW on an empty three-phase board come to lie one on each line.
    """
    options = options or PlanOptions()
    problem = problem_of(layout, options)
    work = Work(options.work_for(problem.count))
    plugged = bool((problem.home != OUT).any())
    start = first_state(problem, work, stay=plugged)
    fitted = fit(start, work, None) if start.out else None
    state = start if fitted is None else fitted.state
    placed = np.flatnonzero(state.bin != OUT).astype(np.int64)
    choice = placed[(problem.allowed[placed].sum(axis=1) > 1) & ~problem.pinned[placed]]
    constant = _is_constant(problem, placed)
    bound = bound_of(problem, placed, work)
    goal = goal_of(problem)
    found = _Found(state, bound, Seater(problem))
    if goal is None or problem.lines < 2:
        _even(found, choice, placed, constant, work)
    else:
        _fewest(found, choice, placed, constant, goal, work)
    found.state = polish(found.state, found.seater, work)
    return _told(found, fitted is None or fitted.proven, goal, work)


def _is_constant(problem: Problem, placed: IntArray) -> bool:
    return all(len(set(problem.width[problem.allowed[i]].tolist())) <= 1 for i in placed.tolist())


def _limit(problem: Problem) -> int | None:
    """Moves that are allowed, None where the limit cannot bind."""
    most = problem.options.max_moves
    plugged = int(((problem.home != OUT) & ~problem.pinned).sum())
    return None if most is None or most >= plugged else most


def _even(found: _Found, choice: IntArray, placed: IntArray, constant: bool, work: Work) -> None:
    """The evenest plan within the moves allowed, and the fewest moves for it."""
    problem = found.state.problem
    limit = _limit(problem)
    if is_small(problem, choice) and found.state.moves <= (limit or found.state.moves):
        if limit is None:
            found.state = refine(found.state, found.bound.levels, Work(2_000_000))
        solved = solve(
            found.state,
            choice,
            found.bound.levels,
            found.seater,
            work,
            constant=constant,
            moves=limit,
        )
        if solved is not None:
            found.state = State(problem, solved.bins)
            found.worst = found.spread = found.total = found.moves = True
            return
    if limit is None:
        spare = Work(work.left * 3 // 4)
        found.state = refine(found.state, found.bound.levels, spare)
        work.spend(spare.spent)
    levels = found.state.levels()
    found.worst = levels[0] <= found.bound.levels[0]
    found.spread = found.worst and levels[1] <= found.bound.levels[1]
    found.total = found.spread and levels[2] <= found.bound.levels[2]
    _save_moves(found, choice, constant, limit, work)


def _save_moves(
    found: _Found, choice: IntArray, constant: bool, limit: int | None, work: Work
) -> None:
    """As even with fewer moves; or, within a limit, as even as they allow."""
    problem = found.state.problem
    plugged = choice[problem.home[choice] != OUT]
    if not len(plugged):
        found.moves = True
        return
    home = _at_home(found.state)
    if limit is not None:
        _within_limit(found, home, choice, constant, limit, work)
        return
    levels = found.state.levels()
    if home is not None and (problem.home[choice] != OUT).all():
        window = window_for(home, levels, constant=constant)
        most = found.state.moves
        best = fewest(home, plugged, window, levels, None, most, work)
        if best.state is not None:
            found.state, found.moves = best.state, True
            return
        found.moves = best.below >= most
    chance = Chance(3)
    idle = 0
    while work.left > 0 and idle < IDLE_ROUNDS and found.state.moves > 0:
        away = choice[(problem.home[choice] != OUT) & _away(found.state, choice)]
        few = chance.sample(away, TOGETHER - 3)
        rest = np.setdiff1d(choice, few)
        loads = [*few.tolist(), *chance.sample(rest, TOGETHER - len(few)).tolist()]
        before = found.state.moves
        window = window_for(found.state, levels, constant=constant)
        request = Request(loads, near_bins(found.state, loads), window, levels, None, before)
        turn = chance.below(1 << 30)
        regroup(found.state, request, work, moves_first=True, turn=turn)
        idle = 0 if found.state.moves < before else idle + 1


def _away(state: State, loads: IntArray) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    away: np.ndarray[tuple[int], np.dtype[np.bool_]] = state.bin[loads] != state.problem.home[loads]
    return away


def _at_home(state: State) -> State | None:
    """Plugged loads as they are, loose ones as planned; None where that is not sound."""
    problem = state.problem
    home = State(problem)
    for load in range(problem.count):
        bin_ = int(problem.home[load]) if problem.home[load] != OUT else int(state.bin[load])
        if bin_ != OUT:
            if not problem.allowed[load, bin_]:
                return None
            home.put(load, bin_)
    return home


def _within_limit(
    found: _Found, home: State | None, choice: IntArray, constant: bool, limit: int, work: Work
) -> None:
    problem = found.state.problem
    if home is not None and home.is_sound and found.state.moves > limit:
        found.state = home
    chance = Chance(5)
    idle = 0
    while work.left > 0 and idle < IDLE_ROUNDS and len(choice):
        away = choice[(problem.home[choice] != OUT) & _away(found.state, choice)]
        few = chance.sample(away, TOGETHER // 2)
        rest = np.setdiff1d(choice, few)
        loads = [*few.tolist(), *chance.sample(rest, TOGETHER - len(few)).tolist()]
        levels = found.state.levels()
        window = window_for(found.state, levels, constant=constant)
        most = max(limit, found.state.moves)
        request = Request(loads, near_bins(found.state, loads), window, levels, None, most)
        regroup(found.state, request, work, turn=chance.below(1 << 30))
        idle = 0 if found.state.levels() < levels else idle + 1


def _fewest(
    found: _Found, choice: IntArray, placed: IntArray, constant: bool, goal: Goal, work: Work
) -> None:
    """The fewest moves that meet the target; where it cannot be met, the evenest plan."""
    problem = found.state.problem
    limit = _limit(problem)
    most = int((problem.home != OUT).sum()) if limit is None else limit
    if is_small(problem, choice):
        solved = solve(
            found.state,
            choice,
            found.bound.levels,
            found.seater,
            work,
            constant=constant,
            goal=goal,
            moves=most,
        )
        if solved is not None:
            found.state = State(problem, solved.bins)
            found.worst = found.spread = found.total = found.moves = True
            return
    home = _at_home(found.state)
    plugged = choice[problem.home[choice] != OUT]
    if home is not None:
        window = window_for(home, ANYTHING, constant=constant, goal=goal)
        best = fewest(home, plugged, window, ANYTHING, goal, most, work)
        if best.state is not None:
            found.state = best.state
            found.moves = bool((problem.home[choice] != OUT).all())
            return
    spare = Work(work.left // 2)
    trial = refine(found.state, found.bound.levels, spare)
    work.spend(spare.spent)
    if not bool(met(goal, trial.sums[None])[0]) or (limit is not None and trial.moves > limit):
        _even(found, choice, placed, constant, work)
        return
    found.state = trial
    _save_towards(found, choice, constant, goal, work)


def _save_towards(found: _Found, choice: IntArray, constant: bool, goal: Goal, work: Work) -> None:
    """Fewer moves that still meet the target."""
    problem = found.state.problem
    chance = Chance(9)
    idle = 0
    while work.left > 0 and idle < IDLE_ROUNDS and found.state.moves > 0:
        away = choice[(problem.home[choice] != OUT) & _away(found.state, choice)]
        few = chance.sample(away, TOGETHER - 3)
        rest = np.setdiff1d(choice, few)
        loads = [*few.tolist(), *chance.sample(rest, TOGETHER - len(few)).tolist()]
        before = found.state.moves
        window = window_for(found.state, ANYTHING, constant=constant, goal=goal)
        bins = near_bins(found.state, loads)
        request = Request(loads, bins, window, ANYTHING, goal, before)
        turn = chance.below(1 << 30)
        regroup(found.state, request, work, moves_first=True, turn=turn)
        idle = 0 if found.state.moves < before else idle + 1


def _told(found: _Found, placed_proven: bool, goal: Goal | None, work: Work) -> Plan:
    """The answer."""
    state, seater = found.state, found.seater
    problem = state.problem
    layout = problem.layout
    keyed = key_of(Boards.of(problem), seater, state.bin)
    if keyed is None:
        raise AssertionError("a sound assignment has seats for all")
    seating: Seating = keyed[1]
    assignments = []
    for load in np.flatnonzero(seating.seat >= 0).tolist():
        seat, origin = int(seating.seat[load]), int(problem.origin[load])
        action = "plug-in" if origin < 0 else "stay" if seat == origin else "move"
        assignments.append(
            Assignment(
                layout.loads[load].id,
                place_of(problem, seat),
                action,  # type: ignore[arg-type]
                place_of(problem, origin) if action == "move" else None,
            )
        )
    limit = _limit(problem)
    goal_met = None if goal is None else bool(met(goal, state.sums[None])[0])
    sums = state.sums / UNIT
    setup, line = (int(x) for x in np.unravel_index(int(state.sums.argmax()), state.sums.shape))
    spread = sums.max(axis=1) - sums.min(axis=1)
    proven = Proven(placed_proven, found.worst, found.spread, found.total, found.moves)
    held = limit is not None and state.levels() > found.bound.levels
    bound = found.bound.highest / UNIT
    if found.worst and limit is None and goal is None:
        bound = max(bound, min((state.levels()[0] - 0.5) / 10.0, float(sums.max())))
    return Plan(
        assignments=tuple(assignments),
        steps=steps_of(problem, seating.seat),
        moves=seating.moves,
        phases_a=tuple(tuple(float(a) for a in row) for row in sums),
        worst_phase_a=float(sums.max()),
        worst_phase=layout.supply.lines[line],
        worst_setup=layout.setups[setup],
        spread_a=float(spread.max()),
        sum_of_spreads_a=float(spread.sum()),
        lower_bound_a=min(bound, float(sums.max())),
        proven=proven,
        target_met=goal_met,
        unplaced=unplaced_of(problem, state),
        why=why_of(
            problem, state, found.bound, proven=found.worst, goal_met=goal_met, moves_held=held
        ),
        work=work.spent,
    )
