"""Re-plugging in the fewest moves, against every plan there is."""

from __future__ import annotations

import hypothesis.strategies as st
import numpy as np
from hypothesis import assume, given, settings

from evenboard.electrics.layout import Layout
from evenboard.planning import PlanOptions, plan
from evenboard.planning.fewest import fewest
from evenboard.planning.measure import Work
from evenboard.planning.reading import problem_of
from evenboard.planning.state import State
from evenboard.planning.target import ANYTHING, window_for
from support.builders import a_board, a_layout, a_load, an_outlet
from support.every_plan import Judge

WATTS = st.sampled_from([300.0, 650.0, 1000.0, 1000.0, 2000.0, 2000.0, 3700.0])


@st.composite
def a_plugged_layout(draw: st.DrawFn) -> Layout:
    """Three to five lamps in a board of three lines and two rows, all plugged."""
    setups = draw(st.integers(1, 2))
    outlets = [an_outlet(f"{line}{row}", line) for line in range(3) for row in range(2)]
    taken = draw(st.permutations(outlets))[: draw(st.integers(2, 5))]
    loads = []
    for index, outlet in enumerate(taken):
        on = tuple(draw(st.lists(st.booleans(), min_size=setups, max_size=setups)))
        line = outlet.supply_lines[0]
        loads.append(
            a_load(f"x{index}", line, outlet=outlet.id, power_w=draw(WATTS), on=on, name="lamp")
        )
    return a_layout(
        boards=(a_board(outlets=tuple(outlets)),),
        loads=tuple(loads),
        setups=tuple(f"s{i}" for i in range(setups)),
    )


@given(a_plugged_layout(), st.integers(0, 3))
@settings(max_examples=30, deadline=None)
def test_no_plan_within_the_moves_allowed_is_better(layout: Layout, most: int) -> None:
    judge = Judge(layout)
    ways = [judge.judged(way) for way in judge.ways() if judge.is_sound(way)]
    best = min((way.levels for way in ways if way.moves <= most), default=None)

    found = plan(layout, PlanOptions(max_moves=most))

    judged = judge.judged(judge.way_of(found))
    if best is not None:
        assert judged.levels == best
    assert found.moves == judged.moves


@given(a_plugged_layout(), st.sampled_from([5.0, 20.0, 50.0, 100.0]))
@settings(max_examples=30, deadline=None)
def test_no_plan_that_meets_the_target_has_fewer_moves(layout: Layout, target: float) -> None:
    judge = Judge(layout)
    fitting = [
        judge.judged(way)
        for way in judge.ways()
        if judge.is_sound(way) and unbalance_pct(judge.sums(way)) <= target + 1e-9
    ]
    options = PlanOptions(objective="fewest-moves", target_current_unbalance_pct=target)

    found = plan(layout, options)

    assert found.target_met == bool(fitting)
    if fitting:
        fewest = min(way.moves for way in fitting)
        judged = judge.judged(judge.way_of(found))
        assert judged.moves == fewest
        assert judged.levels == min(way.levels for way in fitting if way.moves == fewest)


@given(a_plugged_layout(), st.integers(1, 4))
@settings(max_examples=60, deadline=None)
def test_lists_of_moves_hold_the_evenest_of_all_plans_within_so_many(
    layout: Layout, most: int
) -> None:
    judge = Judge(layout)
    ways = [judge.judged(way) for way in judge.ways() if judge.is_sound(way)]
    problem = problem_of(layout, PlanOptions())
    home = State(problem, problem.home)
    assume(home.is_sound)
    loads = np.arange(problem.count)
    window = window_for(home, ANYTHING, constant=False)

    found = fewest(home, loads, window, ANYTHING, None, most, Work(10**9), floor=(0, 0, 0))

    assert found.below > most
    assert found.state is not None
    reached = (*found.state.levels(), found.state.moves)
    assert reached == min(way.levels[:4] for way in ways if way.moves <= most)


def unbalance_pct(sums: list[list[int]]) -> float:
    """Largest deviation from the mean over the mean, of the worst set-up (NEMA MG 1)."""
    worst = 0.0
    for each in sums:
        mean = sum(each) / len(each)
        if mean > 0:
            worst = max(worst, 100.0 * max(abs(amps - mean) for amps in each) / mean)
    return worst
