"""Outlets that give a load the voltage that it is made for: another number of lines."""

from __future__ import annotations

from typing import TYPE_CHECKING

from evenboard.electrics.layout import Outlet
from evenboard.electrics.load import load_split
from evenboard.findings.action import Move
from evenboard.findings.inputs import borne_v
from evenboard.intake.plug import plugged

if TYPE_CHECKING:
    from evenboard.findings.view import View

__all__ = ["other_voltage"]


def other_voltage(view: View, index: int) -> tuple[Move, ...]:
    """The move that brings a load to a free outlet of a voltage that it takes; empty if none is."""
    load = view.layout.loads[index]
    if load.keep or load.board is None or load.connection not in ("single", "line-to-line"):
        return ()
    taken = {*view.places.values()}
    taken |= {(b.parent, b.parent_outlet or "") for b in view.layout.boards if b.parent is not None}
    for board, place in enumerate(view.layout.boards):
        for outlet in place.outlets:
            if (board, outlet.id) in taken or not _takes(view, index, board, outlet):
                continue
            return (Move(load.id, place.id, outlet.id),)
    return ()


def _takes(view: View, index: int, board: int, outlet: Outlet) -> bool:
    load = view.layout.loads[index]
    if len(outlet.supply_lines) not in (1, 2):
        return False
    if len(outlet.supply_lines) == 1 and not outlet.type.neutral:
        return False
    there = plugged(load, board, outlet, view.layout)
    phasors = view.nominal_phasors_v
    lines = outlet.supply_lines
    volts = abs(phasors[lines[0]] - (phasors[lines[1]] if len(lines) == 2 else 0.0))
    low, high = borne_v(there)
    if not low <= volts <= high:
        return False
    breaker = outlet.type.breaker
    rating = min(outlet.type.rating_a, breaker.rating_a if breaker else outlet.type.rating_a)
    if load_split(there, float(volts)).rms_a > rating:
        return False
    standard = view.outlet_standards.get(outlet.type.connector or "")
    plug = load.connector
    return plug is None or standard is None or plug in (standard.id, *standard.accepts)
