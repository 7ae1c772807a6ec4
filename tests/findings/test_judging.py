"""What is told, how gravely and where: once, at its cause, in the worst set-up."""

from __future__ import annotations

from dataclasses import replace

import pytest

from evenboard.electrics.equipment import Breaker, Limits, SupplySystem
from evenboard.electrics.layout import Layout
from evenboard.electrics.powerflow import solve
from evenboard.findings import Finding, View, find
from findings.scenarios.common import CATALOGUE, even, lamp, rubber
from support.builders import a_board, a_layout, a_load, a_region, a_supply, an_outlet


def found(layout: Layout) -> tuple[Finding, ...]:
    return find(View(solve(layout)))


def codes(layout: Layout) -> set[str]:
    return {finding.code for finding in found(layout)}


def of(code: str, layout: Layout) -> list[Finding]:
    return [finding for finding in found(layout) if finding.code == code]


def test_a_small_uneven_board_on_a_large_supply_is_quiet() -> None:
    """2/0/0 A on 63 A is 200 % of the mean and harmless."""
    layout = a_layout(
        supply=a_supply(rating_a=63.0),
        boards=(a_board(inlet_rating_a=63.0),),
        loads=(lamp("practical", 0, 2.0),),
    )

    assert found(layout) == ()


def test_one_phase_of_three_is_a_failure_and_the_empty_ones_are_named() -> None:
    """50/0/0 on 63 A is 79 % of the rating."""
    layout = a_layout(
        supply=a_supply(rating_a=63.0),
        boards=(a_board(inlet_rating_a=63.0),),
        loads=(lamp("a", 0, 25.0), lamp("b", 0, 25.0, "top")),
    )

    (uneven,), (idle,) = of("current-unbalance", layout), of("idle-phase", layout)

    assert uneven.severity == "fail"
    assert uneven.value == pytest.approx(100 * 50 / 63, rel=1e-6)
    assert "50 / 0 / 0 A on L1/L2/L3" in uneven.message
    assert idle.message.startswith("L2 and L3 of main carry nothing")


@pytest.mark.parametrize(
    ("amps", "severity"),
    [
        (3.1, None),
        (3.3, "note"),
        (7.9, "note"),
        (8.1, "caution"),
        (15.9, "caution"),
        (16.1, "fail"),
    ],
)
def test_unbalance_is_judged_in_steps_of_the_rating(amps: float, severity: str | None) -> None:
    """10, 25 and 50 % of 32 A are 3.2, 8 and 16 A."""
    layout = a_layout(loads=(*even(10.0), lamp("more", 0, amps, "top")))

    findings = of("current-unbalance", layout)

    assert [f.severity for f in findings] == ([severity] if severity else [])


def test_the_worst_set_up_is_named_and_the_others_counted() -> None:
    on = (True, True, True)
    loads = (
        lamp("key", 0, 30.0, on=on),
        lamp("urn", 0, 4.0, "middle", on=(False, True, True)),
        lamp("fan", 0, 3.0, "top", on=(False, False, True)),
    )
    layout = a_layout(loads=loads, setups=("wide", "close", "insert"))

    (finding,) = of("phase-overload", layout)

    assert finding.where.setup == "insert"
    assert finding.value == pytest.approx(37.0)
    assert "in insert and 1 other set-up;" in finding.message


def test_a_set_up_without_a_solution_is_told_and_spoils_no_other_figure() -> None:
    far = a_board("far", feeder=rubber(4.0, 300.0))
    near = a_board("near")
    loads = (
        lamp("far", 0, 25.0, on=(True, False)),
        lamp("near", 1, 33.0, board=1, on=(True, True)),
    )
    layout = a_layout(boards=(far, near), loads=loads, setups=("all", "near only"))

    (lost,), overloads = of("no-solution", layout), of("phase-overload", layout)

    assert lost.where.setup == "all"
    assert {f.where.board for f in overloads} == {None, "near"}
    assert {f.where.setup for f in overloads} == {"near only"}


