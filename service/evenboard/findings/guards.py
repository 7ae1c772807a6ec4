"""What trips for a place, on a fault there or an overload, and the loop that the fault meets."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from evenboard.electrics.earth_fault import loop_impedances_ohm, run_loop_ohm
from evenboard.electrics.equipment import Breaker, Curve
from evenboard.electrics.layout import Run
from evenboard.electrics.protection import (
    breaker_band_a,
    loop_impedance_limit_ohm,
)
from evenboard.findings.thicken import RunRef

if TYPE_CHECKING:
    from evenboard.findings.view import View

__all__ = ["Tripping", "guard_a", "loop_ohm", "tripping"]

ASSUMED_CURVE: Curve = "C"
"""Curve of a device of which only the rating is known: the usual one on a set; estimate."""

KINDEST_CURVE: Curve = "B"
"""The curve that trips soonest: a loop too long even for it is too long for certain."""


@dataclass(frozen=True, slots=True)
class Tripping:
    """The breaker that a fault behind a place trips first, and up to which loop it does at once.

    ``is_assumed`` says that no breaker is entered on the way and the supply's rating stands for
    one. ``certain_ohm`` is the loop above which it surely does not trip at once: that of the
    kindest curve for an assumed one, else ``limit_ohm``.
    """

    breaker: Breaker
    limit_ohm: float
    certain_ohm: float
    is_assumed: bool


def tripping(view: View, board: int, outlet: str | None = None) -> Tripping:
    """What trips on a fault at a board, or behind one of its outlets."""
    guards = view.guards(board, outlet)
    # Of breakers in series the one with the lowest band clears the fault; the nearest of equals.
    breakers = [guard.breaker for guard in reversed(guards) if guard.breaker is not None]
    if breakers:
        breaker = min(breakers, key=lambda each: breaker_band_a(each).upper_a)
        limit = _limit_ohm(view, breaker)
        return Tripping(breaker, limit, limit, is_assumed=False)
    assumed = Breaker(guards[0].rating_a, ASSUMED_CURVE)
    kindest = Breaker(guards[0].rating_a, KINDEST_CURVE)
    return Tripping(assumed, _limit_ohm(view, assumed), _limit_ohm(view, kindest), is_assumed=True)


def _limit_ohm(view: View, breaker: Breaker) -> float:
    supply, region = view.layout.supply, view.layout.region
    return loop_impedance_limit_ohm(breaker, supply.voltage_v, region.loop_voltage_factor)


def guard_a(view: View, board: int, outlet: str | None = None) -> float:
    """Rating of what trips before more flows to a board, or through one of its outlets. [A]"""
    return min(guard.rating_a for guard in view.guards(board, outlet))


def loop_ohm(view: View, board: int, load: int | None, changed: dict[RunRef, Run]) -> float:
    """Fault loop at a board or at the end of a load's lead, with some runs exchanged. [ohm]"""
    layout = view.layout
    if any(ref.board is not None for ref in changed):
        boards = tuple(
            replace(b, feeder=changed.get(RunRef(board=i), b.feeder))
            for i, b in enumerate(layout.boards)
        )
        loop = loop_impedances_ohm(replace(view.loop_layout, boards=boards))[board + 1]
    else:
        loop = view.loop_ohm[board + 1]
    if load is None:
        return float(loop)
    lead = changed.get(RunRef(load=load))
    if lead is None:
        return float(loop + view.lead_loop_ohm[load])
    return float(loop) + abs(run_loop_ohm(lead, layout.supply.frequency_hz))
