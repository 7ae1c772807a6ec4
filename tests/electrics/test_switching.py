"""What is left when one lamp drops out, against solving the layout without it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from evenboard.electrics import switching
from evenboard.electrics.powerflow import solve
from evenboard.electrics.switching import drop_out
from support.builders import a_board, a_layout, a_load, a_run, a_supply
from support.trees import a_tree


def test_each_load_off_is_the_layout_without_it() -> None:
    layout = a_tree(5, boards=5, loads=9, setups=2, leads=0.3)

    after = drop_out(solve(layout))

    for gone, load in enumerate(layout.loads):
        others = tuple(k for i, k in enumerate(layout.loads) if i != gone)
        without = solve(replace(layout, loads=others)).inflow.rms_a[:, 0]
        for setup, is_on in enumerate(load.on):
            assert after.is_solved[setup, gone] == is_on
            assert after.line_a[setup, gone] == pytest.approx(without[setup, :3], rel=1e-9)
            assert after.neutral_a[setup, gone] == pytest.approx(without[setup, 3], rel=1e-9)


def test_the_spread_with_one_of_three_even_lamps_gone_is_the_lamp() -> None:
    loads = tuple(a_load(f"k{i}", i) for i in range(3))

    after = drop_out(solve(a_layout(loads=loads)))

    lamp_a = 2000.0 / 230.0
    assert after.spread_a[0] == pytest.approx([lamp_a] * 3)
    assert after.neutral_a[0] == pytest.approx([lamp_a] * 3)
    # Two phases of three: a third of the lamp's current in negative sequence (Fortescue).
    assert after.negative_sequence_a[0] == pytest.approx([lamp_a / 3.0] * 3)


def test_loose_loads_and_those_off_change_nothing() -> None:
    loads = (a_load("key", 0), a_load("loose"), a_load("off", 1, on=(False,)))

    after = drop_out(solve(a_layout(loads=loads)))

    assert after.is_solved[0].tolist() == [True, False, False]
    assert after.line_a[0, 1:, 0] == pytest.approx([2000.0 / 230.0] * 2)


def test_a_set_up_without_solution_is_not_asked() -> None:
    thin = a_board(feeder=a_run(length_m=1000.0))

    after = drop_out(solve(a_layout(boards=(thin,), loads=(a_load("kiln", 0, power_w=1e6),))))

    assert not after.is_solved.any()
    assert not after.line_a.any()


def test_a_single_phase_supply_has_no_spread() -> None:
    supply = a_supply(system="single-phase", lines=("L1",))
    board = a_board(lines=("L1",), supply_lines=(0,))
    loads = (a_load("a", 0), a_load("b", 0))

    after = drop_out(solve(a_layout(supply=supply, boards=(board,), loads=loads)))

    assert not after.spread_a.any()
    assert after.line_a[0, 0, 0] == pytest.approx(2000.0 / 230.0)


def test_of_very_many_loads_the_largest_of_each_line_hold_the_worst(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    layout = a_tree(9, boards=3, loads=40, setups=2)
    everything = drop_out(solve(layout))

    monkeypatch.setattr(switching, "EXACT_LIMIT", 16)
    shortlisted = drop_out(solve(layout))

    assert shortlisted.is_solved.sum() < everything.is_solved.sum()
    assert np.array_equal(shortlisted.is_solved, shortlisted.is_solved & everything.is_solved)
    assert shortlisted.spread_a.max(axis=1) == pytest.approx(everything.spread_a.max(axis=1))
    assert shortlisted.neutral_a.max(axis=1) == pytest.approx(everything.neutral_a.max(axis=1))
