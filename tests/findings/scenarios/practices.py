"""Practice: voltage, plugs, rows, dimmers, equipment."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from evenboard.electrics.layout import Layout
from evenboard.findings import EquipmentStatus
from findings.scenarios.common import (
    Scenario,
    Scenarios,
    a_us_region,
    fixture,
    lamp,
)
from support.builders import a_board, a_layout, a_run, a_supply, an_outlet

__all__ = ["SCENARIOS"]

SCENARIOS = Scenarios()


@SCENARIOS
def wrong_voltage_high() -> Scenario:
    def layout(high: float) -> Layout:
        return a_layout(
            loads=(lamp("key", 0, 2.0, rated_voltage_v=120.0, input_range_v=(110.0, high)),)
        )

    return Scenario("voltage-mismatch", "a 120 V lamp", layout(130.0), layout(240.0), "fail")


@SCENARIOS
def wrong_voltage_low() -> Scenario:
    """A 208 V lamp on a 120 V line; a free outlet across two lines would suit it."""
    ranges = ((200.0, 240.0),)
    lamp_208 = replace(fixture("tungsten-open-face-2000"), input_ranges_v=ranges)

    def layout(volts: float) -> Layout:
        outlets = (an_outlet("l1-bottom", 0), an_outlet("two", 0, 1))
        load = lamp(
            "key", 0, 5.0, fixture=lamp_208, rated_voltage_v=208.0, input_range_v=(200.0, 240.0)
        )
        return a_layout(
            supply=a_supply(voltage_v=volts, frequency_hz=60.0),
            region=a_us_region(),
            boards=(a_board(outlets=outlets),),
            loads=(load,),
        )

    return Scenario("voltage-mismatch", "a 208 V lamp", layout(120.0), layout(208.0), "caution")


@SCENARIOS
def two_plugs() -> Scenario:
    def layout(outlet: str) -> Layout:
        return a_layout(loads=(lamp("key", 0, 5.0), lamp("fill", 0, 5.0, outlet=outlet)))

    return Scenario(
        "duplicate-outlet", "two lamps", layout("l1-bottom"), layout("l1-top"), "caution"
    )


@SCENARIOS
def two_plugs_full_board() -> Scenario:
    def layout(outlet: str) -> Layout:
        board = a_board(outlets=(an_outlet("l1-bottom", 0), an_outlet("l1-top", 0, rating_a=4.0)))
        loads = (lamp("key", 0, 5.0), lamp("fill", 0, 3.0, outlet=outlet))
        return a_layout(boards=(board,), loads=loads)

    return Scenario(
        "duplicate-outlet",
        "the small one moves",
        layout("l1-bottom"),
        layout("l1-top"),
        "caution",
    )


@SCENARIOS
def rows_upside_down() -> Scenario:
    def layout(large: str, small: str) -> Layout:
        return a_layout(
            loads=(
                lamp("big", 0, 10.0, large, size_class="large"),
                lamp("little", 0, 2.0, small, size_class="small"),
            )
        )

    return Scenario(
        "row-convention",
        "large above small",
        layout("top", "bottom"),
        layout("bottom", "top"),
        "note",
    )


@SCENARIOS
def electronics_on_a_dimmer() -> Scenario:
    def layout(dimmer: str) -> Layout:
        return a_layout(loads=(lamp("led", 0, 2.0, dimmer=dimmer, dimmed_to=0.5),))

    return Scenario(
        "phase-cut-electronics", "a driver", layout("phase-cut"), layout("built-in"), "caution"
    )


TODAY = date(2025, 3, 14)


@SCENARIOS
def withdrawn() -> Scenario:
    layout = a_layout(boards=(a_board(feeder=a_run(tag="C-017")),))
    return Scenario(
        "withdrawn-equipment",
        "a feeder",
        layout,
        layout,
        "fail",
        equipment={"C-017": EquipmentStatus("C-017", TODAY, withdrawn=True, reason="kinked")},
        quiet_equipment={"C-017": EquipmentStatus("C-017", TODAY)},
    )


@SCENARIOS
def one_tag_twice() -> Scenario:
    def layout(second: str) -> Layout:
        loads = (lamp("a", 0, 2.0, tag="L-1"), lamp("b", 1, 2.0, tag=second))
        return a_layout(loads=loads)

    return Scenario(
        "tag-in-two-places", "two lamps", layout("L-1"), layout("L-2"), "caution", mends=False
    )


@SCENARIOS
def claimed() -> Scenario:
    layout = a_layout(boards=(a_board(tag="B-003"),))
    return Scenario(
        "claimed-elsewhere",
        "a board",
        layout,
        layout,
        "caution",
        equipment={"B-003": EquipmentStatus("B-003", TODAY, claimed_by=("it is out on A/1",))},
        quiet_equipment={"B-003": EquipmentStatus("B-003", TODAY)},
    )


@SCENARIOS
def falls_due() -> Scenario:
    layout = a_layout(boards=(a_board(tag="B-003"),))
    due = date(2025, 3, 20)

    def status(until: date) -> EquipmentStatus:
        return EquipmentStatus("B-003", TODAY, test_due=due, needed_until=until)

    return Scenario(
        "test-falls-due",
        "a board",
        layout,
        layout,
        "caution",
        equipment={"B-003": status(date(2025, 3, 21))},
        quiet_equipment={"B-003": status(due)},
    )


@SCENARIOS
def unknown() -> Scenario:
    layout = a_layout(boards=(a_board(tag="B-003"),))
    return Scenario(
        "unknown-tag",
        "a board",
        layout,
        layout,
        "note",
        mends=False,
        equipment={"B-003": EquipmentStatus("B-003", TODAY, known=False)},
        quiet_equipment={"B-003": EquipmentStatus("B-003", TODAY)},
    )


@SCENARIOS
def overdue() -> Scenario:
    layout = a_layout(boards=(a_board(tag="B-003"),))
    yesterday, today = date(2025, 3, 13), TODAY
    return Scenario(
        "overdue-test",
        "a board",
        layout,
        layout,
        "caution",
        equipment={"B-003": EquipmentStatus("B-003", TODAY, test_due=yesterday)},
        quiet_equipment={"B-003": EquipmentStatus("B-003", TODAY, test_due=today)},
    )
