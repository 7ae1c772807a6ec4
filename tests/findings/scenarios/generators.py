"""Generating sets."""

from __future__ import annotations

from dataclasses import replace

from evenboard.electrics.equipment import (
    Generator,
)
from evenboard.electrics.layout import Layout, Load
from findings.scenarios.common import (
    Scenario,
    Scenarios,
    even,
    lamp,
)
from support.builders import a_board, a_layout, a_load, a_supply, an_outlet

__all__ = ["SCENARIOS"]

SCENARIOS = Scenarios()


def on_a_set(loads: tuple[Load, ...], kva: float = 30.0, **changes: object) -> Layout:
    generator = replace(Generator(kva), **changes)  # type: ignore[arg-type]
    supply = a_supply(kind="generator", generator=generator, rating_a=63.0)
    return a_layout(supply=supply, boards=(a_board(inlet_rating_a=63.0),), loads=loads)


@SCENARIOS
def set_overloaded() -> Scenario:
    """30 kVA at 0.8 is 24 kW: 34.8 A on each of three lines."""
    return Scenario(
        "generator-overload",
        "24 kW",
        on_a_set((*even(25.0), *(lamp(f"b{i}", i, 9.9, "top") for i in range(3)))),
        on_a_set((*even(25.0), *(lamp(f"b{i}", i, 9.7, "top") for i in range(3)))),
        "fail",
    )


@SCENARIOS
def one_line_of_a_set_overloaded() -> Scenario:
    """30 kVA give 10 kVA a line, 43.5 A at 230 V, though two lines stand idle."""

    def layout(amps: float) -> Layout:
        extra = (lamp("a", 0, 20.0, "middle"), lamp("b", 0, amps - 40.0, "top"))
        return on_a_set((lamp("k", 0, 20.0), *extra))

    return Scenario("generator-overload", "one line", layout(43.7), layout(43.2), "fail")


@SCENARIOS
def one_line_of_a_set_overloaded_by_one_lamp() -> Scenario:
    def layout(amps: float) -> Layout:
        wide = an_outlet("wide", 0, rating_a=63.0)
        board = a_board(outlets=(wide,), inlet_rating_a=63.0)
        key = a_load("key", 0, power_w=amps * 230.0, outlet="wide")
        return replace(on_a_set((key,)), boards=(board,))

    return Scenario("generator-overload", "one lamp", layout(43.7), layout(43.2), "fail")


@SCENARIOS
def set_well_loaded() -> Scenario:
    return Scenario(
        "generator-loading",
        "over 80 %",
        on_a_set(even(28.0)),
        on_a_set(even(27.7)),
        "caution",
        mends=False,
    )


@SCENARIOS
def set_idling() -> Scenario:
    return Scenario(
        "generator-light-load",
        "under 30 %",
        on_a_set(even(10.3)),
        on_a_set(even(10.5)),
        "note",
        mends=False,
    )


@SCENARIOS
def set_uneven() -> Scenario:
    """Rated 43.5 A: I2 of one line alone is a third of its current; 8 % are 3.48 A, so 10.4 A."""

    def layout(amps: float) -> Layout:
        extra = (lamp("a", 0, amps / 2, "middle"), lamp("b", 0, amps / 2, "top"))
        return on_a_set((*even(15.0), *extra))

    return Scenario("generator-unbalance", "10 A more on L1", layout(10.6), layout(10.3), "caution")


@SCENARIOS
def set_stepped() -> Scenario:
    """Half of 24 kW at once: 17.4 A on each of three lines."""
    return Scenario(
        "generator-load-step",
        "everything at once",
        on_a_set(even(17.6)),
        on_a_set(even(17.2)),
        "note",
    )


@SCENARIOS
def set_stepped_by_one() -> Scenario:
    big = a_load("big", 0, 1, 2, power_w=12100.0, rated_voltage_v=230.0)
    return Scenario(
        "generator-load-step",
        "one lamp alone",
        on_a_set((big,)),
        on_a_set((replace(big, power_w=11900.0),)),
        "caution",
        mends=False,
    )


@SCENARIOS
def set_leading() -> Scenario:
    """20 % of 30 kVA are 6 kvar: 2 kvar a line, at cos 0.9 and 4.13 kW a line."""

    def layout(watts: float) -> Layout:
        led = {"displacement": "leading", "displacement_factor": 0.9, "power_factor": 0.9}
        return on_a_set(tuple(a_load(f"led{i}", i, power_w=watts, **led) for i in range(3)))

    return Scenario(
        "leading-power-factor",
        "drivers alone",
        layout(4200.0),
        layout(4050.0),
        "caution",
        mends=False,
    )


@SCENARIOS
def one_drops_out() -> Scenario:
    def layout(amps: float) -> Layout:
        return a_layout(loads=even(amps))

    return Scenario(
        "largest-lamp-drop", "a quarter of 32 A", layout(8.1), layout(7.9), "note", mends=False
    )
