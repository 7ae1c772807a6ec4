"""Saved layouts and their history: each change is one version and one event, in one unit."""

from __future__ import annotations

import secrets
from base64 import b32encode
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from evenboard.store import tags
from evenboard.store.audit import Who
from evenboard.store.columns import now
from evenboard.store.errors import NotThere
from evenboard.store.latest import latest
from evenboard.store.rows_layouts import LayoutEventRow, LayoutRow

__all__ = [
    "Event",
    "SavedLayout",
    "add",
    "change",
    "event",
    "events",
    "get",
    "last_touch",
    "listing",
    "new_id",
    "remove",
]

Document = dict[str, Any]
_REMEMBERED = 300


@dataclass(frozen=True, slots=True)
class SavedLayout:
    """A layout as it is kept: the body as it was sent, and which set-up burns, if that is said."""

    id: str
    order_ref: str | None
    name: str
    body: Document
    burning: str | None
    version: int
    created_at: datetime
    created_by: str
    updated_at: datetime
    updated_by: str


@dataclass(frozen=True, slots=True)
class Event:
    """One change: the version it made, who, when (the service's clock) and what.

    ``document`` holds ``changes``, ``undo`` and ``words``; a layout that was put in whole has
    ``before`` and ``after`` too.
    """

    layout_id: str
    version: int
    kind: str
    at: datetime
    who: Who
    by: str
    document: Document


def new_id() -> str:
    """A name that nobody can guess: 128 random bits in 26 small letters and digits."""
    return b32encode(secrets.token_bytes(16)).decode().rstrip("=").lower()


def add(
    session: Session,
    *,
    name: str,
    order_ref: str | None,
    body: Document,
    burning: str | None,
    who: Who,
    by: str,
) -> SavedLayout:
    """Keep a new layout; its first version and first event."""
    moment = now()
    row = LayoutRow(
        id=new_id(),
        order_ref=order_ref,
        name=name,
        body=body,
        burning=burning,
        version=1,
        created_at=moment,
        created_by=by,
        updated_at=moment,
        updated_by=by,
        removed_at=None,
    )
    session.add(row)
    session.flush()
    tags.keep(session, row.id, body)
    made = _saved(row)
    _tell(session, made, "created", who, {"words": [f"Saved {name}."]})
    return made


def get(session: Session, layout_id: str) -> SavedLayout:
    """A layout as it is now. Raises :class:`NotThere`."""
    return _saved(_row(session, layout_id, held=False))


def change(
    session: Session,
    layout_id: str,
    who: Who,
    by: str,
    kind: str,
    make: Callable[[SavedLayout], tuple[SavedLayout, Document]],
) -> tuple[SavedLayout, bool]:
    """Change a layout, one at a time; the second of the pair says whether it did change.

    ``make`` sees the layout with its row held and gives it as it shall be, and what to tell of
    it; it raises to refuse. Where nothing differs there is no new version and no event. Raises
    :class:`NotThere`.
    """
    row = _row(session, layout_id, held=True)
    before = _saved(row)
    after, told = make(before)
    if after == before:
        return before, False
    row.order_ref, row.name, row.body, row.burning = (
        after.order_ref,
        after.name,
        after.body,
        after.burning,
    )
    row.version = before.version + 1
    row.updated_at, row.updated_by = now(), by
    session.flush()
    if tags.tags_in(after.body) != tags.tags_in(before.body):
        tags.keep(session, row.id, after.body)
    made = _saved(row)
    _tell(session, made, kind, who, told)
    return made, True


def remove(
    session: Session, layout_id: str, who: Who, by: str, check: Callable[[SavedLayout], None]
) -> None:
    """Take a layout out of sight, its history kept; ``check`` raises to refuse.

    Raises :class:`NotThere`.
    """
    row = _row(session, layout_id, held=True)
    check(_saved(row))
    row.version += 1
    row.updated_at = row.removed_at = now()
    row.updated_by = by
    session.flush()
    _tell(session, _saved(row), "removed", who, {"words": [f"Removed {row.name}."]})


def listing(
    session: Session,
    *,
    limit: int,
    after: tuple[datetime, str] | None = None,
    order_ref: str | None = None,
    q: str | None = None,
) -> Sequence[SavedLayout]:
    """Layouts, the latest first, those made before one; of an order, with words in the name."""
    query = select(LayoutRow).where(LayoutRow.removed_at.is_(None))
    query = latest(query, LayoutRow.created_at, LayoutRow.id, after=after, limit=limit)
    if order_ref is not None:
        query = query.where(LayoutRow.order_ref == order_ref)
    if q is not None:
        query = query.where(LayoutRow.name.icontains(q, autoescape=True))
    return [_saved(row) for row in session.scalars(query)]


def events(session: Session, layout_id: str, *, after: int, limit: int) -> Sequence[Event]:
    """What happened after a version, in its order."""
    query = (
        select(LayoutEventRow)
        .where(LayoutEventRow.layout_id == layout_id, LayoutEventRow.version > after)
        .order_by(LayoutEventRow.version)
        .limit(limit)
    )
    return [_event(row) for row in session.scalars(query)]


def last_touch(session: Session, layout_id: str, touches: Collection[str]) -> Event | None:
    """The latest event that touched one of some loads and outlets.

    None where none of the last few hundred did; further back nobody remembers either.
    """
    query = (
        select(LayoutEventRow)
        .where(LayoutEventRow.layout_id == layout_id)
        .order_by(LayoutEventRow.version.desc())
        .limit(_REMEMBERED)
    )
    for row in session.scalars(query):
        if not touches or set(touches) & set(row.document.get("touches", ())):
            return _event(row)
    return None


def event(session: Session, layout_id: str, version: int) -> Event:
    """The event that made a version. Raises :class:`NotThere`."""
    row = session.get(LayoutEventRow, (layout_id, version))
    if row is None:
        raise NotThere(f"The layout has no version {version}.")
    return _event(row)


def _row(session: Session, layout_id: str, *, held: bool) -> LayoutRow:
    row = session.get(LayoutRow, layout_id, with_for_update=held or None)
    if row is None or row.removed_at is not None:
        raise NotThere(f"There is no layout {layout_id!r}.")
    return row


def _tell(session: Session, made: SavedLayout, kind: str, who: Who, document: Document) -> None:
    session.add(
        LayoutEventRow(
            layout_id=made.id,
            version=made.version,
            kind=kind,
            at=made.updated_at,
            role=who.role,
            caller=who.caller,
            by=made.updated_by,
            document=document,
        )
    )


def _saved(row: LayoutRow) -> SavedLayout:
    return SavedLayout(
        id=row.id,
        order_ref=row.order_ref,
        name=row.name,
        body=row.body,
        burning=row.burning,
        version=row.version,
        created_at=row.created_at,
        created_by=row.created_by,
        updated_at=row.updated_at,
        updated_by=row.updated_by,
    )


def _event(row: LayoutEventRow) -> Event:
    who = Who(row.role, row.caller, row.by)
    return Event(row.layout_id, row.version, row.kind, row.at, who, row.by, row.document)
