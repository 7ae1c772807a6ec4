"""A piece of equipment: what it is, where it is, and whether it is fit."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime

__all__ = ["Cause", "Hire", "Piece", "Record", "Standing", "Test", "Withdrawal"]

NEVER = datetime(1970, 1, 1, tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class Record:
    """What a piece is, as the desk has written it down.

    ``cable``, ``board`` and ``fixture`` are the catalogue's names, ``connector`` an outlet's.
    ``tested_on`` is the last test from before it was recorded here. ``test_interval_months`` is
    the piece's own, None for the desk's.
    """

    kind: str
    name: str = ""
    cable: str | None = None
    csa_mm2: float | None = None
    length_m: float | None = None
    connector: str | None = None
    board: str | None = None
    fixture: str | None = None
    bought_on: date | None = None
    tested_on: date | None = None
    test_interval_months: int | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class Hire:
    """A piece is out: on which order, since when, until which day, handed out by whom."""

    order_ref: str
    since: datetime
    until: date | None
    by: str


@dataclass(frozen=True, slots=True)
class Test:
    """A passed test: the day, the competent person who made it, and when it was recorded."""

    on: date
    by: str
    at: datetime


@dataclass(frozen=True, slots=True)
class Cause:
    """What made a piece unfit, as a code of the desk's list, found by whom and when."""

    code: str
    note: str
    by: str
    at: datetime


@dataclass(frozen=True, slots=True)
class Withdrawal:
    """A piece is out of service: what was found, its cause once recorded, a test passed since."""

    since: datetime
    by: str
    found: tuple[str, ...]
    note: str
    cause: Cause | None = None
    passed: Test | None = None


@dataclass(frozen=True, slots=True)
class Standing:
    """Where a piece is and whether it is fit: out on an order, withdrawn, last tested, retired."""

    hire: Hire | None = None
    withdrawal: Withdrawal | None = None
    tested: Test | None = None
    retired_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Piece:
    """A piece by its tag.

    One of ``test_from`` (the usual interval counts from then) and ``test_by`` (due on that very
    day) is set by the desk's rules.
    """

    tag: str
    record: Record
    standing: Standing = Standing()
    test_from: date | None = None
    test_by: date | None = None
    version: int = 0
    created_at: datetime = NEVER
    created_by: str = ""
    updated_at: datetime = NEVER
    updated_by: str = ""

    @property
    def state(self) -> str:
        """In one word; the graver goes before the other."""
        standing = self.standing
        if standing.retired_at is not None:
            return "retired"
        if standing.withdrawal is not None:
            return "missing" if "missing" in standing.withdrawal.found else "withdrawn"
        return "in-service" if standing.hire is None else "out"
