"""Issued reports: only ever added. Content, signature and paper are kept as they went out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Select, select
from sqlalchemy.orm import Session, aliased

from evenboard.store.columns import now
from evenboard.store.errors import NotThere
from evenboard.store.inserting import inserted
from evenboard.store.latest import latest
from evenboard.store.rows_orders import ReportPaperRow, ReportRow

__all__ = [
    "Paper",
    "Report",
    "add",
    "content",
    "current",
    "find",
    "get",
    "keep_paper",
    "listing",
    "paper",
    "papers",
]


@dataclass(frozen=True, slots=True)
class Report:
    """What is known of an issued report, but for its content.

    ``superseded_by`` is the id of the report that replaced it, with its moment.
    """

    id: str
    order_ref: str
    number: int
    layout_id: str | None
    layout_version: int | None
    title: str
    verdict: str
    paper: str
    issued_at: datetime
    issued_by: str
    supersedes: str | None
    content_sha256: str
    signature: str
    key_id: str
    verify_url: str
    superseded_by: str | None = None
    superseded_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Paper:
    """A report on one size of paper: its bytes and their SHA-256."""

    paper: str
    pdf: bytes
    pdf_sha256: str


_LATER = aliased(ReportRow)
_KNOWN = (
    "id", "order_ref", "number", "layout_id", "layout_version", "title", "verdict", "paper",
    "issued_at", "issued_by", "supersedes", "content_sha256", "signature", "key_id", "verify_url",
)  # fmt: skip


def add(session: Session, report: Report, content: bytes) -> None:
    """Keep a report that is being issued; its paper follows by :func:`keep_paper`."""
    values = {name: getattr(report, name) for name in _KNOWN}
    session.add(ReportRow(content=content, **values))
    session.flush()


def get(session: Session, report_id: str) -> Report:
    """One report. Raises :class:`NotThere`."""
    report = find(session, report_id)
    if report is None:
        raise NotThere(f"There is no report {report_id!r}.")
    return report


def find(session: Session, report_id: str) -> Report | None:
    """One report, or None."""
    row = session.execute(_query().where(ReportRow.id == report_id)).one_or_none()
    return None if row is None else _report(row)


def content(session: Session, report_id: str) -> bytes:
    """The canonical bytes that were hashed and signed. Raises :class:`NotThere`."""
    found = session.scalar(select(ReportRow.content).where(ReportRow.id == report_id))
    if found is None:
        raise NotThere(f"There is no report {report_id!r}.")
    return found


def current(
    session: Session, order_ref: str, *, layout_id: str | None = None, title: str | None = None
) -> Report | None:
    """The latest report of an order that nothing has superseded.

    Either of a saved layout, or of a title among those of no saved layout.
    """
    query = _query().where(ReportRow.order_ref == order_ref, _LATER.id.is_(None))
    query = query.where(ReportRow.layout_id == layout_id)
    if layout_id is None:
        query = query.where(ReportRow.title == title)
    row = session.execute(query.order_by(ReportRow.number.desc()).limit(1)).one_or_none()
    return None if row is None else _report(row)


def listing(
    session: Session,
    *,
    limit: int,
    after: tuple[datetime, str] | None = None,
    order_ref: str | None = None,
    layout_id: str | None = None,
    status: str | None = None,
) -> Sequence[Report]:
    """Reports, the latest issued first, those issued before one.

    ``status`` is ``current`` or ``superseded``.
    """
    query = latest(_query(), ReportRow.issued_at, ReportRow.id, after=after, limit=limit)
    if order_ref is not None:
        query = query.where(ReportRow.order_ref == order_ref)
    if layout_id is not None:
        query = query.where(ReportRow.layout_id == layout_id)
    if status is not None:
        query = query.where(_LATER.id.is_(None) if status == "current" else _LATER.id.is_not(None))
    return [_report(row) for row in session.execute(query)]


def papers(session: Session, report_id: str) -> Sequence[tuple[str, str]]:
    """The sizes of paper that a report was handed out on, each with the SHA-256 of its bytes."""
    query = select(ReportPaperRow.paper, ReportPaperRow.pdf_sha256)
    query = query.where(ReportPaperRow.report_id == report_id).order_by(ReportPaperRow.paper)
    return [(row.paper, row.pdf_sha256) for row in session.execute(query)]


def paper(session: Session, report_id: str, size: str) -> Paper | None:
    """A report on one size of paper; None where it has not been made yet."""
    row = session.get(ReportPaperRow, (report_id, size))
    return None if row is None else Paper(row.paper, row.pdf, row.pdf_sha256)


def keep_paper(session: Session, report_id: str, made: Paper) -> Paper:
    """Keep a report's paper; where somebody else was first, theirs is the one that counts."""
    session.execute(
        inserted(
            session,
            ReportPaperRow,
            report_id=report_id,
            paper=made.paper,
            pdf=made.pdf,
            pdf_sha256=made.pdf_sha256,
            made_at=now(),
        ).on_conflict_do_nothing()
    )
    kept = paper(session, report_id, made.paper)
    return made if kept is None else kept


def _query() -> Select[Any]:
    columns = [getattr(ReportRow, name) for name in _KNOWN]
    later = (_LATER.id.label("superseded_by"), _LATER.issued_at.label("superseded_at"))
    return select(*columns, *later).outerjoin(_LATER, _LATER.supersedes == ReportRow.id)


def _report(row: Any) -> Report:
    return Report(**row._mapping)
