"""Lists that go by time, the latest first, a page at a time."""

from __future__ import annotations

from datetime import datetime
from typing import Any, TypeVar

from sqlalchemy import Select, and_, or_
from sqlalchemy.orm import InstrumentedAttribute

__all__ = ["latest"]

Asked = TypeVar("Asked", bound=Select[Any])


def latest(
    query: Asked,
    moment: InstrumentedAttribute[datetime],
    name: InstrumentedAttribute[str],
    *,
    after: tuple[datetime, str] | None,
    limit: int,
) -> Asked:
    """The query for up to so many rows, the latest first, and by name within a moment.

    ``after`` is moment and name of the row that they follow in that order; None from the beginning.
    """
    query = query.order_by(moment.desc(), name.desc()).limit(limit)
    if after is None:
        return query
    at, last = after
    return query.where(or_(moment < at, and_(moment == at, name < last)))
