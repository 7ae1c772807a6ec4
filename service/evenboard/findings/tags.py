"""The tagged pieces of a layout: boards, feeders, leads and fixtures with their asset tags."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from evenboard.findings.finding import Where
from evenboard.findings.judging import at
from evenboard.findings.remedy import sentence
from evenboard.findings.words import run_name

if TYPE_CHECKING:
    from evenboard.findings.view import View

__all__ = ["tagged_pieces"]


def tagged_pieces(view: View) -> Iterator[tuple[str, str, Where]]:
    """Each tag with what it is on and where; a tag that is entered twice comes twice."""
    layout = view.layout
    for index, board in enumerate(layout.boards):
        if board.tag is not None:
            yield board.tag, f"Board {board.id}", at(view, index + 1)
        if board.feeder is not None and board.feeder.tag is not None:
            name = run_name(view, board=index)
            yield board.feeder.tag, sentence(name), at(view, index + 1)
    for index, load in enumerate(layout.loads):
        node = 0 if load.board is None else load.board + 1
        where = at(view, node, outlet=load.outlet, load=index)
        if load.tag is not None:
            yield load.tag, view.load_names[index], where
        if load.lead is not None and load.lead.tag is not None:
            name = run_name(view, load=index)
            yield load.lead.tag, sentence(name), where
