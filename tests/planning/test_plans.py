"""What any plan has to be: sound, the same again, replayable, no worse for one more outlet."""

from __future__ import annotations

from dataclasses import replace

import hypothesis.strategies as st
import pytest
from hypothesis import given, settings

from evenboard.electrics.layout import Layout
from evenboard.planning import Plan, PlanOptions, apply, evening, plan
from evenboard.planning.measure import UNIT
from evenboard.planning.problem import OUT
from evenboard.planning.reading import problem_of
from evenboard.planning.state import State
from support.builders import a_board, a_layout, a_load, an_outlet
from support.plans import KINDS, an_instance


def bins_of(layout: Layout, found: Plan) -> State:
    """The plan in the planner's own arrays, made anew from the outlets it names."""
    problem = problem_of(layout, PlanOptions())
    seat_of = {
        (layout.boards[s.board].id, s.outlet.id, s.owner): i for i, s in enumerate(problem.seats)
    }
    bin_of = {seat: b for b, bin_ in enumerate(problem.bins) for seat in bin_.seats}
    state = State(problem)
    index = {load.id: i for i, load in enumerate(layout.loads)}
    for each in found.assignments:
        load = index[each.load]
        place = each.place.board, each.place.outlet
        seat = seat_of.get((*place, load), seat_of.get((*place, None)))
        assert seat is not None
        assert problem.fits[load, seat]
        state.put(load, bin_of[seat])
    return state


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize(("loads", "dimmed"), [(24, True), (90, False)])
def test_a_plan_breaks_nothing_and_says_what_its_outlets_say(
    kind: str, loads: int, dimmed: bool
) -> None:
    instance = an_instance(kind, loads, dimmed=dimmed)

    found = plan(instance.layout, instance.options)

    state = bins_of(instance.layout, found)
    assert state.is_sound
    places = [(a.place.board, a.place.outlet) for a in found.assignments]
    assert len(places) == len(set(places))
    assert found.worst_phase_a == state.sums.max() / UNIT
    assert found.lower_bound_a <= found.worst_phase_a
    pinned = {load.id for load in instance.layout.loads if load.keep and load.board is not None}
    assert not pinned & {a.load for a in found.assignments if a.action != "stay"}
    assert len(found.assignments) + len(found.unplaced) == loads


def test_the_same_layout_gives_the_same_plan() -> None:
    instance = an_instance("everything", 40, dimmed=True)

    assert plan(instance.layout, instance.options) == plan(instance.layout, instance.options)


@pytest.mark.parametrize("kind", ["moves", "everything", "capacities"])
def test_the_steps_lead_from_now_to_the_plan_and_break_no_rating_on_the_way(kind: str) -> None:
    layout = an_instance(kind, 30, dimmed=False).layout
    found = plan(layout, PlanOptions())
    problem = problem_of(layout, PlanOptions())
    bin_of = {
        (layout.boards[problem.seats[s].board].id, problem.seats[s].outlet.id): b
        for b, bin_ in enumerate(problem.bins)
        for s in bin_.seats
    }
    index = {load.id: i for i, load in enumerate(layout.loads)}
    where = {
        load.id: (layout.boards[load.board].id, load.outlet)
        for load in layout.loads
        if load.board is not None
    }
    state = State(problem, problem.home)

    for step in found.steps:
        load = index[step.load]
        if step.origin is not None:
            assert where.pop(step.load) == (step.origin.board, step.origin.outlet)
            state.take(load)
        if step.target is not None:
            place = step.target.board, step.target.outlet
            assert place not in where.values()
            where[step.load] = place
            assert state.can_put(load, bin_of[place])
            state.put(load, bin_of[place])
        assert step.text

    assert where == {a.load: (a.place.board, a.place.outlet) for a in found.assignments}


@given(
    st.lists(st.sampled_from([300.0, 575.0, 1200.0, 2000.0]), min_size=1, max_size=7),
    st.integers(0, 2),
)
@settings(max_examples=20, deadline=None)
def test_one_more_outlet_never_makes_a_plan_worse(watts: list[float], line: int) -> None:
    outlets = [
        an_outlet(f"{i}-{row}", i) for i, rows in enumerate((3, 2, 2)) for row in range(rows)
    ]
    loads = tuple(a_load(f"x{i}", power_w=w) for i, w in enumerate(watts))
    layout = a_layout(boards=(a_board(outlets=tuple(outlets)),), loads=loads)
    wider = replace(layout, boards=(a_board(outlets=(*outlets, an_outlet("more", line))),))

    before, after = plan(layout), plan(wider)

    assert len(after.unplaced) <= len(before.unplaced)
    if len(after.unplaced) == len(before.unplaced):
        assert round(after.worst_phase_a, 1) <= round(before.worst_phase_a, 1)


