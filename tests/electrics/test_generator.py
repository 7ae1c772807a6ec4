"""A generating set against its ratings: ISO 8528, IEC 60034-1 and an alternator maker's note."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from evenboard.electrics.equipment import Conductor, Generator
from evenboard.electrics.generator import (
    NEGATIVE_SEQUENCE_LIMIT,
    GeneratorFigures,
    day_energy,
    generator_figures,
    line_rating_a,
    load_step_pct,
    rated_current_a,
    step_dip_pct,
)
from evenboard.electrics.powerflow import solve
from evenboard.electrics.solution import FloatArray, Solution
from support.builders import a_board, a_layout, a_load, a_run, a_supply

SET = Generator(100.0)
LINE_V = 400.0 / 3**0.5


def figures_of(
    line_a: FloatArray, *, power_factor: float = 1.0, leading: bool = False, kva: float = 100.0
) -> GeneratorFigures:
    """Figures for lines of the same power factor at 400 V line to line."""
    currents = np.atleast_2d(line_a)
    apparent = currents * LINE_V
    sine = (1.0 - power_factor**2) ** 0.5 * (-1.0 if leading else 1.0)
    angles = np.exp(-2j * np.pi / 3.0 * np.arange(3))
    return generator_figures(
        Generator(kva),
        "three-phase",
        LINE_V,
        apparent_va=apparent,
        power_w=apparent * power_factor,
        reactive_var=apparent * sine,
        fundamental_a=currents * angles * (power_factor - 1j * sine),
    )


def test_rated_current_and_one_lines_share_of_a_100_kva_set() -> None:
    # An alternator maker's application note: one third of the rating a line, 33.3 kVA.
    current = rated_current_a(SET, "three-phase", LINE_V)

    assert current == pytest.approx(144.3, abs=0.05)
    assert current * LINE_V == pytest.approx(33_333.3, abs=0.1)


def test_a_set_gives_no_more_on_a_line_than_its_share_whatever_its_outlet_is_rated_for() -> None:
    large = a_supply(kind="generator", generator=SET, rating_a=250.0, voltage_v=LINE_V)
    small = a_supply(kind="generator", generator=SET, rating_a=63.0, voltage_v=LINE_V)

    assert line_rating_a(large) == pytest.approx(144.3, abs=0.05)
    assert line_rating_a(small) == 63.0
    assert line_rating_a(a_supply(rating_a=250.0)) == 250.0


@pytest.mark.parametrize(
    ("system", "voltage_v", "expected_a"),
    [("single-phase", 230.0, 434.8), ("three-wire", 120.0, 416.7)],
)
def test_fewer_lines_share_the_rating(system: str, voltage_v: float, expected_a: float) -> None:
    assert rated_current_a(SET, system, voltage_v) == pytest.approx(expected_a, abs=0.05)  # type: ignore[arg-type]


def test_rated_power_is_80_percent_of_the_apparent_power_as_nameplates_have_it() -> None:
    full = figures_of(np.full(3, 115.47))  # 80 kW at 400 V, power factor 1

    assert full.active_pct[0] == pytest.approx(100.0, abs=0.01)
    assert full.apparent_pct[0] == pytest.approx(80.0, abs=0.01)
    assert full.running_pct[0] == pytest.approx(100.0, abs=0.01)


# IEC 60034-1: 8 % continuous (from memory); I2 of magnitudes in symmetrical sequence by hand:
# 100/80/60 % give 0.2/sqrt(3), 100/93/86 % give 0.07/sqrt(3).
@pytest.mark.parametrize(
    ("shares", "expected_pct", "too_much"),
    [((100, 80, 60), 11.5, True), ((100, 93, 86), 4.0, False)],
)
def test_negative_sequence_of_uneven_lines(
    shares: tuple[float, ...], expected_pct: float, too_much: bool
) -> None:
    figures = figures_of(144.34 / 100.0 * np.array(shares))

    assert figures.negative_sequence_pct[0] == pytest.approx(expected_pct, abs=0.06)
    assert (figures.negative_sequence_pct[0] > NEGATIVE_SEQUENCE_LIMIT.value) == too_much


def test_each_line_is_held_against_its_third() -> None:
    figures = figures_of(np.array([144.34, 72.17, 0.0]))

    assert figures.line_pct[0].tolist() == pytest.approx([100.0, 50.0, 0.0], abs=0.01)
    assert figures.apparent_pct[0] == pytest.approx(50.0, abs=0.01)


@pytest.mark.parametrize(("leading", "expected_pct"), [(True, 60.0), (False, 0.0)])
def test_only_leading_reactive_power_counts_as_leading(leading: bool, expected_pct: float) -> None:
    figures = figures_of(np.full(3, 144.34), power_factor=0.8, leading=leading)

    assert figures.leading_pct[0] == pytest.approx(expected_pct, abs=0.01)


def test_every_setup_has_its_own_figures() -> None:
    figures = figures_of(np.array([[144.34] * 3, [0.0] * 3]))

    assert figures.apparent_pct.tolist() == pytest.approx([100.0, 0.0], abs=0.01)
    assert figures.line_pct.shape == (2, 3)


def test_two_legs_have_no_negative_sequence() -> None:
    lines = np.array([[12_000.0, 6_000.0, 0.0]])

    figures = generator_figures(
        Generator(24.0),
        "three-wire",
        120.0,
        apparent_va=lines,
        power_w=lines,
        reactive_var=0.0 * lines,
        fundamental_a=lines / 120.0 + 0j,
    )

    assert figures.line_pct.tolist() == [[100.0, 50.0]]
    assert figures.negative_sequence_pct.tolist() == [0.0]


def test_a_step_is_held_against_the_engines_power() -> None:
    assert load_step_pct(Generator(60.0), 24_000.0) == pytest.approx(50.0)
    assert load_step_pct(Generator(60.0), -24_000.0) == pytest.approx(50.0)


def test_a_known_subtransient_reactance_gives_the_dip() -> None:
    # Voltage divider: a step of the set's own rating behind 20 % dips by 1/6.
    assert step_dip_pct(Generator(60.0, 0.8, 20.0), 60_000.0) == pytest.approx(100.0 / 6.0)
    assert step_dip_pct(Generator(60.0), 60_000.0) is None


def a_solved_day() -> Solution:
    """10 A at 230 V through a feeder of 0.5 ohm there and back, in one of two set-ups."""
    lamp = replace(
        a_load("key", 0), power_w=2300.0, load_model="constant-current", on=(True, False)
    )
    board = a_board(feeder=a_run(length_m=250.0, conductor=Conductor(1.0, 0.0, 1.0, 0.0)))
    return solve(
        a_layout(supply=a_supply(), boards=(board,), loads=(lamp,), setups=("wide", "close"))
    )


def test_energy_of_a_day_is_power_times_hours_and_closes() -> None:
    day = day_energy(a_solved_day(), np.array([10.0, 3.0]))

    # 230 V and 10 A for 10 h; 10 A squared in 0.5 ohm is 50 W.
    assert day.supply_kwh == pytest.approx(23.0, rel=1e-9)
    assert day.loss_kwh == pytest.approx(0.5, rel=1e-9)
    assert day.feeder_loss_kwh == pytest.approx(0.5, rel=1e-9)
    assert day.loads_kwh == pytest.approx(22.5, rel=1e-9)


@pytest.mark.parametrize("hours", [[1.0], [1.0, -1.0], [1.0, np.nan], [[1.0, 1.0]]])
def test_hours_that_are_none_are_refused(hours: list[float]) -> None:
    with pytest.raises(ValueError, match="hours of"):
        day_energy(a_solved_day(), np.array(hours))


def test_nonsense_is_refused() -> None:
    with pytest.raises(ValueError, match="must be above 0"):
        rated_current_a(Generator(0.0), "three-phase", 230.0)
    with pytest.raises(ValueError, match="rating must be above 0"):
        load_step_pct(Generator(0.0), 1000.0)
    with pytest.raises(ValueError, match="0 VA or more"):
        step_dip_pct(SET, -1.0)
    with pytest.raises(ValueError, match="rated power factor"):
        generator_figures(
            Generator(100.0, 0.0),
            "three-phase",
            230.0,
            apparent_va=np.zeros((1, 3)),
            power_w=np.zeros((1, 3)),
            reactive_var=np.zeros((1, 3)),
            fundamental_a=np.zeros((1, 3), dtype=complex),
        )
