"""Neutrals that are thin, open or not there at all, inside a layout."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from evenboard.electrics.equipment import Conductor
from evenboard.electrics.powerflow import solve
from support.builders import a_board, a_layout, a_load, a_run, a_supply, an_outlet


def test_a_delta_supply_without_neutral_serves_loads_between_lines() -> None:
    supply = a_supply(voltage_v=200.0 / math.sqrt(3.0), neutral=False)
    board = a_board(neutral=False)
    figures = {"power_w": 2000.0, "rated_voltage_v": 200.0}
    loads = (a_load("ll", 0, 1, **figures), a_load("delta", 0, 1, 2, connection="delta", **figures))

    solution = solve(a_layout(supply=supply, boards=(board,), loads=loads))

    assert solution.load_voltage_v[0] == pytest.approx([200.0, 200.0])
    assert solution.inflow.rms_a[0, 0, 3] == 0.0


def test_a_star_load_without_a_neutral_finds_its_own_star_point() -> None:
    supply = a_supply(neutral=False)
    board = a_board(neutral=False, feeder=a_run(length_m=1000.0))
    loads = (
        a_load("motor", 0, 1, 2, power_w=6000.0, load_model="constant-impedance"),
        a_load("sun", 0, 1, power_w=3000.0, rated_voltage_v=400.0),
    )

    solution = solve(a_layout(supply=supply, boards=(board,), loads=loads))

    lines = solution.voltage_v[0, 1, :3]
    motor = lines - lines.mean()  # equal branches: their star point is the mean of the lines
    assert solution.converged.all()
    assert solution.load_voltage_v[0, 0] == pytest.approx(np.abs(motor).min(), rel=1e-9)
    assert solution.load_power_w[0, 0] == pytest.approx(
        (2000.0 * (np.abs(motor) / 230.0) ** 2).sum(), rel=1e-9
    )


def test_a_lamp_between_a_line_and_no_neutral_stays_dark() -> None:
    boards = (a_board("main", neutral=False), a_board("other", parent=None))
    no_neutral = an_outlet("pump", 0, 1, 2, neutral=False)
    boards = (boards[0], replace(boards[1], outlets=(*boards[1].outlets, no_neutral)))
    open_lead = a_run(neutral_connected=False)
    loads = (
        a_load("on a board without", 0, board=0),
        a_load("on an open lead", 0, board=1, lead=open_lead),
        a_load("on an outlet without", 0, board=1, outlet="pump"),
        a_load("well plugged", 0, board=1),
    )

    solution = solve(a_layout(boards=boards, loads=loads))

    assert solution.load_current_a[0].round(3).tolist() == [0.0, 0.0, 0.0, 8.696]
    assert solution.load_voltage_v[0].tolist() == [0.0, 0.0, 0.0, 230.0]


def test_a_board_behind_an_open_neutral_floats_and_its_feeder_s_neutral_is_empty() -> None:
    boards = (
        a_board(feeder=a_run(length_m=200.0)),
        a_board("stage", parent=0, feeder=a_run(neutral_connected=False)),
    )
    powers_w = (5000.0, 2000.0, 650.0)
    floating = tuple(
        a_load(f"k{i}", i, board=1, power_w=p, load_model="constant-impedance")
        for i, p in enumerate(powers_w)
    )
    loads = (*floating, a_load("near", 1))

    solution = solve(a_layout(boards=boards, loads=loads))

    assert solution.inflow.rms_a[0, 2, 3] == 0.0
    assert solution.load_voltage_v[0, 2] > 300.0
    assert solution.load_voltage_v[0, 3] == pytest.approx(
        np.abs(solution.voltage_v[0, 1, 1] - solution.voltage_v[0, 1, 3])
    )
    assert solution.inflow.rms_a[0, 1, 3] == pytest.approx(solution.load_current_a[0, 3])


def test_neutrals_can_be_open_one_behind_the_other() -> None:
    opened = a_run(neutral_connected=False)
    boards = (a_board(feeder=opened), a_board("stage", parent=0, feeder=opened))
    powers_w = (3000.0, 2000.0, 500.0)
    loads = tuple(
        a_load(f"k{b}{i}", i, board=b, power_w=p, load_model="constant-impedance")
        for b in (0, 1)
        for i, p in enumerate(powers_w)
    )

    solution = solve(a_layout(boards=boards, loads=loads))

    # Alike loads float alike but for the volts that the feeders lose.
    assert solution.load_voltage_v[0, 3:] == pytest.approx(solution.load_voltage_v[0, :3], rel=0.01)
    assert np.abs(solution.voltage_v[0, 1:, 3]).min() > 50.0


def test_a_thin_neutral_lifts_its_board_above_earth() -> None:
    run = a_run(length_m=100.0, conductor=Conductor(1.0, 0.0, 10.0, 0.0))

    solution = solve(a_layout(boards=(a_board(feeder=run),), loads=(a_load("key", 0),)))

    assert abs(solution.voltage_v[0, 1, 3]) == pytest.approx(solution.load_current_a[0, 0])


@pytest.mark.parametrize(("input_range_v", "foot_v"), [((90.0, 265.0), 81.0), (None, 207.0)])
def test_electronics_on_a_floating_neutral_starve_below_their_input_range(
    input_range_v: tuple[float, float] | None, foot_v: float
) -> None:
    """Of two unlike supplies in series the larger gives way: below its range it is an impedance."""
    supply = a_supply(system="three-wire", voltage_v=230.0, lines=("L1", "L2"), neutral=False)
    board = a_board(lines=("L1", "L2"), supply_lines=(0, 1))
    loads = tuple(
        a_load(f"led-{line}", line, power_w=power_w, input_range_v=input_range_v)
        for line, power_w in enumerate((1500.0, 500.0))
    )

    solution = solve(a_layout(supply=supply, boards=(board,), loads=loads))

    large_v, small_v = solution.load_voltage_v[0]
    assert solution.converged.all()
    assert large_v + small_v == pytest.approx(460.0)
    assert large_v < foot_v
    # One current through both: 1500 W at the foot, as an impedance, and 500 W at any voltage.
    assert 1500.0 / foot_v**2 * large_v == pytest.approx(500.0 / small_v, rel=1e-6)
