"""What the routes about a saved layout share: opening it, reading it, showing it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from evenboard.api.access import CREW, DESK, PLUG, READ, Role, caller
from evenboard.api.answer import moment
from evenboard.api.problem import invalid_body
from evenboard.api.schemas.saved import SavedBodySchema
from evenboard.electrics.layout import Layout
from evenboard.intake import Fault
from evenboard.intake.nearest import nearest, quoted
from evenboard.store import Session, layouts
from evenboard.store.errors import NotThere
from evenboard.store.layouts import Event, SavedLayout

__all__ = [
    "ALL",
    "check_burning",
    "document",
    "event_document",
    "opened",
    "read_layout",
    "said_by",
]

ALL: tuple[Role, ...] = (CREW, READ, PLUG, DESK)
"""Whoever has a key or a link."""
_SAVED = SavedBodySchema()


def opened(session: Session, layout_id: str) -> SavedLayout:
    """The layout of that id, where it is this caller's to look at. Raises ``NotThere``."""
    saved = layouts.get(session, layout_id)
    if not caller().opens(saved.id, saved.order_ref):
        raise NotThere(f"There is no layout {layout_id!r}.")
    return saved


def read_layout(body: Mapping[str, Any]) -> Layout:
    """The resolved layout of a saved body. Raises ``LayoutInvalid`` with every fault."""
    layout: Layout = _SAVED.load(body)
    return layout


def said_by(body: Mapping[str, Any]) -> str:
    """Who did it: as the person says, else the name of the key or link."""
    return str(body.get("by") or caller().name)


def document(saved: SavedLayout) -> dict[str, Any]:
    """A saved layout as it is shown."""
    return {
        "id": saved.id,
        "order_ref": saved.order_ref,
        "name": saved.name,
        "version": saved.version,
        "burning": saved.burning,
        "body": saved.body,
        "created_at": moment(saved.created_at),
        "created_by": saved.created_by,
        "updated_at": moment(saved.updated_at),
        "updated_by": saved.updated_by,
    }


def event_document(event: Event) -> dict[str, Any]:
    """An event as it is shown."""
    told = event.document
    return {
        "version": event.version,
        "kind": event.kind,
        "at": moment(event.at),
        "done_at": told.get("done_at") or moment(event.at),
        "by": event.by,
        "role": event.who.role,
        "words": told["words"],
        "changes": told.get("changes", []),
        "undo": told.get("undo", []),
    }


def check_burning(burning: str | None, layout: Layout, pointer: str = "/burning") -> None:
    """Refuse a set-up that the layout does not have."""
    if burning is not None and burning not in layout.setups:
        close = nearest(burning, layout.setups, 1) or layout.setups[:1]
        detail = f"There is no set-up {quoted(burning)}. Nearest: {close[0]}."
        raise invalid_body([Fault(pointer, detail)])
