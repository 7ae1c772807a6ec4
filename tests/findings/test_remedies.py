"""The remedy is the one that a good electrician would name, not merely one that works."""

from __future__ import annotations

from dataclasses import replace

from evenboard.electrics.equipment import Breaker, Conductor, OutletStandard, RcdType
from evenboard.electrics.layout import Layout
from evenboard.electrics.powerflow import solve
from evenboard.findings import Finding, View, find
from evenboard.findings.action import LayOut, Move, Resize, SeparateRuns, StartInOrder, Unplug
from findings.scenarios.common import CATALOGUE, even, lamp, rubber, with_breakers
from support.builders import a_board, a_layout, a_region, a_run, a_supply, an_outlet
from support.remedies import carried_out


def the(code: str, layout: Layout) -> Finding:
    (finding,) = [f for f in find(View(solve(layout))) if f.code == code]
    return finding


def test_the_urn_goes_from_the_full_phase_to_the_empty_one() -> None:
    loads = (lamp("key", 0, 22.0), lamp("fill", 1, 20.0), lamp("urn", 0, 10.4, "top"))

    finding = the("phase-overload", a_layout(loads=loads))

    assert finding.actions == (Move("urn", "main", "l3-middle"),)
    assert finding.remedy == "Move urn from L1 top to L3 middle."


def test_a_full_phase_is_swapped_where_no_outlet_is_free() -> None:
    outlets = tuple(
        an_outlet(f"l{i + 1}-{row}", i, row=row) for row in ("bottom", "top") for i in range(3)
    )  # type: ignore[arg-type]
    loads = (
        lamp("a", 0, 18.0),
        lamp("b", 0, 16.0, "top"),
        *(lamp(f"c{i}-{row}", i, 5.0, row) for i in (1, 2) for row in ("bottom", "top")),
    )

    finding = the("phase-overload", a_layout(boards=(a_board(outlets=outlets),), loads=loads))

    assert len(finding.actions) == 2
    assert finding.remedy.startswith("Swap ")


def test_a_load_that_is_to_be_kept_is_not_moved() -> None:
    loads = (lamp("key", 0, 22.0, keep=True), lamp("urn", 0, 10.4, "top"))

    finding = the("phase-overload", a_layout(loads=loads))

    assert [a.load for a in finding.actions if isinstance(a, Move)] == ["urn"]


def test_a_plug_is_only_sent_where_it_goes_in() -> None:
    """A 16 A plug of IEC 60309 does not enter a 32 A outlet."""
    names = {"iec60309-16-3", "iec60309-32-3"}
    standards = tuple(s for s in CATALOGUE.regions["eu"].outlets if s.id in names)
    assert {s.id for s in standards} == names, "the catalogue names these outlets otherwise"
    outlets = (
        an_outlet("l1-bottom", 0, connector="iec60309-16-3"),
        an_outlet("l1-top", 0, connector="iec60309-16-3"),
        an_outlet("l2-big", 1, connector="iec60309-32-3"),
        an_outlet("l3-fits", 2, connector="iec60309-16-3"),
    )
    board = a_board(outlets=outlets, inlet_rating_a=16.0)
    loads = (lamp("a", 0, 10.0), lamp("b", 0, 8.0, "top"))

    finding = the(
        "phase-overload",
        a_layout(region=a_region(outlets=standards), boards=(board,), loads=loads),
    )

    assert [a.outlet for a in finding.actions if isinstance(a, Move)] == ["l3-fits"]


def test_what_no_plugging_mends_asks_for_the_supply_it_needs_or_the_least_to_go() -> None:
    loads = (*even(20.0), *(lamp(f"top-{i}", i, 14.0 + i, "top") for i in range(3)))

    findings = [f for f in find(View(solve(a_layout(loads=loads)))) if f.code == "phase-overload"]

    assert len(findings) == 3
    assert all("35 A a line" in f.remedy for f in findings)
    assert all(isinstance(a, Unplug) for f in findings for a in f.actions)


def test_a_coil_is_laid_out_before_anything_is_bought() -> None:
    """34 A x 0.65 for two layers is 22.1 A (BS 7671 Table 4F1A and its note 2)."""
    board = a_board(feeder=rubber(6.0, laid="coiled", coil_layers=2))

    finding = the("feeder-overload", a_layout(boards=(board,), loads=even(25.0)))

    assert finding.limit == 34.0 * 0.65
    assert finding.actions == (LayOut(board="main"),)


def test_bunched_cables_are_laid_apart_before_anything_is_bought() -> None:
    board = a_board(feeder=rubber(6.0, laid="grouped", grouped_circuits=3))

    finding = the("feeder-overload", a_layout(boards=(board,), loads=even(26.0)))

    assert finding.actions == (SeparateRuns(board="main"),)


def test_the_smallest_cable_that_carries_it_is_named() -> None:
    """BS 7671 Table 4F1A, three-phase: 4 mm2 26 A, 6 mm2 34 A, 10 mm2 47 A."""
    small = a_layout(boards=(a_board(feeder=rubber(4.0)),), loads=even(30.0))
    large = a_layout(
        supply=a_supply(rating_a=63.0),
        boards=(a_board(feeder=rubber(4.0), inlet_rating_a=63.0),),
        loads=tuple(replace(load, power_w=38.0 * 230.0) for load in even(38.0)),
    )

    assert the("feeder-overload", small).actions == (Resize(board="main", csa_mm2=6.0),)
    assert the("feeder-overload", large).actions == (Resize(board="main", csa_mm2=10.0),)
    assert the("feeder-overload", small).remedy == "Use 6 mm² for the feeder of main."


