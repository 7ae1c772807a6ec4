"""Neutrals: too much in them, none there, open."""

from __future__ import annotations

from evenboard.electrics.layout import Layout
from findings.scenarios.common import (
    Scenario,
    Scenarios,
    even,
    lamp,
    rubber,
)
from support.builders import a_board, a_layout, a_load, a_run, a_supply, an_outlet

__all__ = ["SCENARIOS"]

SCENARIOS = Scenarios()


@SCENARIOS
def neutral_of_uneven_leading_and_lagging() -> Scenario:
    """L1 lagging 60 deg and L2 leading 60 deg: their currents fall together in the neutral."""

    def layout(amps: float) -> Layout:
        reactive = {"power_factor": 0.5, "displacement_factor": 0.5}
        return a_layout(
            loads=(
                lamp("lag", 0, amps / 2, displacement="lagging", **reactive),
                lamp("lead", 1, amps / 2, displacement="leading", **reactive),
                lamp("third", 2, 5.0),
            )
        )

    return Scenario("neutral-overload", "mixed power factors", layout(21.0), layout(14.0), "fail")


@SCENARIOS
def neutral_of_harmonics() -> Scenario:
    """Third harmonics of three lines add in the neutral; re-plugging cannot help."""

    def layout(amps: float) -> Layout:
        led = {
            "power_factor": 0.55,
            "displacement_factor": 0.98,
            "displacement": "leading",
            "third_harmonic_pct": 85.0,
        }
        each = amps / 2 * 0.55
        return a_layout(
            loads=tuple(
                lamp(f"led-{line}-{row}", line, each, row, **led)
                for line in range(3)
                for row in ("bottom", "top")
            )
        )

    return Scenario("neutral-overload", "third harmonics", layout(25.0), layout(20.0), "fail")


@SCENARIOS
def neutral_by_switching() -> Scenario:
    def layout(amps: float) -> Layout:
        reactive = {"power_factor": 0.5, "displacement_factor": 0.5}
        leading = {"displacement": "leading", **reactive}
        lagging = {"displacement": "lagging", **reactive}
        return a_layout(
            loads=(
                lamp("a-lead", 0, amps / 2, displacement="leading", **reactive),
                lamp("b-lag", 1, amps / 2, displacement="lagging", **reactive),
                lamp("a-lag", 0, amps / 2, "top", **lagging),
                lamp("b-lead", 1, amps / 2, "top", **leading),
            ),
        )

    return Scenario(
        "neutral-overload",
        "only when some are off",
        layout(20.0),
        layout(15.0),
        "caution",
        mends=False,
    )


@SCENARIOS
def neutral_missing_in_feeder() -> Scenario:
    def layout(connected: bool) -> Layout:
        return a_layout(
            boards=(a_board(feeder=a_run(neutral_connected=connected)),), loads=even(5.0)
        )

    return Scenario("no-neutral", "open in the feeder", layout(False), layout(True), "fail")


@SCENARIOS
def neutral_missing_in_supply() -> Scenario:
    return Scenario(
        "no-neutral",
        "a supply of three wires",
        a_layout(supply=a_supply(neutral=False), loads=even(5.0)),
        a_layout(
            supply=a_supply(neutral=False),
            loads=(a_load("hoist", 0, 1, 2, connection="delta", rated_voltage_v=398.0),),
        ),
        "fail",
    )


@SCENARIOS
def neutral_missing_in_outlet() -> Scenario:
    def layout(has: bool) -> Layout:
        board = a_board(
            outlets=(
                an_outlet("odd", 0, neutral=has),
                *(an_outlet(f"l{i + 1}-bottom", i) for i in range(3)),
            )
        )
        return a_layout(boards=(board,), loads=(lamp("key", 0, 5.0, outlet="odd"),))

    return Scenario("no-neutral", "an outlet without one", layout(False), layout(True), "fail")


@SCENARIOS
def neutral_missing_in_lead() -> Scenario:
    def layout(connected: bool) -> Layout:
        lead = a_run(neutral_connected=connected)
        return a_layout(loads=(lamp("key", 0, 5.0, lead=lead),))

    return Scenario("no-neutral", "a lead without one", layout(False), layout(True), "fail")


@SCENARIOS
def neutral_opens() -> Scenario:
    """The scenario of three fixed resistances: 124.6, 278.8 and 325.2 V when the neutral opens."""

    def layout(*watts: float) -> Layout:
        return a_layout(
            loads=tuple(
                a_load(f"r{i}", i, power_w=w, load_model="constant-impedance")
                for i, w in enumerate(watts)
            )
        )

    return Scenario(
        "open-neutral-overvoltage",
        "5000/2000/650 W",
        layout(5000.0, 2000.0, 650.0),
        layout(5000.0, 4500.0, 4500.0),
        "note",
        mends=False,
    )


@SCENARIOS
def harmonics_in_a_feeder() -> Scenario:
    def layout(third_pct: float) -> Layout:
        # A power factor of 0.9 leaves room for the harmonic: THD 44 %.
        led = {
            "power_factor": 0.9,
            "displacement_factor": 0.9899,
            "displacement": "leading",
            "third_harmonic_pct": third_pct,
        }
        return a_layout(loads=even(20.0 * 0.9, **led))

    # Of the RMS current: 17 % of the fundamental is 15.5 % of the current, 16 % is 14.5 %.
    return Scenario("third-harmonic", "above 15 %", layout(17.0), layout(16.0), "note", mends=False)


@SCENARIOS
def harmonics_in_a_thin_neutral() -> Scenario:
    def layout(neutral_mm2: float | None) -> Layout:
        led = {
            "power_factor": 0.9,
            "displacement_factor": 0.9899,
            "displacement": "leading",
            "third_harmonic_pct": 20.0,
        }
        run = rubber(16.0, neutral_csa_mm2=neutral_mm2)
        loads = even(20.0 * 0.9, **led)
        return a_layout(boards=(a_board(feeder=run),), loads=loads)

    return Scenario(
        "third-harmonic",
        "a thin neutral",
        layout(10.0),
        a_layout(boards=(a_board(feeder=rubber(16.0, neutral_csa_mm2=10.0)),), loads=even(18.0)),
        "caution",
        leaves="note",
    )
