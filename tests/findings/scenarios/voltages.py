"""Voltage: lost on the way, uneven, none left."""

from __future__ import annotations

from evenboard.electrics.equipment import (
    Conductor,
)
from evenboard.electrics.layout import Layout, SourceImpedance
from findings.scenarios.common import (
    Scenario,
    Scenarios,
    even,
    lamp,
    rubber,
)
from support.builders import a_board, a_layout, a_run, a_supply, an_outlet

__all__ = ["SCENARIOS"]

SCENARIOS = Scenarios()


@SCENARIOS
def drop_in_feeder() -> Scenario:
    def layout(length_m: float) -> Layout:
        return a_layout(boards=(a_board(feeder=rubber(6.0, length_m)),), loads=even(30.0))

    # Class 5 tinned at 60 C: 3.92 ohm/km; 30 A, at 5 % less voltage 31.6 A, lose 11.5 V in 93 m.
    return Scenario("voltage-drop", "a long feeder", layout(97.0), layout(91.0), "caution")


@SCENARIOS
def drop_in_spelled_out_feeder() -> Scenario:
    def layout(length_m: float) -> Layout:
        run = a_run(length_m=length_m, conductor=Conductor(4.0, 0.0, 4.0, 0.0))
        return a_layout(boards=(a_board(feeder=run),), loads=even(30.0))

    return Scenario("voltage-drop", "a given resistance", layout(97.0), layout(90.0), "caution")


@SCENARIOS
def drop_in_lead() -> Scenario:
    def layout(length_m: float) -> Layout:
        return a_layout(loads=(lamp("key", 0, 10.0, lead=rubber(1.5, length_m)),))

    # 15.8 ohm/km there and back: 11.5 V at 10 A in 36 m.
    return Scenario("voltage-drop", "a long lead", layout(37.0), layout(33.0), "caution")


@SCENARIOS
def low_voltage() -> Scenario:
    def layout(length_m: float) -> Layout:
        key = lamp("key", 0, 10.0, lead=rubber(1.5, length_m), load_model="constant-impedance")
        return a_layout(loads=(key,))

    return Scenario(
        "low-voltage-at-load", "a very long lead", layout(82.0), layout(78.0), "caution"
    )


@SCENARIOS
def low_voltage_by_feeder() -> Scenario:
    def layout(length_m: float) -> Layout:
        loads = tuple(lamp(f"h{i}", i, 30.0, load_model="constant-impedance") for i in range(3))
        return a_layout(boards=(a_board(feeder=rubber(6.0, length_m)),), loads=loads)

    return Scenario(
        "low-voltage-at-load", "a very long feeder", layout(225.0), layout(210.0), "caution"
    )


@SCENARIOS
def uneven_voltage() -> Scenario:
    def layout(amps: float) -> Layout:
        source = SourceImpedance(0.5, 0.0, 0.5, 0.0)
        loads = tuple(
            lamp(f"w{i}", 0, amps / 3, row, load_model="constant-impedance")
            for i, row in enumerate(("bottom", "middle", "top"))
        )
        return a_layout(supply=a_supply(source_impedance=source), loads=loads)

    # I2 = I/3 through 0.5 ohm over 230 V: 2 % at 27.6 A.
    return Scenario("voltage-unbalance", "one line loaded", layout(31.0), layout(27.0), "caution")


@SCENARIOS
def colours_apart() -> Scenario:
    def layout(length_m: float) -> Layout:
        near = lamp("near", 0, 8.0, load_model="tungsten")
        far = lamp("far", 1, 8.0, load_model="tungsten", lead=rubber(1.5, length_m))
        return a_layout(loads=(near, far))

    # 5 % of the voltage are 6.8 mired (colour temperature goes with V^0.42).
    return Scenario("colour-shift", "one long lead", layout(52.0), layout(44.0), "note")


@SCENARIOS
def collapse() -> Scenario:
    def layout(length_m: float) -> Layout:
        return a_layout(
            boards=(a_board(feeder=rubber(4.0, length_m)),), loads=(lamp("key", 0, 25.0),)
        )

    # V^2/4P at 25 A: 2.3 ohm there and back, 12 ohm/km: about 195 m.
    return Scenario("no-solution", "300 m of 4 mm2", layout(300.0), layout(150.0), "fail")


@SCENARIOS
def collapse_spelled_out() -> Scenario:
    def layout(length_m: float) -> Layout:
        run = a_run(length_m=length_m, conductor=Conductor(6.0, 0.0, 6.0, 0.0))
        return a_layout(boards=(a_board(feeder=run),), loads=(lamp("key", 0, 25.0),))

    return Scenario("no-solution", "a given resistance", layout(300.0), layout(150.0), "fail")


def beyond_any_voltage(amps: float, length_m: float = 300.0) -> Layout:
    """So many amps by the plate in a 16 A outlet at the end of thin cable: no voltage is found."""
    small = an_outlet("small", 0, rating_a=16.0)
    board = a_board(outlets=(small, *a_board().outlets), feeder=rubber(1.5, length_m))
    return a_layout(boards=(board,), loads=(lamp("key", 0, amps, outlet="small"),))


@SCENARIOS
def collapse_of_a_lamp_on_the_wrong_outlet() -> Scenario:
    return Scenario(
        "no-solution",
        "a lamp too large for its outlet",
        beyond_any_voltage(60.0),
        beyond_any_voltage(60.0, 10.0),
        "fail",
    )


@SCENARIOS
def outlet_over_by_plate() -> Scenario:
    return Scenario(
        "outlet-overload",
        "by the plate, no voltage found",
        beyond_any_voltage(16.1),
        beyond_any_voltage(15.9),
        "fail",
    )


@SCENARIOS
def line_over_by_plate() -> Scenario:
    """Four lamps on L1 of 32 A, 300 m away."""

    def layout(amps: float) -> Layout:
        outlets = tuple(an_outlet(f"o{i}", 0) for i in range(4))
        board = a_board(outlets=outlets, feeder=rubber(1.5, 300.0))
        loads = tuple(lamp(f"k{i}", 0, amps / 4, outlet=f"o{i}") for i in range(4))
        return a_layout(boards=(board,), loads=loads)

    return Scenario(
        "phase-overload", "by the plates, no voltage found", layout(32.2), layout(31.8), "fail"
    )
