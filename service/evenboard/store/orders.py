"""Orders by the desk's own reference; its order system stays where it is, we attach to it."""

from __future__ import annotations

import unicodedata
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from evenboard.store.columns import now
from evenboard.store.errors import NotThere
from evenboard.store.inserting import inserted
from evenboard.store.latest import latest
from evenboard.store.rows_orders import OrderRow

__all__ = ["Details", "Order", "count_report", "get", "hold", "known", "listing", "put"]


@dataclass(frozen=True, slots=True)
class Details:
    """What the desk tells of an order; empty where it does not say."""

    production: str = ""
    contact: str = ""
    note: str = ""
    starts_on: date | None = None
    ends_on: date | None = None


@dataclass(frozen=True, slots=True)
class Order:
    """An order as it is now. ``reports`` counts the reports issued on it."""

    ref: str
    details: Details
    reports: int
    version: int
    created_at: datetime
    created_by: str
    updated_at: datetime
    updated_by: str


def get(session: Session, ref: str) -> Order:
    """One order. Raises :class:`NotThere`."""
    row = session.get(OrderRow, ref)
    if row is None:
        raise NotThere(f"There is no order {ref!r} here.")
    return _order(row)


def known(session: Session, ref: str, by: str) -> None:
    """Make sure that an order is there; a new one has no details yet."""
    moment = now()
    session.execute(
        inserted(
            session,
            OrderRow,
            ref=ref,
            production="",
            contact="",
            note="",
            starts_on=None,
            ends_on=None,
            reports=0,
            sought=_sought(ref, Details()),
            version=1,
            created_at=moment,
            created_by=by,
            updated_at=moment,
            updated_by=by,
        ).on_conflict_do_nothing()
    )


def hold(session: Session, ref: str, by: str) -> Order:
    """An order, made where it was unknown, held against changes until the unit of work ends."""
    known(session, ref, by)
    return _order(session.get_one(OrderRow, ref, with_for_update=True))


def put(
    session: Session, ref: str, details: Details, by: str, check: Callable[[Order], None]
) -> tuple[Order, bool]:
    """Give an order its details; the second of the pair says whether that changed anything.

    Nothing is asked where nothing can be lost: an order that was unknown or has no details yet
    takes them, and the same ones again change nothing. Else ``check`` sees the order, held, and
    raises to refuse.
    """
    before = hold(session, ref, by)
    if before.details == details:
        return before, False
    if before.details != Details():
        check(before)
    row = session.get_one(OrderRow, ref)
    row.production, row.contact, row.note = details.production, details.contact, details.note
    row.starts_on, row.ends_on = details.starts_on, details.ends_on
    row.sought = _sought(ref, details)
    row.version += 1
    row.updated_at, row.updated_by = now(), by
    session.flush()
    return _order(row), True


def count_report(session: Session, ref: str) -> int:
    """The number of the next report of an order that is held, which is taken by this."""
    row = session.get_one(OrderRow, ref)
    row.reports += 1
    session.flush()
    return row.reports


def listing(
    session: Session,
    *,
    limit: int,
    after: tuple[datetime, str] | None = None,
    q: str | None = None,
    on: date | None = None,
) -> Sequence[Order]:
    """Orders, the latest made first, those made before one.

    ``q`` are words that all stand somewhere in reference, production, contact or note, in capitals
    or not; ``on`` is a day that the order's dates cover (one date alone is that day).
    """
    query = latest(select(OrderRow), OrderRow.created_at, OrderRow.ref, after=after, limit=limit)
    for word in _folded(q or "").split():
        query = query.where(OrderRow.sought.contains(word, autoescape=True))
    if on is not None:
        first = func.coalesce(OrderRow.starts_on, OrderRow.ends_on)
        last = func.coalesce(OrderRow.ends_on, OrderRow.starts_on)
        query = query.where(first <= on, last >= on)
    return [_order(row) for row in session.scalars(query)]


def _folded(text: str) -> str:
    # The database's own folding knows only a to z on SQLite.
    return unicodedata.normalize("NFKC", text).casefold()


def _sought(ref: str, details: Details) -> str:
    return _folded(" ".join((ref, details.production, details.contact, details.note))).strip()


def _order(row: OrderRow) -> Order:
    return Order(
        ref=row.ref,
        details=Details(row.production, row.contact, row.note, row.starts_on, row.ends_on),
        reports=row.reports,
        version=row.version,
        created_at=row.created_at,
        created_by=row.created_by,
        updated_at=row.updated_at,
        updated_by=row.updated_by,
    )
