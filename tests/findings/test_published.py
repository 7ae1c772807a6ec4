"""Thresholds held against published figures; the source stands beside each."""

from __future__ import annotations

from dataclasses import replace

import pytest

from evenboard.electrics.equipment import Breaker, Generator, RcdType
from evenboard.electrics.layout import Layout
from evenboard.electrics.powerflow import solve
from evenboard.findings import Finding, View, find
from findings.scenarios.common import even, lamp, rubber
from support.builders import a_board, a_layout, a_load, a_region, a_supply, an_outlet


def of(code: str, layout: Layout) -> list[Finding]:
    return [finding for finding in find(View(solve(layout))) if finding.code == code]


# BS 7671:2018 Table 41.3 (as reproduced): greatest loop impedance at 230 V, Cmin 0.95.
@pytest.mark.parametrize(
    ("curve", "rating_a", "limit_ohm"),
    [("B", 16.0, 2.73), ("C", 32.0, 0.68), ("B", 32.0, 1.37), ("D", 16.0, 0.68)],
)
def test_loop_impedance_is_judged_by_the_table(
    curve: str, rating_a: float, limit_ohm: float
) -> None:
    def layout(loop_ohm: float) -> Layout:
        outlet = an_outlet("l1-bottom", 0, breaker=Breaker(rating_a, curve))  # type: ignore[arg-type]
        return a_layout(
            region=a_region(loop_voltage_factor=0.95),
            supply=a_supply(loop_impedance_ohm=loop_ohm),
            boards=(a_board(outlets=(outlet,)),),
            loads=(lamp("key", 0, 2.0),),
        )

    # The table is rounded to 0.01 ohm.
    assert of("loop-impedance", layout(limit_ohm + 0.01))
    assert not of("loop-impedance", layout(limit_ohm - 0.01))


# BS 7671:2018, 531.3.2 (iii): not above 30 % of the rated residual current.
@pytest.mark.parametrize(("loads", "leakage_ma", "fires"), [(3, 3.5, True), (8, 1.0, False)])
def test_leakage_is_judged_by_thirty_percent(loads: int, leakage_ma: float, fires: bool) -> None:
    outlets = tuple(an_outlet(f"o{i}", i % 3, rcd="r1") for i in range(loads))
    board = a_board(outlets=outlets, rcds=(RcdType("r1", 30.0),))
    lamps = tuple(
        lamp(f"x{i}", i % 3, 1.0, outlet=f"o{i}", leakage_ma=leakage_ma) for i in range(loads)
    )

    assert bool(of("residual-current", a_layout(boards=(board,), loads=lamps))) is fires


# IEC 60898-1: B 3 to 5, C 5 to 10, D 10 to 20 times the rated current. A 2 kW tungsten lamp at ten
# times its 8.7 A draws 87 A: surely trips B16, may trip C16, does not trip D16.
@pytest.mark.parametrize(("curve", "severity"), [("B", "caution"), ("C", "note"), ("D", None)])
def test_inrush_is_judged_by_the_band_of_the_curve(curve: str, severity: str | None) -> None:
    outlet = an_outlet("l1-bottom", 0, breaker=Breaker(16.0, curve))  # type: ignore[arg-type]
    load = a_load("lamp", 0, inrush_multiple=10.0)

    findings = of("inrush-trip", a_layout(boards=(a_board(outlets=(outlet,)),), loads=(load,)))

    assert [f.severity for f in findings] == ([severity] if severity else [])
    assert all(f.value == pytest.approx(87.0, abs=0.1) for f in findings)


# IEC 60034-1 (from memory): I2/In up to 8 %. Phases at 100/80/60 % of rated current make 11.5 %, at
# 100/93/86 % 4.0 % (symmetrical components).
@pytest.mark.parametrize(("shares", "value"), [((1.0, 0.8, 0.6), 11.5), ((1.0, 0.93, 0.86), None)])
def test_a_generators_negative_sequence_is_judged_by_eight_percent(
    shares: tuple[float, float, float], value: float | None
) -> None:
    rated = 30e3 / 3 / 230
    supply = a_supply(kind="generator", generator=Generator(30.0, 1.0), rating_a=63.0)
    loads = tuple(lamp(f"x{i}", i, rated * share) for i, share in enumerate(shares))
    layout = a_layout(supply=supply, boards=(a_board(inlet_rating_a=63.0),), loads=loads)

    findings = of("generator-unbalance", layout)

    assert [round(f.value or 0.0, 1) for f in findings] == ([value] if value else [])


# BS 7671:2018 Table 4F1A (as reproduced), 60 C rubber, three-phase, 30 C ambient.
@pytest.mark.parametrize(
    ("csa_mm2", "rating_a"), [(4.0, 26.0), (6.0, 34.0), (10.0, 47.0), (16.0, 63.0)]
)
def test_a_feeder_is_judged_by_the_table(csa_mm2: float, rating_a: float) -> None:
    def layout(amps: float) -> Layout:
        board = a_board(feeder=rubber(csa_mm2, 0.1), inlet_rating_a=125.0)
        return a_layout(supply=a_supply(rating_a=125.0), boards=(board,), loads=even(amps))

    # A metre of cable changes the current by less than a tenth of a percent.
    assert of("feeder-overload", layout(rating_a * 1.005))
    assert not of("feeder-overload", layout(rating_a * 0.995))


def test_the_basis_names_the_table_and_every_factor() -> None:
    """BS 7671 Table 4F1A: 34 A x 0.91 (35 C) x 0.45 (three layers) is 13.9 A."""
    board = a_board(feeder=rubber(6.0, laid="coiled", coil_layers=3))
    layout = a_layout(boards=(board,), loads=even(15.0), ambient_c=35.0)

    (finding,) = of("feeder-overload", layout)

    assert finding.limit == pytest.approx(13.9, abs=0.1)
    assert "4F1A" in finding.basis
    assert "0.91" in finding.basis
    assert "0.45" in finding.basis


def test_an_open_neutral_gives_the_published_voltages() -> None:
    """5 kW, 2 kW and 650 W as fixed resistances at 230 V: 124.6, 278.8 and 325.2 V.

    Millman's theorem, any circuit textbook; 230/400 V, star point of the loads floating.
    """
    watts = (5000.0, 2000.0, 650.0)
    loads = tuple(
        a_load(f"r{i}", i, power_w=w, load_model="constant-impedance") for i, w in enumerate(watts)
    )

    (finding,) = of("open-neutral-overvoltage", a_layout(loads=loads))

    assert "125 / 279 / 325 V on L1/L2/L3" in finding.message
    assert finding.value == pytest.approx(325.2, abs=0.1)
    assert finding.where.load == "r2"


# IEC 60364-5-52 Annex E: up to 15 % nothing, above 33 % the neutral sizes the cable.
@pytest.mark.parametrize(
    ("third_pct", "says"), [(14.9, None), (15.1, "full size"), (33.2, "sizes")]
)
def test_third_harmonics_are_judged_by_annex_e(third_pct: float, says: str | None) -> None:
    """``third_pct`` is of the RMS current; only a third harmonic distorts."""
    share = third_pct / 100.0
    of_fundamental = share / (1.0 - share**2) ** 0.5
    factor = 1.0 / (1.0 + of_fundamental**2) ** 0.5
    loads = tuple(
        replace(load, power_factor=factor, third_harmonic_pct=100.0 * of_fundamental)
        for load in even(20.0 * factor)
    )

    findings = of("third-harmonic", a_layout(loads=loads))

    assert len(findings) == (1 if says else 0)
    assert all(says in f.message for f in findings if says)
