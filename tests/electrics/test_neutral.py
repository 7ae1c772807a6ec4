"""The neutral: published examples, worst switching by brute force, the open neutral."""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import numpy as np
import pytest

from evenboard.electrics.layout import Layout
from evenboard.electrics.neutral import (
    largest_subset_sum,
    loads_below,
    neutral_current_a,
    open_neutral,
    worst_switching,
)
from evenboard.electrics.powerflow import solve
from evenboard.electrics.solution import ComplexArray
from support.builders import a_board, a_layout, a_load, a_run, a_supply
from support.trees import a_tree

ANGLES = np.exp(1j * np.radians([0.0, -120.0, 120.0]))


def phasors(magnitudes: list[float], lag_deg: list[float]) -> ComplexArray:
    """Line currents of given size and angle behind their own phase voltage."""
    turned: ComplexArray = np.array(magnitudes) * ANGLES * np.exp(-1j * np.radians(lag_deg))
    return turned


def through_impedances(voltage_v: float, *impedances: complex) -> ComplexArray:
    """Line currents of a star of impedances with its neutral connected."""
    currents: ComplexArray = voltage_v * ANGLES / np.array(impedances)
    return currents


def test_unbalanced_panel_of_the_code_forum() -> None:
    """Code forum, 120/208 V panel with 10, 8 and 6 A (its first posted answer slips a sign)."""
    assert neutral_current_a(phasors([10, 8, 6], [0, 0, 0])) == pytest.approx(3.46, abs=0.01)


def test_three_resistors_of_the_teaching_page() -> None:
    """Public teaching page on unbalanced load: 100, 80 and 50 ohm; 230 V assumed."""
    currents = through_impedances(230.0, 100, 80, 50)

    assert np.abs(currents) == pytest.approx([2.300, 2.875, 4.600], abs=0.001)
    assert neutral_current_a(currents) == pytest.approx(2.073, abs=0.001)


@pytest.mark.parametrize(("currents", "neutral"), [([9, 9, 0], 9.0), ([9, 0, 0], 9.0)])
def test_two_equal_phases_or_one_load_the_neutral_like_a_phase(
    currents: list[float], neutral: float
) -> None:
    assert neutral_current_a(phasors(currents, [0, 0, 0])) == pytest.approx(neutral)


def test_mixed_power_factors_of_the_web_problem_set() -> None:
    """Web problem set: 10 kW unity, 15 kW 0.8 lagging, 8 kW 0.9 leading on 400 V.

    The same-power-factor short form, which the page announces, would give 40.5 A.
    """
    supply = a_supply(voltage_v=400.0 / np.sqrt(3.0))
    rated = {"rated_voltage_v": supply.voltage_v}
    loads = (
        a_load("a", 0, power_w=10e3, **rated),
        a_load(
            "b",
            1,
            power_w=15e3,
            power_factor=0.8,
            displacement_factor=0.8,
            displacement="lagging",
            **rated,
        ),
        a_load(
            "c",
            2,
            power_w=8e3,
            power_factor=0.9,
            displacement_factor=0.9,
            displacement="leading",
            **rated,
        ),
    )

    solution = solve(a_layout(supply=supply, loads=loads))

    # 0.5 % is the precision of the printed values.
    assert solution.inflow.rms_a[0, 0] == pytest.approx([43.30, 81.19, 38.49, 64.04], rel=0.005)
    assert solution.load_power_w.sum() == pytest.approx(33e3)
    assert solution.load_reactive_var.sum() == pytest.approx(7.38e3, rel=0.005)


def test_linear_circuits_course_paper() -> None:
    """Ukrainian course paper on linear circuits: 380/220 V, j9, j4 and 7 - j7 ohm."""
    currents = through_impedances(220.0, 9j, 4j, 7 - 7j)

    assert np.abs(currents) == pytest.approx([24.44, 55.0, 22.22], rel=0.005)
    assert neutral_current_a(currents) == pytest.approx(69.7, rel=0.005)


def test_textbook_four_wire_resistive_load() -> None:
    """Electrical and Electronic Principles and Technology, ch. 20, problem 4: 24, 18, 12 kW, 415 V.

    The book rounds the phase voltage to 240 V and has 100, 75, 50 and 43.3 A.
    """
    supply = a_supply(voltage_v=415.0 / np.sqrt(3.0))
    loads = tuple(a_load(f"k{i}", i, power_w=p) for i, p in enumerate((24e3, 18e3, 12e3)))

    solution = solve(a_layout(supply=supply, loads=loads))

    assert solution.inflow.rms_a[0, 0] == pytest.approx([100.17, 75.13, 50.08, 43.37], rel=1e-3)


