"""The desk's keys: made, listed, revoked, recognised. A secret is shown once and never kept."""

from __future__ import annotations

import hashlib
import secrets
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from evenboard.store.columns import now
from evenboard.store.errors import NotThere
from evenboard.store.rows import DeskKeyRow

__all__ = ["DeskKey", "change", "create", "get", "holder", "listing", "revoke", "secret_hash"]

PREFIX = "evb_"
"""In front of every secret, so that a scanner of logs and repositories can find a leaked one."""


@dataclass(frozen=True, slots=True)
class DeskKey:
    """A key as it may be shown: who has it and since when, not its secret."""

    id: str
    name: str
    created_at: datetime
    revoked_at: datetime | None
    expires_at: datetime | None = None


def create(session: Session, name: str, expires_at: datetime | None = None) -> tuple[DeskKey, str]:
    """Make a key; the second of the pair is its secret, which nobody can look up later."""
    secret = PREFIX + secrets.token_urlsafe(32)
    row = DeskKeyRow(
        id=secrets.token_hex(4),
        name=name,
        secret_hash=secret_hash(secret),
        created_at=now(),
        revoked_at=None,
        expires_at=expires_at,
    )
    session.add(row)
    return _key(row), secret


def listing(session: Session) -> list[DeskKey]:
    """All keys, oldest first, the revoked ones too."""
    rows = session.scalars(select(DeskKeyRow).order_by(DeskKeyRow.created_at, DeskKeyRow.id))
    return [_key(row) for row in rows]


def get(session: Session, key_id: str) -> DeskKey:
    """One key. Raises :class:`NotThere`."""
    return _key(_row(session, key_id, held=False))


def revoke(session: Session, key_id: str) -> DeskKey:
    """Make a key useless from now on. Raises :class:`NotThere`."""
    row = _row(session, key_id, held=True)
    row.revoked_at = row.revoked_at or now()
    return _key(row)


def change(
    session: Session,
    key_id: str,
    name: str,
    expires_at: datetime | None,
    check: Callable[[DeskKey], None],
) -> DeskKey:
    """Give a key another name and end; ``check`` sees it first and raises to refuse.

    Raises :class:`NotThere`.
    """
    row = _row(session, key_id, held=True)
    check(_key(row))
    row.name, row.expires_at = name, expires_at
    return _key(row)


def holder(session: Session, secret: str) -> DeskKey | None:
    """The key of that secret where it is in force, else None."""
    row = session.scalar(select(DeskKeyRow).where(DeskKeyRow.secret_hash == secret_hash(secret)))
    if row is None or row.revoked_at is not None:
        return None
    over = row.expires_at is not None and row.expires_at <= now()
    return None if over else _key(row)


def _row(session: Session, key_id: str, *, held: bool) -> DeskKeyRow:
    row = session.get(DeskKeyRow, key_id, with_for_update=held or None)
    if row is None:
        raise NotThere(f"There is no key {key_id!r}.")
    return row


def secret_hash(secret: str) -> str:
    """What is kept of a secret."""
    # A slow, salted hash protects passwords, which people choose badly. This secret is 256 bits
    # from the system's generator: it cannot be guessed from its hash at any speed, and a fast hash
    # lets it be found by an index on every request. What the index's timing tells of a hash
    # tells nothing of the secret.
    return hashlib.sha256(secret.encode()).hexdigest()


def _key(row: DeskKeyRow) -> DeskKey:
    return DeskKey(row.id, row.name, row.created_at, row.revoked_at, row.expires_at)