def test_three_lamps_that_are_alike_lie_one_on_each_phase() -> None:
    # Spread like lamps over the phases: common practice, no source.
    loads = tuple(a_load(f"x{i}") for i in range(3))

    found = plan(a_layout(loads=loads))

    assert sorted(found.phases_a[0]) == [pytest.approx(2000 / 230, abs=1e-5)] * 3
    assert found.proven_optimal


def test_large_lamps_go_to_the_bottom_row_and_small_ones_to_the_top() -> None:
    # Large in the bottom row, medium in the middle, small on top: common practice, no source.
    sizes = {"large": 4000.0, "medium": 2000.0, "small": 300.0}
    loads = tuple(
        a_load(f"{size}-{i}", power_w=watts, size_class=size)
        for size, watts in sizes.items()
        for i in range(3)
    )

    found = plan(a_layout(loads=loads))

    rows = {"large": "bottom", "medium": "middle", "small": "top"}
    assert {a.load: a.place.outlet.split("-")[1] for a in found.assignments} == {
        load.id: rows[load.size_class] for load in loads
    }


def test_a_plan_is_even_in_every_set_up_and_not_only_with_all_on() -> None:
    # Two by day and two by night, all alike: each pair is parted, though any split is even in sum.
    on = {"day": (True, False), "night": (False, True)}
    loads = tuple(a_load(f"{when}-{i}", on=on[when]) for when in on for i in range(3))

    found = plan(a_layout(loads=loads, setups=("day", "night")))

    assert found.spread_a == pytest.approx(0.0, abs=1e-6)
    assert all(phases == (pytest.approx(2000 / 230, abs=1e-5),) * 3 for phases in found.phases_a)


def test_one_more_lamp_at_midday_moves_nothing_where_no_move_is_allowed() -> None:
    loads = (*(a_load(f"x{i}", i) for i in range(2)), a_load("new"))

    found = plan(a_layout(loads=loads), PlanOptions(max_moves=0))

    assert found.moves == 0
    place = next(a.place for a in found.assignments if a.load == "new")
    assert place.outlet.startswith("l3")


def test_where_not_all_fits_the_fewest_stay_out_and_each_says_why() -> None:
    # 32 A a phase: 9 lamps of 8.7 A are 26.1 A on each; of 12, three have to stay out.
    outlets = tuple(an_outlet(f"{i}-{row}", i) for i in range(3) for row in range(4))
    loads = tuple(a_load(f"x{i}") for i in range(12))

    found = plan(a_layout(boards=(a_board(outlets=outlets),), loads=loads))

    assert len(found.unplaced) == 3
    assert found.proven.placed
    assert all("A" in each.why for each in found.unplaced)


def test_the_plan_of_a_layout_that_is_carried_out_has_nothing_left_to_move() -> None:
    layout = an_instance("moves", 20, dimmed=False).layout
    found = plan(layout)

    again = plan(apply(layout, found))

    assert again.moves == 0
    assert again.steps == ()


def test_the_search_keeps_to_its_budget() -> None:
    instance = an_instance("set-ups", 60, dimmed=True)

    short = plan(instance.layout, PlanOptions(budget=1_000_000))
    long = plan(instance.layout, PlanOptions(budget=30_000_000))

    assert short.work < 12_000_000
    assert (long.worst_phase_a, long.spread_a) <= (short.worst_phase_a, short.spread_a)
    assert bins_of(instance.layout, short).bin.min() > OUT

    tied = an_instance("set-ups", 40, dimmed=True)
    for budget in (100_000_000, 200_000_000):
        assert plan(tied.layout, PlanOptions(budget=budget)).work < 1.05 * budget


@pytest.mark.parametrize("kind", ["set-ups", "moves"])
def test_lamps_that_set_ups_tie_are_evened_out_from_many_starts_plugged_or_loose(
    kind: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    layout = an_instance(kind, 40, dimmed=True, setups=7).layout

    many = plan(layout, PlanOptions())
    monkeypatch.setattr(evening, "annealed", lambda state, floor, work: [])
    one = plan(layout, PlanOptions())

    assert many.worst_phase_a < one.worst_phase_a + 0.1
    assert many.spread_a < one.spread_a - 0.5


def test_coarse_lamps_come_to_the_step_that_whole_lamps_allow() -> None:
    """Two kinds of connectors and four outlets to spare; each line can carry just a third."""
    instance = an_instance("outlets", 80, dimmed=False)
    watts = round(sum(load.power_w for load in instance.layout.loads))
    # Lamps of whole multiples of 25 W: no line can be nearer to a third of them.
    assert watts % 75 == 0

    found = plan(instance.layout, instance.options)

    assert found.worst_phase_a == pytest.approx(watts / 3.0 / 230.0, abs=1e-4)
    assert found.spread_a == pytest.approx(0.0, abs=1e-4)
    assert found.proven.largest_spread
