"""For every code a layout in which it is found and one in which it just is not.

The boards are those of ``support.builders``: three one-line outlets a phase and one of three lines.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import date

from evenboard.catalogue import load_catalogue
from evenboard.electrics.equipment import (
    Breaker,
    Conductor,
    FixtureType,
    Generator,
    Limits,
    RcdType,
    Region,
    SupplySystem,
)
from evenboard.electrics.layout import Board, Layout, Load, Run, SourceImpedance
from evenboard.findings import EquipmentStatus, Severity
from evenboard.paths import catalogue_folder
from support.builders import a_board, a_layout, a_load, a_region, a_run, a_supply, an_outlet

__all__ = ["SCENARIOS", "Scenario", "lamp", "rubber"]

CATALOGUE = load_catalogue(catalogue_folder())
RUBBER = CATALOGUE.cables["h07rn-f"]
BS7671 = next(table for table in RUBBER.tables if table.id == "bs7671-4f1a")
VOLTS = 230.0


@dataclass(frozen=True)
class Scenario:
    """One way to come by a finding: where it fires, where it just does not, and how grave it is.

    ``mends`` is False where nothing on the layout can mend it and the remedy has to say so;
    ``leaves`` is what the remedy makes of it where it does not go away for good.
    """

    code: str
    name: str
    fires: Layout
    quiet: Layout
    severity: Severity
    mends: bool = True
    leaves: Severity | None = None
    equipment: dict[str, EquipmentStatus] = field(default_factory=dict)
    quiet_equipment: dict[str, EquipmentStatus] | None = None

    @property
    def id(self) -> str:
        return f"{self.code}: {self.name}"


def rubber(csa_mm2: float, length_m: float = 1.0, **changes: object) -> Run:
    """H07RN-F rated by BS 7671 Table 4F1A: 4 mm2 26 A, 6 mm2 34 A, 10 mm2 47 A, 16 mm2 63 A."""
    run = Run(length_m, cable=RUBBER, table=BS7671, csa_mm2=csa_mm2)
    return replace(run, **changes)  # type: ignore[arg-type]


def lamp(name: str, line: int, amps: float, row: str = "bottom", **changes: object) -> Load:
    """A resistive load of so many amps at 230 V in the outlet of a line and row."""
    values = {"power_w": amps * VOLTS, "outlet": f"l{line + 1}-{row}", "size_class": "medium"}
    return a_load(name, line, **(values | changes))


def fixture(slug: str) -> FixtureType:
    return CATALOGUE.fixtures[slug]


def with_breakers(rating_a: float, curve: str = "C", **changes: object) -> Board:
    """A board whose one-line outlets have breakers, 32 A outlets all."""
    outlets = tuple(
        an_outlet(f"l{line + 1}-{row}", line, row=row, breaker=Breaker(rating_a, curve))  # type: ignore[arg-type]
        for row in ("bottom", "middle", "top")
        for line in range(3)
    )
    return a_board(outlets=outlets, **changes)


def even(amps: float, **changes: object) -> tuple[Load, ...]:
    """One load of so many amps on every line."""
    return tuple(lamp(f"even-{line + 1}", line, amps, **changes) for line in range(3))


def a_us_region() -> Region:
    """120/208 V."""
    return a_region(systems=(SupplySystem("three-phase", ("L1", "L2", "L3"), 120.0, 208.0),))


def even_top(amps: float, **changes: object) -> tuple[Load, ...]:
    """The same in the top row."""
    return tuple(lamp(f"top-{line + 1}", line, amps, "top", **changes) for line in range(3))


SCENARIOS: list[Scenario] = []


def scenario(make: Callable[[], Scenario]) -> Callable[[], Scenario]:
    SCENARIOS.append(make())
    return make


# Lines ----------------------------------------------------------------------------------------


@scenario
def overload_that_moves() -> Scenario:
    def layout(amps: float) -> Layout:
        return a_layout(loads=(lamp("key", 0, 20.0), lamp("urn", 0, amps, "top")))

    return Scenario(
        "phase-overload", "one phase full, two empty", layout(12.1), layout(12.0), "fail"
    )


@scenario
def overload_of_everything() -> Scenario:
    return Scenario(
        "phase-overload",
        "all three full",
        a_layout(loads=(*even(20.0), *(lamp(f"b{i}", i, 12.1, "top") for i in range(3)))),
        a_layout(loads=(*even(20.0), *(lamp(f"b{i}", i, 12.0, "top") for i in range(3)))),
        "fail",
    )


@scenario
def loading() -> Scenario:
    def layout(amps: float) -> Layout:
        return a_layout(loads=(lamp("key", 0, 20.0), lamp("urn", 0, amps, "top")))

    return Scenario("phase-loading", "over 80 %", layout(5.7), layout(5.6), "caution")


@scenario
def dimmed_overload() -> Scenario:
    def layout(amps: float) -> Layout:
        loads = tuple(
            lamp(f"d{i}", 0, amps / 3, row, dimmed_to=0.5, dimmer="built-in")
            for i, row in enumerate(("bottom", "middle", "top"))
        )
        return a_layout(loads=loads)

    return Scenario("overload-at-full", "three half up", layout(32.2), layout(31.9), "caution")


@scenario
def dimmed_overload_everywhere() -> Scenario:
    def layout(amps: float) -> Layout:
        dimmed = {"dimmed_to": 0.5, "dimmer": "built-in"}
        return a_layout(
            loads=(*even(amps / 2, **dimmed), *even_top(amps / 2, **dimmed)),
        )

    return Scenario(
        "overload-at-full", "all half up", layout(32.2), layout(31.9), "caution", mends=False
    )


@scenario
def unbalance_note() -> Scenario:
    def layout(amps: float) -> Layout:
        return a_layout(
            loads=(*even(5.0), lamp("one", 0, amps / 2, "top"), lamp("two", 0, amps / 2, "middle"))
        )

    return Scenario("current-unbalance", "11 % of rating", layout(3.6), layout(3.19), "note")


@scenario
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


@scenario
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


# Neutral --------------------------------------------------------------------------------------


@scenario
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


@scenario
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


@scenario
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


@scenario
def neutral_missing_in_feeder() -> Scenario:
    def layout(connected: bool) -> Layout:
        return a_layout(
            boards=(a_board(feeder=a_run(neutral_connected=connected)),), loads=even(5.0)
        )

    return Scenario("no-neutral", "open in the feeder", layout(False), layout(True), "fail")


@scenario
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


@scenario
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


@scenario
def neutral_missing_in_lead() -> Scenario:
    def layout(connected: bool) -> Layout:
        lead = a_run(neutral_connected=connected)
        return a_layout(loads=(lamp("key", 0, 5.0, lead=lead),))

    return Scenario("no-neutral", "a lead without one", layout(False), layout(True), "fail")


@scenario
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


@scenario
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


@scenario
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


# Breakers and outlets -------------------------------------------------------------------------


@scenario
def breaker_over() -> Scenario:
    """One outlet has a 16 A breaker, the others 20 A."""

    def layout(amps: float) -> Layout:
        board = with_breakers(20.0)
        first = an_outlet("l1-bottom", 0, row="bottom", breaker=Breaker(16.0, "C"))
        board = replace(board, outlets=(first, *board.outlets[1:]))
        return a_layout(boards=(board,), loads=(lamp("key", 0, amps),))

    return Scenario("breaker-overload", "16 A breaker", layout(16.1), layout(16.0), "fail")


@scenario
def breaker_over_everywhere() -> Scenario:
    def layout(amps: float) -> Layout:
        return a_layout(boards=(with_breakers(16.0),), loads=(lamp("key", 0, amps),))

    return Scenario("breaker-overload", "no larger one free", layout(16.1), layout(16.0), "fail")


@scenario
def incomer_over() -> Scenario:
    def layout(amps: float) -> Layout:
        return a_layout(
            boards=(a_board(incomer=Breaker(20.0, "C")),),
            loads=(lamp("key", 0, 12.0), lamp("urn", 0, amps - 12.0, "top")),
        )

    return Scenario("breaker-overload", "the main breaker", layout(20.1), layout(20.0), "fail")


@scenario
def breaker_loaded() -> Scenario:
    def layout(amps: float) -> Layout:
        board = with_breakers(20.0)
        first = an_outlet("l1-bottom", 0, row="bottom", breaker=Breaker(16.0, "C"))
        board = replace(board, outlets=(first, *board.outlets[1:]))
        return a_layout(boards=(board,), loads=(lamp("key", 0, amps),))

    return Scenario("breaker-loading", "over 80 %", layout(12.9), layout(12.8), "caution")


@scenario
def outlet_over() -> Scenario:
    def layout(amps: float) -> Layout:
        small = an_outlet("small", 0, rating_a=16.0)
        board = a_board(outlets=(small, *a_board().outlets))
        return a_layout(boards=(board,), loads=(lamp("key", 0, amps, outlet="small"),))

    return Scenario("outlet-overload", "16 A outlet", layout(16.1), layout(16.0), "fail")


@scenario
def unselective() -> Scenario:
    def layout(rating_a: float) -> Layout:
        board = with_breakers(16.0, incomer=Breaker(32.0, "C"))
        first = an_outlet("l1-bottom", 0, row="bottom", breaker=Breaker(rating_a, "C"))
        board = replace(board, outlets=(first, *board.outlets[1:]))
        return a_layout(boards=(board,), loads=(lamp("key", 0, 8.0), lamp("fill", 1, 8.0)))

    return Scenario("selectivity", "32 A behind 32 A", layout(32.0), layout(25.0), "caution")


@scenario
def unselective_rcd() -> Scenario:
    def layout(above_ma: float) -> Layout:
        main = a_board(
            outlets=(an_outlet("sub-1", 0, 1, 2, rcd="r0"),),
            rcds=(RcdType("r0", above_ma),),
        )
        sub = a_board(
            "sub", parent=0, parent_outlet="sub-1", rcds=(RcdType("r1", 30.0),), inlet_rating_a=32.0
        )
        return a_layout(boards=(main, sub))

    return Scenario(
        "selectivity", "30 mA behind 30 mA", layout(30.0), layout(100.0), "note", mends=False
    )


@scenario
def hot_box() -> Scenario:
    """Nine 16 A breakers side by side: 0.7 x 16 A = 11.2 A each (IEC 61439-2, from memory)."""

    def layout(amps: float) -> Layout:
        loads = tuple(
            lamp(f"{row}{line}", line, amps, row)
            for line in range(3)
            for row in ("bottom", "middle", "top")
        )
        supply = a_supply(rating_a=63.0)
        board = with_breakers(16.0, inlet_rating_a=63.0)
        return a_layout(supply=supply, boards=(board,), loads=loads)

    return Scenario(
        "board-diversity", "nine circuits", layout(11.3), layout(11.1), "note", mends=False
    )


# Feeders and leads ----------------------------------------------------------------------------


@scenario
def feeder_over_by_one_phase() -> Scenario:
    def layout(amps: float) -> Layout:
        loads = (lamp("key", 0, 15.0), lamp("fill", 0, amps - 15.0, "top"))
        return a_layout(boards=(a_board(feeder=rubber(4.0)),), loads=loads)

    return Scenario("feeder-overload", "4 mm2, 26 A", layout(26.2), layout(25.9), "fail")


@scenario
def feeder_over_on_all() -> Scenario:
    def layout(csa_mm2: float) -> Layout:
        return a_layout(boards=(a_board(feeder=rubber(csa_mm2)),), loads=even(30.0))

    return Scenario("feeder-overload", "4 mm2, 30 A on all", layout(4.0), layout(6.0), "fail")


@scenario
def feeder_over_by_coil() -> Scenario:
    def layout(layers: int) -> Layout:
        run = rubber(6.0, laid="coiled", coil_layers=layers)
        return a_layout(boards=(a_board(feeder=run),), loads=even(25.0))

    # 34 A x 0.65 for two layers is 22.1 A, x 0.85 for one 28.9 A.
    return Scenario("feeder-overload", "wound up", layout(2), layout(1), "fail")


@scenario
def feeder_over_by_group() -> Scenario:
    def layout(circuits: int) -> Layout:
        run = rubber(6.0, laid="grouped", grouped_circuits=circuits)
        return a_layout(boards=(a_board(feeder=run),), loads=even(26.0))

    # 34 A x 0.70 for three bunched is 23.8 A, x 0.80 for two 27.2 A.
    return Scenario("feeder-overload", "bunched", layout(3), layout(2), "fail")


@scenario
def lead_over() -> Scenario:
    def layout(amps: float) -> Layout:
        return a_layout(loads=(lamp("key", 0, amps, lead=rubber(1.5)),))

    return Scenario("feeder-overload", "a 1.5 mm2 lead, 16 A", layout(16.2), layout(15.9), "fail")


@scenario
def feeder_over_spelled_out() -> Scenario:
    def layout(amps: float) -> Layout:
        run = a_run(conductor=Conductor(1.0, 0.0, 1.0, 0.0, 20.0))
        return a_layout(boards=(a_board(feeder=run),), loads=even(amps))

    return Scenario("feeder-overload", "a given 20 A", layout(20.3), layout(19.9), "fail")


@scenario
def coiled() -> Scenario:
    def layout(laid: str, layers: int) -> Layout:
        run = rubber(16.0, laid=laid, coil_layers=layers)
        return a_layout(boards=(a_board(feeder=run),), loads=even(10.0))

    return Scenario("feeder-coiled", "a drum", layout("coiled", 2), layout("surface", 0), "caution")


@scenario
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


@scenario
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


@scenario
def unprotected() -> Scenario:
    def layout(csa_mm2: float) -> Layout:
        return a_layout(boards=(a_board(feeder=rubber(csa_mm2)),), loads=even(10.0))

    return Scenario("feeder-protection", "26 A behind 32 A", layout(4.0), layout(6.0), "caution")


@scenario
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


# Voltage --------------------------------------------------------------------------------------


@scenario
def drop_in_feeder() -> Scenario:
    def layout(length_m: float) -> Layout:
        return a_layout(boards=(a_board(feeder=rubber(6.0, length_m)),), loads=even(30.0))

    # Class 5 tinned at 60 C: 3.92 ohm/km; 30 A, at 5 % less voltage 31.6 A, lose 11.5 V in 93 m.
    return Scenario("voltage-drop", "a long feeder", layout(97.0), layout(91.0), "caution")


@scenario
def drop_in_spelled_out_feeder() -> Scenario:
    def layout(length_m: float) -> Layout:
        run = a_run(length_m=length_m, conductor=Conductor(4.0, 0.0, 4.0, 0.0))
        return a_layout(boards=(a_board(feeder=run),), loads=even(30.0))

    return Scenario("voltage-drop", "a given resistance", layout(97.0), layout(90.0), "caution")


@scenario
def drop_in_lead() -> Scenario:
    def layout(length_m: float) -> Layout:
        return a_layout(loads=(lamp("key", 0, 10.0, lead=rubber(1.5, length_m)),))

    # 15.8 ohm/km there and back: 11.5 V at 10 A in 36 m.
    return Scenario("voltage-drop", "a long lead", layout(37.0), layout(33.0), "caution")


@scenario
def low_voltage() -> Scenario:
    def layout(length_m: float) -> Layout:
        key = lamp("key", 0, 10.0, lead=rubber(1.5, length_m), load_model="constant-impedance")
        return a_layout(loads=(key,))

    return Scenario(
        "low-voltage-at-load", "a very long lead", layout(82.0), layout(78.0), "caution"
    )


@scenario
def low_voltage_by_feeder() -> Scenario:
    def layout(length_m: float) -> Layout:
        loads = tuple(lamp(f"h{i}", i, 30.0, load_model="constant-impedance") for i in range(3))
        return a_layout(boards=(a_board(feeder=rubber(6.0, length_m)),), loads=loads)

    return Scenario(
        "low-voltage-at-load", "a very long feeder", layout(225.0), layout(210.0), "caution"
    )


@scenario
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


@scenario
def colours_apart() -> Scenario:
    def layout(length_m: float) -> Layout:
        near = lamp("near", 0, 8.0, load_model="tungsten")
        far = lamp("far", 1, 8.0, load_model="tungsten", lead=rubber(1.5, length_m))
        return a_layout(loads=(near, far))

    # 5 % of the voltage are 6.8 mired (colour temperature goes with V^0.42).
    return Scenario("colour-shift", "one long lead", layout(52.0), layout(44.0), "note")


@scenario
def collapse() -> Scenario:
    def layout(length_m: float) -> Layout:
        return a_layout(
            boards=(a_board(feeder=rubber(4.0, length_m)),), loads=(lamp("key", 0, 25.0),)
        )

    # V^2/4P at 25 A: 2.3 ohm there and back, 12 ohm/km: about 195 m.
    return Scenario("no-solution", "300 m of 4 mm2", layout(300.0), layout(150.0), "fail")


@scenario
def collapse_spelled_out() -> Scenario:
    def layout(length_m: float) -> Layout:
        run = a_run(length_m=length_m, conductor=Conductor(6.0, 0.0, 6.0, 0.0))
        return a_layout(boards=(a_board(feeder=run),), loads=(lamp("key", 0, 25.0),))

    return Scenario("no-solution", "a given resistance", layout(300.0), layout(150.0), "fail")


# Earth faults, leakage and switching on -------------------------------------------------------


@scenario
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


@scenario
def leaky_everywhere() -> Scenario:
    def layout(leakage_ma: float) -> Layout:
        board = a_board(incomer_rcd=RcdType("main", 30.0))
        return a_layout(boards=(board,), loads=even(5.0, leakage_ma=leakage_ma))

    return Scenario(
        "residual-current", "one device for all", layout(3.5), layout(3.0), "caution", mends=False
    )


@scenario
def smooth_dc() -> Scenario:
    plain = fixture("led-panel-100")

    def layout(leaks: bool) -> Layout:
        board = a_board(outlets=(an_outlet("l1-bottom", 0, rcd="r1"),), rcds=(RcdType("r1", 30.0),))
        load = lamp("key", 0, 5.0, fixture=replace(plain, smooth_dc_leakage=leaks))
        return a_layout(boards=(board,), loads=(load,))

    return Scenario("dc-leakage", "a drive", layout(True), layout(False), "note", mends=False)


@scenario
def loop_too_long() -> Scenario:
    """C16 trips at once up to 230/160 = 1.44 ohm."""

    def layout(length_m: float) -> Layout:
        board = with_breakers(16.0, feeder=rubber(6.0, length_m))
        supply = a_supply(loop_impedance_ohm=0.4)
        return a_layout(supply=supply, boards=(board,), loads=(lamp("key", 0, 10.0),))

    # 7.85 ohm/km there and back: 1.04 ohm left in 132 m.
    return Scenario("loop-impedance", "C16, no RCD", layout(135.0), layout(130.0), "fail")


@scenario
def loop_covered_by_rcd() -> Scenario:
    def layout(length_m: float) -> Layout:
        board = with_breakers(16.0, feeder=rubber(6.0, length_m), incomer_rcd=RcdType("main", 30.0))
        supply = a_supply(loop_impedance_ohm=0.4)
        return a_layout(supply=supply, boards=(board,), loads=(lamp("key", 0, 10.0),))

    return Scenario("loop-impedance", "C16 behind 30 mA", layout(135.0), layout(130.0), "note")


@scenario
def inrush_of_one() -> Scenario:
    """B16 may trip from 48 A, C16 from 80 A: an inrush of 10 x 6 A suits the second only."""

    def layout(multiple: float) -> Layout:
        board = with_breakers(16.0, "C")
        first = an_outlet("l1-bottom", 0, row="bottom", breaker=Breaker(16.0, "B"))
        board = replace(board, outlets=(first, *board.outlets[1:]))
        load = lamp("key", 0, 6.0, inrush_multiple=multiple)
        return a_layout(boards=(board,), loads=(load,))

    return Scenario("inrush-trip", "one lamp on B16", layout(8.1), layout(7.9), "note")


@scenario
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


# Generators -----------------------------------------------------------------------------------


def on_a_set(loads: tuple[Load, ...], kva: float = 30.0, **changes: object) -> Layout:
    generator = replace(Generator(kva), **changes)  # type: ignore[arg-type]
    supply = a_supply(kind="generator", generator=generator, rating_a=63.0)
    return a_layout(supply=supply, boards=(a_board(inlet_rating_a=63.0),), loads=loads)


@scenario
def set_overloaded() -> Scenario:
    """30 kVA at 0.8 is 24 kW: 34.8 A on each of three lines."""
    return Scenario(
        "generator-overload",
        "24 kW",
        on_a_set((*even(25.0), *(lamp(f"b{i}", i, 9.9, "top") for i in range(3)))),
        on_a_set((*even(25.0), *(lamp(f"b{i}", i, 9.7, "top") for i in range(3)))),
        "fail",
    )


@scenario
def set_well_loaded() -> Scenario:
    return Scenario(
        "generator-loading",
        "over 80 %",
        on_a_set(even(28.0)),
        on_a_set(even(27.7)),
        "caution",
        mends=False,
    )


@scenario
def set_idling() -> Scenario:
    return Scenario(
        "generator-light-load",
        "under 30 %",
        on_a_set(even(10.3)),
        on_a_set(even(10.5)),
        "note",
        mends=False,
    )


@scenario
def set_uneven() -> Scenario:
    """Rated 43.5 A: I2 of one line alone is a third of its current; 8 % are 3.48 A, so 10.4 A."""

    def layout(amps: float) -> Layout:
        extra = (lamp("a", 0, amps / 2, "middle"), lamp("b", 0, amps / 2, "top"))
        return on_a_set((*even(15.0), *extra))

    return Scenario("generator-unbalance", "10 A more on L1", layout(10.6), layout(10.3), "caution")


@scenario
def set_stepped() -> Scenario:
    """Half of 24 kW at once: 17.4 A on each of three lines."""
    return Scenario(
        "generator-load-step",
        "everything at once",
        on_a_set(even(17.6)),
        on_a_set(even(17.2)),
        "note",
    )


@scenario
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


@scenario
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


@scenario
def one_drops_out() -> Scenario:
    def layout(amps: float) -> Layout:
        return a_layout(loads=even(amps))

    return Scenario(
        "largest-lamp-drop", "a quarter of 32 A", layout(8.1), layout(7.9), "note", mends=False
    )


# Practice -------------------------------------------------------------------------------------


@scenario
def wrong_voltage_high() -> Scenario:
    def layout(high: float) -> Layout:
        return a_layout(
            loads=(lamp("key", 0, 2.0, rated_voltage_v=120.0, input_range_v=(110.0, high)),)
        )

    return Scenario("voltage-mismatch", "a 120 V lamp", layout(130.0), layout(240.0), "fail")


@scenario
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


@scenario
def two_plugs() -> Scenario:
    def layout(outlet: str) -> Layout:
        return a_layout(loads=(lamp("key", 0, 5.0), lamp("fill", 0, 5.0, outlet=outlet)))

    return Scenario(
        "duplicate-outlet", "two lamps", layout("l1-bottom"), layout("l1-top"), "caution"
    )


@scenario
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


@scenario
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


@scenario
def electronics_on_a_dimmer() -> Scenario:
    def layout(dimmer: str) -> Layout:
        return a_layout(loads=(lamp("led", 0, 2.0, dimmer=dimmer, dimmed_to=0.5),))

    return Scenario(
        "phase-cut-electronics", "a driver", layout("phase-cut"), layout("built-in"), "caution"
    )


TODAY = date(2025, 3, 14)


@scenario
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


@scenario
def one_tag_twice() -> Scenario:
    def layout(second: str) -> Layout:
        loads = (lamp("a", 0, 2.0, tag="L-1"), lamp("b", 1, 2.0, tag=second))
        return a_layout(loads=loads)

    return Scenario(
        "tag-in-two-places", "two lamps", layout("L-1"), layout("L-2"), "caution", mends=False
    )


@scenario
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
