"""The desk's keys: made, listed, revoked, recognised. A secret is shown once and never kept."""

from __future__ import annotations

import hashlib
import secrets
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from evenboard.store.columns import now
from evenboard.store.errors import NotThere
from evenboard.store.rows import DeskKeyRow

__all__ = ["DeskKey", "create", "holder", "listing", "revoke"]

PREFIX = "evb_"
"""In front of every secret, so that a scanner of logs and repositories can find a leaked one."""


@dataclass(frozen=True, slots=True)
class DeskKey:
    """A key as it may be shown: who has it and since when, not its secret."""

    id: str
    name: str
    created_at: datetime
    revoked_at: datetime | None


def create(session: Session, name: str) -> tuple[DeskKey, str]:
    """Make a key; the second of the pair is its secret, which nobody can look up later."""
    secret = PREFIX + secrets.token_urlsafe(32)
    row = DeskKeyRow(
        id=secrets.token_hex(4),
        name=name,
        secret_hash=_hash(secret),
        created_at=now(),
        revoked_at=None,
    )
    session.add(row)
    return _key(row), secret


def listing(session: Session) -> list[DeskKey]:
    """All keys, oldest first, the revoked ones too."""
    rows = session.scalars(select(DeskKeyRow).order_by(DeskKeyRow.created_at, DeskKeyRow.id))
    return [_key(row) for row in rows]


def revoke(session: Session, key_id: str) -> DeskKey:
    """Make a key useless from now on. Raises :class:`NotThere`."""
    row = session.get(DeskKeyRow, key_id, with_for_update=True)
    if row is None:
        raise NotThere(f"There is no key {key_id!r}.")
    row.revoked_at = row.revoked_at or now()
    return _key(row)


def holder(session: Session, secret: str) -> DeskKey | None:
    """The key of that secret where it is in force, else None."""
    row = session.scalar(select(DeskKeyRow).where(DeskKeyRow.secret_hash == _hash(secret)))
    return None if row is None or row.revoked_at is not None else _key(row)


def _hash(secret: str) -> str:
    # A slow, salted hash protects passwords, which people choose badly. This secret is 256 bits
    # from the system's generator: it cannot be guessed from its hash at any speed, and a fast hash
    # lets it be found by an index on every request. What the index's timing tells of a hash
    # tells nothing of the secret.
    return hashlib.sha256(secret.encode()).hexdigest()


def _key(row: DeskKeyRow) -> DeskKey:
    return DeskKey(row.id, row.name, row.created_at, row.revoked_at)
