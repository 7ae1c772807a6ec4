"""The trail: one line for every change, written with the change or not at all."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from evenboard.store.columns import now
from evenboard.store.rows_layouts import AuditRow

__all__ = ["Line", "Who", "listing", "record"]

_MOST = 1000
"""Characters of a path or a sentence that the trail keeps."""


@dataclass(frozen=True, slots=True)
class Who:
    """Somebody who changes things: as what, by which key or link, and its name."""

    role: str
    caller: str
    name: str


@dataclass(frozen=True, slots=True)
class Line:
    """One change: who, when, by which request, and in words what."""

    id: int
    at: datetime
    who: Who
    method: str
    path: str
    what: str


def record(session: Session, who: Who, method: str, path: str, what: str) -> None:
    """Add a line, in the unit of work of the change that it tells of."""
    session.add(
        AuditRow(
            at=now(),
            role=who.role,
            caller=who.caller,
            name=who.name,
            method=method,
            path=path[:_MOST],
            what=what[:_MOST],
        )
    )


def listing(
    session: Session,
    *,
    before: int | None = None,
    limit: int,
    caller: str | None = None,
    path: str | None = None,
) -> Sequence[Line]:
    """Lines from the newest on, those before one id; of one caller, of paths that begin so."""
    query = select(AuditRow).order_by(AuditRow.id.desc()).limit(limit)
    if before is not None:
        query = query.where(AuditRow.id < before)
    if caller is not None:
        query = query.where(AuditRow.caller == caller)
    if path is not None:
        query = query.where(AuditRow.path.startswith(path, autoescape=True))
    return [
        Line(r.id, r.at, Who(r.role, r.caller, r.name), r.method, r.path, r.what)
        for r in session.scalars(query)
    ]
