"""Clamp-meter readings of saved layouts, each with what was expected of it then; only added."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from evenboard.store.audit import Who
from evenboard.store.columns import now
from evenboard.store.errors import NotThere
from evenboard.store.latest import latest
from evenboard.store.layouts import new_id
from evenboard.store.rows_layouts import ReadingRow

__all__ = ["Reading", "add", "get", "listing"]


@dataclass(frozen=True, slots=True)
class Reading:
    """A reading: when it was taken and came in, by whom, of which version of the layout.

    ``document`` holds what was measured and what was expected, as it was answered.
    """

    id: str
    layout_id: str
    version: int
    taken_at: datetime
    received_at: datetime
    who: Who
    by: str
    document: dict[str, Any]


def add(
    session: Session,
    *,
    layout_id: str,
    version: int,
    taken_at: datetime,
    who: Who,
    by: str,
    document: dict[str, Any],
) -> Reading:
    """Keep a reading."""
    row = ReadingRow(
        id=new_id(),
        layout_id=layout_id,
        version=version,
        taken_at=taken_at,
        received_at=now(),
        role=who.role,
        caller=who.caller,
        by=by,
        document=document,
    )
    session.add(row)
    session.flush()
    return _reading(row)


def get(session: Session, layout_id: str, reading_id: str) -> Reading:
    """One reading of a layout. Raises :class:`NotThere`."""
    row = session.get(ReadingRow, reading_id)
    if row is None or row.layout_id != layout_id:
        raise NotThere(f"The layout has no reading {reading_id!r}.")
    return _reading(row)


def listing(
    session: Session,
    layout_id: str,
    *,
    limit: int,
    before: tuple[datetime, str] | None = None,
) -> Sequence[Reading]:
    """Readings of a layout, the latest taken first, those before one."""
    query = select(ReadingRow).where(ReadingRow.layout_id == layout_id)
    query = latest(query, ReadingRow.taken_at, ReadingRow.id, after=before, limit=limit)
    return [_reading(row) for row in session.scalars(query)]


def _reading(row: ReadingRow) -> Reading:
    return Reading(
        id=row.id,
        layout_id=row.layout_id,
        version=row.version,
        taken_at=row.taken_at,
        received_at=row.received_at,
        who=Who(row.role, row.caller, row.by),
        by=row.by,
        document=row.document,
    )
