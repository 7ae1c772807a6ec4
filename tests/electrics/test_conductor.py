"""Resistance and reactance of runs, against IEC 60228 and what handbooks print from it."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from evenboard.electrics.conductor import (
    AWG_STRANDED,
    CLASS_5,
    JIS_FLEXIBLE,
    conductor_sizes_mm2,
    protective_impedance_ohm,
    resistance_ohm_per_km,
    run_impedance_ohm,
    temperature_factor,
)
from evenboard.electrics.constant import Table
from evenboard.electrics.equipment import CableType, Conductor
from evenboard.electrics.layout import Run
from support.builders import ESTIMATE

# IEC 60228 class 5, plain and tinned, ohm/km at 20 deg C (as reproduced in trade literature).
IEC_60228_CLASS_5 = [
    (0.5, 39.0, 40.1),
    (0.75, 26.0, 26.7),
    (1, 19.5, 20.0),
    (1.5, 13.3, 13.7),
    (2.5, 7.98, 8.21),
    (4, 4.95, 5.09),
    (6, 3.30, 3.39),
    (10, 1.91, 1.95),
    (16, 1.21, 1.24),
    (25, 0.780, 0.795),
    (35, 0.554, 0.565),
    (50, 0.386, 0.393),
    (70, 0.272, 0.277),
    (95, 0.206, 0.210),
    (120, 0.161, 0.164),
    (150, 0.129, 0.132),
    (185, 0.106, 0.108),
    (240, 0.0801, 0.0817),
    (300, 0.0641, 0.0654),
]

# BS 7671 Table 4F1B, 60 deg C flexible cable, single-phase mV/A/m (as reproduced by a cable maker).
BS_7671_4F1B_SINGLE_PHASE = [
    (4, 12),
    (6, 7.8),
    (10, 4.6),
    (16, 2.9),
    (25, 1.8),
    (35, 1.31),
    (50, 0.91),
    (70, 0.64),
    (95, 0.49),
    (120, 0.38),
]

# BS 7671 Table 4F3B, 60 deg C flexible cords, single-phase mV/A/m (a distributor's reproduction).
BS_7671_4F3B_SINGLE_PHASE = [(0.75, 62), (1, 46), (1.25, 37), (1.5, 32), (2.5, 19), (4, 12)]

# NFPA 70 chapter 9 Table 8: AWG, mm2, ohm/km at 75 deg C uncoated, converted by its reproducers
# from ohm/kft (so to three figures only).
NEC_CHAPTER_9_TABLE_8 = [
    ("14", 2.08, 10.07),
    ("12", 3.31, 6.33),
    ("10", 5.26, 3.970),
    ("8", 8.37, 2.507),
    ("6", 13.3, 1.611),
    ("4", 21.2, 1.010),
    ("2", 33.6, 0.636),
    ("1/0", 53.5, 0.400),
    ("2/0", 67.4, 0.317),
    ("4/0", 107.0, 0.199),
]


def a_cable(**changes: Any) -> CableType:
    values: dict[str, Any] = {
        "id": "rubber",
        "name": "Rubber",
        "construction": "multicore",
        "tinned": False,
        "rated_temperature_c": 60.0,
        "reactance_ohm_per_km": 0.08,
        "tables": (),
        "basis": ESTIMATE,
    }
    return CableType(**(values | changes))


@pytest.mark.parametrize(("csa_mm2", "plain", "tinned"), IEC_60228_CLASS_5)
def test_resistance_at_20_degrees_is_the_standards(
    csa_mm2: float, plain: float, tinned: float
) -> None:
    assert resistance_ohm_per_km(csa_mm2, tinned=False) == plain
    assert resistance_ohm_per_km(csa_mm2, tinned=True) == tinned


@pytest.mark.parametrize(
    ("temperature_c", "factor"), [(20, 1.0), (60, 1.1572), (70, 1.1965), (85, 1.2554), (90, 1.2751)]
)
def test_temperature_factor_is_that_of_copper(temperature_c: float, factor: float) -> None:
    # IEC 60228 temperature correction; the tolerance is the rounding of the printed factor.
    assert temperature_factor(temperature_c) == pytest.approx(factor, abs=0.0005)


@pytest.mark.parametrize("temperature_c", [60.0, 70.0, 85.0, 90.0])
def test_temperature_factor_agrees_with_the_form_of_iec_60287(temperature_c: float) -> None:
    other_form = (234.5 + temperature_c) / 254.5

    # The two printed forms differ by the rounding of 1/254.5 to 0.00393.
    assert temperature_factor(temperature_c) == pytest.approx(other_form, rel=2e-4)


def test_resistance_in_service_of_two_sizes() -> None:
    # IEC 60228 class 5 values brought to temperature by hand.
    assert resistance_ohm_per_km(16, tinned=False, temperature_c=60) == pytest.approx(
        1.400, rel=0.005
    )
    assert resistance_ohm_per_km(2.5, tinned=False, temperature_c=90) == pytest.approx(
        10.18, rel=0.005
    )


@pytest.mark.parametrize(
    ("csa_mm2", "published"), BS_7671_4F1B_SINGLE_PHASE + BS_7671_4F3B_SINGLE_PHASE
)
def test_twice_the_tinned_resistance_at_60_degrees_is_the_published_drop(
    csa_mm2: float, published: float
) -> None:
    run = Run(1.0, cable=a_cable(tinned=True), csa_mm2=csa_mm2)

    loop_milliohm_per_m = 2000.0 * run_impedance_ohm(run, 50.0).real[0]

    # BS 7671 Table 4F1B prints two figures, the steps of which reach 3 %.
    assert loop_milliohm_per_m == pytest.approx(published, rel=0.03)


def test_resistivity_of_a_handbook_bounds_a_class_5_conductor() -> None:
    # A Catalan handbook's companion prints 0.4307 ohm for 4 mm2, 100 m, rho 0.01723 at 20 deg C;
    # the standard's maximum for the nominal size is above the bare metal's value.
    assert 0.4307 < resistance_ohm_per_km(4, tinned=False) / 10.0 < 0.4307 * 1.2


@pytest.mark.parametrize(("awg", "csa_mm2", "published"), NEC_CHAPTER_9_TABLE_8)
def test_awg_resistance_at_75_degrees_is_the_nec_table(
    awg: str, csa_mm2: float, published: float
) -> None:
    # The conversion from ohm/kft keeps three figures; solid and stranded differ by 3 %.
    assert resistance_ohm_per_km(csa_mm2, tinned=False, temperature_c=75) == pytest.approx(
        published, rel=0.03
    ), awg


def test_five_and_a_quarter_square_is_ten_awg_however_it_is_rounded() -> None:
    assert resistance_ohm_per_km(5.261, tinned=False) == resistance_ohm_per_km(5.26, tinned=False)


def test_an_unknown_size_is_refused_and_the_nearest_is_named() -> None:
    with pytest.raises(ValueError, match=r"17 mm2; the nearest size is 16 mm2"):
        resistance_ohm_per_km(17, tinned=False)


@pytest.mark.parametrize("csa_mm2", [0.0, -4.0, math.nan, math.inf])
def test_a_size_that_is_none_is_refused(csa_mm2: float) -> None:
    with pytest.raises(ValueError, match="csa_mm2 must be a conductor size"):
        resistance_ohm_per_km(csa_mm2, tinned=False)


@pytest.mark.parametrize("tinned", [False, True])
@pytest.mark.parametrize("table", [CLASS_5, JIS_FLEXIBLE, AWG_STRANDED])
def test_a_bigger_size_of_the_same_system_has_less_resistance(table: Table, tinned: bool) -> None:
    sizes = [csa for csa in conductor_sizes_mm2() if csa in table.column("plain (ohm/km)")]

    resistances = [resistance_ohm_per_km(csa, tinned=tinned) for csa in sizes]

    assert resistances == sorted(resistances, reverse=True)
    assert len(resistances) == len(table.rows)


def test_a_run_spelled_out_is_taken_to_the_digit_at_any_frequency_and_temperature() -> None:
    run = Run(250.0, conductor=Conductor(1.23, 0.075, 2.46, 0.081))

    impedance = run_impedance_ohm(run, 60.0, temperature_c=90.0)

    np.testing.assert_array_equal(impedance, np.array([1.23 + 0.075j] * 3 + [2.46 + 0.081j]) * 0.25)


def test_a_thinner_neutral_has_its_own_resistance() -> None:
    run = Run(1000.0, cable=a_cable(), csa_mm2=16, neutral_csa_mm2=10)

    impedance = run_impedance_ohm(run, 50.0, temperature_c=20.0)

    assert impedance.real.tolist() == [1.21, 1.21, 1.21, 1.91]


def test_reactance_scales_with_frequency() -> None:
    run = Run(1000.0, cable=a_cable(), csa_mm2=16)

    assert run_impedance_ohm(run, 60.0).imag == pytest.approx([0.096] * 4, rel=1e-12)


def test_an_open_neutral_is_infinite_and_leaves_the_lines_alone() -> None:
    run = Run(100.0, cable=a_cable(), csa_mm2=16, neutral_connected=False)

    impedance = run_impedance_ohm(run, 50.0)

    assert np.isinf(impedance[3])
    assert np.isfinite(impedance[:3]).all()


def test_a_run_of_no_length_has_no_impedance() -> None:
    assert run_impedance_ohm(Run(0.0, cable=a_cable(), csa_mm2=16), 50.0).tolist() == [0j] * 4


def test_protective_conductor_is_as_big_as_a_line() -> None:
    run = Run(1000.0, cable=a_cable(), csa_mm2=16, neutral_csa_mm2=10)

    assert protective_impedance_ohm(run, 50.0, 20.0) == pytest.approx(1.21 + 0.08j)


@pytest.mark.parametrize(
    ("run", "message"),
    [
        (Run(-1.0, cable=a_cable(), csa_mm2=16), "cannot be -1.0 m long"),
        (Run(math.nan, cable=a_cable(), csa_mm2=16), "cannot be nan m long"),
        (Run(1.0, cable=a_cable()), "needs a cable type with csa_mm2"),
        (Run(1.0, csa_mm2=16), "needs a cable type with csa_mm2"),
        (Run(1.0, cable=a_cable(), csa_mm2=17.0), "nearest size is 16 mm2"),
        (Run(1.0, cable=a_cable(), csa_mm2=16, neutral_csa_mm2=11.0), "nearest size is 10 mm2"),
    ],
)
def test_a_run_that_cannot_be_computed_is_refused(run: Run, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        run_impedance_ohm(run, 50.0)


def test_a_frequency_of_nought_is_refused() -> None:
    with pytest.raises(ValueError, match="frequency must be above 0 Hz"):
        run_impedance_ohm(Run(1.0, cable=a_cable(), csa_mm2=16), 0.0)


def test_a_temperature_below_any_sense_is_refused() -> None:
    with pytest.raises(ValueError, match="gives no resistance"):
        temperature_factor(-300.0)