def test_circuits_textbook_with_reversed_sequence() -> None:
    """Fundamentals of Electric Circuits, ex. 12.9 (from memory): 100 V, sequence a-c-b."""
    supply = a_supply(voltage_v=100.0)
    impedances = {0: 15 + 0j, 2: 10 + 5j, 1: 6 - 8j}  # b stands at +120 deg, c at -120 deg
    loads = []
    for line, z in impedances.items():
        loads.append(
            a_load(
                f"z{line}",
                line,
                power_w=100.0**2 / abs(z) ** 2 * z.real,
                rated_voltage_v=100.0,
                power_factor=z.real / abs(z),
                displacement_factor=z.real / abs(z),
                displacement={1: "lagging", 0: "none", -1: "leading"}[int(np.sign(z.imag))],
                load_model="constant-impedance",
            )
        )

    solution = solve(a_layout(supply=supply, loads=tuple(loads)))

    current = solution.inflow.fundamental_a[0, 0]
    assert np.abs(current) == pytest.approx([6.67, 10.0, 8.94, 10.06], abs=0.01)
    assert np.degrees(np.angle(current[:3])) == pytest.approx([0.0, -66.9, 93.4], abs=0.1)


def test_resistor_inductor_and_capacitor_that_balance_to_nothing() -> None:
    """German polyphase textbook (1973), ex. 18, as in a public simulation library's example.

    The magnitudes alone would wrongly give 4.23 A.
    """
    currents = through_impedances(100.0, 10, 17.32j, -17.32j)

    assert np.abs(currents) == pytest.approx([10.0, 5.77, 5.77], abs=0.01)
    assert neutral_current_a(currents) == pytest.approx(0.0, abs=0.01)


def test_harmonics_of_a_balanced_star() -> None:
    """Renewable and Efficient Electric Power Systems, ex. 2.13: only orders 3 and 9 add up."""
    rms_a = {1: 100.0, 3: 50.0, 5: 20.0, 7: 10.0, 9: 8.0, 11: 4.0, 13: 2.0}
    triplen = np.full(3, np.hypot(rms_a[3], rms_a[9]))
    rest = np.sqrt(sum(rms_a[h] ** 2 for h in (5, 7, 11, 13))) * ANGLES**5

    neutral_a = neutral_current_a(rms_a[1] * ANGLES, triplen, rest)

    assert neutral_a == pytest.approx(151.9, abs=0.1)
    assert np.sqrt(rms_a[1] ** 2 + triplen[0] ** 2 + abs(rest[0]) ** 2) == pytest.approx(
        114.4, abs=0.1
    )


# Third harmonic of a balanced load: share of the fundamental, neutral over RMS line current.
@pytest.mark.parametrize(("third", "ratio"), [(1.0 / 3.0, 0.949), (0.30, 0.862)])
def test_third_harmonic_alone_loads_the_neutral_of_a_balanced_board(
    third: float, ratio: float
) -> None:
    factor = 1.0 / np.sqrt(1.0 + third**2)
    loads = tuple(
        a_load(f"k{i}", i, power_factor=factor, third_harmonic_pct=100.0 * third) for i in range(3)
    )

    flow = solve(a_layout(loads=loads)).inflow

    assert flow.rms_a[0, 0, 3] / flow.rms_a[0, 0, 0] == pytest.approx(ratio, abs=0.002)
    assert flow.triplen_a[0, 0, 3] == pytest.approx(3.0 * flow.triplen_a[0, 0, 0])


def test_third_harmonics_of_two_legs_in_opposition_cancel_in_their_neutral() -> None:
    supply = a_supply(system="three-wire", voltage_v=120.0, lines=("L1", "L2"))
    board = a_board(lines=("L1", "L2"), supply_lines=(0, 1))
    figures = {"rated_voltage_v": 120.0, "power_factor": 0.7, "third_harmonic_pct": 80.0}
    loads = (a_load("a", 0, **figures), a_load("b", 1, **figures))

    flow = solve(a_layout(supply=supply, boards=(board,), loads=loads)).inflow

    assert flow.triplen_a[0, 0, 0] > 10.0
    assert flow.rms_a[0, 0, 3] == pytest.approx(0.0, abs=1e-9)


def test_worst_switching_is_the_largest_of_all_combinations() -> None:
    random = np.random.default_rng(7)
    for count in range(1, 13):
        values = random.normal(size=(4, count)) + 1j * random.normal(size=(4, count))
        values[2] = np.round(values[2])  # ties, zeros and opposite phasors
        choices = np.array(list(product([False, True], repeat=count)))

        magnitude, member = largest_subset_sum(values)

        every = np.abs(values @ choices.T).max(axis=1)
        assert magnitude == pytest.approx(every, rel=1e-12, abs=1e-12)
        assert np.abs((values * member).sum(axis=1)) == pytest.approx(magnitude)


