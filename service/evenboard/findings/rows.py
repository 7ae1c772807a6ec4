"""The rows of a box: which loads sit above smaller ones, and how they would sit by custom."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from evenboard.findings.action import Move
from evenboard.findings.plugs import Place, accepts
from evenboard.findings.replug import MOST_STEPS, ROW_OF_SIZE, Replugging, Step

if TYPE_CHECKING:
    from evenboard.findings.view import View

__all__ = ["RowMoves", "row_moves"]

HEIGHT = {"bottom": 0, "middle": 1, "top": 2}
RANK = {"large": 0, "medium": 1, "small": 2}


@dataclass(frozen=True, slots=True)
class RowMoves:
    """Loads out of their row, and the moves that bring order; no moves where none are possible."""

    found: tuple[int, ...]
    actions: tuple[Move, ...]


def row_moves(view: View, board: int) -> RowMoves:
    """What stands in the wrong row of a board, by custom, and how to mend it.

    A load is out of its row where a smaller one sits lower on the same phase, or where it sits
    above its row and an outlet there, on the same phase, is free and takes its plug. Loads too
    small to matter are left alone.
    """
    search = Replugging(view)
    found = _out_of_row(search, board)
    for _ in range(min(2 * len(found), MOST_STEPS)):
        step = _next(search, board)
        if step is None:
            break
        search.take(step)
    done = not _out_of_row(search, board)
    return RowMoves(tuple(found), search.moves() if done else ())


def _out_of_row(search: Replugging, board: int) -> list[int]:
    return [
        load
        for load in _loads_in_rows(search, board)
        if _better_row(search, load) is not None or _smaller_below(search, board, load) is not None
    ]


def _loads_in_rows(search: Replugging, board: int) -> list[int]:
    return [
        i
        for i, place in search.places.items()
        if place[0] == board and search.outlet(place).type.row is not None and _matters(search, i)
    ]


def _matters(search: Replugging, load: int) -> bool:
    plug = search.layout.loads[load]
    return plug.power_w * plug.count > search.view.limits.insignificant_w


def _next(search: Replugging, board: int) -> Step | None:
    """One move or swap towards order, the largest loads first."""
    loads = search.layout.loads
    for load in sorted(_loads_in_rows(search, board), key=lambda i: RANK[loads[i].size_class]):
        if loads[load].keep:
            continue
        place = _better_row(search, load)
        if place is not None:
            return Step(((load, place),))
        other = _smaller_below(search, board, load)
        if other is not None and not loads[other].keep:
            one, two = search.places[load], search.places[other]
            if accepts(search.view, load, two, one) and accepts(search.view, other, one, two):
                return Step(((load, two), (other, one)))
    return None


def _better_row(search: Replugging, load: int) -> Place | None:
    """A free outlet of the load's own row on its own lines."""
    here = search.places[load]
    outlet = search.outlet(here)
    wanted = ROW_OF_SIZE[search.layout.loads[load].size_class]
    if HEIGHT[outlet.type.row or "top"] <= HEIGHT[wanted]:
        return None
    taken = set(search.places.values())
    for other in search.layout.boards[here[0]].outlets:
        place = (here[0], other.id)
        if (
            other.type.row == wanted
            and other.supply_lines == outlet.supply_lines
            and place not in taken
            and accepts(search.view, load, place, here)
        ):
            return place
    return None


def _smaller_below(search: Replugging, board: int, load: int) -> int | None:
    """A load of a smaller class on the same lines in a lower row, with which it could change."""
    loads = search.layout.loads
    own = search.outlet(search.places[load])
    for other in _loads_in_rows(search, board):
        there = search.outlet(search.places[other])
        if (
            there.supply_lines == own.supply_lines
            and HEIGHT[there.type.row or "top"] < HEIGHT[own.type.row or "top"]
            and RANK[loads[other].size_class] > RANK[loads[load].size_class]
        ):
            return other
    return None
