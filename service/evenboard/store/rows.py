"""The tables. A row never leaves the store: its functions return frozen objects."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from sqlalchemy import ForeignKey, Index, LargeBinary, MetaData, String
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column

from evenboard.store.columns import Json, UtcDateTime

__all__ = ["CatalogueRow", "DeskKeyRow", "FixtureRow", "IdempotencyRow", "RateRow", "Row"]


class Row(DeclarativeBase):
    """What all tables share: names of constraints that a migration can refer to."""

    metadata = MetaData(
        naming_convention={
            "ix": "ix_%(column_0_label)s",
            "uq": "uq_%(table_name)s_%(column_0_name)s",
            "ck": "ck_%(table_name)s_%(constraint_name)s",
            "fk": "fk_%(table_name)s_%(column_0_name)s_%(referred_table_name)s",
            "pk": "pk_%(table_name)s",
        }
    )


class DeskKeyRow(Row):
    """A key of the rental desk; only the hash of its secret is kept."""

    __tablename__ = "desk_key"

    id: Mapped[str] = mapped_column(String(16), primary_key=True)
    name: Mapped[str] = mapped_column(String(100))
    secret_hash: Mapped[str] = mapped_column(String(64), unique=True)
    created_at: Mapped[datetime] = mapped_column(UtcDateTime)
    revoked_at: Mapped[datetime | None] = mapped_column(UtcDateTime)
    expires_at: Mapped[datetime | None] = mapped_column(UtcDateTime)


class CatalogueRow(Row):
    """One row: the number of changes to the desk's own fixture types, so that workers notice."""

    __tablename__ = "own_catalogue"

    id: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    revision: Mapped[int]


class FixtureRow(Row):
    """A fixture type that the desk has added."""

    __tablename__ = "own_fixture"

    slug: Mapped[str] = mapped_column(String(64), primary_key=True)
    document: Mapped[dict[str, Any]] = mapped_column(Json)
    created_at: Mapped[datetime] = mapped_column(UtcDateTime)
    updated_at: Mapped[datetime] = mapped_column(UtcDateTime)
    updated_by: Mapped[str] = mapped_column(ForeignKey("desk_key.id"))


class IdempotencyRow(Row):
    """The answer once given to a creating post, for whoever sends it again."""

    __tablename__ = "idempotency"

    caller: Mapped[str] = mapped_column(String(16), primary_key=True)
    key: Mapped[str] = mapped_column(String(255), primary_key=True)
    fingerprint: Mapped[str] = mapped_column(String(64))
    status: Mapped[int]
    headers: Mapped[dict[str, Any]] = mapped_column(Json)
    body: Mapped[bytes] = mapped_column(LargeBinary)
    created_at: Mapped[datetime] = mapped_column(UtcDateTime, index=True)


class RateRow(Row):
    """How often an address has called in one minute (counted from the epoch)."""

    __tablename__ = "rate"
    __table_args__ = (Index("ix_rate_minute", "minute"),)

    caller: Mapped[str] = mapped_column(String(64), primary_key=True)
    minute: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    count: Mapped[int]
