"""Unbalance in the forms of NEMA, IEC and CIGRE, against published examples."""

from __future__ import annotations

import numpy as np
import pytest

from evenboard.electrics.powerflow import solve
from evenboard.electrics.unbalance import (
    cigre_unbalance_pct,
    nema_unbalance_pct,
    sequence_components,
    spread,
    unbalance,
)
from support.builders import a_board, a_layout, a_load, a_run, a_supply

ANGLES = np.exp(1j * np.radians([0.0, -120.0, 120.0]))

# Line voltages, NEMA %, true (CIGRE) %: IEEE Power Engineering Review 2001, "Definitions of voltage
# unbalance", and manuals; the NEMA MG 1 14.36 row from memory; the last derived.
PUBLISHED = [
    ((480, 476, 472), 0.840, 0.970),
    ((203, 210, 212), 2.56, 2.606),
    ((455, 460, 492), 4.90, 5.006),
    ((429, 415, 419), 1.90, 1.985),
    ((400, 400, 380), 3.39, 3.363),
    ((460, 467, 450), 1.96, 2.15),
]


@pytest.mark.parametrize(("voltages", "nema", "true"), PUBLISHED)
def test_published_line_voltages(voltages: tuple[int, ...], nema: float, true: float) -> None:
    assert nema_unbalance_pct(voltages) == pytest.approx(nema, abs=0.01)
    assert cigre_unbalance_pct(voltages) == pytest.approx(true, abs=0.01)


def test_a_triangle_of_voltages_in_the_electrical_handbook_companion() -> None:
    """QED electrical handbook companion, doc-test of its triangle function: 2760, 1840, 2300 V."""
    phasors = np.array([2760.0, -1035.0 - 1521.3j, -1725.0 + 1521.3j])

    parts = sequence_components(phasors)

    assert abs(parts.positive) == pytest.approx(2267.1, abs=0.1)
    assert abs(parts.negative) == pytest.approx(539.8, abs=0.1)
    assert abs(parts.zero) == pytest.approx(0.0, abs=0.1)
    assert parts.negative_pct == pytest.approx(23.81, abs=0.01)
    assert cigre_unbalance_pct([2760.0, 1840.0, 2300.0]) == pytest.approx(23.81, abs=0.01)


# Same-power-factor phase currents: zero, positive, negative sequence (Fortescue, derived).
@pytest.mark.parametrize(
    ("currents", "zero", "positive", "negative"),
    [
        ((100, 0, 0), 33.3, 33.3, 33.3),
        ((100, 100, 0), 33.3, 66.7, 33.3),
        ((10, 8, 6), 1.155, 8.0, 1.155),
    ],
)
def test_sequence_currents(
    currents: tuple[int, ...], zero: float, positive: float, negative: float
) -> None:
    parts = sequence_components(np.array(currents) * ANGLES)

    assert abs(parts.zero) == pytest.approx(zero, abs=0.05)
    assert abs(parts.positive) == pytest.approx(positive, abs=0.05)
    assert abs(parts.negative) == pytest.approx(negative, abs=0.05)


def test_current_unbalance_of_ten_eight_six() -> None:
    currents = np.array([10.0, 8.0, 6.0])

    assert nema_unbalance_pct(currents) == pytest.approx(25.0)
    assert sequence_components(currents * ANGLES).negative_pct == pytest.approx(14.4, abs=0.05)
    assert spread(currents) == 4.0


# ISO 8528 and IEC 60034-1 (from memory): phases of a generator at 100/80/60 % and 100/93/86 %.
@pytest.mark.parametrize(("shares", "negative_pct"), [((100, 80, 60), 11.5), ((100, 93, 86), 4.0)])
def test_negative_sequence_over_rated_current(shares: tuple[int, ...], negative_pct: float) -> None:
    parts = sequence_components(np.array(shares) * ANGLES)

    assert abs(parts.negative) == pytest.approx(negative_pct, abs=0.05)


def test_nothing_flowing_is_not_unbalanced() -> None:
    assert nema_unbalance_pct([0.0, 0.0, 0.0]) == 0.0
    assert sequence_components([0.0, 0.0, 0.0]).negative_pct == 0.0


def test_balanced_voltages_are_balanced_to_the_last_digit() -> None:
    assert cigre_unbalance_pct([400.0, 400.0, 400.0]) == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize("voltages", [(100.0, 100.0, 300.0), (0.0, 0.0, 0.0)])
def test_voltages_that_close_no_triangle_are_refused(voltages: tuple[float, ...]) -> None:
    with pytest.raises(ValueError, match="line-to-line voltages must"):
        cigre_unbalance_pct(voltages)


@pytest.mark.parametrize(
    "figure", [nema_unbalance_pct, cigre_unbalance_pct, sequence_components, spread]
)
def test_two_phases_are_refused(figure: object) -> None:
    with pytest.raises(ValueError, match="three phases"):
        figure([1.0, 2.0])  # type: ignore[operator]


def test_every_node_of_a_layout_has_its_own_unbalance() -> None:
    stage = a_board("stage", parent=0, feeder=a_run(length_m=50.0))
    loads = (a_load("key", 0, board=1), a_load("fill", 1, board=1), a_load("urn", 2))
    layout = a_layout(boards=(a_board(), stage), loads=loads)

    figures = unbalance(solve(layout))

    assert figures.current_pct.shape == (1, 3)
    assert figures.current_pct[0, 2] == pytest.approx(100.0, abs=0.5)  # two of three lines
    assert figures.current_pct[0, 0] < 5.0
    assert figures.negative_sequence_pct[0, 2] == pytest.approx(50.0, abs=0.5)
    assert figures.voltage_pct[0, 2] > figures.voltage_pct[0, 0] == pytest.approx(0.0, abs=1e-9)


def test_a_supply_of_two_legs_has_no_phases_to_even_out() -> None:
    supply = a_supply(system="three-wire", voltage_v=120.0, lines=("L1", "L2"))
    board = a_board(lines=("L1", "L2"), supply_lines=(0, 1))
    loads = (a_load("key", 0, rated_voltage_v=120.0),)
    layout = a_layout(supply=supply, boards=(board,), loads=loads)

    figures = unbalance(solve(layout))

    assert figures.current_pct.max() == figures.spread_a.max() == figures.voltage_pct.max() == 0.0