def test_worst_switching_on_lamps_at_three_angles_only() -> None:
    values = np.array([[2.0, 2.0, 5.0, 5.0, 1.0, 1.0]]) * ANGLES[[0, 0, 1, 1, 2, 2]]

    magnitude, member = largest_subset_sum(values)

    assert magnitude[0] == pytest.approx(10.0)
    assert member[0].tolist() == [False, False, True, True, False, False]


def test_worst_switching_of_no_loads_is_nothing() -> None:
    worst = worst_switching(solve(a_layout()))

    assert worst.current_a.tolist() == [0.0]
    assert worst.on.shape == (1, 0)


def test_worst_switching_of_a_layout_by_solving_every_combination() -> None:
    loads = tuple(
        a_load(
            f"k{i}", i % 3, power_w=400.0 * (i + 1), power_factor=0.9, third_harmonic_pct=20.0,
            load_model="constant-current",
        )
        for i in range(7)
    )  # fmt: skip
    choices = np.array(list(product([False, True], repeat=7)))
    every = a_layout(
        loads=tuple(replace(k, on=tuple(choices[:, i].tolist())) for i, k in enumerate(loads)),
        setups=tuple(str(i) for i in range(len(choices))),
    )

    worst = worst_switching(solve(a_layout(loads=loads)))

    flow = solve(every).inflow
    assert worst.fundamental_a[0] == pytest.approx(np.abs(flow.fundamental_a[:, 0, 3]).max())
    assert worst.current_a[0] >= flow.rms_a[:, 0, 3].max()
    of_those = int(np.flatnonzero((choices == worst.on[0]).all(axis=1))[0])
    assert abs(flow.fundamental_a[of_those, 0, 3]) == pytest.approx(worst.fundamental_a[0])


def test_worst_switching_of_a_board_sees_only_what_hangs_on_it() -> None:
    boards = (a_board(), a_board("stage", parent=0), a_board("side", parent=0))
    loads = (a_load("a", 0, board=1), a_load("b", 0, board=2), a_load("loose"))
    solution = solve(a_layout(boards=boards, loads=loads))

    assert worst_switching(solution, 2).current_a[0] == pytest.approx(2000.0 / 230.0)
    assert worst_switching(solution, 1).current_a[0] == pytest.approx(4000.0 / 230.0)
    assert loads_below(solution.layout, 2).tolist() == [True, False, False]


def test_two_legs_bound_the_triplens_by_the_larger_leg() -> None:
    supply = a_supply(system="three-wire", voltage_v=120.0, lines=("L1", "L2"))
    board = a_board(lines=("L1", "L2"), supply_lines=(0, 1))
    figures = {"rated_voltage_v": 120.0, "power_factor": 0.7, "third_harmonic_pct": 80.0}
    loads = (a_load("a", 0, **figures), a_load("b", 1, power_w=1000.0, **figures))

    worst = worst_switching(solve(a_layout(supply=supply, boards=(board,), loads=loads)))

    first_a = 2000.0 / 120.0
    assert worst.fundamental_a[0] == pytest.approx(first_a)
    assert worst.triplen_a[0] == pytest.approx(0.8 * first_a)
    assert worst.current_a[0] == pytest.approx(2000.0 / 120.0 / 0.7)  # the first leg alone


def a_star(model: str, **changes: object) -> Layout:
    powers_w = (5000.0, 2000.0, 650.0)
    loads = tuple(
        a_load(f"k{i}", i, power_w=power, load_model=model) for i, power in enumerate(powers_w)
    )
    return a_layout(loads=loads, **changes)


def test_open_neutral_of_three_fixed_resistances() -> None:
    """5 kW, 2 kW and 650 W of fixed resistance at 230 V: the star point by nodal analysis."""
    conductance = np.array([5000.0, 2000.0, 650.0])
    star = 230.0 * (conductance * ANGLES).sum() / conductance.sum()
    solution = solve(a_star("constant-impedance"))

    after = open_neutral(solution)

    assert solution.inflow.rms_a[0, 0] == pytest.approx([21.74, 8.70, 2.83, 16.77], abs=0.01)
    assert after.voltage_v[0] == pytest.approx([124.6, 278.8, 325.2], abs=0.1)
    assert after.voltage_v[0] == pytest.approx(np.abs(230.0 * ANGLES - star), rel=1e-9)
    assert after.star_point_v[0] == pytest.approx(115.9, abs=0.1)
    assert after.load_voltage_v[0] == pytest.approx(after.voltage_v[0])


