"""Earth faults, leakage and switching on."""

from __future__ import annotations

from dataclasses import replace

from evenboard.electrics.equipment import (
    Breaker,
    RcdType,
)
from evenboard.electrics.layout import Layout
from findings.scenarios.common import (
    Scenario,
    Scenarios,
    even,
    fixture,
    lamp,
    rubber,
    with_breakers,
)
from support.builders import a_board, a_layout, a_supply, an_outlet

__all__ = ["SCENARIOS"]

SCENARIOS = Scenarios()


@SCENARIOS
def leaky_group() -> Scenario:
    """30 % of 30 mA are 9 mA; three loads of 3.5 mA pass it, the other group is empty."""

    def layout(leakage_ma: float) -> Layout:
        outlets = tuple(
            an_outlet(f"l{line + 1}-{row}", line, row=row, rcd="r1" if row == "bottom" else "r2")
            for row in ("bottom", "top")
            for line in range(3)
        )
        board = a_board(outlets=outlets, rcds=(RcdType("r1", 30.0), RcdType("r2", 30.0)))
        return a_layout(boards=(board,), loads=even(5.0, leakage_ma=leakage_ma))

    return Scenario("residual-current", "three drivers", layout(3.5), layout(3.0), "caution")


@SCENARIOS
def leaky_everywhere() -> Scenario:
    def layout(leakage_ma: float) -> Layout:
        board = a_board(incomer_rcd=RcdType("main", 30.0))
        return a_layout(boards=(board,), loads=even(5.0, leakage_ma=leakage_ma))

    return Scenario(
        "residual-current", "one device for all", layout(3.5), layout(3.0), "caution", mends=False
    )


@SCENARIOS
def smooth_dc() -> Scenario:
    plain = fixture("led-panel-100")

    def layout(leaks: bool) -> Layout:
        board = a_board(outlets=(an_outlet("l1-bottom", 0, rcd="r1"),), rcds=(RcdType("r1", 30.0),))
        load = lamp("key", 0, 5.0, fixture=replace(plain, smooth_dc_leakage=leaks))
        return a_layout(boards=(board,), loads=(load,))

    return Scenario("dc-leakage", "a drive", layout(True), layout(False), "note", mends=False)


@SCENARIOS
def loop_too_long() -> Scenario:
    """C16 trips at once up to 230/160 = 1.44 ohm."""

    def layout(length_m: float) -> Layout:
        board = with_breakers(16.0, feeder=rubber(6.0, length_m))
        supply = a_supply(loop_impedance_ohm=0.4)
        return a_layout(supply=supply, boards=(board,), loads=(lamp("key", 0, 10.0),))

    # 7.85 ohm/km there and back: 1.04 ohm left in 132 m.
    return Scenario("loop-impedance", "C16, no RCD", layout(135.0), layout(130.0), "fail")


@SCENARIOS
def loop_covered_by_rcd() -> Scenario:
    def layout(length_m: float) -> Layout:
        board = with_breakers(16.0, feeder=rubber(6.0, length_m), incomer_rcd=RcdType("main", 30.0))
        supply = a_supply(loop_impedance_ohm=0.4)
        return a_layout(supply=supply, boards=(board,), loads=(lamp("key", 0, 10.0),))

    return Scenario("loop-impedance", "C16 behind 30 mA", layout(135.0), layout(130.0), "note")


@SCENARIOS
def loop_without_a_breaker() -> Scenario:
    """Nothing but the 32 A of the supply is known: C32 trips at once up to 230/320 = 0.72 ohm."""

    def layout(length_m: float) -> Layout:
        board = a_board(feeder=rubber(6.0, length_m))
        supply = a_supply(loop_impedance_ohm=0.4)
        return a_layout(supply=supply, boards=(board,), loads=(lamp("key", 0, 10.0),))

    # 7.85 ohm/km there and back: 0.32 ohm left in 40.7 m.
    return Scenario("loop-impedance", "no breaker", layout(42.0), layout(40.0), "caution")


@SCENARIOS
def loop_too_long_for_any_breaker() -> Scenario:
    """Even B32 trips at once only up to 230/160 = 1.44 ohm."""

    def layout(length_m: float) -> Layout:
        board = a_board(feeder=rubber(6.0, length_m))
        supply = a_supply(loop_impedance_ohm=0.4)
        return a_layout(supply=supply, boards=(board,), loads=(lamp("key", 0, 5.0),))

    # 1.04 ohm left in 132 m.
    return Scenario("loop-impedance", "no breaker, far", layout(135.0), layout(130.0), "fail")


@SCENARIOS
def loop_that_leaves_metal_live() -> Scenario:
    """10 A of residual current over more than 5 ohm are more than 50 V."""

    def layout(length_m: float) -> Layout:
        device = RcdType("main", 10_000.0)
        board = with_breakers(16.0, feeder=rubber(6.0, length_m), incomer_rcd=device)
        supply = a_supply(loop_impedance_ohm=0.4)
        return a_layout(supply=supply, boards=(board,), loads=(lamp("key", 0, 2.0),))

    # 4.6 ohm left in 586 m.
    return Scenario("loop-impedance", "50 V behind 10 A", layout(590.0), layout(580.0), "fail")


@SCENARIOS
def inrush_of_one() -> Scenario:
    """B16 may trip from 48 A, C16 from 80 A: an inrush of 10 x 6 A suits the second only."""

    def layout(multiple: float) -> Layout:
        board = with_breakers(16.0, "C")
        first = an_outlet("l1-bottom", 0, row="bottom", breaker=Breaker(16.0, "B"))
        board = replace(board, outlets=(first, *board.outlets[1:]))
        load = lamp("key", 0, 6.0, inrush_multiple=multiple)
        return a_layout(boards=(board,), loads=(load,))

    return Scenario("inrush-trip", "one lamp on B16", layout(8.1), layout(7.9), "note")


@SCENARIOS
def inrush_of_all() -> Scenario:
    """C32 may trip from 160 A: four lamps of 45 A inrush on one line pass it together."""

    def layout(inrush: float) -> Layout:
        outlets = tuple(an_outlet(f"o{i}", 0) for i in range(4))
        board = a_board(outlets=outlets, incomer=Breaker(32.0, "C"))
        loads = tuple(
            lamp(f"k{i}", 0, 5.0, outlet=f"o{i}", inrush_multiple=inrush / 5.0) for i in range(4)
        )
        return a_layout(boards=(board,), loads=loads)

    return Scenario("inrush-trip", "four at once on C32", layout(40.5), layout(39.5), "note")
