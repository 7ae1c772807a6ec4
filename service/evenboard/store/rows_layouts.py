"""The tables of saved layouts: their history, readings and links, and the trail of changes."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from sqlalchemy import CheckConstraint, ForeignKey, Index, String
from sqlalchemy.orm import Mapped, mapped_column

from evenboard.store.columns import JsonText, UtcDateTime
from evenboard.store.rows import Row

__all__ = ["AuditRow", "LayoutEventRow", "LayoutRow", "LinkRow", "ReadingRow"]


class LayoutRow(Row):
    """A saved layout as it is now; how it came to be is in its events."""

    __tablename__ = "layout"
    __table_args__ = (Index("ix_layout_order_ref", "order_ref"),)

    id: Mapped[str] = mapped_column(String(26), primary_key=True)
    order_ref: Mapped[str | None] = mapped_column(String(120))
    name: Mapped[str] = mapped_column(String(200))
    body: Mapped[dict[str, Any]] = mapped_column(JsonText)
    burning: Mapped[str | None] = mapped_column(String(64))
    version: Mapped[int]
    created_at: Mapped[datetime] = mapped_column(UtcDateTime)
    created_by: Mapped[str] = mapped_column(String(100))
    updated_at: Mapped[datetime] = mapped_column(UtcDateTime)
    updated_by: Mapped[str] = mapped_column(String(100))
    removed_at: Mapped[datetime | None] = mapped_column(UtcDateTime)


class LayoutEventRow(Row):
    """One change of a layout: the version it made, who, when and what; only ever added."""

    __tablename__ = "layout_event"

    layout_id: Mapped[str] = mapped_column(ForeignKey("layout.id"), primary_key=True)
    version: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    kind: Mapped[str] = mapped_column(String(16))
    at: Mapped[datetime] = mapped_column(UtcDateTime)
    role: Mapped[str] = mapped_column(String(16))
    caller: Mapped[str] = mapped_column(String(16))
    by: Mapped[str] = mapped_column(String(100))
    document: Mapped[dict[str, Any]] = mapped_column(JsonText)


class ReadingRow(Row):
    """What a clamp meter showed, and what was expected there at that moment; only ever added."""

    __tablename__ = "reading"
    __table_args__ = (Index("ix_reading_layout_id_taken_at", "layout_id", "taken_at"),)

    id: Mapped[str] = mapped_column(String(26), primary_key=True)
    layout_id: Mapped[str] = mapped_column(ForeignKey("layout.id"))
    version: Mapped[int]
    taken_at: Mapped[datetime] = mapped_column(UtcDateTime)
    received_at: Mapped[datetime] = mapped_column(UtcDateTime)
    role: Mapped[str] = mapped_column(String(16))
    caller: Mapped[str] = mapped_column(String(16))
    by: Mapped[str] = mapped_column(String(100))
    document: Mapped[dict[str, Any]] = mapped_column(JsonText)


class LinkRow(Row):
    """A link that opens one order or one layout; only the hash of its secret is kept."""

    __tablename__ = "link"
    __table_args__ = (
        CheckConstraint("(order_ref IS NULL) <> (layout_id IS NULL)", name="one_target"),
        Index("ix_link_order_ref", "order_ref"),
        Index("ix_link_layout_id", "layout_id"),
    )

    id: Mapped[str] = mapped_column(String(16), primary_key=True)
    name: Mapped[str] = mapped_column(String(100))
    may: Mapped[str] = mapped_column(String(8))
    order_ref: Mapped[str | None] = mapped_column(String(120))
    layout_id: Mapped[str | None] = mapped_column(ForeignKey("layout.id"))
    secret_hash: Mapped[str] = mapped_column(String(64), unique=True)
    created_at: Mapped[datetime] = mapped_column(UtcDateTime)
    created_by: Mapped[str] = mapped_column(String(100))
    expires_at: Mapped[datetime] = mapped_column(UtcDateTime)
    revoked_at: Mapped[datetime | None] = mapped_column(UtcDateTime)


class AuditRow(Row):
    """One line of the trail: who did what when; only ever added."""

    __tablename__ = "audit"

    id: Mapped[int] = mapped_column(primary_key=True)
    at: Mapped[datetime] = mapped_column(UtcDateTime, index=True)
    role: Mapped[str] = mapped_column(String(16))
    caller: Mapped[str] = mapped_column(String(16))
    name: Mapped[str] = mapped_column(String(100))
    method: Mapped[str] = mapped_column(String(8))
    path: Mapped[str] = mapped_column(String(1000))
    what: Mapped[str] = mapped_column(String(1000))
