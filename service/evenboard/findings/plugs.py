"""Outlets and residual-current devices as solved, and which plug goes into which outlet."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from evenboard.electrics.equipment import RcdType
from evenboard.electrics.layout import Load, Outlet
from evenboard.electrics.solution import FloatArray
from evenboard.findings.figures import OutletFigures, RcdFigures
from evenboard.findings.loadflow import rms_of

if TYPE_CHECKING:
    from evenboard.findings.view import View

__all__ = [
    "Kind",
    "Members",
    "Place",
    "accepts",
    "alike",
    "behind",
    "guarding",
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
    current: FloatArray = arithmetic
    if child is not None:
        arithmetic = arithmetic + view.arithmetic_a[:, child + 1, lines]
    for load in loads:
        # One on some of the outlet's lines loads no others.
        own = view.layout.loads[load].supply_lines
        arithmetic = arithmetic + view.nominal_a[:, [load]] * [line in own for line in lines]
    if child is None and len(loads) == 1:
        current = view.own_a(loads[0])[:, lines]
    elif child is not None or loads:
        parts = [view.parts(load, view.layout.loads[load].supply_lines) for load in loads]
        parts += [] if child is None else [view.node_parts[child + 1]]
        current = rms_of(np.sum(parts, axis=0))[:, lines]
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
    if not loads:
        return 0.0
    together = view.inrush_at_once_a[:, list(loads)]
    return float(together.sum(axis=1).max(initial=0.0))


def _loop_ohm(view: View, board: int, loads: tuple[int, ...]) -> float | None:
    if not view.loops_known:
        return None
    lead_ohm = view.lead_loop_ohm[list(loads)].max() if loads else 0.0
    return float(view.loop_ohm[board + 1] + lead_ohm)


def _voltage(view: View, board: int, outlet: Outlet) -> FloatArray:
    lines = list(outlet.supply_lines)
    if len(lines) == 1:
        alone: FloatArray = view.voltage_v[:, board + 1, lines[0]]
        return alone
    if len(lines) == 2:
        own = view.solution.voltage_v[:, board + 1]
        across: FloatArray = np.abs(own[:, lines[0]] - own[:, lines[1]])
        return across
    lowest: FloatArray = view.voltage_v[:, board + 1, lines].min(axis=1)
    return lowest


def devices(view: View) -> Iterator[tuple[int, RcdType, bool]]:
    """Board, device and whether it guards the whole board, board after board."""
    for index, board in enumerate(view.layout.boards):
        if board.incomer_rcd is not None:
            yield index, board.incomer_rcd, True
        for rcd in board.rcds:
            yield index, rcd, False


def guarding(view: View) -> dict[Place, frozenset[int]]:
    """Which devices, by position, see the leakage of what is plugged into each outlet."""
    by_place: dict[Place, frozenset[int]] = {}
    own = list(enumerate(devices(view)))
    for index, board in enumerate(view.layout.boards):
        above: frozenset[int] = frozenset()
        if board.parent is not None and board.parent_outlet is not None:
            above = by_place[board.parent, board.parent_outlet]
        above |= {k for k, (on, _, is_incomer) in own if on == index and is_incomer}
        for outlet in board.outlets:
            by_place[index, outlet.id] = above | {
                k
                for k, (on, rcd, is_incomer) in own
                if on == index and not is_incomer and rcd.id == outlet.type.rcd
            }
    return by_place


def rcd_figures(view: View) -> tuple[RcdFigures, ...]:
    """Every residual-current device with the loads behind it and their leakage."""
    figures = []
    for position, (board, rcd, is_incomer) in enumerate(devices(view)):
        loads = behind(view, position, view.places)
        leakage = view.leakage_ma[:, list(loads)].sum(axis=1)
        figures.append(RcdFigures(board, rcd, is_incomer, loads, leakage))
    return tuple(figures)


def behind(view: View, device: int, places: Mapping[int, Place]) -> tuple[int, ...]:
    """The loads whose leakage a device sees if the loads stand at these places."""
    return tuple(load for load, place in places.items() if device in view.guarding[place])


def leakage_allows(view: View, moved: Mapping[int, Place], places: Mapping[int, Place]) -> bool:
    """Whether moving loads puts no device over its share that sees a load which it did not see."""
    gaining: frozenset[int] = frozenset()
    for load, place in moved.items():
        gaining |= view.guarding[place] - view.guarding[places[load]]
    after = {**places, **moved}
    for device in gaining:
        allowed = view.rcds[device].rcd.rated_residual_ma * view.limits.leakage_share_pct / 100.0
        before = view.leakage_ma[:, list(behind(view, device, places))].sum(axis=1)
        then = view.leakage_ma[:, list(behind(view, device, after))].sum(axis=1)
        if then.max(initial=0.0) > max(allowed, before.max(initial=0.0)):
            return False
    return True


@dataclass(frozen=True, slots=True)
class Kind:
    """What outlets are alike in: ``plug`` is what a plug may depend on, the rest goes with it."""

    plug: tuple[object, ...]
    electrical: tuple[object, ...]


Members = dict[Kind, tuple[tuple[int, Place], ...]]
"""Outlets by their kind, each with its position on its board."""


def alike(view: View, board: int) -> Members:
    """The outlets of a board by kind."""
    kinds: dict[Kind, list[tuple[int, Place]]] = {}
    for position, outlet in enumerate(view.layout.boards[board].outlets):
        lines, type_ = outlet.supply_lines, outlet.type
        carries = type_.rating_a, type_.breaker
        kind = Kind(
            (len(lines), *carries, type_.neutral, type_.connector), (lines, *carries, type_.rcd)
        )
        kinds.setdefault(kind, []).append((position, (board, outlet.id)))
    return {kind: tuple(members) for kind, members in kinds.items()}


def accepts(view: View, load: int, place: Place, origin: Place) -> bool:
    """Whether a load's plug goes into an outlet, and the outlet carries it full up.

    A plug that is not named is taken to be the one of the outlet that it stands in.
    """
    plug = view.layout.loads[load]
    target, here = view.outlet_at[place], view.outlet_at[origin]
    if len(target.supply_lines) != len(plug.supply_lines):
        return False
    if needs_neutral(plug) and not target.type.neutral:
        return False
    current = view.largest_a[load]
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
