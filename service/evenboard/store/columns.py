"""Column types that mean the same on SQLite and on PostgreSQL."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import JSON, DateTime, Dialect, Text, TypeDecorator
from sqlalchemy.dialects.postgresql import JSONB

__all__ = ["Json", "JsonText", "UtcDateTime", "now"]


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


class JsonText(TypeDecorator[Any]):
    """A JSON document kept letter by letter, its names in order: the same bytes whenever read.

    PostgreSQL's own type would put names and numbers into a form of its own, and a tag or a hash
    made before storing would not be that of what is read back.
    """

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: Any, dialect: Dialect) -> str | None:
        """Write a JSON value; one that JSON has no word for raises ``ValueError``."""
        if value is None:
            return None
        return json.dumps(
            value, ensure_ascii=False, allow_nan=False, sort_keys=True, separators=(",", ":")
        )

    def process_result_value(self, value: Any, dialect: Dialect) -> Any:
        """Read a JSON value back."""
        return None if value is None else json.loads(value)
