"""Thousands of scenarios in one call, against the power flow of each."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from evenboard.electrics import branchstate
from evenboard.electrics.layout import Layout
from evenboard.electrics.powerflow import solve
from evenboard.electrics.scenarios import scenarios
from evenboard.electrics.solution import BoolArray
from support.builders import a_board, a_layout, a_load, a_run
from support.trees import a_tree


def as_set_ups(layout: Layout, on: BoolArray) -> Layout:
    """The same layout with a set-up for each row of switches."""
    return replace(
        layout,
        setups=tuple(str(row) for row in range(len(on))),
        loads=tuple(
            replace(load, on=tuple(on[:, i].tolist())) for i, load in enumerate(layout.loads)
        ),
    )


def switches(seed: int, rows: int, loads: int) -> BoolArray:
    return np.random.default_rng(seed).random((rows, loads)) < 0.6


@pytest.mark.parametrize("seed", range(8))
def test_every_scenario_is_what_the_power_flow_says_of_it(
    seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    layout = a_tree(seed, leads=0.3)
    on = switches(seed, 300, len(layout.loads))

    many = scenarios(layout, on)

    monkeypatch.setattr(branchstate, "_TOLERANCE", 1e-13)  # the reference to the last digits
    each = solve(as_set_ups(layout, on))
    assert many.converged.all()
    # The promise is 1e-9 of the supply voltage, and of the currents that it drives.
    singles = [i for i, load in enumerate(layout.loads) if len(load.supply_lines) < 3]
    for index in singles:
        branch = int(np.flatnonzero(many.load == index)[0])
        burns = on[:, index]
        miss_v = np.abs(many.voltage_v[burns, branch]) - each.load_voltage_v[burns, index]
        assert np.abs(miss_v).max(initial=0.0) < 1e-9 * 230.0
    flow_a = each.inflow.fundamental_a[:, 0]
    assert np.abs(many.supply_a - flow_a).max() < 2e-9 * np.abs(flow_a).max()


def test_half_the_scale_is_half_the_power() -> None:
    layout = a_layout(loads=(a_load("led", 0), a_load("fan", 1)))

    many = scenarios(layout, [[1.0, 0.0], [0.5, 2.0]])

    full_a = 2000.0 / 230.0
    assert np.abs(many.supply_a[:, :2]) == pytest.approx(
        np.array([[full_a, 0.0], [0.5 * full_a, 2.0 * full_a]])
    )


def test_a_scenario_without_solution_is_told_and_leaves_its_neighbours_alone() -> None:
    thin = a_board(feeder=a_run(length_m=1000.0))
    loads = (a_load("key", 0), a_load("kiln", 0, power_w=20e3))

    many = scenarios(a_layout(boards=(thin,), loads=loads), [[1, 0], [1, 1], [0, 0]])

    alone = solve(a_layout(boards=(thin,), loads=loads[:1]))
    assert many.converged.tolist() == [True, False, True]
    assert abs(many.voltage_v[0, 0]) == pytest.approx(alone.load_voltage_v[0, 0])
    assert not many.supply_a[1].any()
    assert not many.voltage_v[1].any()
    assert abs(many.voltage_v[2, 0]) == pytest.approx(230.0)


def test_a_scenario_close_to_collapse_is_still_solved() -> None:
    thin = a_board(feeder=a_run(length_m=1000.0))
    most_w = 230.0**2 / 8.0  # maximum power transfer over 2 ohm
    load = a_load("key", 0, power_w=most_w)

    many = scenarios(a_layout(boards=(thin,), loads=(load,)), [[0.999], [1.001]])

    assert many.converged.tolist() == [True, False]
    assert abs(many.voltage_v[0, 0]) == pytest.approx(115.0 * (1.0 + 0.001**0.5), rel=1e-6)


def test_floating_neutrals_are_solved_too() -> None:
    layout = a_tree(3, boards=6, loads=15, open_neutral=True)
    on = switches(3, 20, 15)

    many = scenarios(layout, on)

    each = solve(as_set_ups(layout, on))
    assert many.converged.all()
    assert many.supply_a == pytest.approx(each.inflow.fundamental_a[:, 0], abs=1e-6)


def test_a_layout_of_great_size_is_solved_by_sweeps(monkeypatch: pytest.MonkeyPatch) -> None:
    layout = a_tree(6, boards=10, loads=30, leads=0.3)
    on = switches(6, 50, 30)
    dense = scenarios(layout, on)

    monkeypatch.setattr("evenboard.electrics.pathtree.DENSE_LIMIT", 0)
    swept = scenarios(layout, on)

    assert swept.voltage_v == pytest.approx(dense.voltage_v, abs=1e-6)
    assert swept.supply_a == pytest.approx(dense.supply_a, abs=1e-6)


def test_no_scenarios_and_no_loads_are_nothing_to_do() -> None:
    layout = a_layout(loads=(a_load("key", 0),))

    assert scenarios(layout, np.zeros((0, 1))).supply_a.shape == (0, 4)
    assert scenarios(a_layout(), np.zeros((3, 0))).converged.all()


@pytest.mark.parametrize("scale", [[1.0], [[1.0, 1.0]], [[[1.0]]]])
def test_a_table_that_does_not_fit_the_loads_is_refused(scale: list[object]) -> None:
    with pytest.raises(ValueError, match="shape"):
        scenarios(a_layout(loads=(a_load("key", 0),)), scale)  # type: ignore[arg-type]


@pytest.mark.parametrize("scale", [-0.1, np.nan, np.inf])
def test_a_scale_that_is_none_is_refused(scale: float) -> None:
    with pytest.raises(ValueError, match="0 or more"):
        scenarios(a_layout(loads=(a_load("key", 0),)), [[scale]])
