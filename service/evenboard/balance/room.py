"""Room left, in lamps: how many more of a type can be plugged in on each phase.

A lamp fits where its plug finds a free outlet and no rating on the way to the supply is passed, in
any set-up. Outlets, boards and the supply nest, so that filling from the outlets upward is exact:
each board takes what its outlets and boards offer, up to its own room.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from evenboard.balance.model import Room
from evenboard.catalogue import Catalogue
from evenboard.electrics.equipment import FixtureType
from evenboard.electrics.layout import Layout, Outlet
from evenboard.electrics.load import plug_current_a, version_for
from evenboard.findings import View

__all__ = ["COMMON", "common_types", "rooms"]

COMMON = (
    "led-panel-200",
    "led-soft-600",
    "led-point-source-1200",
    "tungsten-open-face-800",
    "tungsten-open-face-2000",
    "discharge-par-1200-electronic-pfc",
    "discharge-par-1800-electronic-pfc",
    "discharge-par-4000-electronic-pfc",
    "unit-base-kettle-1300",
    "unit-base-kettle-2200",
)
"""Types that crews count room in, small to large, and the kettle (estimate)."""
MAX_COUNT = 999
"""Past this the count says no more than that there is plenty."""
ROUNDING = 1e-9
"""So that ten lamps of exactly a tenth of the room are ten."""


def common_types(catalogue: Catalogue, layout: Layout) -> tuple[FixtureType, ...]:
    """The common types that are made for the layout's voltage, in the order of the list."""
    voltage_v = _nominal_v(layout)
    return tuple(
        fixture
        for slug in COMMON
        if (fixture := catalogue.fixtures.get(slug)) is not None
        and version_for(fixture, voltage_v) is not None
    )


def rooms(view: View, common: Sequence[FixtureType]) -> dict[int, tuple[Room, ...]]:
    """Per supply line, how many of each type still fit; of the layout's own types by default."""
    layout = view.layout
    voltage_v = _nominal_v(layout)
    types = common or tuple(
        {load.fixture.slug: load.fixture for load in layout.loads if load.fixture}.values()
    )
    singles = [f for f in types if f.connection == "single" and version_for(f, voltage_v)]
    if not singles:
        return {}
    nodes = _nodes(view)
    return {
        line: tuple(
            Room(f.slug, f.name, amps, _count(nodes, line, amps))
            for f in singles
            for amps in (plug_current_a(f, voltage_v),)
        )
        for line in view.lines[0]
    }


def _nominal_v(layout: Layout) -> float:
    system = layout.region.system(layout.supply.system)
    return layout.supply.voltage_v if system is None else system.line_to_neutral_v


@dataclass(frozen=True, slots=True)
class _Node:
    """What bounds the lamps below a node: its room per supply line and its free outlets.

    ``free`` are its one-line outlets that nothing is plugged into: supply line and amps each gives.
    """

    parent: int
    room_a: dict[int, float]
    free: tuple[tuple[int, float], ...]


def _nodes(view: View) -> list[_Node]:
    free: dict[int, list[tuple[int, float]]] = defaultdict(list)
    feeding: dict[int, Outlet] = {}
    for figures in view.outlets:
        if figures.child is not None:
            feeding[figures.child + 1] = figures.outlet
        if not figures.in_use and len(figures.outlet.supply_lines) == 1:
            line = figures.outlet.supply_lines[0]
            free[figures.board + 1].append((line, _gives_a(figures.outlet)))
    headroom_a = view.headroom_a.tolist()
    ratings_a = view.line_rating_a.tolist()
    nodes = []
    for node, parent in enumerate(view.parents):
        limits = [ratings_a[node]]
        if node in feeding:
            limits.append(_gives_a(feeding[node]))
        board = view.board(node)
        if board is not None and board.incomer is not None:
            limits.append(board.incomer.rating_a)
        less_a = ratings_a[node] - min(limits)
        room_a = {line: max(headroom_a[node][line] - less_a, 0.0) for line in view.lines[node]}
        nodes.append(_Node(parent, room_a, tuple(free[node])))
    return nodes


def _gives_a(outlet: Outlet) -> float:
    breaker = outlet.type.breaker
    return outlet.type.rating_a if breaker is None else min(outlet.type.rating_a, breaker.rating_a)


def _count(nodes: Sequence[_Node], line: int, amps: float) -> int:
    """Lamps of so many amps that fit on a line, filled from the outlets upward."""
    counts = [0] * len(nodes)
    for place in range(len(nodes) - 1, -1, -1):
        node = nodes[place]
        for outlet_line, gives_a in node.free:
            if outlet_line == line:
                counts[place] += math.floor(gives_a / amps + ROUNDING)
        room_a = node.room_a.get(line, 0.0)
        counts[place] = min(counts[place], math.floor(room_a / amps + ROUNDING))
        if node.parent >= 0:
            counts[node.parent] += counts[place]
    return min(counts[0], MAX_COUNT)
