"""A layout with a plan carried out, so that the full model can be solved on it."""

from __future__ import annotations

from dataclasses import replace

from evenboard.electrics.layout import Layout, Load
from evenboard.intake.plug import plugged
from evenboard.planning.result import Place, Plan

__all__ = ["apply"]


def apply(layout: Layout, plan: Plan) -> Layout:
    """The layout as it is plugged once every step of the plan is done.

    Parameters
    ----------
    layout : Layout
        The layout the plan was made for.
    plan : Plan
        Its plan. A load that is unplaced becomes loose.

    Returns
    -------
    Layout
        The same layout with other places, and the supply conductors that go with them.

    Raises
    ------
    KeyError
        If the plan names a board that the layout does not have.
    ValueError
        If the plan names an outlet that its board does not have.

    References
    ----------
    .. [1] None; bookkeeping.
    """
    places = {a.load: a.place for a in plan.assignments}
    return replace(
        layout, loads=tuple(_plugged(layout, load, places.get(load.id)) for load in layout.loads)
    )


def _plugged(layout: Layout, load: Load, place: Place | None) -> Load:
    if place is None:
        return replace(load, board=None, outlet=None, supply_lines=())
    index = layout.board_index(place.board)
    if load.board == index and load.outlet == place.outlet:
        return load
    outlet = layout.boards[index].outlet(place.outlet)
    if outlet is None:
        raise ValueError(f"board {place.board!r} has no outlet {place.outlet!r}")
    return plugged(load, index, outlet, layout)
