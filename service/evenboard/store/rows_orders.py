"""The tables of the desk's orders: reports issued on them, the keys that sign, who is told."""

from __future__ import annotations

from datetime import date, datetime

from sqlalchemy import Date, ForeignKey, Index, LargeBinary, String, Text, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from evenboard.store.columns import UtcDateTime
from evenboard.store.rows import Row

__all__ = [
    "DeliveryRow",
    "OrderRow",
    "ReportPaperRow",
    "ReportRow",
    "SigningKeyRow",
    "WebhookRow",
]


class OrderRow(Row):
    """An order of the desk by the desk's own reference.

    ``reports`` counts those issued; ``sought`` is what a search looks through, letters folded.
    """

    __tablename__ = "desk_order"
    __table_args__ = (
        Index("ix_desk_order_created_at", "created_at"),
        Index("ix_desk_order_starts_on", "starts_on"),
    )

    ref: Mapped[str] = mapped_column(String(120), primary_key=True)
    production: Mapped[str] = mapped_column(String(200))
    contact: Mapped[str] = mapped_column(String(200))
    note: Mapped[str] = mapped_column(String(1000))
    starts_on: Mapped[date | None] = mapped_column(Date)
    ends_on: Mapped[date | None] = mapped_column(Date)
    reports: Mapped[int]
    sought: Mapped[str] = mapped_column(Text)
    version: Mapped[int]
    created_at: Mapped[datetime] = mapped_column(UtcDateTime)
    created_by: Mapped[str] = mapped_column(String(100))
    updated_at: Mapped[datetime] = mapped_column(UtcDateTime)
    updated_by: Mapped[str] = mapped_column(String(100))


class SigningKeyRow(Row):
    """A key that signs reports, by the thumbprint of its public half; old ones stay to verify.

    ``in_force`` is 1 for the one that signs and null for the retired, so that there are never two.
    """

    __tablename__ = "signing_key"

    id: Mapped[str] = mapped_column(String(43), primary_key=True)
    public_key: Mapped[str] = mapped_column(String(43))
    private_key: Mapped[str] = mapped_column(String(43))
    in_force: Mapped[int | None] = mapped_column(unique=True)
    created_at: Mapped[datetime] = mapped_column(UtcDateTime)
    created_by: Mapped[str] = mapped_column(String(100))
    retired_at: Mapped[datetime | None] = mapped_column(UtcDateTime)


class ReportRow(Row):
    """A report as it was issued: a row is only ever added, and the database refuses a change.

    That another has superseded it is told by that other one's ``supersedes``.
    """

    __tablename__ = "report"
    __table_args__ = (
        UniqueConstraint("order_ref", "number"),
        Index("ix_report_issued_at", "issued_at"),
        Index("ix_report_layout_id", "layout_id"),
    )

    id: Mapped[str] = mapped_column(String(26), primary_key=True)
    order_ref: Mapped[str] = mapped_column(ForeignKey("desk_order.ref"))
    number: Mapped[int]
    layout_id: Mapped[str | None] = mapped_column(ForeignKey("layout.id"))
    layout_version: Mapped[int | None]
    title: Mapped[str] = mapped_column(String(200))
    verdict: Mapped[str] = mapped_column(String(8))
    paper: Mapped[str] = mapped_column(String(8))
    issued_at: Mapped[datetime] = mapped_column(UtcDateTime)
    issued_by: Mapped[str] = mapped_column(String(100))
    supersedes: Mapped[str | None] = mapped_column(ForeignKey("report.id"), unique=True)
    content: Mapped[bytes] = mapped_column(LargeBinary)
    content_sha256: Mapped[str] = mapped_column(String(64))
    signature: Mapped[str] = mapped_column(String(86))
    key_id: Mapped[str] = mapped_column(ForeignKey("signing_key.id"))
    verify_url: Mapped[str] = mapped_column(Text)


class ReportPaperRow(Row):
    """The bytes of a report on one size of paper, kept as they were first handed out."""

    __tablename__ = "report_paper"

    report_id: Mapped[str] = mapped_column(ForeignKey("report.id"), primary_key=True)
    paper: Mapped[str] = mapped_column(String(8), primary_key=True)
    pdf: Mapped[bytes] = mapped_column(LargeBinary)
    pdf_sha256: Mapped[str] = mapped_column(String(64))
    made_at: Mapped[datetime] = mapped_column(UtcDateTime)


class WebhookRow(Row):
    """An address that is told of reports; its secret is kept, since it signs each message."""

    __tablename__ = "webhook"

    id: Mapped[str] = mapped_column(String(16), primary_key=True)
    name: Mapped[str] = mapped_column(String(100))
    url: Mapped[str] = mapped_column(Text)
    secret: Mapped[str] = mapped_column(String(100))
    created_at: Mapped[datetime] = mapped_column(UtcDateTime)
    created_by: Mapped[str] = mapped_column(String(100))
    removed_at: Mapped[datetime | None] = mapped_column(UtcDateTime)


class DeliveryRow(Row):
    """A message to one webhook, written in the unit of work that it tells of.

    Whoever sends it holds it until ``leased_until``; ``next_at`` is null when nothing is due.
    """

    __tablename__ = "delivery"
    __table_args__ = (
        Index("ix_delivery_next_at", "next_at"),
        Index("ix_delivery_webhook_id_created_at", "webhook_id", "created_at"),
    )

    id: Mapped[str] = mapped_column(String(32), primary_key=True)
    webhook_id: Mapped[str] = mapped_column(ForeignKey("webhook.id"))
    event: Mapped[str] = mapped_column(String(40))
    report_id: Mapped[str | None] = mapped_column(ForeignKey("report.id"))
    body: Mapped[str] = mapped_column(Text)
    status: Mapped[str] = mapped_column(String(10))
    attempts: Mapped[int]
    created_at: Mapped[datetime] = mapped_column(UtcDateTime)
    next_at: Mapped[datetime | None] = mapped_column(UtcDateTime)
    leased_until: Mapped[datetime | None] = mapped_column(UtcDateTime)
    leased_by: Mapped[str | None] = mapped_column(String(32))
    tried_at: Mapped[datetime | None] = mapped_column(UtcDateTime)
    answer: Mapped[str | None] = mapped_column(String(300))
    delivered_at: Mapped[datetime | None] = mapped_column(UtcDateTime)
