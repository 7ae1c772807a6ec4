"""How unevenly tagged cables ran on their orders, by the reports and layouts that name them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Literal

from sqlalchemy import Select, func, select, update
from sqlalchemy.orm import Session

from evenboard.store.columns import now
from evenboard.store.rows_equipment import EquipmentRow, EquipmentRunRow

__all__ = ["Run", "Source", "keep", "listing", "of_order", "overtake", "totals"]

Source = Literal["report", "layout"]


@dataclass(frozen=True, slots=True)
class Run:
    """A cable on one order by one report or saved layout.

    ``spread_kh`` is the difference in temperature between its cores times the hours it ran.
    ``document`` says what went into that.
    """

    tag: str
    source: Source
    source_id: str
    order_ref: str
    at: datetime
    counts: bool
    spread_kh: float
    document: Mapping[str, Any]


def keep(
    session: Session,
    *,
    tag: str,
    source: Source,
    source_id: str,
    order_ref: str,
    spread_kh: float,
    document: Mapping[str, Any],
) -> None:
    """Keep a run, in place of what the same source said of the same cable."""
    row = session.get(EquipmentRunRow, (tag, source, source_id))
    if row is None:
        row = EquipmentRunRow(tag=tag, source=source, source_id=source_id, counts=True)
        session.add(row)
    row.order_ref, row.at = order_ref, now()
    row.spread_kh, row.document = spread_kh, dict(document)
    session.flush()


def overtake(session: Session, source: Source, source_id: str) -> None:
    """Let the runs of a source count no more: a later one has taken its place."""
    session.execute(
        update(EquipmentRunRow)
        .where(EquipmentRunRow.source == source, EquipmentRunRow.source_id == source_id)
        .values(counts=False)
    )


def listing(session: Session, tag: str) -> Sequence[Run]:
    """All runs of a cable, the latest first, those that no longer count too."""
    return _runs(session, select(EquipmentRunRow).where(EquipmentRunRow.tag == tag))


def of_order(session: Session, tag: str, order_ref: str) -> Sequence[Run]:
    """The runs of a cable on one order."""
    query = select(EquipmentRunRow).where(
        EquipmentRunRow.tag == tag, EquipmentRunRow.order_ref == order_ref
    )
    return _runs(session, query)


def totals(session: Session, least_kh: float, limit: int) -> list[tuple[str, float, int]]:
    """Tags with the sum of their runs and over how many orders, the largest sum first.

    Retired pieces are left out.
    """
    total = func.sum(EquipmentRunRow.spread_kh)
    query = (
        select(EquipmentRunRow.tag, total, func.count(func.distinct(EquipmentRunRow.order_ref)))
        .join(EquipmentRow, EquipmentRow.tag == EquipmentRunRow.tag)
        .where(EquipmentRunRow.counts, EquipmentRow.state != "retired")
        .group_by(EquipmentRunRow.tag)
        .having(total >= least_kh)
        .order_by(total.desc(), EquipmentRunRow.tag)
        .limit(limit)
    )
    return [(tag, float(kh), orders) for tag, kh, orders in session.execute(query)]


def _runs(session: Session, query: Select[EquipmentRunRow]) -> list[Run]:
    query = query.order_by(EquipmentRunRow.at.desc(), EquipmentRunRow.source_id)
    return [
        Run(
            tag=row.tag,
            source=row.source,  # type: ignore[arg-type]
            source_id=row.source_id,
            order_ref=row.order_ref,
            at=row.at,
            counts=row.counts,
            spread_kh=row.spread_kh,
            document=row.document,
        )
        for row in session.scalars(query)
    ]
