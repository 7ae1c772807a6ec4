"""Breakers and residual-current devices, against IEC 60898-1 and BS 7671."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from evenboard.electrics.equipment import Breaker, Curve, RcdType
from evenboard.electrics.layout import Layout
from evenboard.electrics.protection import (
    breaker_band_a,
    conventional_currents_a,
    covering_rcd,
    guards_above,
    leakage_ma,
    loop_impedance_limit_ohm,
    rated_diversity,
)
from support.builders import a_board, a_layout, a_load, an_outlet

# BS 7671:2018 Table 41.3, maximum Zs at 230 V with Cmin 0.95 (two reproductions).
BS_7671_41_3 = {
    "B": (7.28, 4.37, 2.73, 2.19, 1.75, 1.37, 1.09, 0.87, 0.69, 0.55, 0.44, 0.35),
    "C": (3.64, 2.19, 1.37, 1.09, 0.87, 0.68, 0.55, 0.44, 0.35, 0.27, 0.22, 0.17),
    "D": (1.82, 1.09, 0.68, 0.55, 0.44, 0.34, 0.27, 0.22, 0.17, 0.14, 0.11, 0.09),
}
RATINGS = (6, 10, 16, 20, 25, 32, 40, 50, 63, 80, 100, 125)
LIMITS = [
    (curve, rating, ohm)
    for curve, row in BS_7671_41_3.items()
    for rating, ohm in zip(RATINGS, row, strict=True)
]


@pytest.mark.parametrize(("curve", "rating_a", "limit_ohm"), LIMITS)
def test_loop_limits_are_those_of_bs_7671(curve: Curve, rating_a: float, limit_ohm: float) -> None:
    # Check set A no. 10 among them; the table rounds to 0.01 ohm.
    limit = loop_impedance_limit_ohm(Breaker(rating_a, curve), 230.0, 0.95)

    assert limit == pytest.approx(limit_ohm, abs=0.0075)


def test_the_iec_form_leaves_the_voltage_factor_out() -> None:
    # IEC 60364-4-41, 411.4.4 (from memory): Zs = U0 / Ia.
    assert loop_impedance_limit_ohm(Breaker(16, "C"), 230.0) == pytest.approx(230 / 160)


# IEC 60898-1 (as summarised in trade literature).
@pytest.mark.parametrize(
    ("curve", "lower_a", "upper_a"), [("B", 48, 80), ("C", 80, 160), ("D", 160, 320)]
)
def test_bands_of_a_16_amp_breaker(curve: Curve, lower_a: float, upper_a: float) -> None:
    band = breaker_band_a(Breaker(16, curve))

    assert (band.lower_a, band.upper_a) == (lower_a, upper_a)


def test_conventional_currents_are_those_of_iec_60898() -> None:
    assert conventional_currents_a(32.0) == pytest.approx((36.16, 46.4))


# IEC 61439-2 Table 101 (from memory).
@pytest.mark.parametrize(
    ("circuits", "factor"), [(1, 1.0), (2, 0.9), (3, 0.9), (4, 0.8), (6, 0.7), (9, 0.7), (10, 0.6)]
)
def test_breakers_side_by_side_carry_less(circuits: int, factor: float) -> None:
    assert rated_diversity(circuits) == factor


def two_boards() -> Layout:
    """A 63 A board with a 300 mA incomer device feeds a 32 A board through a C32 outlet."""
    main = a_board(
        outlets=(
            an_outlet("l1-bottom", 0, breaker=Breaker(16, "C"), rcd="r1"),
            an_outlet("sub-1", 0, 1, 2, breaker=Breaker(32, "C")),
        ),
        rcds=(RcdType("r1", 30.0),),
        incomer=Breaker(63, "D"),
        incomer_rcd=RcdType("main", 300.0, delayed=True),
    )
    sub = a_board(
        "sub",
        parent=0,
        parent_outlet="sub-1",
        outlets=(an_outlet("a1", 0, breaker=Breaker(10, "B"), rcd="r2"), an_outlet("a2", 1)),
        rcds=(RcdType("r2", 10.0),),
        incomer=Breaker(32, "C"),
    )
    return a_layout(boards=(main, sub))


def test_the_way_from_the_supply_to_an_outlet_meets_every_breaker_in_order() -> None:
    guards = guards_above(two_boards(), 1, "a1")

    assert [(g.board, g.outlet, g.rating_a) for g in guards] == [
        (None, None, 32.0),
        (0, None, 63.0),
        (0, "sub-1", 32.0),
        (1, None, 32.0),
        (1, "a1", 10.0),
    ]
    assert guards[0].breaker is None
    assert guards[-1].breaker == Breaker(10, "B")


def test_an_outlet_without_a_breaker_adds_none() -> None:
    assert guards_above(two_boards(), 1, "a2") == guards_above(two_boards(), 1)


@pytest.mark.parametrize(
    ("board", "outlet", "expected"),
    [
        (0, "l1-bottom", "r1"),
        (0, "sub-1", "main"),
        (1, "a1", "r2"),
        (1, "a2", "main"),
        (1, None, "main"),
    ],
)
def test_the_most_sensitive_device_on_the_way_covers_a_place(
    board: int, outlet: str | None, expected: str
) -> None:
    rcd = covering_rcd(two_boards(), board, outlet)

    assert rcd is not None
    assert rcd.id == expected


def test_without_a_device_nothing_covers() -> None:
    assert covering_rcd(a_layout(), 0, "l1-bottom") is None


def test_an_outlet_that_is_not_there_is_refused() -> None:
    with pytest.raises(KeyError, match="attic"):
        guards_above(two_boards(), 0, "attic")
    with pytest.raises(KeyError, match="attic"):
        covering_rcd(two_boards(), 1, "attic")


def test_standing_leakage_adds_up_in_each_setup() -> None:
    lamps = (
        replace(a_load("a", 0), leakage_ma=3.5, count=3, on=(True, False)),
        replace(a_load("b", 0), leakage_ma=1.0, on=(True, True)),
        replace(a_load("c", 1), leakage_ma=2.0, on=(True, True)),
    )
    layout = a_layout(loads=lamps, setups=("wide", "close"))

    assert leakage_ma(layout, (0, 1)).tolist() == [11.5, 1.0]
    assert leakage_ma(layout, ()).tolist() == [0.0, 0.0]


def test_three_computers_worth_of_leakage_break_the_budget_of_a_30_ma_device() -> None:
    # BS 7671:2018, 531.3.2: 30 %; up to 3.5 mA for one piece of IT equipment and about 1 mA for an
    # electronic ballast (a contractors' fact sheet).
    it = a_layout(loads=(replace(a_load("it", 0), leakage_ma=3.5, count=3),))
    tubes = a_layout(loads=(replace(a_load("tubes", 0), leakage_ma=1.0, count=8),))

    assert leakage_ma(it, (0,))[0] > 0.30 * 30.0
    assert leakage_ma(tubes, (0,))[0] < 0.30 * 30.0


@pytest.mark.parametrize("rating_a", [0.0, -16.0, math.nan])
def test_a_breaker_without_a_rating_is_refused(rating_a: float) -> None:
    with pytest.raises(ValueError, match="rating must be above 0 A"):
        breaker_band_a(Breaker(rating_a))
    with pytest.raises(ValueError, match="rating must be above 0 A"):
        conventional_currents_a(rating_a)


def test_nonsense_is_refused() -> None:
    with pytest.raises(ValueError, match="must be above 0"):
        loop_impedance_limit_ohm(Breaker(16), 0.0)
    with pytest.raises(ValueError, match="1 circuit or more"):
        rated_diversity(0)
