"""Links that open one order or one layout: made, listed, revoked, recognised by their secret."""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from sqlalchemy import select
from sqlalchemy.orm import Session

from evenboard.store.columns import now
from evenboard.store.errors import NotThere
from evenboard.store.keys import secret_hash
from evenboard.store.rows_layouts import LinkRow

__all__ = ["PREFIX", "Link", "May", "create", "holder", "listing", "revoke"]

PREFIX = "evl_"
"""In front of every link's secret; a desk key's differs, so that a wrong one can be named."""

May = Literal["crew", "read", "plug"]


@dataclass(frozen=True, slots=True)
class Link:
    """A link as it may be shown: what it opens, for whom and until when, not its secret.

    ``may`` is ``crew`` for a link of an order; ``read`` or ``plug`` for one of a layout.
    """

    id: str
    name: str
    may: May
    order_ref: str | None
    layout_id: str | None
    created_at: datetime
    created_by: str
    expires_at: datetime
    revoked_at: datetime | None


def create(
    session: Session,
    name: str,
    may: May,
    *,
    order_ref: str | None = None,
    layout_id: str | None = None,
    created_by: str,
    expires_at: datetime,
) -> tuple[Link, str]:
    """Make a link to an order (``crew``) or a layout; the second of the pair is its secret."""
    secret = PREFIX + secrets.token_urlsafe(32)
    row = LinkRow(
        id=secrets.token_hex(4),
        name=name,
        may=may,
        order_ref=order_ref,
        layout_id=layout_id,
        secret_hash=secret_hash(secret),
        created_at=now(),
        created_by=created_by,
        expires_at=expires_at,
        revoked_at=None,
    )
    session.add(row)
    return _link(row), secret


def listing(
    session: Session, *, order_ref: str | None = None, layout_id: str | None = None
) -> list[Link]:
    """All links of an order or of a layout, oldest first, the revoked and expired ones too."""
    asked = LinkRow.layout_id == layout_id if order_ref is None else LinkRow.order_ref == order_ref
    rows = session.scalars(select(LinkRow).where(asked).order_by(LinkRow.created_at, LinkRow.id))
    return [_link(row) for row in rows]


def revoke(session: Session, link_id: str) -> Link:
    """Make a link open nothing from now on. Raises :class:`NotThere`."""
    row = session.get(LinkRow, link_id, with_for_update=True)
    if row is None:
        raise NotThere(f"There is no link {link_id!r}.")
    row.revoked_at = row.revoked_at or now()
    return _link(row)


def holder(session: Session, secret: str) -> Link | None:
    """The link of that secret where it is in force, else None."""
    row = session.scalar(select(LinkRow).where(LinkRow.secret_hash == secret_hash(secret)))
    if row is None or row.revoked_at is not None or row.expires_at <= now():
        return None
    return _link(row)


def _link(row: LinkRow) -> Link:
    return Link(
        id=row.id,
        name=row.name,
        may=row.may,  # type: ignore[arg-type]
        order_ref=row.order_ref,
        layout_id=row.layout_id,
        created_at=row.created_at,
        created_by=row.created_by,
        expires_at=row.expires_at,
        revoked_at=row.revoked_at,
    )