@pytest.mark.parametrize(("system", "lines"), [("three-wire", 2), ("single-phase", 1)])
def test_of_phases_that_are_not_there_nothing_is_said(system: str, lines: int) -> None:
    names = ("L1", "L2")[:lines]
    layout = a_layout(
        region=a_region(systems=(SupplySystem(system, names, 120.0, None),)),  # type: ignore[arg-type]
        supply=a_supply(system=system, lines=names, voltage_v=120.0),
        boards=(
            a_board(
                lines=names,
                supply_lines=tuple(range(lines)),
                outlets=(an_outlet("l1-bottom", 0), an_outlet("l1-top", 0)),
            ),
        ),
        loads=(a_load("key", 0, power_w=2400.0, rated_voltage_v=120.0),),
    )

    said = codes(layout)

    assert not said & {"current-unbalance", "voltage-unbalance", "largest-lamp-drop"}
    if lines == 1:
        assert not said & {"idle-phase", "open-neutral-overvoltage", "neutral-overload"}


def two_boards(*loads_on_sub: float, main: tuple[float, float, float]) -> Layout:
    outlets = (
        *(an_outlet(f"l{i + 1}-bottom", i) for i in range(3)),
        an_outlet("sub-1", 0, 1, 2),
    )
    boards = (
        a_board(inlet_rating_a=63.0, outlets=outlets),
        a_board("sub", parent=0, parent_outlet="sub-1", inlet_rating_a=25.0),
    )
    loads = (
        *(lamp(f"m{i}", i, a) for i, a in enumerate(main) if a),
        *(replace(lamp(f"s{i}", i, a), board=1) for i, a in enumerate(loads_on_sub) if a),
    )
    return a_layout(supply=a_supply(rating_a=63.0), boards=boards, loads=loads)


def test_unbalance_is_told_at_the_board_that_causes_it_and_not_again_above() -> None:
    layout = two_boards(20.0, 2.0, 2.0, main=(10.0, 10.0, 10.0))

    assert [f.where.board for f in of("current-unbalance", layout)] == ["sub"]


def test_unbalance_of_its_own_is_told_above_as_well() -> None:
    layout = two_boards(20.0, 2.0, 2.0, main=(30.0, 5.0, 5.0))

    assert {f.where.board for f in of("current-unbalance", layout)} == {"main", "sub"}


def test_boards_that_even_each_other_out_are_still_told_each() -> None:
    """The feeder of each board is what suffers, however even their sum."""
    layout = two_boards(20.0, 2.0, 2.0, main=(2.0, 20.0, 20.0))

    assert [f.where.board for f in of("current-unbalance", layout)] == ["sub"]


def test_a_board_over_its_inlet_is_not_told_again_at_the_outlet_that_feeds_it() -> None:
    layout = two_boards(26.0, 24.0, 24.0, main=(5.0, 5.0, 5.0))

    findings = found(layout)

    assert [f.where.board for f in findings if f.code == "phase-overload"] == ["sub"]
    assert not [f for f in findings if f.code in ("outlet-overload", "breaker-overload")]


def test_a_supply_with_one_board_is_judged_there_and_only_there() -> None:
    layout = a_layout(
        supply=a_supply(rating_a=20.0),
        boards=(a_board(inlet_rating_a=32.0),),
        loads=even(21.0),
    )

    findings = of("phase-overload", layout)

    assert [(f.where.board, f.where.phase, f.limit) for f in findings] == [
        ("main", "L1", 20.0),
        ("main", "L2", 20.0),
        ("main", "L3", 20.0),
    ]


def test_a_supply_with_several_boards_is_judged_by_itself() -> None:
    boards = (a_board("left"), a_board("right"))
    loads = (*even(20.0), *(replace(load, id=f"r-{load.id}", board=1) for load in even(20.0)))

    findings = of("phase-overload", a_layout(boards=boards, loads=loads))

    assert {f.where.board for f in findings} == {None}
    assert all("of the supply" in f.message for f in findings)


