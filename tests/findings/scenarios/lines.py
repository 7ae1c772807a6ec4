"""Lines: overloaded, loaded, uneven, idle."""

from __future__ import annotations

from evenboard.electrics.layout import Layout
from findings.scenarios.common import (
    Scenario,
    Scenarios,
    even,
    even_top,
    lamp,
)
from support.builders import a_board, a_layout, a_supply

__all__ = ["SCENARIOS"]

SCENARIOS = Scenarios()


@SCENARIOS
def overload_that_moves() -> Scenario:
    def layout(amps: float) -> Layout:
        return a_layout(loads=(lamp("key", 0, 20.0), lamp("urn", 0, amps, "top")))

    return Scenario(
        "phase-overload", "one phase full, two empty", layout(12.1), layout(12.0), "fail"
    )


@SCENARIOS
def overload_of_everything() -> Scenario:
    return Scenario(
        "phase-overload",
        "all three full",
        a_layout(loads=(*even(20.0), *(lamp(f"b{i}", i, 12.1, "top") for i in range(3)))),
        a_layout(loads=(*even(20.0), *(lamp(f"b{i}", i, 12.0, "top") for i in range(3)))),
        "fail",
    )


@SCENARIOS
def loading() -> Scenario:
    def layout(amps: float) -> Layout:
        return a_layout(loads=(lamp("key", 0, 20.0), lamp("urn", 0, amps, "top")))

    return Scenario("phase-loading", "over 80 %", layout(5.7), layout(5.6), "caution")


@SCENARIOS
def dimmed_overload() -> Scenario:
    def layout(amps: float) -> Layout:
        loads = tuple(
            lamp(f"d{i}", 0, amps / 3, row, dimmed_to=0.5, dimmer="built-in")
            for i, row in enumerate(("bottom", "middle", "top"))
        )
        return a_layout(loads=loads)

    return Scenario("overload-at-full", "three half up", layout(32.2), layout(31.9), "caution")


@SCENARIOS
def dimmed_overload_everywhere() -> Scenario:
    def layout(amps: float) -> Layout:
        dimmed = {"dimmed_to": 0.5, "dimmer": "built-in"}
        return a_layout(
            loads=(*even(amps / 2, **dimmed), *even_top(amps / 2, **dimmed)),
        )

    return Scenario(
        "overload-at-full", "all half up", layout(32.2), layout(31.9), "caution", mends=False
    )


@SCENARIOS
def unbalance_note() -> Scenario:
    def layout(amps: float) -> Layout:
        return a_layout(
            loads=(*even(5.0), lamp("one", 0, amps / 2, "top"), lamp("two", 0, amps / 2, "middle"))
        )

    return Scenario("current-unbalance", "11 % of rating", layout(3.6), layout(3.19), "note")


@SCENARIOS
def unbalance_fail() -> Scenario:
    """The case that kills cables: 50/0/0 on 63 A is 79 % of the rating."""
    board = a_board(inlet_rating_a=63.0)
    loads = tuple(
        lamp(f"w{i}", 0, 50.0 / 3, row) for i, row in enumerate(("bottom", "middle", "top"))
    )
    small = (lamp("small", 0, 2.0),)
    supply = a_supply(rating_a=63.0)
    return Scenario(
        "current-unbalance",
        "50/0/0 on 63 A",
        a_layout(supply=supply, boards=(board,), loads=loads),
        a_layout(supply=supply, boards=(board,), loads=small),
        "fail",
    )


@SCENARIOS
def idle() -> Scenario:
    def layout(amps: float) -> Layout:
        return a_layout(
            loads=(
                lamp("a", 0, 6.0),
                lamp("b", 1, 6.0),
                lamp("c", 1, 3.0, "top"),
                *((lamp("d", 2, amps),) if amps else ()),
            )
        )

    return Scenario("idle-phase", "L3 empty", layout(0.0), layout(0.6), "note")
