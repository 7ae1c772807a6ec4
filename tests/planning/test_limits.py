"""What a plan holds a supply to: a generator's lines and watts, and nothing where nothing burns."""

from __future__ import annotations

import pytest

from evenboard.electrics.equipment import Generator
from evenboard.electrics.layout import Layout
from evenboard.planning import PlanOptions, plan
from evenboard.planning.meters import meters_of
from evenboard.planning.reading import problem_of
from evenboard.planning.target import goal_of
from evenboard.planning.words import outlet_named
from support.builders import a_board, a_layout, a_load, a_supply, an_outlet


def on_a_set(kva: float, **changes: object) -> Layout:
    supply = a_supply(kind="generator", generator=Generator(kva), rating_a=63.0)
    return a_layout(supply=supply, **changes)


def test_a_layout_without_loads_has_a_plan_of_no_moves() -> None:
    found = plan(a_layout(setups=("day", "night")), PlanOptions())

    assert (found.moves, len(found.assignments)) == (0, 0)


def test_a_sets_lines_are_held_to_its_plate_where_its_outlet_is_larger() -> None:
    # 30 kVA over three lines of 230 V.
    share_a = 30_000.0 / 690.0

    limits = [m.limit for m in meters_of(on_a_set(30.0), PlanOptions()) if m.part == "supply"]
    goal = goal_of(problem_of(on_a_set(30.0), PlanOptions(objective="fewest-moves")))

    assert limits == [pytest.approx(share_a * 1e6, abs=1000)] * 3
    assert goal is not None
    assert goal.spread == pytest.approx(0.1 * share_a * 1e6, abs=1)


def test_watts_of_a_lamp_on_a_voltage_it_is_not_made_for_are_no_load_of_a_set() -> None:
    # Six lamps of 3 kW on 24 kW; on an outlet of two lines one would burn 9 kW.
    pairs = tuple(an_outlet(f"pair-{i}", i, (i + 1) % 3) for i in range(3))
    board = a_board()
    board = a_board(outlets=(*board.outlets, *pairs), inlet_rating_a=63.0)
    lamps = tuple(
        a_load(f"k{i}", power_w=3000.0, load_model="constant-impedance") for i in range(6)
    )

    found = plan(on_a_set(30.0, boards=(board,), loads=lamps), PlanOptions())

    assert list(found.unplaced) == []
    assert len(found.assignments) == 6


def test_an_outlet_in_no_row_is_called_as_it_is_written_on_the_board() -> None:
    outlet = an_outlet("l2-63", 1)

    assert outlet_named(a_layout(), a_board(outlets=(outlet,)), outlet) == "L2 63 (L2)"
