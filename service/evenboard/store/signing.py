"""The keys that sign reports: one is in force, the retired ones stay so that old paper verifies.

The private half is kept too: every worker, on every machine, signs with the same key. Whoever has
the database or a copy of it can sign.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from evenboard.store.columns import now
from evenboard.store.errors import NotThere
from evenboard.store.inserting import inserted
from evenboard.store.rows_orders import SigningKeyRow

__all__ = ["SigningKey", "add", "get", "in_force", "listing", "rotate"]


@dataclass(frozen=True, slots=True)
class SigningKey:
    """A key; both halves are base64url without padding, as in a JWK."""

    id: str
    public_key: str
    private_key: str
    created_at: datetime
    created_by: str
    retired_at: datetime | None

    def __repr__(self) -> str:
        """Without the private half, which no log shall have."""
        return f"SigningKey({self.id!r})"


def in_force(session: Session) -> SigningKey | None:
    """The key that signs; None where there is none yet."""
    row = session.scalar(select(SigningKeyRow).where(SigningKeyRow.in_force == 1))
    return None if row is None else _key(row)


def get(session: Session, key_id: str) -> SigningKey:
    """One key. Raises :class:`NotThere`."""
    row = session.get(SigningKeyRow, key_id)
    if row is None:
        raise NotThere(f"There is no signing key {key_id!r}.")
    return _key(row)


def listing(session: Session) -> Sequence[SigningKey]:
    """All keys, oldest first, the retired ones too."""
    query = select(SigningKeyRow).order_by(SigningKeyRow.created_at, SigningKeyRow.id)
    return [_key(row) for row in session.scalars(query)]


def add(session: Session, key_id: str, public_key: str, private_key: str, by: str) -> SigningKey:
    """Take a key into force where there is none; the one in force, whoever was first."""
    session.execute(
        inserted(
            session,
            SigningKeyRow,
            id=key_id,
            public_key=public_key,
            private_key=private_key,
            in_force=1,
            created_at=now(),
            created_by=by,
            retired_at=None,
        ).on_conflict_do_nothing()
    )
    return _key(session.scalars(select(SigningKeyRow).where(SigningKeyRow.in_force == 1)).one())


def rotate(session: Session, key_id: str, public_key: str, private_key: str, by: str) -> SigningKey:
    """Put a new key into force and retire the one that was."""
    held = select(SigningKeyRow).where(SigningKeyRow.in_force == 1).with_for_update()
    old = session.scalar(held)
    if old is not None:
        old.in_force, old.retired_at = None, now()
        session.flush()
    return add(session, key_id, public_key, private_key, by)


def _key(row: SigningKeyRow) -> SigningKey:
    return SigningKey(
        id=row.id,
        public_key=row.public_key,
        private_key=row.private_key,
        created_at=row.created_at,
        created_by=row.created_by,
        retired_at=row.retired_at,
    )
