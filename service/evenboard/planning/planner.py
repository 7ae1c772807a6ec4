"""From a layout to a plan: read, place, even out, prove, count the moves, seat, tell why."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from evenboard.electrics.layout import Layout
from evenboard.planning.construct import first_state
from evenboard.planning.evening import Found, even_out
from evenboard.planning.finish import Boards, key_of
from evenboard.planning.fit import fit
from evenboard.planning.measure import UNIT, Work
from evenboard.planning.polish import polish
from evenboard.planning.problem import OUT
from evenboard.planning.reading import problem_of
from evenboard.planning.result import Assignment, Plan, PlanOptions, Proven
from evenboard.planning.seating import Seating
from evenboard.planning.steps import place_of, steps_of
from evenboard.planning.target import goal_of, met
from evenboard.planning.why import unplaced_of, why_of

__all__ = ["plan"]


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
    found = _planned(layout, options)
    if options.max_moves is None or found.moves <= options.max_moves:
        return found
    # Outlets of one bin that are unlike cost moves that no sum shows: then nothing plugged moves.
    loads = tuple(replace(load, keep=load.keep or load.board is not None) for load in layout.loads)
    held = _planned(replace(layout, loads=loads), options)
    if options.max_moves == 0:
        return held
    return replace(held, proven=Proven(False, False, False, False, False))


def _planned(layout: Layout, options: PlanOptions) -> Plan:
    problem = problem_of(layout, options)
    plugged = bool((problem.home != OUT).any())
    budget = options.work_for(problem.count, plugged=plugged, setups=problem.setups)
    # Two purses: however hard it is to fit all in, what goes in is evened out.
    fitting, work = Work(budget), Work(budget)
    start = first_state(problem, fitting, stay=plugged)
    fitted = fit(start, fitting) if start.out else None
    state = start if fitted is None else fitted.state
    found = even_out(state, work)
    if not found.settled:
        found.state = polish(found.state, found.seater, work)
    work.spend(fitting.spent)
    return _told(found, fitted is None or fitted.proven, work)


def _told(found: Found, placed_proven: bool, work: Work) -> Plan:
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
    limit = problem.move_limit
    goal = goal_of(problem)
    goal_met = None if goal is None else bool(met(goal, state.sums[None])[0])
    sums = state.sums / UNIT
    setup, line = (int(x) for x in np.unravel_index(int(state.sums.argmax()), state.sums.shape))
    spread = sums.max(axis=1) - sums.min(axis=1)
    # What else has to change its outlet for a plug that fits no other is not counted by bins.
    fewest = found.moves and (found.settled or seating.moves == state.moves)
    proven = Proven(placed_proven, found.worst, found.spread, found.total, fewest)
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
