"""The desk's equipment by asset tag, and its history: each change is one version and one event.

What a change means and when it is refused, the desk's rules say; here a piece is only kept and
found, one change at a time.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any

from sqlalchemy import and_, func, or_, select
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session
from sqlalchemy.sql.elements import ColumnElement

from evenboard.store.audit import Who
from evenboard.store.columns import now
from evenboard.store.errors import AlreadyThere, NotThere
from evenboard.store.piece import Piece, Record, Standing
from evenboard.store.plain import as_plain, from_plain
from evenboard.store.rows_equipment import EquipmentEventRow, EquipmentRow

__all__ = [
    "Due",
    "PieceEvent",
    "Told",
    "add",
    "change",
    "count",
    "events",
    "find",
    "get",
    "held",
    "listing",
    "put_all",
]


@dataclass(frozen=True, slots=True)
class Told:
    """What an event says of a change: its kind, in words, and whatever figures belong to it.

    ``always`` makes it an event though nothing of the piece changes, as a look that finds nothing.
    """

    kind: str
    words: tuple[str, ...]
    order_ref: str | None = None
    more: Mapping[str, Any] | None = None
    always: bool = False


@dataclass(frozen=True, slots=True)
class PieceEvent:
    """One thing that happened to a piece: the version it made, who, when (our clock) and what."""

    tag: str
    version: int
    kind: str
    order_ref: str | None
    at: datetime
    who: Who
    by: str
    document: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Due:
    """Pieces due for a test by a day.

    ``by`` is that day; ``counted_from`` the latest day from which the usual interval has run out
    by then.
    """

    by: date
    counted_from: date


def add(session: Session, piece: Piece, who: Who, by: str, told: Told) -> Piece:
    """Keep a new piece; its first version and event. Raises :class:`AlreadyThere`."""
    moment = now()
    row = EquipmentRow(tag=piece.tag, created_at=moment, created_by=by)
    _put(row, piece, 1, moment, by)
    session.add(row)
    try:
        session.flush()
    except IntegrityError:
        raise AlreadyThere(f"There is a piece {piece.tag!r} already.") from None
    made = _piece(row)
    _tell(session, made, who, told)
    return made


def put_all(session: Session, pieces: Sequence[tuple[Piece, Told]], who: Who, by: str) -> None:
    """Keep many new pieces, or as they shall be from now on, each with its event.

    Those that were there have to be held, see :func:`held`; a piece without a version is new. The
    database is asked as seldom as it can be, since nobody else writes meanwhile. Raises
    :class:`AlreadyThere` where somebody has put a new one's tag on the list since.
    """
    moment = now()
    made = []
    for piece, told in pieces:
        # Held, hence at hand: this asks nothing.
        row = session.get(EquipmentRow, piece.tag) if piece.version else None
        if row is None:
            row = EquipmentRow(tag=piece.tag, created_at=moment, created_by=by)
            session.add(row)
        version = piece.version + 1
        _put(row, piece, version, moment, by)
        made.append((replace(piece, version=version, updated_at=moment, updated_by=by), told))
    try:
        session.flush()
    except IntegrityError:
        raise AlreadyThere("Somebody has just added one of these pieces; try again.") from None
    session.add_all(_event_row(piece, who, told) for piece, told in made)
    session.flush()


def get(session: Session, tag: str) -> Piece:
    """A piece as it is now. Raises :class:`NotThere`."""
    row = session.get(EquipmentRow, tag)
    if row is None:
        raise _not_there(session, tag)
    return _piece(row)


def find(session: Session, tags: Collection[str]) -> dict[str, Piece]:
    """The pieces of some tags; a tag that the desk does not know is left out."""
    if not tags:
        return {}
    rows = session.scalars(select(EquipmentRow).where(EquipmentRow.tag.in_(tags)))
    return {row.tag: _piece(row) for row in rows}


def held(session: Session, tags: Collection[str]) -> dict[str, Piece]:
    """As :func:`find`, and nobody else changes them before this unit of work is over."""
    if not tags:
        return {}
    # In one order always, so that two who hold several never wait for each other.
    query = select(EquipmentRow).where(EquipmentRow.tag.in_(tags)).order_by(EquipmentRow.tag)
    rows = session.scalars(query.with_for_update().execution_options(populate_existing=True))
    return {row.tag: _piece(row) for row in rows}


def change(
    session: Session,
    tag: str,
    who: Who,
    by: str,
    make: Callable[[Piece], tuple[Piece, Told]],
) -> tuple[Piece, bool]:
    """Change a piece, one at a time; the second of the pair says whether it did change.

    ``make`` sees the piece with its row held and gives it as it shall be, and what to tell of it;
    it raises to refuse. Where nothing differs there is no new version and no event, but for what
    is always one. Raises :class:`NotThere`.
    """
    row = session.get(EquipmentRow, tag, with_for_update=True, populate_existing=True)
    if row is None:
        raise _not_there(session, tag)
    before = _piece(row)
    after, told = make(before)
    if after == before and not told.always:
        return before, False
    _put(row, after, before.version + 1, now(), by)
    session.flush()
    made = _piece(row)
    _tell(session, made, who, told)
    return made, True


def listing(
    session: Session,
    *,
    limit: int,
    after: str | None = None,
    q: str | None = None,
    kind: str | None = None,
    state: str | None = None,
    order_ref: str | None = None,
    due: Due | None = None,
) -> Sequence[Piece]:
    """Pieces by tag, those after one; with all the words of ``q`` in what is known of them.

    Retired pieces are listed only where ``state`` asks for them. Pieces that are withdrawn or
    retired are never due.
    """
    query = select(EquipmentRow).order_by(EquipmentRow.tag).limit(limit)
    if after is not None:
        query = query.where(EquipmentRow.tag > after)
    for word in (q or "").casefold().split():
        query = query.where(EquipmentRow.words.contains(word, autoescape=True))
    if kind is not None:
        query = query.where(EquipmentRow.kind == kind)
    query = query.where(
        EquipmentRow.state != "retired" if state is None else EquipmentRow.state == state
    )
    if order_ref is not None:
        query = query.where(EquipmentRow.order_ref == order_ref)
    if due is not None:
        query = query.where(_due(due))
    return [_piece(row) for row in session.scalars(query)]


def _due(due: Due) -> ColumnElement[bool]:
    return and_(
        EquipmentRow.state.in_(("in-service", "out")),
        or_(
            EquipmentRow.test_by <= due.by,
            and_(EquipmentRow.test_by.is_(None), EquipmentRow.test_from <= due.counted_from),
        ),
    )


def events(
    session: Session, tag: str, *, after: int = 0, limit: int | None = None
) -> Sequence[PieceEvent]:
    """What happened to a piece after a version, in its order."""
    query = (
        select(EquipmentEventRow)
        .where(EquipmentEventRow.tag == tag, EquipmentEventRow.version > after)
        .order_by(EquipmentEventRow.version)
        .limit(limit)
    )
    return [_event(row) for row in session.scalars(query)]


def count(session: Session) -> int:
    """How many pieces there are, the retired ones too."""
    return session.scalar(select(func.count()).select_from(EquipmentRow)) or 0


def _not_there(session: Session, tag: str) -> NotThere:
    """What to say of a tag that nobody has; one in other letters is what was meant."""
    query = select(EquipmentRow.tag).where(
        EquipmentRow.words.startswith(f"{tag.casefold()} ", autoescape=True)
    )
    meant = [name for name in session.scalars(query.limit(20)) if name.casefold() == tag.casefold()]
    hint = f" Nearest: {', '.join(sorted(meant))}." if meant else ""
    return NotThere(f"There is no piece of equipment {tag!r}.{hint}")


def _put(row: EquipmentRow, piece: Piece, version: int, moment: datetime, by: str) -> None:
    row.kind, row.state = piece.record.kind, piece.state
    row.words = _words(piece)
    row.order_ref = piece.standing.hire.order_ref if piece.standing.hire else None
    row.test_from, row.test_by = piece.test_from, piece.test_by
    row.record, row.standing = as_plain(piece.record), as_plain(piece.standing)
    row.version, row.updated_at, row.updated_by = version, moment, by


def _words(piece: Piece) -> str:
    record, hire = piece.record, piece.standing.hire
    size = None if record.csa_mm2 is None else f"{record.csa_mm2:g} mm2 {record.csa_mm2:g}mm2"
    length = None if record.length_m is None else f"{record.length_m:g} m {record.length_m:g}m"
    told = (
        piece.tag,
        record.kind,
        record.name,
        record.cable,
        size,
        length,
        record.connector,
        record.board,
        record.fixture,
        record.note,
        hire.order_ref if hire else None,
    )
    return " ".join(word for word in told if word).casefold()


def _tell(session: Session, made: Piece, who: Who, told: Told) -> None:
    session.add(_event_row(made, who, told))
    session.flush()


def _event_row(made: Piece, who: Who, told: Told) -> EquipmentEventRow:
    return EquipmentEventRow(
        tag=made.tag,
        version=made.version,
        kind=told.kind,
        order_ref=told.order_ref,
        at=made.updated_at,
        role=who.role,
        caller=who.caller,
        by=made.updated_by,
        document={"words": list(told.words), **(told.more or {})},
    )


def _piece(row: EquipmentRow) -> Piece:
    return replace(
        Piece(row.tag, from_plain(Record, row.record), from_plain(Standing, row.standing)),
        test_from=row.test_from,
        test_by=row.test_by,
        version=row.version,
        created_at=row.created_at,
        created_by=row.created_by,
        updated_at=row.updated_at,
        updated_by=row.updated_by,
    )


def _event(row: EquipmentEventRow) -> PieceEvent:
    who = Who(row.role, row.caller, row.by)
    return PieceEvent(
        row.tag, row.version, row.kind, row.order_ref, row.at, who, row.by, row.document
    )
