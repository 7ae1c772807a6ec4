"""The power flow against OpenDSS, a general-purpose distribution simulator, on random trees.

The simulator sees every conductor, the neutral too, as a phase of its own; line to neutral, line to
line, star and delta loads of constant power, current and impedance and with P by V^1.55.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import opendssdirect
import pytest

from evenboard.electrics.layout import Layout
from evenboard.electrics.neutral import open_neutral
from evenboard.electrics.powerflow import solve
from evenboard.electrics.solution import ComplexArray
from support.builders import a_board, a_load, a_run
from support.simulator import simulated
from support.trees import a_tree

pytestmark = pytest.mark.reference

AGREEMENT = 1e-6
"""Relative to the supply voltage and to the largest current: what the project promises. Measured:
4e-10, the simulator's own accuracy."""


def comparable(layout: Layout) -> Iterator[tuple[int, ComplexArray, ComplexArray]]:
    """Set-ups that the simulator itself solves, with its voltages and currents."""
    for setup in range(len(layout.setups)):
        is_solved, voltage_v, inflow_a = simulated(opendssdirect, layout, setup)
        if is_solved:
            yield setup, voltage_v, inflow_a


@pytest.mark.parametrize("first_seed", range(0, 200, 20))
def test_two_hundred_random_trees_agree_in_every_voltage_and_current(first_seed: int) -> None:
    for seed in range(first_seed, first_seed + 20):
        layout = a_tree(seed, leads=0.3)

        solution = solve(layout)

        assert solution.converged.all()
        compared = list(comparable(layout))
        assert len(compared) == len(layout.setups), f"tree {seed} was not solved by the simulator"
        for setup, voltage_v, inflow_a in compared:
            where = f"tree {seed}, set-up {setup}"
            scale_v, scale_a = layout.supply.voltage_v, max(np.abs(inflow_a).max(), 1.0)
            miss_v = np.abs(solution.voltage_v[setup] - voltage_v).max() / scale_v
            miss_a = np.abs(solution.inflow.fundamental_a[setup] - inflow_a).max() / scale_a
            assert miss_v < AGREEMENT, where
            assert miss_a < AGREEMENT, where


def test_a_feeder_with_an_open_neutral_agrees_where_the_simulator_has_an_answer() -> None:
    compared = 0
    for seed in range(40):
        layout = a_tree(seed, models=("constant-impedance",), leads=0.3, open_neutral=True)

        solution = solve(layout)

        assert solution.converged.all()
        for setup, voltage_v, inflow_a in comparable(layout):
            miss_v = np.abs(solution.voltage_v[setup] - voltage_v).max() / 230.0
            miss_a = np.abs(solution.inflow.fundamental_a[setup] - inflow_a).max()
            assert miss_v < AGREEMENT, f"tree {seed}, set-up {setup}"
            assert miss_a < AGREEMENT * max(np.abs(inflow_a).max(), 1.0), f"tree {seed}"
            compared += 1
    assert compared >= 70  # of 80: where nothing is on below the break, the simulator gives up


@pytest.mark.parametrize("model", ["constant-impedance", "tungsten"])
def test_lamps_on_a_neutral_that_opens_at_the_board_get_what_the_simulator_says(model: str) -> None:
    powers_w = (5000.0, 2000.0, 650.0)
    loads = tuple(a_load(f"k{i}", i, power_w=p, load_model=model) for i, p in enumerate(powers_w))
    feeder = a_run(length_m=60.0)
    layout = a_tree(0, loads=0, setups=1)
    layout = replace(layout, boards=(a_board(feeder=feeder),), loads=loads)
    broken = replace(layout, boards=(a_board(feeder=replace(feeder, neutral_connected=False)),))

    after = open_neutral(solve(layout), node=1)

    is_solved, voltage_v, _ = simulated(opendssdirect, broken, 0)
    expected_v = np.abs(voltage_v[1, :3] - voltage_v[1, 3])
    assert is_solved
    assert after.converged.all()
    assert after.voltage_v[0] == pytest.approx(expected_v, rel=AGREEMENT)
    assert after.load_voltage_v[0] == pytest.approx(expected_v, rel=AGREEMENT)