def test_tungsten_moves_an_open_neutral_further_than_fixed_resistance() -> None:
    fixed = open_neutral(solve(a_star("constant-impedance"))).voltage_v[0]

    lamps = open_neutral(solve(a_star("tungsten"))).voltage_v[0]

    current = np.array([5000.0, 2000.0, 650.0]) / 230.0 * (lamps / 230.0) ** 0.55
    assert lamps[0] < fixed[0]
    assert lamps[2] > fixed[2]
    # Three currents that close a triangle with the voltages' angles, by the cosine rule.
    star = np.sqrt(
        max(0.0, (lamps**2).mean() - 230.0**2)
    )  # the mean square of the arms is V^2 + star^2
    assert star == pytest.approx(open_neutral(solve(a_star("tungsten"))).star_point_v[0])
    assert np.all(current.sum() - 2.0 * current >= 0.0)


@pytest.mark.parametrize("model", ["constant-power", "constant-current", "tungsten"])
def test_an_open_neutral_comes_to_rest_where_the_potential_would_drift(model: str) -> None:
    """The same rest is found by integrating the star point's motion in small plain steps."""
    exponent = {"constant-power": 0.0, "constant-current": 1.0, "tungsten": 1.55}[model]
    power = np.array([5000.0, 2000.0, 650.0])
    floor = 0.9 * 230.0 if exponent <= 1.0 else 1.0
    star = 0j
    for _ in range(4000):
        arms = 230.0 * ANGLES - star
        size = np.maximum(np.abs(arms), floor)
        star += 2.0 * (power / 230.0**exponent * size ** (exponent - 2.0) * arms).sum()

    after = open_neutral(solve(a_star(model)))

    assert after.converged.all()
    assert after.voltage_v[0] == pytest.approx(np.abs(230.0 * ANGLES - star), rel=1e-6)


def test_equal_phases_do_not_need_their_neutral() -> None:
    loads = tuple(a_load(f"k{i}", i, load_model="tungsten") for i in range(3))

    after = open_neutral(solve(a_layout(loads=loads)))

    assert after.voltage_v[0] == pytest.approx([230.0] * 3)


def test_two_unlike_legs_share_their_line_voltage_when_the_neutral_opens() -> None:
    """Voltage divider: 240 V over 1000 W and 200 W of fixed resistance, both for 120 V."""
    supply = a_supply(system="three-wire", voltage_v=120.0, lines=("L1", "L2"))
    board = a_board(lines=("L1", "L2"), supply_lines=(0, 1))
    figures = {"rated_voltage_v": 120.0, "load_model": "constant-impedance"}
    loads = (a_load("a", 0, power_w=1000.0, **figures), a_load("b", 1, power_w=200.0, **figures))

    after = open_neutral(solve(a_layout(supply=supply, boards=(board,), loads=loads)))

    assert after.voltage_v[0] == pytest.approx([40.0, 200.0, 0.0])


def test_a_single_phase_supply_goes_dark_when_its_neutral_opens() -> None:
    supply = a_supply(system="single-phase", lines=("L1",))
    board = a_board(lines=("L1",), supply_lines=(0,))
    loads = (a_load("a", 0, load_model="tungsten"), a_load("b", 0))

    after = open_neutral(solve(a_layout(supply=supply, boards=(board,), loads=loads)))

    assert after.converged.all()
    assert after.load_voltage_v == pytest.approx(0.0, abs=1e-6)
    assert after.star_point_v[0] == pytest.approx(230.0)  # the neutral is live through the lamps


def test_an_open_neutral_with_nothing_on_stays_where_it_was() -> None:
    after = open_neutral(solve(a_layout(loads=(a_load("a", 0, on=(False,)),))))

    assert after.voltage_v[0] == pytest.approx([230.0] * 3)


def test_set_ups_are_solved_together_and_do_not_disturb_each_other() -> None:
    layout = a_tree(3, boards=6, loads=20, setups=5)
    together = open_neutral(solve(layout))

    for setup, name in enumerate(layout.setups):
        alone = replace(
            layout, setups=(name,), loads=tuple(replace(k, on=(k.on[setup],)) for k in layout.loads)
        )
        single = open_neutral(solve(alone))
        assert together.voltage_v[setup] == pytest.approx(single.voltage_v[0], rel=1e-8)


def test_an_open_neutral_of_one_board_leaves_its_neighbours_alone() -> None:
    boards = (
        a_board(),
        a_board("stage", parent=0, feeder=a_run()),
        a_board("side", parent=0, feeder=a_run()),
    )
    loads = tuple(
        a_load(f"k{b}{i}", i, board=b, power_w=500.0 * (i + 1), load_model="tungsten")
        for b in (1, 2)
        for i in range(3)
    )

    after = open_neutral(solve(a_layout(boards=boards, loads=loads)), node=2)

    assert after.load_voltage_v[0, :3].max() > 250.0
    assert after.load_voltage_v[0, 3:] == pytest.approx([230.0] * 3, abs=1.0)
