"""The fixture types that the desk has added, each change counted so that workers notice it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict
from typing import Any

from sqlalchemy import select
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from evenboard.electrics.equipment import Basis, FixtureType
from evenboard.store.columns import now
from evenboard.store.errors import AlreadyThere, NotThere
from evenboard.store.rows import CatalogueRow, FixtureRow

__all__ = ["add", "listing", "remove", "replace", "revision"]


def revision(session: Session) -> int:
    """How many changes there have been; the same number means the same types."""
    number: int = session.execute(select(CatalogueRow.revision)).scalar_one()
    return number


def listing(session: Session) -> list[FixtureType]:
    """All types that the desk has added, by slug."""
    rows = session.scalars(select(FixtureRow).order_by(FixtureRow.slug))
    return [_fixture(row.document) for row in rows]


def add(session: Session, fixture: FixtureType, by: str) -> None:
    """Add a type. Raises :class:`AlreadyThere` where the slug is taken."""
    _count_change(session)
    moment = now()
    session.add(
        FixtureRow(
            slug=fixture.slug,
            document=asdict(fixture),
            created_at=moment,
            updated_at=moment,
            updated_by=by,
        )
    )
    try:
        session.flush()
    except IntegrityError:
        raise AlreadyThere(f"There is a fixture type {fixture.slug!r} already.") from None


def replace(
    session: Session, fixture: FixtureType, by: str, check: Callable[[FixtureType], None]
) -> None:
    """Put a type in place of the one of the same slug.

    ``check`` sees the type as it is now, with the row held, and raises to refuse. Raises
    :class:`NotThere` where there is none.
    """
    _count_change(session)
    row = _held(session, fixture.slug)
    check(_fixture(row.document))
    row.document = asdict(fixture)
    row.updated_at = now()
    row.updated_by = by


def remove(session: Session, slug: str, check: Callable[[FixtureType], None]) -> None:
    """Take a type out; ``check`` as in :func:`replace`. Raises :class:`NotThere`."""
    _count_change(session)
    row = _held(session, slug)
    check(_fixture(row.document))
    session.delete(row)


def _count_change(session: Session) -> None:
    # First of all: on PostgreSQL the row's lock puts all changes in one order.
    session.execute(select(CatalogueRow).with_for_update()).scalar_one().revision += 1
    session.flush()


def _held(session: Session, slug: str) -> FixtureRow:
    row = session.get(FixtureRow, slug, with_for_update=True)
    if row is None:
        raise NotThere(f"The desk has no fixture type {slug!r}.")
    return row


def _fixture(document: dict[str, Any]) -> FixtureType:
    ranges = tuple((float(low), float(high)) for low, high in document["input_ranges_v"])
    return FixtureType(
        **document
        | {
            "input_ranges_v": ranges,
            "also_known_as": tuple(document["also_known_as"]),
            "basis": Basis(**document["basis"]),
        }
    )
