"""Voltage drop by formula, against annex G of IEC 60364-5-52, a handbook and BS 7671."""

from __future__ import annotations

import math
from typing import Literal

import pytest

from evenboard.electrics.conductor import resistance_ohm_per_km
from evenboard.electrics.voltage_drop import (
    COPPER_IN_SERVICE,
    DROP_REACTANCE,
    drop_limit_pct,
    run_drop_v,
)

HANDBOOK_RESISTIVITY = 0.0237
"""Copper in service as the Electrical Installation Guide's V/A/km table takes it. [ohm mm2/m]"""


def annex_g_v(
    lines: Literal[1, 3], csa_mm2: float, length_m: float, current_a: float, power_factor: float
) -> float:
    return run_drop_v(
        current_a,
        COPPER_IN_SERVICE.value * length_m / csa_mm2,
        DROP_REACTANCE.value * length_m,
        power_factor,
        lines=lines,
    )


# IEC 60364-5-52:2009 annex G, formula as reproduced; line-to-neutral volts for three lines.
@pytest.mark.parametrize(
    ("lines", "csa_mm2", "length_m", "current_a", "power_factor", "drop_v", "drop_pct"),
    [
        (3, 10, 50, 32, 1.0, 3.60, 1.57),
        (1, 2.5, 50, 16, 1.0, 14.4, 6.26),
        (3, 35, 100, 100, 0.8, 5.62, 2.44),
        (1, 2.5, 30, 10, 0.95, 5.14, 2.24),
    ],
)
def test_annex_g_formula(
    lines: Literal[1, 3],
    csa_mm2: float,
    length_m: float,
    current_a: float,
    power_factor: float,
    drop_v: float,
    drop_pct: float,
) -> None:
    drop = annex_g_v(lines, csa_mm2, length_m, current_a, power_factor)

    assert drop == pytest.approx(drop_v, abs=0.01)
    assert 100.0 * drop / 230.0 == pytest.approx(drop_pct, abs=0.01)


def test_two_stages_of_the_electrical_installation_guide() -> None:
    # Check set A no. 8: Electrical Installation Guide 2018, section G, example 2: 70 mm2, 50 m,
    # 150 A balanced, 0.59 V/A/km line to line; then 2.5 mm2, 20 m, 20 A, 19 V/A/km.
    feeder_r = HANDBOOK_RESISTIVITY * 50.0 / 70.0
    lead_r = HANDBOOK_RESISTIVITY * 20.0 / 2.5

    feeder_v = run_drop_v(150.0, feeder_r, 0.0, 1.0, lines=3)
    lead_v = run_drop_v(20.0, lead_r, 0.0, 1.0, lines=1)

    # The guide rounds its table to two figures: 0.05 V.
    assert math.sqrt(3.0) * feeder_v == pytest.approx(4.4, abs=0.05)
    assert feeder_v == pytest.approx(2.55, abs=0.05)
    assert lead_v == pytest.approx(7.6, abs=0.05)
    assert feeder_v + lead_v == pytest.approx(10.15, abs=0.05)
    share = 100.0 * (feeder_v + lead_v) / 230.0
    assert share == pytest.approx(4.4, abs=0.05)
    assert share < drop_limit_pct(70.0, private_supply=True, lighting=True)
    assert share > drop_limit_pct(70.0, private_supply=False, lighting=True)


@pytest.mark.parametrize(
    ("lines", "published_v", "published_pct", "reference_v"),
    [(3, 7.5, 1.88, 400.0), (1, 8.7, 3.8, 230.0)],
)
def test_bs_7671_column_of_16_mm2_from_resistances(
    lines: Literal[1, 3], published_v: float, published_pct: float, reference_v: float
) -> None:
    # Check set A no. 9: BS 7671 Table 4F1B (as reproduced), 60 A, 50 m: 2.5 mV/A/m line to line,
    # 2.9 mV/A/m for two cores. Tinned class 5 at 60 deg C; the column's two figures: 3 %.
    r_ohm = resistance_ohm_per_km(16, tinned=True, temperature_c=60.0) * 0.050

    drop = run_drop_v(60.0, r_ohm, 0.0, 1.0, lines=lines) * (math.sqrt(3.0) if lines == 3 else 1.0)

    assert drop == pytest.approx(published_v, rel=0.03)
    assert 100.0 * drop / reference_v == pytest.approx(published_pct, rel=0.03)


# IEC 60364-5-52:2009 Table G.52.1 (as reproduced).
@pytest.mark.parametrize(
    ("length_m", "private", "lighting", "limit_pct"),
    [
        (50, False, True, 3.0),
        (50, False, False, 5.0),
        (50, True, True, 6.0),
        (50, True, False, 8.0),
        (140, False, True, 3.2),
        (400, False, True, 3.5),
    ],
)
def test_advised_limits(length_m: float, private: bool, lighting: bool, limit_pct: float) -> None:
    limit = drop_limit_pct(length_m, private_supply=private, lighting=lighting)

    assert limit == pytest.approx(limit_pct)


def test_a_leading_current_can_lift_the_voltage() -> None:
    assert run_drop_v(100.0, 0.01, 0.05, 0.8, lines=3, leading=True) == pytest.approx(-2.2)


def test_nonsense_is_refused() -> None:
    with pytest.raises(ValueError, match="must be 0 or more"):
        run_drop_v(-1.0, 0.1, 0.1, 1.0, lines=3)
    with pytest.raises(ValueError, match="at most 1"):
        run_drop_v(1.0, 0.1, 0.1, 1.1, lines=3)
    with pytest.raises(ValueError, match=r"cannot be nan m long"):
        drop_limit_pct(math.nan, private_supply=True, lighting=True)
