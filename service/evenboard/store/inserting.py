"""Inserts that do not mind what is there already, as both databases know them."""

from __future__ import annotations

from typing import Any

from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.orm import Session

from evenboard.store.rows import Row

__all__ = ["inserted"]


def inserted(session: Session, row: type[Row], **values: Any) -> Any:
    """The insert of one row, to be told ``on_conflict_…``, for the database of this session.

    Each dialect has a class of its own for it, alike in all that is used here.
    """
    insert = postgresql.insert if session.get_bind().dialect.name == "postgresql" else sqlite.insert
    return insert(row).values(**values)
