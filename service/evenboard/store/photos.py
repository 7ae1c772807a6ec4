"""Pictures of pieces: kept with the piece, found by id; bytes are read only when asked for."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from evenboard.store.columns import now
from evenboard.store.errors import NotThere
from evenboard.store.layouts import new_id
from evenboard.store.rows_equipment import EquipmentPhotoRow, EquipmentRow

__all__ = ["KeptPhoto", "add", "content", "count", "listing", "unknown"]


@dataclass(frozen=True, slots=True)
class KeptPhoto:
    """A picture without its bytes."""

    id: str
    tag: str
    at: datetime
    by: str
    media_type: str
    width: int
    height: int


def add(
    session: Session,
    tag: str,
    *,
    content: bytes,
    media_type: str,
    width: int,
    height: int,
    by: str,
) -> KeptPhoto:
    """Keep a picture of a piece. Raises :class:`NotThere` where there is no such piece."""
    if session.get(EquipmentRow, tag) is None:
        raise NotThere(f"There is no piece of equipment {tag!r}.")
    row = EquipmentPhotoRow(
        id=new_id(),
        tag=tag,
        at=now(),
        by=by,
        media_type=media_type,
        width=width,
        height=height,
        content=content,
    )
    session.add(row)
    session.flush()
    return KeptPhoto(row.id, tag, row.at, by, media_type, width, height)


def count(session: Session, tag: str) -> int:
    """How many pictures there are of a piece."""
    query = select(func.count()).select_from(EquipmentPhotoRow)
    return session.scalar(query.where(EquipmentPhotoRow.tag == tag)) or 0


def listing(session: Session, tag: str) -> Sequence[KeptPhoto]:
    """The pictures of a piece without their bytes, the latest first."""
    row = EquipmentPhotoRow
    query = select(row.id, row.tag, row.at, row.by, row.media_type, row.width, row.height)
    query = query.where(row.tag == tag).order_by(row.at.desc(), row.id)
    return [KeptPhoto(*found) for found in session.execute(query)]


def content(session: Session, tag: str, photo_id: str) -> tuple[bytes, str]:
    """The bytes of a picture and their media type. Raises :class:`NotThere`."""
    row = session.get(EquipmentPhotoRow, photo_id)
    if row is None or row.tag != tag:
        raise NotThere(f"There is no photo {photo_id!r} of {tag!r}.")
    return row.content, row.media_type


def unknown(session: Session, tag: str, ids: Collection[str]) -> set[str]:
    """Those of some ids that are no picture of a piece."""
    query = select(EquipmentPhotoRow.id).where(
        EquipmentPhotoRow.tag == tag, EquipmentPhotoRow.id.in_(ids)
    )
    return set(ids) - set(session.scalars(query))
