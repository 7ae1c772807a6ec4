"""Figures of the lines and the neutral of one node: the supply's terminals or a board."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from evenboard.balance.model import NeutralFigures, PhaseFigures, Room, Unbalance
from evenboard.balance.worst import figure
from evenboard.findings import View

__all__ = ["line_names", "neutral", "phases", "unbalance"]


def line_names(view: View, node: int) -> tuple[str, ...]:
    """The node's own names of its lines, in the order of ``view.lines``."""
    board = view.board(node)
    return view.layout.supply.lines if board is None else board.lines


def phases(
    view: View,
    node: int,
    setup: int | None,
    *,
    rooms: Mapping[int, tuple[Room, ...]] | None = None,
    of_setup: bool = False,
) -> tuple[PhaseFigures, ...]:
    """The lines of a node in one set-up; without one only what is known without solving.

    ``of_setup`` takes the headroom of that set-up instead of the fullest one's.
    """
    solved = setup is not None and bool(view.solved[setup])
    rating_a = float(view.line_rating_a[node])
    names = line_names(view, node)
    result = []
    for name, line in zip(names, view.lines[node], strict=True):
        sum_a = float(view.arithmetic_a[setup or 0, node, line])
        room_a = rating_a - sum_a if of_setup else float(view.headroom_a[node, line])
        place = (setup, node, line) if solved else None
        result.append(
            PhaseFigures(
                phase=name,
                current_a=None if place is None else figure(view.line_a[place]),
                fundamental_a=None if place is None else figure(view.fundamental_a[place]),
                power_w=None if place is None else figure(view.power_w[place]),
                reactive_var=None if place is None else figure(view.reactive_var[place]),
                apparent_va=None if place is None else figure(view.apparent_va[place]),
                power_factor=None if place is None else figure(view.power_factor[place]),
                rating_a=rating_a,
                loading_pct=None if place is None else figure(view.loading_pct[place]),
                sum_a=sum_a,
                headroom_a=room_a,
                room_for=(rooms or {}).get(line, ()),
            )
        )
    return tuple(result)


def neutral(
    view: View, node: int, setup: int | None, *, switching: bool = False
) -> NeutralFigures | None:
    """The neutral of a node in one set-up; None where it has none.

    ``switching`` adds the largest current over every on/off combination, which is of no set-up.
    """
    board = view.board(node)
    if not (view.layout.supply.neutral if board is None else board.neutral):
        return None
    worst = view.worst_switching[node] if switching else None
    solved = setup is not None and bool(view.solved[setup])
    place = (setup, node) if solved else None
    return NeutralFigures(
        current_a=None if place is None else figure(view.neutral_a[place]),
        fundamental_a=None if place is None else figure(view.neutral_fundamental_a[place]),
        triplen_a=None if place is None else figure(view.neutral_triplen_a[place]),
        rating_a=float(view.neutral_rating_a[node]),
        loading_pct=None if place is None else figure(view.neutral_loading_pct[place]),
        worst_switching_a=None if worst is None else figure(worst.current_a),
        worst_switching_on=None
        if worst is None
        else tuple(view.layout.loads[i].id for i in worst.loads),
    )


def unbalance(view: View, node: int, setup: int | None) -> Unbalance | None:
    """How uneven the lines of a node are; None for a single line, which has nothing to even out."""
    lines = view.lines[node]
    if len(lines) < 2 or setup is None or not view.solved[setup]:
        return None
    place = (setup, node)
    three = len(lines) == 3
    return Unbalance(
        current_pct=figure(view.current_unbalance_pct[place]),
        spread_a=figure(view.spread_a[place]),
        spread_pct=figure(view.spread_pct[place]),
        negative_sequence_pct=figure(view.negative_sequence_pct[place]) if three else None,
        voltage_pct=figure(np.max(view.voltage_unbalance_pct[setup])) if three else None,
    )