def test_a_spelled_out_cable_is_asked_for_by_what_it_must_carry() -> None:
    run = a_run(conductor=Conductor(1.0, 0.0, 1.0, 0.0, 20.0))

    finding = the("feeder-overload", a_layout(boards=(a_board(feeder=run),), loads=even(25.0)))

    (action,) = finding.actions
    assert isinstance(action, Resize)
    assert action.capacity_a is not None
    assert 25.0 < action.capacity_a < 28.0


def test_the_feeder_that_loses_most_is_the_one_to_thicken() -> None:
    main = a_board(feeder=rubber(16.0, 10.0), outlets=(an_outlet("sub", 0, 1, 2),))
    far = a_board("far", parent=0, parent_outlet="sub", feeder=rubber(4.0, 110.0))
    loads = tuple(replace(load, board=1) for load in even(20.0))

    finding = the("voltage-drop", a_layout(boards=(main, far), loads=loads))

    assert finding.where.board == "far"
    assert [a.board for a in finding.actions if isinstance(a, Resize)] == ["far"]


def test_no_step_of_the_order_of_switching_on_reaches_the_band_of_a_breaker() -> None:
    """C32: up to 160 A it does not trip at once (IEC 60898-1)."""
    outlets = tuple(an_outlet(f"o{i}", 0) for i in range(4))
    board = a_board(outlets=outlets, incomer=Breaker(32.0, "C"))
    loads = tuple(lamp(f"k{i}", 0, 6.0, outlet=f"o{i}", inrush_multiple=12.0) for i in range(4))

    finding = the("inrush-trip", a_layout(boards=(board,), loads=loads))

    (order,) = finding.actions
    assert isinstance(order, StartInOrder)
    running = 0.0
    for group in order.groups:
        assert running + 72.0 * len(group) <= 160.0
        running += 6.0 * len(group)
    assert sorted(name for group in order.groups for name in group) == ["k0", "k1", "k2", "k3"]


def test_leaky_loads_are_split_over_the_devices() -> None:
    outlets = tuple(
        an_outlet(f"l{i + 1}-{row}", i, row=row, rcd=rcd)  # type: ignore[arg-type]
        for row, rcd in (("bottom", "r1"), ("top", "r2"))
        for i in range(3)
    )
    board = a_board(outlets=outlets, rcds=(RcdType("r1", 30.0), RcdType("r2", 30.0)))
    layout = a_layout(boards=(board,), loads=even(5.0, leakage_ma=3.5))

    finding = the("residual-current", layout)

    after = View(solve(carried_out(layout, finding.actions)))
    assert len(finding.actions) == 1
    assert sorted(float(figures.leakage_ma.max()) for figures in after.rcds) == [3.5, 7.0]


def test_a_remedy_does_not_overload_the_phase_that_it_moves_to() -> None:
    loads = (
        lamp("key", 0, 30.0),
        lamp("urn", 0, 6.0, "top"),
        lamp("b", 1, 28.0),
        lamp("c", 2, 25.0),
    )

    finding = the("phase-overload", a_layout(loads=loads))

    assert finding.actions == (Move("urn", "main", "l3-middle"),)


def test_an_overloaded_outlet_is_relieved_by_a_larger_one_on_the_quietest_phase() -> None:
    board = with_breakers(20.0)
    first = an_outlet("l1-bottom", 0, row="bottom", breaker=Breaker(16.0, "C"))
    board = replace(board, outlets=(first, *board.outlets[1:]))
    loads = (lamp("key", 0, 17.0), lamp("fill", 1, 15.0, "top"))

    finding = the("breaker-overload", a_layout(boards=(board,), loads=loads))

    (move,) = finding.actions
    assert isinstance(move, Move)
    assert move.load == "key"
    assert move.outlet.startswith("l3-")


def test_too_many_like_lamps_on_one_plug_are_split() -> None:
    board = with_breakers(16.0)
    loads = (lamp("rig", 0, 5.0, count=4),)

    finding = the("breaker-overload", a_layout(boards=(board,), loads=loads))

    assert "at most 3 of the 4" in finding.remedy


def test_standards_of_the_catalogue_are_read() -> None:
    assert all(isinstance(s, OutletStandard) for s in CATALOGUE.regions["eu"].outlets)


def test_one_cable_is_told_one_size_by_all_that_ask_for_a_thicker_one() -> None:
    feeder = rubber(4.0, 300.0)
    layout = a_layout(boards=(a_board(feeder=feeder),), loads=(lamp("key", 0, 25.0),))

    asking = [f for f in find(View(solve(layout))) if any(isinstance(a, Resize) for a in f.actions)]

    # The fault loop asks for 25 mm2, the voltage for 16 and the breaker ahead for 6.
    assert {f.code for f in asking} == {"no-solution", "loop-impedance", "feeder-protection"}
    assert {f.actions for f in asking} == {(Resize("main", csa_mm2=25.0),)}
    assert all(f.remedy.startswith("Use 25 mm² for the feeder of main") for f in asking)


def test_a_spelled_out_cable_is_told_one_resistance() -> None:
    run = a_run(length_m=300.0, conductor=Conductor(6.0, 0.0, 6.0, 0.0))
    layout = a_layout(boards=(a_board(feeder=run),), loads=(lamp("key", 0, 25.0),))

    asking = [f for f in find(View(solve(layout))) if any(isinstance(a, Resize) for a in f.actions)]

    assert len(asking) > 1
    assert len({f.actions for f in asking}) == 1