def test_a_phase_is_named_as_the_board_names_it() -> None:
    """A rolled feeder: the board's L1 is the supply's L2."""
    board = a_board(supply_lines=(1, 2, 0))

    (finding,) = of("phase-overload", a_layout(boards=(board,), loads=(lamp("key", 1, 33.0),)))

    assert finding.where.phase == "L1"


def test_a_drop_is_told_where_the_limit_is_passed_and_not_behind_it() -> None:
    main = a_board(feeder=rubber(6.0, 100.0), outlets=(an_outlet("sub", 0, 1, 2),))
    far = a_board("far", parent=0, parent_outlet="sub", feeder=rubber(6.0, 20.0))
    loads = tuple(replace(load, board=1) for load in even(30.0))

    (finding,) = of("voltage-drop", a_layout(boards=(main, far), loads=loads))

    assert finding.where.board == "main"
    assert "gets 2" in finding.message


def test_what_a_region_only_advises_is_no_more_than_a_note() -> None:
    """NEC 210.19(A) and 215.2(A) speak of voltage drop in informational notes."""
    layout = a_layout(boards=(a_board(feeder=rubber(6.0, 110.0)),), loads=even(30.0))

    plain = of("voltage-drop", layout)
    advised = of("voltage-drop", replace(layout, region=a_region(advisory=("voltage-drop",))))

    assert [f.severity for f in plain] == ["caution"]
    assert [f.severity for f in advised] == ["note"]
    assert "voltage-drop" in CATALOGUE.regions["us"].advisory


def test_a_layout_can_set_its_own_limits() -> None:
    layout = a_layout(loads=even(20.0))

    assert "phase-loading" not in codes(layout)
    assert "phase-loading" in codes(replace(layout, limits=Limits(phase_loading_pct=60.0)))


def test_the_gravest_stands_first_and_then_the_nearest_to_the_supply() -> None:
    layout = two_boards(26.0, 2.0, 2.0, main=(30.0, 5.0, 5.0))

    findings = found(layout)

    grave = {"fail": 0, "caution": 1, "note": 2}
    order = {None: 0, "main": 1, "sub": 2}
    keys = [(grave[f.severity], order[f.where.board]) for f in findings]
    assert keys == sorted(keys)
    assert len({key[0] for key in keys}) > 1


def test_a_breaker_smaller_than_its_outlet_is_told_as_the_breaker() -> None:
    outlets = (an_outlet("l1-bottom", 0, breaker=Breaker(16.0, "C")),)
    layout = a_layout(boards=(a_board(outlets=outlets),), loads=(lamp("key", 0, 17.0),))

    assert codes(layout) & {"breaker-overload", "outlet-overload"} == {"breaker-overload"}


def test_without_a_neutral_the_voltages_that_follow_from_it_are_not_told() -> None:
    layout = a_layout(
        supply=a_supply(neutral=False),
        loads=(lamp("a", 0, 10.0), lamp("b", 1, 5.0), lamp("c", 2, 1.0)),
    )

    said = codes(layout)

    assert "no-neutral" in said
    assert not said & {"low-voltage-at-load", "voltage-drop", "current-unbalance", "colour-shift"}


def test_an_overload_of_a_solved_set_up_is_not_told_again_of_one_without_a_solution() -> None:
    far = a_board("far", feeder=rubber(1.5, 300.0))
    near = a_board("near")
    loads = (
        lamp("far", 0, 40.0, on=(True, False)),
        lamp("near", 1, 33.0, board=1, on=(True, True)),
    )
    layout = a_layout(boards=(far, near), loads=loads, setups=("all", "near only"))

    outlets, lines = of("outlet-overload", layout), of("phase-overload", layout)

    assert [(f.where.board, f.where.setup) for f in outlets] == [
        ("far", "all"),
        ("near", "near only"),
    ]
    places = [(f.where.board, f.where.phase, f.where.setup) for f in lines]
    assert sorted(places, key=str) == sorted(
        [
            (None, "L1", "all"),
            (None, "L2", "near only"),
            ("far", "L1", "all"),
            ("near", "L2", "near only"),
        ],
        key=str,
    )
