"""What a board can still take: the most lamps of a type that go in beside what is plugged."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from evenboard.catalogue import Catalogue
from evenboard.electrics.layout import Layout
from evenboard.intake import Fault, LayoutInvalid, resolve
from evenboard.planning.planner import plan
from evenboard.planning.result import Assignment, Plan, PlanOptions

__all__ = ["Taking", "take_more"]

ASKED_AT_MOST = 60
"""Lamps that are asked for at once; a board that takes them all has plenty."""


@dataclass(frozen=True, slots=True)
class Taking:
    """How many more go in, and where.

    Attributes
    ----------
    layout : Layout
        The layout with as many more as were asked for.
    plan : Plan
        The plan that takes the most of them.
    more : tuple of Assignment
        Where the new ones go, in the order in which they are best plugged in.
    by_line : dict of str to int
        How many on each line of the supply; one on two lines counts on both.
    asked : int
        How many were asked for: where all go in there may be room for more.
    why : str
        What keeps the next one out; empty where all went in.
    """

    layout: Layout
    plan: Plan
    more: tuple[Assignment, ...]
    by_line: dict[str, int]
    asked: int
    why: str


def take_more(
    body: Mapping[str, Any],
    lamp: Mapping[str, Any],
    catalogue: Catalogue,
    *,
    spare_a: float,
    may_move: bool,
) -> Taking:
    """The most lamps of a type that still fit.

    Parameters
    ----------
    body : mapping
        A layout; what is plugged counts, what is loose is left out.
    lamp : mapping
        A load without id and place: fixture or custom, and what else a load may say.
    catalogue : Catalogue
        What is known of fixtures, boards, cables and regions.
    spare_a : float
        Kept free on every line of the supply. [A]
    may_move : bool
        Whether what is plugged may be plugged elsewhere to make room.

    Returns
    -------
    Taking
        How many, where, and what keeps the next one out.

    Raises
    ------
    LayoutInvalid
        If layout or lamp cannot be read; faults of the lamp are at ``/more``.

    References
    ----------
    .. [1] The room that is left on a board, outlet by outlet: :mod:`evenboard.planning.fit`.
    """
    loads = body.get("loads") or []
    before = resolve(body, catalogue, loose=True)
    free = sum(len(board.outlets) for board in before.boards) - len(before.loads)
    asked = max(min(free, ASKED_AT_MOST), 1)
    taken = {load.id for load in before.loads}
    names = [f"more-{number}" for number in range(1, asked + len(taken) + 1)]
    names = [name for name in names if name not in taken][:asked]
    first = len(loads)
    whole = {**body, "loads": [*loads, *({**lamp, "id": name} for name in names)]}
    try:
        layout = resolve(whole, catalogue, loose=True)
    except LayoutInvalid as error:
        raise LayoutInvalid(_of_lamp(error.faults, first)) from None
    kept = tuple(
        replace(load, keep=load.keep or not may_move)
        for load in layout.loads
        if load.board is not None or load.id in names
    )
    layout = replace(layout, loads=kept)
    found = plan(layout, PlanOptions(spare_a=spare_a))
    placed = {a.load: a for a in found.assignments}
    more = tuple(placed[name] for name in names if name in placed)
    reasons = [unplaced.why for unplaced in found.unplaced if unplaced.load in names]
    return Taking(layout, found, more, _by_line(layout, more), asked, reasons[0] if reasons else "")


def _by_line(layout: Layout, more: tuple[Assignment, ...]) -> dict[str, int]:
    count: Counter[str] = Counter()
    for each in more:
        board = layout.boards[layout.board_index(each.place.board)]
        outlet = board.outlet(each.place.outlet)
        if outlet is not None:
            count.update(layout.supply.lines[line] for line in outlet.supply_lines)
    return {line: count[line] for line in layout.supply.lines}


def _of_lamp(faults: tuple[Fault, ...], first: int) -> list[Fault]:
    """Faults of the copies told once, at the lamp."""
    told: dict[tuple[str, str], Fault] = {}
    for fault in faults:
        pointer = fault.pointer
        parts = pointer.split("/")
        if parts[:2] == ["", "loads"] and len(parts) > 2 and int(parts[2]) >= first:
            pointer = "/".join(["", "more", *parts[3:]])
        detail = fault.detail
        told.setdefault((pointer, detail), replace(fault, pointer=pointer))
    return list(told.values())
