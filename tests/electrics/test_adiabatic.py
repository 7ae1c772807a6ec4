"""The adiabatic equation, against the factors that IEC 60364 and BS 7671 print."""

from __future__ import annotations

import math

import pytest

from evenboard.electrics.adiabatic import (
    FAULT_TEMPERATURES,
    adiabatic_csa_mm2,
    adiabatic_factor,
)


# k of copper: IEC 60364-5-54 and BS 7671 Tables 54.2 to 54.4 (115, 143, 176 as reproduced), IEC
# 60364-4-43 Table 43A (141, 134, 143 for cores in cable: from memory).
@pytest.mark.parametrize(
    ("initial_c", "final_c", "k"),
    [
        (70, 160, 115),
        (30, 160, 143),
        (60, 200, 141),
        (85, 220, 134),
        (90, 250, 143),
        (30, 250, 176),
    ],
)
def test_the_formula_gives_the_printed_factors(initial_c: float, final_c: float, k: float) -> None:
    # The standards print whole numbers.
    assert adiabatic_factor(initial_c, final_c) == pytest.approx(k, abs=0.5)


# IEC 60364-4-43, 434.5.2.
@pytest.mark.parametrize(
    ("seconds", "k", "csa_mm2", "next_size_mm2"), [(0.4, 141, 4.49, 6), (0.1, 115, 2.75, 4)]
)
def test_a_thousand_amps_need_so_much_copper(
    seconds: float, k: float, csa_mm2: float, next_size_mm2: float
) -> None:
    needed = adiabatic_csa_mm2(1000.0, seconds, k)

    assert needed == pytest.approx(csa_mm2, abs=0.005)
    assert min(size for size in (1.5, 2.5, 4, 6, 10) if size >= needed) == next_size_mm2


def test_every_listed_pair_of_temperatures_gives_a_factor() -> None:
    factors = [adiabatic_factor(*pair) for pair in FAULT_TEMPERATURES.column("final (°C)").items()]

    assert all(110.0 < k < 150.0 for k in factors)


@pytest.mark.parametrize(("fault_a", "seconds", "k"), [(1e3, 6, 115), (1e3, 0, 115), (1e3, 1, 0)])
def test_what_the_equation_does_not_hold_for_is_refused(
    fault_a: float, seconds: float, k: float
) -> None:
    with pytest.raises(ValueError, match=r"adiabatic equation|must be positive"):
        adiabatic_csa_mm2(fault_a, seconds, k)


@pytest.mark.parametrize(
    ("initial_c", "final_c"), [(200, 60), (60, 60), (-240, 60), (60, math.nan)]
)
def test_a_fault_that_does_not_heat_is_refused(initial_c: float, final_c: float) -> None:
    with pytest.raises(ValueError, match="must heat the conductor"):
        adiabatic_factor(initial_c, final_c)
