"""The tables of the desk's equipment: pieces by tag, their history, photos, and where they ran."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from sqlalchemy import Date, ForeignKey, Index, LargeBinary, String, Text
from sqlalchemy.orm import Mapped, mapped_column

from evenboard.store.columns import JsonText, UtcDateTime
from evenboard.store.rows import Row

__all__ = [
    "EquipmentEventRow",
    "EquipmentPhotoRow",
    "EquipmentRow",
    "EquipmentRunRow",
    "LayoutTagRow",
]


class EquipmentRow(Row):
    """A piece as it is now; how it came to be is in its events.

    ``state``, ``words``, ``order_ref``, ``test_from`` and ``test_by`` repeat what the two documents
    say, to be searched by.
    """

    __tablename__ = "equipment"
    __table_args__ = (
        Index("ix_equipment_state", "state"),
        Index("ix_equipment_order_ref", "order_ref"),
    )

    tag: Mapped[str] = mapped_column(String(64), primary_key=True)
    kind: Mapped[str] = mapped_column(String(16))
    state: Mapped[str] = mapped_column(String(16))
    words: Mapped[str] = mapped_column(Text)
    order_ref: Mapped[str | None] = mapped_column(String(120))
    test_from: Mapped[date | None] = mapped_column(Date)
    test_by: Mapped[date | None] = mapped_column(Date)
    record: Mapped[dict[str, Any]] = mapped_column(JsonText)
    standing: Mapped[dict[str, Any]] = mapped_column(JsonText)
    version: Mapped[int]
    created_at: Mapped[datetime] = mapped_column(UtcDateTime)
    created_by: Mapped[str] = mapped_column(String(100))
    updated_at: Mapped[datetime] = mapped_column(UtcDateTime)
    updated_by: Mapped[str] = mapped_column(String(100))


class EquipmentEventRow(Row):
    """One thing that happened to a piece: the version it made, who, when; only ever added."""

    __tablename__ = "equipment_event"
    __table_args__ = (Index("ix_equipment_event_order_ref", "order_ref"),)

    tag: Mapped[str] = mapped_column(ForeignKey("equipment.tag"), primary_key=True)
    version: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    kind: Mapped[str] = mapped_column(String(16))
    order_ref: Mapped[str | None] = mapped_column(String(120))
    at: Mapped[datetime] = mapped_column(UtcDateTime)
    role: Mapped[str] = mapped_column(String(16))
    caller: Mapped[str] = mapped_column(String(16))
    by: Mapped[str] = mapped_column(String(100))
    document: Mapped[dict[str, Any]] = mapped_column(JsonText)


class EquipmentPhotoRow(Row):
    """A picture of a piece, made anew from what was sent; only ever added."""

    __tablename__ = "equipment_photo"
    __table_args__ = (Index("ix_equipment_photo_tag", "tag"),)

    id: Mapped[str] = mapped_column(String(26), primary_key=True)
    tag: Mapped[str] = mapped_column(ForeignKey("equipment.tag"))
    at: Mapped[datetime] = mapped_column(UtcDateTime)
    by: Mapped[str] = mapped_column(String(100))
    media_type: Mapped[str] = mapped_column(String(32))
    width: Mapped[int]
    height: Mapped[int]
    content: Mapped[bytes] = mapped_column(LargeBinary)


class EquipmentRunRow(Row):
    """How unevenly a piece ran on an order, by one report or saved layout.

    ``counts`` is false where a later report has taken its place.
    """

    __tablename__ = "equipment_run"
    __table_args__ = (Index("ix_equipment_run_order_ref", "order_ref"),)

    tag: Mapped[str] = mapped_column(ForeignKey("equipment.tag"), primary_key=True)
    source: Mapped[str] = mapped_column(String(8), primary_key=True)
    source_id: Mapped[str] = mapped_column(String(64), primary_key=True)
    order_ref: Mapped[str] = mapped_column(String(120))
    at: Mapped[datetime] = mapped_column(UtcDateTime)
    counts: Mapped[bool]
    spread_kh: Mapped[float]
    document: Mapped[dict[str, Any]] = mapped_column(JsonText)


class LayoutTagRow(Row):
    """A saved layout names a tag, as it is now."""

    __tablename__ = "layout_tag"
    __table_args__ = (Index("ix_layout_tag_tag", "tag"),)

    layout_id: Mapped[str] = mapped_column(ForeignKey("layout.id"), primary_key=True)
    tag: Mapped[str] = mapped_column(String(64), primary_key=True)
