"""A table as the paper has it: without the columns that have nothing in them."""

from __future__ import annotations

from collections.abc import Iterable

from evenboard.reports.figures import NONE
from evenboard.reports.model import Column, Row, Table

__all__ = ["plain_table"]


def plain_table(columns: Iterable[Column], rows: Iterable[tuple[str, ...]]) -> Table:
    """A table without the columns that have nothing in them; a column named first stays."""
    heads, cells = list(columns), [list(row) for row in rows]
    kept = [
        i for i in range(len(heads)) if i == 0 or any(row[i] not in ("", NONE) for row in cells)
    ]
    return Table(
        tuple(heads[i] for i in kept), tuple(Row(tuple(row[i] for i in kept)) for row in cells)
    )
