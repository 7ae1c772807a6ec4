"""Feeders and leads."""

from __future__ import annotations

from dataclasses import replace

from evenboard.electrics.equipment import (
    Conductor,
    Limits,
)
from evenboard.electrics.layout import Layout
from findings.scenarios.common import (
    Scenario,
    Scenarios,
    even,
    lamp,
    rubber,
)
from support.builders import a_board, a_layout, a_run, a_supply

__all__ = ["SCENARIOS"]

SCENARIOS = Scenarios()


@SCENARIOS
def feeder_over_by_one_phase() -> Scenario:
    def layout(amps: float) -> Layout:
        loads = (lamp("key", 0, 15.0), lamp("fill", 0, amps - 15.0, "top"))
        return a_layout(boards=(a_board(feeder=rubber(4.0)),), loads=loads)

    return Scenario("feeder-overload", "4 mm2, 26 A", layout(26.2), layout(25.9), "fail")


@SCENARIOS
def feeder_over_on_all() -> Scenario:
    def layout(csa_mm2: float) -> Layout:
        return a_layout(boards=(a_board(feeder=rubber(csa_mm2)),), loads=even(30.0))

    return Scenario("feeder-overload", "4 mm2, 30 A on all", layout(4.0), layout(6.0), "fail")


@SCENARIOS
def feeder_over_by_coil() -> Scenario:
    def layout(layers: int) -> Layout:
        run = rubber(6.0, laid="coiled", coil_layers=layers)
        return a_layout(boards=(a_board(feeder=run),), loads=even(25.0))

    # 34 A x 0.65 for two layers is 22.1 A, x 0.85 for one 28.9 A.
    return Scenario("feeder-overload", "wound up", layout(2), layout(1), "fail")


@SCENARIOS
def feeder_over_by_group() -> Scenario:
    def layout(circuits: int) -> Layout:
        run = rubber(6.0, laid="grouped", grouped_circuits=circuits)
        return a_layout(boards=(a_board(feeder=run),), loads=even(26.0))

    # 34 A x 0.70 for three bunched is 23.8 A, x 0.80 for two 27.2 A.
    return Scenario("feeder-overload", "bunched", layout(3), layout(2), "fail")


@SCENARIOS
def lead_over() -> Scenario:
    def layout(amps: float) -> Layout:
        return a_layout(loads=(lamp("key", 0, amps, lead=rubber(1.5)),))

    return Scenario("feeder-overload", "a 1.5 mm2 lead, 16 A", layout(16.2), layout(15.9), "fail")


@SCENARIOS
def feeder_over_spelled_out() -> Scenario:
    def layout(amps: float) -> Layout:
        run = a_run(conductor=Conductor(1.0, 0.0, 1.0, 0.0, 20.0))
        return a_layout(boards=(a_board(feeder=run),), loads=even(amps))

    return Scenario("feeder-overload", "a given 20 A", layout(20.3), layout(19.9), "fail")


@SCENARIOS
def coiled() -> Scenario:
    def layout(laid: str, layers: int) -> Layout:
        run = rubber(16.0, laid=laid, coil_layers=layers)
        return a_layout(boards=(a_board(feeder=run),), loads=even(10.0))

    return Scenario("feeder-coiled", "a drum", layout("coiled", 2), layout("surface", 0), "caution")


@SCENARIOS
def hot_cores() -> Scenario:
    """Three lines near their capacity and a loaded neutral: no core is over, all are too hot."""

    def layout(amps: float) -> Layout:
        led = {
            "power_factor": 0.978,
            "displacement_factor": 0.9899,
            "displacement": "leading",
            "third_harmonic_pct": 15.0,
        }
        run = rubber(4.0)
        return a_layout(boards=(a_board(feeder=run),), loads=even(amps * 0.978, **led))

    return Scenario("core-overheating", "four loaded cores", layout(25.7), layout(23.5), "fail")


@SCENARIOS
def uneven_cores() -> Scenario:
    def layout(amps: float) -> Layout:
        loads = tuple(
            lamp(f"w{i}", 0, amps / 3, row) for i, row in enumerate(("bottom", "middle", "top"))
        )
        run = rubber(6.0, 30.0)
        supply = a_supply(rating_a=32.0)
        return a_layout(supply=supply, boards=(a_board(feeder=run),), loads=loads)

    # Own share 0.25 of a 30 K rise: 7.5 K x (I/34)^2.
    return Scenario(
        "uneven-core-heating",
        "one hot core",
        replace(layout(29.0), limits=replace(Limits(), core_spread_k=5.0)),
        replace(layout(26.0), limits=replace(Limits(), core_spread_k=5.0)),
        "note",
    )


@SCENARIOS
def unprotected() -> Scenario:
    def layout(csa_mm2: float) -> Layout:
        return a_layout(boards=(a_board(feeder=rubber(csa_mm2)),), loads=even(10.0))

    return Scenario("feeder-protection", "26 A behind 32 A", layout(4.0), layout(6.0), "caution")


@SCENARIOS
def lead_unprotected() -> Scenario:
    """1.5 mm2 carries 16 A behind 32 A, and C32 trips at once only up to 0.72 ohm."""

    def layout(length_m: float) -> Layout:
        supply = a_supply(loop_impedance_ohm=0.2)
        return a_layout(supply=supply, loads=(lamp("key", 0, 5.0, lead=rubber(1.5, length_m)),))

    # 31.6 ohm/km there and back: 0.52 ohm left in 16.4 m.
    return Scenario("feeder-protection", "a lead", layout(17.0), layout(16.0), "caution")


@SCENARIOS
def leads_unprotected() -> Scenario:
    def layout(length_m: float) -> Layout:
        supply = a_supply(loop_impedance_ohm=0.2)
        loads = tuple(lamp(f"k{i}", i, 5.0, lead=rubber(1.5, length_m)) for i in range(3))
        return a_layout(supply=supply, loads=loads)

    return Scenario("feeder-protection", "several leads", layout(17.0), layout(16.0), "caution")


@SCENARIOS
def unprotected_on_a_drum() -> Scenario:
    def layout(laid: str, layers: int) -> Layout:
        run = rubber(6.0, laid=laid, coil_layers=layers)
        return a_layout(boards=(a_board(feeder=run),), loads=even(10.0))

    return Scenario(
        "feeder-protection",
        "a drum behind 32 A",
        layout("coiled", 1),
        layout("surface", 0),
        "caution",
    )
