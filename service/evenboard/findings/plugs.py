"""Outlets and residual-current devices as solved, and which plug goes into which outlet."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np

from evenboard.electrics.earth_fault import run_loop_ohm
from evenboard.electrics.equipment import RcdType
from evenboard.electrics.layout import NEUTRAL, Load, Outlet
from evenboard.electrics.solution import FloatArray
from evenboard.findings.figures import OutletFigures, RcdFigures
from evenboard.findings.loadflow import Parts

if TYPE_CHECKING:
    from evenboard.findings.view import View

__all__ = [
    "Place",
    "accepts",
    "behind",
    "leakage_allows",
    "needs_neutral",
    "outlet_figures",
    "rcd_figures",
]

Place = tuple[int, str]
"""A board's index and an outlet's id."""


def needs_neutral(load: Load) -> bool:
    """Whether all of a load's current returns in the neutral."""
    return load.connection == "single" and len(load.supply_lines) == 1


def outlet_figures(view: View) -> tuple[OutletFigures, ...]:
    """Every outlet of every board with what it gives in each set-up."""
    layout = view.layout
    by_place: dict[Place, list[int]] = {}
    for index, load in enumerate(layout.loads):
        if load.board is not None and load.outlet is not None:
            by_place.setdefault((load.board, load.outlet), []).append(index)
    children = {
        (board.parent, board.parent_outlet): index
        for index, board in enumerate(layout.boards)
        if board.parent is not None
    }
    return tuple(
        _outlet(
            view,
            index,
            outlet,
            tuple(by_place.get((index, outlet.id), ())),
            children.get((index, outlet.id)),
        )
        for index, board in enumerate(layout.boards)
        for outlet in board.outlets
    )


def _outlet(
    view: View, board: int, outlet: Outlet, loads: tuple[int, ...], child: int | None
) -> OutletFigures:
    lines = list(outlet.supply_lines)
    setups = len(view.layout.setups)
    arithmetic = np.zeros((setups, len(lines)))
    zero = np.zeros((setups, NEUTRAL + 1), dtype=np.complex128)
    parts = Parts(zero, zero, zero)
    for load in loads:
        arithmetic += view.nominal_a[:, load, None]
        parts = parts.plus(view.parts(load, outlet.supply_lines))
    if child is not None:
        arithmetic += view.arithmetic_a[:, child + 1, lines]
        parts = parts.plus(view.node_parts[child + 1])
    current: FloatArray = parts.flow.rms_a[:, lines]
    return OutletFigures(
        board,
        outlet,
        loads,
        child,
        current,
        arithmetic,
        _voltage(view, board, outlet),
        _inrush_a(view, loads),
        _loop_ohm(view, board, loads),
    )


def _inrush_a(view: View, loads: tuple[int, ...]) -> float:
    together = view.solution.on[:, list(loads)] * view.inrush_a[list(loads)]
    return float(together.sum(axis=1).max(initial=0.0))


def _loop_ohm(view: View, board: int, loads: tuple[int, ...]) -> float | None:
    if not view.loops_known:
        return None
    frequency = view.layout.supply.frequency_hz
    leads = [abs(run_loop_ohm(view.layout.loads[i].lead, frequency)) for i in loads]
    return float(view.loop_ohm[board + 1]) + max(leads, default=0.0)


def _voltage(view: View, board: int, outlet: Outlet) -> FloatArray:
    lines = list(outlet.supply_lines)
    own = view.solution.voltage_v[:, board + 1]
    if len(lines) == 2:
        across: FloatArray = np.abs(own[:, lines[0]] - own[:, lines[1]])
        return across
    lowest: FloatArray = view.voltage_v[:, board + 1, lines].min(axis=1)
    return lowest


def rcd_figures(view: View) -> tuple[RcdFigures, ...]:
    """Every residual-current device with the loads behind it and their leakage."""
    leakage = view.leakage_ma
    figures = []
    for index, board in enumerate(view.layout.boards):
        devices = [(board.incomer_rcd, True)] if board.incomer_rcd is not None else []
        for rcd, is_incomer in (*devices, *((rcd, False) for rcd in board.rcds)):
            loads = behind(view, index, rcd, is_incomer)
            figures.append(
                RcdFigures(index, rcd, is_incomer, loads, leakage[:, list(loads)].sum(axis=1))
            )
    return tuple(figures)


def behind(
    view: View,
    board: int,
    rcd: RcdType,
    is_incomer: bool,
    places: Mapping[int, Place] | None = None,
) -> tuple[int, ...]:
    """The loads whose leakage a device sees, boards fed through it included.

    ``places`` says where the loads stand, if not where the layout has them.
    """
    layout = view.layout
    where = places if places is not None else view.places
    if is_incomer:
        nodes = {board}
    else:
        nodes = set()
        guarded = {o.id for o in layout.boards[board].outlets if o.type.rcd == rcd.id}
    for index, other in enumerate(layout.boards):
        if other.parent in nodes or (
            not is_incomer and other.parent == board and other.parent_outlet in guarded
        ):
            nodes.add(index)
    return tuple(
        load
        for load, (on_board, outlet) in where.items()
        if on_board in nodes or (not is_incomer and on_board == board and outlet in guarded)
    )


def leakage_allows(view: View, moved: Mapping[int, Place], places: Mapping[int, Place]) -> bool:
    """Whether moving loads puts no device over its share, or none further over than it is."""
    after = {**places, **moved}
    leakage = view.leakage_ma
    for figures in view.rcds:
        allowed = figures.rcd.rated_residual_ma * view.limits.leakage_share_pct / 100.0
        now = behind(view, figures.board, figures.rcd, figures.is_incomer, places)
        then = behind(view, figures.board, figures.rcd, figures.is_incomer, after)
        if set(now) == set(then):
            continue
        before = float(leakage[:, list(now)].sum(axis=1).max(initial=0.0))
        if float(leakage[:, list(then)].sum(axis=1).max(initial=0.0)) > max(allowed, before):
            return False
    return True


def accepts(view: View, load: int, place: Place, origin: Place) -> bool:
    """Whether a load's plug goes into an outlet, and the outlet carries it full up.

    A plug that is not named is taken to be the one of the outlet that it stands in.
    """
    layout = view.layout
    plug, target = layout.loads[load], layout.boards[place[0]].outlet(place[1])
    here = layout.boards[origin[0]].outlet(origin[1])
    if target is None or here is None or len(target.supply_lines) != len(plug.supply_lines):
        return False
    if needs_neutral(plug) and not target.type.neutral:
        return False
    current = float(max(view.full_nominal_a[load], view.solution.load_current_a[:, load].max()))
    ratings = [target.type.rating_a]
    if target.type.breaker is not None:
        share = view.limits.breaker_loading_pct / 100.0
        was = here.type.breaker
        kept = was is not None and current <= was.rating_a * share
        ratings.append(target.type.breaker.rating_a * (share if kept else 1.0))
    if current > min(ratings):
        return False
    connector = plug.connector or here.type.connector
    there = target.type.connector
    if connector is None or there is None or connector == there:
        return True
    standard = view.outlet_standards.get(there)
    return standard is not None and connector in standard.accepts
