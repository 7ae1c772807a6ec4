"""Thin things behind large breakers: leads and outlets that nothing guards against an overload."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from evenboard.electrics.layout import Run
from evenboard.findings.action import Resize
from evenboard.findings.figures import OutletFigures, RunFigures
from evenboard.findings.finding import Finding
from evenboard.findings.guards import guard_a, loop_ohm, tripping
from evenboard.findings.judging import ROUNDING, at
from evenboard.findings.remedy import sentence
from evenboard.findings.runs import at_run, capacity_of, worst_core
from evenboard.findings.thicken import RunRef, sizes_above, thicken_words
from evenboard.findings.words import amps, beside, counted, listed, number, outlet_name, run_name

if TYPE_CHECKING:
    from evenboard.findings.view import View

__all__ = ["outlet_protection", "unguarded_leads"]

OUTLET_SHARE = 2.5
"""How much more than its rating the device ahead of an outlet may have: a 13 A outlet on a 32 A
ring (BS 7671, 433.1.204, from memory) has 2.46 times; the rest is an estimate."""

LEAD_BASIS = (
    "A lead of one load need not be guarded against overload, yet a fault at its end has to trip "
    "at once (IEC 60364-4-43, 433.3.1 and 434.5, from memory)."
)
OUTLET_BASIS = (
    "In not above the rating of an outlet (IEC 60364-4-43, 433.1, from memory); up to 2.5 x is let "
    "pass as on a ring of 13 A outlets: estimate."
)


def outlet_protection(view: View) -> Iterator[Finding]:
    """What trips ahead of an outlet is far larger than its contacts; told once a board."""
    for index, board in enumerate(view.layout.boards):
        found: list[tuple[float, float, OutletFigures]] = []
        for figures in view.outlets:
            if figures.board != index or not figures.in_use:
                continue
            guard, rating = _outlet_guard_a(view, figures), figures.outlet.type.rating_a
            if guard > OUTLET_SHARE * rating * (1.0 + ROUNDING):
                found.append((guard / rating, guard, figures))
        if not found:
            continue
        _, guard, figures = max(found, key=lambda item: item[0])
        rating = figures.outlet.type.rating_a
        name = outlet_name(view.layout, index, figures.outlet.id)
        more = f" So {'does' if len(found) == 2 else 'do'} {counted(len(found) - 1, 'other')}."
        yield Finding(
            "outlet-protection",
            "caution",
            at(view, index + 1, outlet=figures.outlet.id),
            guard,
            rating * OUTLET_SHARE,
            "A",
            f"Outlet {name} is made for {amps(rating)} and hangs on {amps(guard)}: an overload "
            f"would heat its contacts for long before anything trips."
            f"{more if len(found) > 1 else ''}",
            f"Nothing to move: put a board with breakers of at most {amps(rating)} between, or one "
            f"in {board.id} ahead of the outlet.",
            OUTLET_BASIS,
        )


def _outlet_guard_a(view: View, figures: OutletFigures) -> float:
    """What trips before an outlet is overloaded: the main breaker of a board on it does too. [A]"""
    guard = guard_a(view, figures.board, figures.outlet.id)
    child = None if figures.child is None else view.layout.boards[figures.child].incomer
    return guard if child is None or figures.loads else min(guard, child.rating_a)


def unguarded_leads(view: View) -> Iterator[Finding]:
    """A lead is thinner than what guards it, and a fault at its end trips nothing at once."""
    boards: dict[int, list[RunFigures]] = {}
    for figures in view.leads:
        if _is_unguarded(view, figures, figures.run):
            board = view.layout.loads[_load_of(figures)].board
            boards.setdefault(board or 0, []).append(figures)
    for board in sorted(boards):
        yield _unguarded(view, board, boards[board])


def _load_of(figures: RunFigures) -> int:
    if figures.load is None:
        raise ValueError("a lead belongs to a load")
    return figures.load


def _is_unguarded(view: View, figures: RunFigures, run: Run) -> bool:
    index = _load_of(figures)
    load = view.layout.loads[index]
    capacity = _capacity_a(view, figures, run)
    if load.board is None or capacity is None:
        return False
    if guard_a(view, load.board, load.outlet) <= capacity * (1.0 + ROUNDING):
        return False
    changed = {} if run is figures.run else {RunRef(load=index): run}
    loop = loop_ohm(view, load.board, index, changed)
    if loop <= tripping(view, load.board, load.outlet).limit_ohm * (1.0 + ROUNDING):
        return False
    return worst_core(view, figures) is None


def _capacity_a(view: View, figures: RunFigures, run: Run) -> float | None:
    if run is not figures.run:
        return capacity_of(view, figures, run)
    return None if figures.capacity is None else figures.capacity.capacity_a


def _unguarded(view: View, board: int, found: list[RunFigures]) -> Finding:
    def thinness(figures: RunFigures) -> float:
        load = view.layout.loads[_load_of(figures)]
        return guard_a(view, board, load.outlet) / (_capacity_a(view, figures, figures.run) or 1.0)

    figures = max(found, key=thinness)
    index = _load_of(figures)
    outlet = view.layout.loads[index].outlet
    capacity = _capacity_a(view, figures, figures.run)
    guard, trips = guard_a(view, board, outlet), tripping(view, board, outlet)
    loop = loop_ohm(view, board, index, {})
    more = f" So {'is' if len(found) == 2 else 'are'} {counted(len(found) - 1, 'other')} there."
    actions = [_thick_enough(view, each) for each in found]
    resizes = tuple(action for action in actions if action is not None)
    helpless = [
        run_name(view, load=each.load)
        for each, action in zip(found, actions, strict=True)
        if action is None
    ]
    words = [thicken_words(view, resizes)] if resizes else []
    if helpless:
        words.append(f"plug {listed(helpless)} in behind a smaller breaker, or shorten it")
    return Finding(
        "feeder-protection",
        "caution",
        at_run(view, figures),
        guard,
        capacity,
        "A",
        f"{sentence(run_name(view, load=index))} may carry {amps(capacity or 0.0)} and hangs on "
        f"{amps(guard)}; a fault at its end meets {beside(loop, trips.limit_ohm, 2)} ohm and trips "
        f"at once only up to {number(trips.limit_ohm, 2)}: the lead would burn first."
        f"{more if len(found) > 1 else ''}",
        f"{sentence('; '.join(words))}.",
        LEAD_BASIS,
        resizes,
    )


def _thick_enough(view: View, figures: RunFigures) -> Resize | None:
    """The smallest size with which a lead is guarded again; None where no size will do."""
    load = view.layout.loads[_load_of(figures)].id
    for run, action in sizes_above(figures.run):
        if not _is_unguarded(view, figures, run):
            return replace(action, load=load)
    return None
