"""Small plans against every plan there is, level by level."""

from __future__ import annotations

from dataclasses import replace

import hypothesis.strategies as st
from hypothesis import HealthCheck, given, settings

from evenboard.electrics.equipment import Breaker, RcdType
from evenboard.electrics.layout import Board, Layout, Load, Outlet
from evenboard.planning import PlanOptions, plan
from support.builders import a_board, a_layout, a_load, a_supply, an_outlet
from support.every_plan import Judge

WATTS = st.sampled_from([300.0, 575.0, 650.0, 1000.0, 1200.0, 2000.0, 2000.0, 5000.0])
ROWS = ("bottom", "middle", "top")
SIZES = ("large", "medium", "small")


@st.composite
def a_small_layout(draw: st.DrawFn) -> Layout:
    """Up to five loads on up to eight outlets, with whatever may stand in the way."""
    lines = draw(st.sampled_from([3, 3, 3, 2]))
    setups = draw(st.integers(1, 3))
    sub = draw(st.booleans())
    outlets: list[Outlet] = []
    for line in range(lines):
        for row in range(draw(st.integers(1, 2))):
            rating = draw(st.sampled_from([32.0, 32.0, 16.0, 10.0]))
            outlets.append(
                an_outlet(
                    f"{line}{row}",
                    line,
                    row=draw(st.sampled_from([*ROWS, None])),
                    rating_a=rating,
                    breaker=draw(st.sampled_from([None, Breaker(rating)])),
                    rcd=draw(st.sampled_from([None, "r"])),
                    connector=draw(st.sampled_from([None, None, "a", "b"])),
                )
            )
    if lines == 3 and draw(st.booleans()):
        outlets.append(an_outlet("two", *draw(st.sampled_from([(0, 1), (1, 2), (0, 2)]))))
    boards = [_board("main", lines, outlets, draw(st.sampled_from([63.0, 32.0, 20.0])))]
    if sub:
        outlets.append(an_outlet("feed", *range(lines)))
        boards[0] = replace(boards[0], outlets=tuple(outlets))
        below = [
            an_outlet(f"s{line}", line) for line in draw(st.sampled_from([(0, 1), (0,), (1,)]))
        ]
        child = _board("sub", lines, below, draw(st.sampled_from([32.0, 10.0])))
        boards.append(replace(child, parent=0, parent_outlet="feed"))
    loads: list[Load] = []
    free = [(b, o) for b, board in enumerate(boards) for o in board.outlets if o.id != "feed"]
    for index in range(draw(st.integers(1, 5 if len(free) < 7 else 4))):
        on = tuple(draw(st.lists(st.booleans(), min_size=setups, max_size=setups)))
        load = a_load(
            f"x{index}",
            name=draw(st.sampled_from(["lamp", "urn"])),
            power_w=draw(WATTS),
            on=on,
            size_class=draw(st.sampled_from(SIZES)),
            leakage_ma=draw(st.sampled_from([0.0, 4.0, 9.0])),
            connector=draw(st.sampled_from([None, None, None, "a"])),
        )
        if lines == 3 and draw(st.integers(0, 5)) == 0:
            load = replace(load, connection="line-to-line", rated_voltage_v=400.0)
        where = draw(st.sampled_from([None, *free]))
        if where is not None and _goes(load, where[1]):
            board, outlet = where
            free.remove(where)
            keep = draw(st.integers(0, 3)) == 0
            load = replace(
                load,
                board=board,
                outlet=outlet.id,
                supply_lines=outlet.supply_lines,
                connector=load.connector or outlet.type.connector,
                keep=keep,
            )
        loads.append(load)
    return a_layout(
        supply=a_supply(
            rating_a=draw(st.sampled_from([63.0, 32.0, 16.0])),
            lines=("L1", "L2", "L3")[:lines],
            system="three-phase" if lines == 3 else "three-wire",
        ),
        boards=tuple(boards),
        loads=tuple(loads),
        setups=tuple(f"s{i}" for i in range(setups)),
    )


def _board(name: str, lines: int, outlets: list[Outlet], rating_a: float) -> Board:
    return a_board(
        name,
        outlets=tuple(outlets),
        inlet_rating_a=rating_a,
        lines=("L1", "L2", "L3")[:lines],
        supply_lines=tuple(range(lines)),
        rcds=(RcdType("r", 30.0),) if any(o.type.rcd for o in outlets) else (),
    )


def _goes(load: Load, outlet: Outlet) -> bool:
    width = 2 if load.connection == "line-to-line" else 1
    if len(outlet.supply_lines) != width:
        return False
    amps = load.power_w / load.rated_voltage_v
    if amps > min(
        outlet.type.rating_a, 1e9 if outlet.type.breaker is None else outlet.type.rating_a
    ):
        return False
    return load.connector is None or outlet.type.connector in (None, load.connector)


@given(a_small_layout())
@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_no_plan_is_better_than_a_small_plan_in_any_level(layout: Layout) -> None:
    judge = Judge(layout)
    best = judge.best()

    found = plan(layout, PlanOptions())

    way = judge.way_of(found)
    out = frozenset(i for i, place in enumerate(way) if place is None)
    assert judge.is_sound(way)
    assert judge.judged(way).levels == best[out]
    assert found.proven_optimal
    assert found.moves == judge.judged(way).moves


@given(a_small_layout(), st.sampled_from([0, 10_000, 200_000]))
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_what_a_search_with_little_budget_calls_proven_is_so(layout: Layout, budget: int) -> None:
    judge = Judge(layout)
    best = judge.best()

    found = plan(layout, PlanOptions(budget=budget))

    way = judge.way_of(found)
    out = frozenset(i for i, place in enumerate(way) if place is None)
    levels, proven = judge.judged(way).levels, found.proven
    assert judge.is_sound(way)
    claims = proven.worst_phase, proven.largest_spread, proven.sum_of_spreads, proven.moves
    for count in range(1, len(claims) + 1):
        if all(claims[:count]):
            assert levels[:count] == best[out][:count]


@given(a_small_layout())
@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_what_stays_out_is_the_smallest_set_and_leaves_plugged_lamps_in(layout: Layout) -> None:
    judge = Judge(layout)

    found = plan(layout, PlanOptions())

    def loss(out: frozenset[int]) -> tuple[int, int, int, int]:
        pinned = sum(layout.loads[i].keep for i in out)
        plugged = sum(layout.loads[i].board is not None for i in out)
        return pinned, len(out), plugged, sum(judge.microamps[i] for i in out)

    named = {unplaced.load for unplaced in found.unplaced}
    out = frozenset(i for i, load in enumerate(layout.loads) if load.id in named)
    assert loss(out) == min(loss(each) for each in judge.best())
    assert all(unplaced.why for unplaced in found.unplaced)


@given(a_small_layout(), st.integers(0, 2))
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_no_plan_moves_more_than_is_allowed(layout: Layout, most: int) -> None:
    # Loose lamps beside plugged ones, and not all fit: room is not made by moves nobody wants.
    found = plan(layout, PlanOptions(max_moves=most))

    assert found.moves <= most
    assert Judge(layout).is_sound(Judge(layout).way_of(found))
