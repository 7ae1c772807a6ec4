"""The power flow: closed forms, sums that close, and layouts that have no solution."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from evenboard.electrics.equipment import Conductor
from evenboard.electrics.layout import Board, Layout, SourceImpedance
from evenboard.electrics.load import load_split
from evenboard.electrics.powerflow import solve
from support.builders import a_board, a_layout, a_load, a_run, a_supply
from support.trees import a_tree

TURN = np.exp(-2j * np.pi / 3.0)


def a_feeder(ohm: float, **changes: object) -> Board:
    """A board behind so many ohm in each conductor."""
    run = a_run(length_m=1000.0, conductor=Conductor(ohm, 0.0, ohm, 0.0))
    return a_board(feeder=replace(run, **changes))


def test_a_stiff_supply_gives_nominal_voltage_and_current() -> None:
    solution = solve(a_layout(loads=(a_load("key", 0),)))

    assert solution.load_voltage_v[0, 0] == pytest.approx(230.0)
    assert solution.load_current_a[0, 0] == pytest.approx(2000.0 / 230.0)
    assert solution.inflow.rms_a[0, 1] == pytest.approx([8.696, 0.0, 0.0, 8.696], abs=0.001)
    assert solution.load_power_w[0, 0] == pytest.approx(2000.0)


def test_constant_power_behind_a_resistance_is_the_root_of_a_quadratic() -> None:
    """``V^2 - E V + R P = 0`` for the loop: line and neutral 0.5 ohm each, 5 kW."""
    layout = a_layout(boards=(a_feeder(0.5),), loads=(a_load("key", 0, power_w=5000.0),))

    solution = solve(layout)

    expected_v = 0.5 * (230.0 + math.sqrt(230.0**2 - 4.0 * 1.0 * 5000.0))
    assert solution.load_voltage_v[0, 0] == pytest.approx(expected_v, rel=1e-9)  # the promise
    assert solution.voltage_v[0, 1, 3] == pytest.approx(0.5 * 5000.0 / expected_v)
    assert solution.loss_w[0, 1] == pytest.approx((5000.0 / expected_v) ** 2)


@pytest.mark.parametrize("share", [0.90, 0.99, 0.9999])
def test_power_up_to_the_most_that_a_feeder_can_pass_is_solved(share: float) -> None:
    """Maximum power transfer: ``E^2 / 4 R``, with half the voltage left (circuit textbooks)."""
    most_w = 230.0**2 / 4.0 / 2.0
    load = a_load("key", 0, power_w=share * most_w)

    solution = solve(a_layout(boards=(a_feeder(1.0),), loads=(load,)))

    expected_v = 115.0 * (1.0 + math.sqrt(1.0 - share))
    assert solution.converged.all()
    assert solution.load_voltage_v[0, 0] == pytest.approx(expected_v, rel=1e-7)


@pytest.mark.parametrize("share", [1.0001, 1.5, 100.0])
def test_more_power_than_a_feeder_can_pass_has_no_solution(share: float) -> None:
    load = a_load("key", 0, power_w=share * 230.0**2 / 8.0, power_factor=0.9, third_harmonic_pct=5)

    solution = solve(a_layout(boards=(a_feeder(1.0),), loads=(load,)))

    assert not solution.converged.any()
    assert solution.voltage_v.any() == solution.load_current_a.any() == False  # noqa: E712
    assert not solution.inflow.rms_a.any()
    assert not solution.loss_w.any()


def test_a_set_up_without_solution_leaves_the_others_alone() -> None:
    loads = (
        a_load("key", 0, power_w=2000.0, on=(True, True)),
        a_load("kiln", 0, power_w=20e3, on=(False, True)),
    )

    solution = solve(a_layout(boards=(a_feeder(1.0),), loads=loads, setups=("a", "b")))

    alone = solve(a_layout(boards=(a_feeder(1.0),), loads=(replace(loads[0], on=(True,)),)))
    assert solution.converged.tolist() == [True, False]
    assert solution.load_voltage_v[0, 0] == pytest.approx(alone.load_voltage_v[0, 0])
    assert solution.load_voltage_v[1].tolist() == [0.0, 0.0]


def test_a_constant_impedance_divides_the_voltage() -> None:
    load = a_load("heater", 1, power_w=2300.0, load_model="constant-impedance")

    solution = solve(a_layout(boards=(a_feeder(1.0),), loads=(load,)))

    assert solution.load_voltage_v[0, 0] == pytest.approx(230.0 * 23.0 / 25.0)


def test_a_tungsten_lamp_follows_its_law_behind_a_resistance() -> None:
    load = a_load("key", 0, power_w=2000.0, load_model="tungsten")

    solution = solve(a_layout(boards=(a_feeder(1.0),), loads=(load,)))

    v = solution.load_voltage_v[0, 0]
    assert 230.0 - 2.0 * (2000.0 / 230.0) * (v / 230.0) ** 0.55 == pytest.approx(v, rel=1e-9)
    assert solution.light_pct[0, 0] == pytest.approx(100.0 * (v / 230.0) ** 3.4)
    assert solution.colour_temperature_k[0, 0] == pytest.approx(3200.0 * (v / 230.0) ** 0.42)


def test_light_is_told_of_tungsten_that_burns_only() -> None:
    loads = (
        a_load("lamp", 0, load_model="tungsten", on=(True, False)),
        a_load("led", 1, on=(True, True)),
        a_load(
            "dimmed",
            2,
            load_model="tungsten",
            dimmer="phase-cut",
            dimmed_to=0.5,
            on=(True, True),
        ),
    )

    solution = solve(a_layout(loads=loads, setups=("a", "b")))

    assert solution.light_pct[0, 0] == pytest.approx(100.0)
    assert np.isnan(solution.light_pct[1, 0])
    assert np.isnan(solution.light_pct[:, 1]).all()
    # Half the power: P by V^1.55, light by V^3.4.
    assert solution.light_pct[0, 2] == pytest.approx(100.0 * 0.5 ** (3.4 / 1.55))


def test_a_line_to_line_load_loads_both_lines_and_no_neutral() -> None:
    load = a_load("sun", 0, 1, power_w=4000.0, rated_voltage_v=400.0)

    solution = solve(a_layout(loads=(load,)))

    current = 4000.0 / (230.0 * math.sqrt(3.0))
    assert solution.inflow.rms_a[0, 0] == pytest.approx([current, current, 0.0, 0.0], abs=1e-9)
    assert solution.load_current_a[0, 0] == pytest.approx(current)
    assert solution.load_neutral_a[0, 0] == 0.0


@pytest.mark.parametrize("connection", ["star", "delta"])
def test_a_three_phase_load_loads_all_lines_alike(connection: str) -> None:
    rated_v = 230.0 if connection == "star" else 230.0 * math.sqrt(3.0)
    load = a_load(
        "fan", 0, 1, 2, power_w=6900.0, connection=connection, rated_voltage_v=rated_v,
        power_factor=0.8, displacement_factor=0.8, displacement="lagging",
    )  # fmt: skip

    solution = solve(a_layout(loads=(load,)))

    assert solution.inflow.rms_a[0, 0] == pytest.approx([12.5, 12.5, 12.5, 0.0], abs=1e-9)
    assert solution.load_current_a[0, 0] == pytest.approx(12.5)
    assert solution.load_voltage_v[0, 0] == pytest.approx(rated_v)
    assert solution.load_power_w[0, 0] == pytest.approx(6900.0)
    lag = np.degrees(np.angle(solution.inflow.fundamental_a[0, 0, :3] / TURN ** np.arange(3)))
    assert lag == pytest.approx([-math.degrees(math.acos(0.8))] * 3)


def test_triplens_of_a_star_meet_in_the_neutral_and_those_of_a_delta_stay_inside() -> None:
    figures = {"power_factor": 0.8, "third_harmonic_pct": 50.0, "power_w": 6900.0}
    star = a_load("star", 0, 1, 2, **figures)
    delta = a_load("delta", 0, 1, 2, connection="delta", rated_voltage_v=400.0, **figures)

    in_star = solve(a_layout(loads=(star,))).inflow
    in_delta = solve(a_layout(loads=(delta,))).inflow

    assert in_star.triplen_a[0, 0] == pytest.approx([5.0, 5.0, 5.0, 15.0])
    assert in_delta.triplen_a[0, 0].tolist() == [0.0] * 4


def test_line_currents_add_each_part_in_its_own_way() -> None:
    """``I^2 = |sum I1|^2 + (sum I3)^2 + |sum rest|^2`` on one line, from the single loads."""
    loads = (
        a_load("a", 0, power_factor=0.58, displacement_factor=0.99, displacement="leading",
               third_harmonic_pct=80.0),
        a_load("b", 0, power_factor=0.88, displacement_factor=0.9, displacement="lagging",
               third_harmonic_pct=15.0),
        a_load("c", 0, power_w=500.0),
    )  # fmt: skip

    flow = solve(a_layout(loads=loads)).inflow

    parts = [load_split(load, 230.0) for load in loads]
    expected = math.sqrt(
        abs(sum(p.fundamental_a for p in parts)) ** 2
        + sum(p.triplen_a for p in parts) ** 2
        + sum(p.rest_a for p in parts) ** 2
    )
    assert flow.rms_a[0, 0, 0] == pytest.approx(expected)


def test_a_dimmed_load_in_the_flow_is_the_same_as_alone() -> None:
    loads = tuple(
        a_load(f"k{i}", i, dimmed_to=0.5, dimmer="phase-cut", load_model="constant-impedance")
        for i in range(3)
    )

    flow = solve(a_layout(loads=loads)).inflow

    # Three alike at 90 deg: the neutral carries root two of the phase.
    assert flow.rms_a[0, 0, 3] / flow.rms_a[0, 0, 0] == pytest.approx(math.sqrt(2.0), rel=1e-9)


def test_power_in_is_power_out_and_losses() -> None:
    layout = a_tree(11, boards=10, loads=35, setups=3)  # no leads: their losses are not a feeder's

    solution = solve(layout)

    source = layout.supply.voltage_v * TURN ** np.arange(3)
    drawn = (source * np.conj(solution.inflow.fundamental_a[:, 0, :3])).sum(axis=1)
    resistance = np.array([0.01] * 4)
    feeders = np.zeros(3)
    for node in range(len(layout.boards) + 1):
        current = np.abs(solution.inflow.fundamental_a[:, node])
        if node > 0:
            run = layout.boards[node - 1].feeder
            assert run is not None
            assert run.conductor is not None
            line, neutral = run.conductor.r_ohm_per_km, run.conductor.neutral_r_ohm_per_km
            resistance = np.array([line, line, line, neutral]) * run.length_m / 1000.0
        feeders += (current**2 * resistance).sum(axis=1)
    assert drawn.real == pytest.approx(solution.load_power_w.sum(axis=1) + feeders, rel=1e-9)
    assert np.all(solution.loss_w.sum(axis=1) >= feeders)  # harmonics heat the cable too


def test_a_lead_drops_voltage_for_its_own_load_only() -> None:
    lead = a_run(length_m=500.0)
    loads = (a_load("far", 0, lead=lead), a_load("near", 0))

    solution = solve(a_layout(loads=loads))

    assert solution.load_voltage_v[0, 1] == pytest.approx(230.0)
    far_v = 0.5 * (230.0 + math.sqrt(230.0**2 - 4.0 * 2000.0))
    assert solution.load_voltage_v[0, 0] == pytest.approx(far_v)


@pytest.mark.parametrize("connection", ["star", "delta"])
def test_a_lead_of_a_three_phase_load_is_like_a_feeder_of_its_own(connection: str) -> None:
    figures = {"power_w": 9000.0, "connection": connection, "rated_voltage_v": 230.0}
    run = a_run(length_m=300.0)
    with_lead = a_layout(loads=(a_load("fan", 0, 1, 2, lead=run, **figures), a_load("key", 0)))
    boards = (a_board(), a_board("own", parent=0, feeder=run))
    with_board = a_layout(
        boards=boards, loads=(a_load("fan", 0, 1, 2, board=1, **figures), a_load("key", 0))
    )

    first, second = solve(with_lead), solve(with_board)

    assert first.load_voltage_v == pytest.approx(second.load_voltage_v)
    assert first.inflow.fundamental_a[:, 1] == pytest.approx(second.inflow.fundamental_a[:, 1])


def test_source_impedance_is_in_front_of_everything() -> None:
    supply = a_supply(source_impedance=SourceImpedance(0.5, 0.0, 0.5, 0.0))
    load = a_load("key", 0, power_w=5000.0)

    solution = solve(a_layout(supply=supply, loads=(load,)))

    expected_v = 0.5 * (230.0 + math.sqrt(230.0**2 - 4.0 * 5000.0))
    assert solution.load_voltage_v[0, 0] == pytest.approx(expected_v)
    assert solution.loss_w[0, 0] == pytest.approx((5000.0 / expected_v) ** 2)


def test_a_board_on_a_rolled_feeder_loads_the_supply_s_own_line() -> None:
    rolled = a_board("stage", parent=0, supply_lines=(1, 2, 0))
    load = a_load("key", 1, board=1)  # the stage's own L1

    solution = solve(a_layout(boards=(a_board(), rolled), loads=(load,)))

    assert solution.inflow.rms_a[0, 0, 1] == pytest.approx(2000.0 / 230.0)
    assert rolled.line_name(1) == "L1"


def test_what_a_board_has_not_carries_zeros() -> None:
    four_way = a_board("lead", parent=0, lines=("L1",), supply_lines=(2,), feeder=a_run())
    load = a_load("key", 2, board=1)

    solution = solve(a_layout(boards=(a_board(), four_way), loads=(load,)))

    assert abs(solution.voltage_v[0, 2, 2]) > 229.0
    assert solution.voltage_v[0, 2, :2].tolist() == [0.0, 0.0]
    assert solution.inflow.rms_a[0, 2, :2].tolist() == [0.0, 0.0]


def test_active_and_reactive_power_add_up_and_apparent_power_does_not() -> None:
    """2 kVA at 1.0 and 2 kVA at 0.6 lagging are 3.2 kW, 1.6 kvar, 3.578 kVA (complex power)."""
    lagging = {"power_factor": 0.6, "displacement_factor": 0.6, "displacement": "lagging"}
    loads = (a_load("lamp", 0, power_w=2000.0), a_load("motor", 0, power_w=1200.0, **lagging))

    solution = solve(a_layout(loads=loads))

    assert solution.load_power_w.sum() == pytest.approx(3200.0)
    assert solution.load_reactive_var.sum() == pytest.approx(1600.0)
    apparent_va = 230.0 * solution.inflow.rms_a[0, 0, 0]
    assert apparent_va == pytest.approx(3578.0, abs=0.5)
    assert 3200.0 / apparent_va == pytest.approx(0.894, abs=0.0005)


def test_a_three_wire_supply_has_two_legs_in_opposition() -> None:
    supply = a_supply(system="three-wire", voltage_v=120.0, lines=("L1", "L2"))
    board = a_board(lines=("L1", "L2"), supply_lines=(0, 1))
    loads = (
        a_load("a", 0, power_w=1200.0, rated_voltage_v=120.0),
        a_load("b", 1, power_w=600.0, rated_voltage_v=120.0),
        a_load("sun", 0, 1, power_w=2400.0, rated_voltage_v=240.0),
    )

    solution = solve(a_layout(supply=supply, boards=(board,), loads=loads))

    assert solution.inflow.rms_a[0, 0] == pytest.approx([20.0, 15.0, 0.0, 5.0])
    assert solution.load_voltage_v[0] == pytest.approx([120.0, 120.0, 240.0])


def test_a_single_phase_supply_returns_all_in_its_neutral() -> None:
    supply = a_supply(system="single-phase", lines=("L1",))
    board = a_board(lines=("L1",), supply_lines=(0,))

    solution = solve(a_layout(supply=supply, boards=(board,), loads=(a_load("key", 0),)))

    assert solution.inflow.rms_a[0, 0] == pytest.approx([8.696, 0.0, 0.0, 8.696], abs=0.001)
    assert solution.voltage_v[0, 1, 1:3].tolist() == [0.0, 0.0]


def test_loose_loads_and_dimmed_out_ones_draw_nothing() -> None:
    loads = (a_load("loose"), a_load("dark", 0, dimmed_to=0.0), a_load("key", 0))

    solution = solve(a_layout(loads=loads))

    assert solution.load_current_a[0].round(3).tolist() == [0.0, 0.0, 8.696]


def test_a_layout_without_loads_or_boards_is_solved_too() -> None:
    solution = solve(a_layout(boards=(), loads=(), setups=("a", "b")))

    assert solution.converged.tolist() == [True, True]
    assert np.abs(solution.voltage_v[1, 0]) == pytest.approx([230.0, 230.0, 230.0, 0.0])


def test_figures_that_contradict_each_other_name_the_load() -> None:
    load = a_load("odd", 0, power_factor=0.99, displacement_factor=0.9, displacement="lagging")

    with pytest.raises(ValueError, match="load odd: power factor"):
        solve(a_layout(loads=(load,)))


def test_a_line_that_the_supply_has_not_is_refused() -> None:
    supply = a_supply(system="single-phase", lines=("L1",))

    with pytest.raises(ValueError, match="does not have"):
        solve(a_layout(supply=supply, loads=(a_load("key", 2),)))


def a_street(boards: int) -> Layout:
    """Boards in a long row, each with a lamp a line: larger than the dense form takes."""
    row = tuple(
        a_board(f"b{i}", parent=i - 1 if i else None, feeder=a_run(length_m=2.0))
        for i in range(boards)
    )
    loads = tuple(
        a_load(f"k{i}{p}", p, board=i, power_w=20.0 * (1 + p), load_model="tungsten")
        for i in range(boards)
        for p in range(3)
    )
    return a_layout(boards=row, loads=loads)


def test_a_large_layout_solved_by_sweeps_agrees_with_the_dense_form(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    layouts = [
        a_street(40),
        *(a_tree(seed, leads=0.3, open_neutral=seed % 2 == 1) for seed in range(8)),
    ]
    dense = [solve(layout) for layout in layouts]

    monkeypatch.setattr("evenboard.electrics.pathtree.DENSE_LIMIT", 0)
    swept = [solve(layout) for layout in layouts]

    for first, second in zip(dense, swept, strict=True):
        assert second.converged.all()
        assert second.voltage_v == pytest.approx(first.voltage_v, abs=1e-8)
        assert second.inflow.fundamental_a == pytest.approx(first.inflow.fundamental_a, abs=1e-8)


def test_collapse_is_seen_in_a_large_layout_too() -> None:
    layout = a_street(200)

    heavy = replace(layout, loads=(*layout.loads, a_load("kiln", 0, board=199, power_w=1e6)))

    assert solve(layout).converged.all()
    assert not solve(heavy).converged.any()
