"""What the desk knows of a report when it issues it: which order, who, when."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

__all__ = ["Issue"]


@dataclass(frozen=True, slots=True)
class Issue:
    """One issue of a check report on an order.

    ``id`` is what the verifying page is asked for, ``number`` counts the order's reports from 1.
    ``supersedes`` is the id of the report that this one replaces, ``supersedes_number`` its number.
    ``issued_at`` knows its time zone. ``contact`` is one line of text. ``accepted_by`` names the
    competent person who answers for a layout that fails, ``accepted_reason`` says why.

    Raises
    ------
    ValueError
        If ``issued_at`` has no time zone or ``number`` is below 1.
    """

    id: str
    number: int
    order_ref: str
    issued_at: datetime
    issued_by: str
    production: str = ""
    starts_on: date | None = None
    ends_on: date | None = None
    contact: str = ""
    title: str = ""
    note: str = ""
    supersedes: str | None = None
    supersedes_number: int | None = None
    accepted_by: str = ""
    accepted_reason: str = ""

    def __post_init__(self) -> None:
        if self.issued_at.tzinfo is None:
            raise ValueError("issued_at needs a time zone")
        if self.number < 1:
            raise ValueError(f"a report's number is 1 or more, not {self.number}")
