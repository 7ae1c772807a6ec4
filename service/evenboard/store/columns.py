"""Column types that mean the same on SQLite and on PostgreSQL."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from sqlalchemy import JSON, DateTime, Dialect, TypeDecorator
from sqlalchemy.dialects.postgresql import JSONB

__all__ = ["Json", "UtcDateTime", "now"]


def now() -> datetime:
    """The present moment, aware, in UTC."""
    return datetime.now(UTC)


class UtcDateTime(TypeDecorator[datetime]):
    """An aware moment: stored in UTC, read back aware (SQLite alone would forget the zone)."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """Refuse a naive moment, store any other in UTC."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError("a stored moment needs a time zone")
        return value.astimezone(UTC)

    def process_result_value(self, value: Any, dialect: Dialect) -> datetime | None:
        """Read back aware, in UTC."""
        if value is None:
            return None
        moment: datetime = value
        if moment.tzinfo is None:
            return moment.replace(tzinfo=UTC)
        return moment.astimezone(UTC)


Json = JSON().with_variant(JSONB(), "postgresql")
"""A JSON document: text on SQLite, JSONB on PostgreSQL."""
