"""Remedies in words, from the actions that a search has found."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from evenboard.findings.action import Action, Move, Unplug
from evenboard.findings.words import listed, outlet_name

if TYPE_CHECKING:
    from evenboard.findings.view import View

__all__ = ["move_words", "sentence", "unplug_words"]


def move_words(view: View, moves: Sequence[Move]) -> str:
    """``Move urn from L1 top to L3 top.``; two loads that change places are swapped."""
    layout = view.layout
    index = view.load_index
    sentences: list[str] = []
    done: set[str] = set()
    for move in moves:
        if move.load in done:
            continue
        load = layout.loads[index[move.load]]
        name = view.load_names[index[move.load]]
        board = layout.board_index(move.board)
        there = outlet_name(layout, board, move.outlet)
        here = outlet_name(layout, load.board or 0, load.outlet or "")
        if load.board == board:
            here = outlet_name(layout, board, load.outlet or "", alone=True)
        partner = _partner(view, move, moves)
        if partner is not None and partner not in done:
            done.add(partner)
            other = view.load_names[index[partner]]
            sentences.append(f"swap {name} ({here}) and {other} ({there})")
        else:
            sentences.append(f"move {name} from {here} to {there}")
        done.add(move.load)
    return f"{sentence('; '.join(sentences))}."


def unplug_words(view: View, actions: Sequence[Action]) -> str:
    """``take urn off this supply``."""
    index = view.load_index
    names = [view.load_names[index[a.load]] for a in actions if isinstance(a, Unplug)]
    return f"take {listed(names, most=8)} off this supply"


def _partner(view: View, move: Move, moves: Sequence[Move]) -> str | None:
    """The load that stands where a move goes and itself moves to where it came from."""
    loads = {load.id: load for load in view.layout.loads}
    layout = view.layout
    origin = loads[move.load]
    for other in moves:
        stands = loads[other.load]
        if stands.board is None or origin.board is None or other.load == move.load:
            continue
        if (layout.boards[stands.board].id, stands.outlet) == (move.board, move.outlet) and (
            other.board,
            other.outlet,
        ) == (layout.boards[origin.board].id, origin.outlet):
            return other.load
    return None


def sentence(text: str) -> str:
    """The text with a capital letter to begin with."""
    return f"{text[:1].upper()}{text[1:]}"
