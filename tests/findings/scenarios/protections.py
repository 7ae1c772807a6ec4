"""Breakers and outlets."""

from __future__ import annotations

from dataclasses import replace

from evenboard.electrics.equipment import (
    Breaker,
    RcdType,
)
from evenboard.electrics.layout import Layout
from findings.scenarios.common import (
    Scenario,
    Scenarios,
    lamp,
    with_breakers,
)
from support.builders import a_board, a_layout, a_supply, an_outlet

__all__ = ["SCENARIOS"]

SCENARIOS = Scenarios()


@SCENARIOS
def breaker_over() -> Scenario:
    """One outlet has a 16 A breaker, the others 20 A."""

    def layout(amps: float) -> Layout:
        board = with_breakers(20.0)
        first = an_outlet("l1-bottom", 0, row="bottom", breaker=Breaker(16.0, "C"))
        board = replace(board, outlets=(first, *board.outlets[1:]))
        return a_layout(boards=(board,), loads=(lamp("key", 0, amps),))

    return Scenario("breaker-overload", "16 A breaker", layout(16.1), layout(16.0), "fail")


@SCENARIOS
def breaker_over_everywhere() -> Scenario:
    def layout(amps: float) -> Layout:
        return a_layout(boards=(with_breakers(16.0),), loads=(lamp("key", 0, amps),))

    return Scenario("breaker-overload", "no larger one free", layout(16.1), layout(16.0), "fail")


@SCENARIOS
def incomer_over() -> Scenario:
    def layout(amps: float) -> Layout:
        return a_layout(
            boards=(a_board(incomer=Breaker(20.0, "C")),),
            loads=(lamp("key", 0, 12.0), lamp("urn", 0, amps - 12.0, "top")),
        )

    return Scenario("breaker-overload", "the main breaker", layout(20.1), layout(20.0), "fail")


@SCENARIOS
def breaker_loaded() -> Scenario:
    def layout(amps: float) -> Layout:
        board = with_breakers(20.0)
        first = an_outlet("l1-bottom", 0, row="bottom", breaker=Breaker(16.0, "C"))
        board = replace(board, outlets=(first, *board.outlets[1:]))
        return a_layout(boards=(board,), loads=(lamp("key", 0, amps),))

    return Scenario("breaker-loading", "over 80 %", layout(12.9), layout(12.8), "caution")


@SCENARIOS
def outlet_over() -> Scenario:
    def layout(amps: float) -> Layout:
        small = an_outlet("small", 0, rating_a=16.0)
        board = a_board(outlets=(small, *a_board().outlets))
        return a_layout(boards=(board,), loads=(lamp("key", 0, amps, outlet="small"),))

    return Scenario("outlet-overload", "16 A outlet", layout(16.1), layout(16.0), "fail")


@SCENARIOS
def outlet_unprotected() -> Scenario:
    """2.5 x 16 A are 40 A."""

    def layout(rating_a: float) -> Layout:
        small = an_outlet("small", 0, rating_a=16.0)
        board = a_board(outlets=(small, *a_board().outlets), inlet_rating_a=63.0)
        load = lamp("key", 0, 5.0, outlet="small")
        return a_layout(supply=a_supply(rating_a=rating_a), boards=(board,), loads=(load,))

    return Scenario(
        "outlet-protection", "16 A on 63 A", layout(63.0), layout(40.0), "caution", mends=False
    )


@SCENARIOS
def unselective() -> Scenario:
    def layout(rating_a: float) -> Layout:
        board = with_breakers(16.0, incomer=Breaker(32.0, "C"))
        first = an_outlet("l1-bottom", 0, row="bottom", breaker=Breaker(rating_a, "C"))
        board = replace(board, outlets=(first, *board.outlets[1:]))
        return a_layout(boards=(board,), loads=(lamp("key", 0, 8.0), lamp("fill", 1, 8.0)))

    return Scenario("selectivity", "32 A behind 32 A", layout(32.0), layout(25.0), "caution")


@SCENARIOS
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
        "rcd-selectivity", "30 mA behind 30 mA", layout(30.0), layout(100.0), "note", mends=False
    )


@SCENARIOS
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
