"""Demand, continuous load and outlet ratings, against the NEC and plain arithmetic."""

from __future__ import annotations

import math

import pytest

from evenboard.electrics.demand import (
    apparent_kva,
    continuous_rating_a,
    stage_set_demand_kva,
    standard_rating_a,
)


def test_24_kva_for_the_day_at_120_over_208_volts_asks_for_90_amps() -> None:
    # NFPA 70 (NEC) 215.3 and 240.6(A) (from memory): 125 % of 66.6 A.
    line_a = 24_000.0 / (math.sqrt(3.0) * 208.0)

    needed = continuous_rating_a(line_a)

    assert line_a == pytest.approx(66.6, abs=0.1)
    assert needed == pytest.approx(83.3, abs=0.1)
    assert standard_rating_a(needed) == 90.0


# NFPA 70 (NEC) Table 530.19(A) (from memory).
@pytest.mark.parametrize(
    ("connected_kva", "demand_kva"), [(40, 40), (50, 50), (100, 87.5), (200, 147.5), (300, 197.5)]
)
def test_stage_set_demand_falls_by_portions(connected_kva: float, demand_kva: float) -> None:
    assert stage_set_demand_kva(connected_kva) == pytest.approx(demand_kva)


# S = sqrt(3) U I for the outlets of IEC 60309-2, AS/NZS 3123 and 208 V practice.
@pytest.mark.parametrize(
    ("voltage_v", "rating_a", "kva"),
    [
        (400, 16, 11.09),
        (400, 32, 22.17),
        (400, 63, 43.65),
        (400, 125, 86.60),
        (208, 30, 10.81),
        (400, 20, 13.86),
        (400, 40, 27.71),
        (400, 50, 34.64),
        (208, 60, 21.62),
        (208, 100, 36.03),
    ],
)
def test_an_outlets_rating_is_per_line(voltage_v: float, rating_a: float, kva: float) -> None:
    assert apparent_kva(voltage_v, rating_a) == pytest.approx(kva, rel=0.001)


def test_what_does_not_burn_all_day_counts_once() -> None:
    assert continuous_rating_a(40.0, 10.0) == 60.0


def test_beyond_the_largest_device_there_is_none() -> None:
    assert standard_rating_a(1200.0) == 1200.0
    assert standard_rating_a(1201.0) is None


@pytest.mark.parametrize("value", [-1.0, math.nan, math.inf])
def test_nonsense_is_refused(value: float) -> None:
    for sum_ in (continuous_rating_a, standard_rating_a, stage_set_demand_kva):
        with pytest.raises(ValueError, match="must be 0"):
            sum_(value)
    with pytest.raises(ValueError, match="must be 0 or more"):
        apparent_kva(400.0, value)
