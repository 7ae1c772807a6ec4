"""The answers given to creating posts, so that a repeated one is answered and not done again."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

from sqlalchemy import delete, update
from sqlalchemy.orm import Session

from evenboard.store.columns import now
from evenboard.store.errors import KeyReused
from evenboard.store.inserting import inserted
from evenboard.store.rows import IdempotencyRow

__all__ = ["KEPT", "Answer", "claim", "keep", "known"]

KEPT = timedelta(days=7)
"""How long an answer is kept: longer than a phone stays offline on a remote set."""


@dataclass(frozen=True, slots=True)
class Answer:
    """An answer as it was sent."""

    status: int
    headers: dict[str, str]
    body: bytes


def known(session: Session, caller: str, key: str, fingerprint: str) -> Answer | None:
    """The answer that a key has already; takes nothing. Raises :class:`KeyReused`."""
    row = session.get(IdempotencyRow, (caller, key))
    return None if row is None or row.created_at < now() - KEPT else _answer(row, fingerprint)


def claim(session: Session, caller: str, key: str, fingerprint: str) -> Answer | None:
    """Take a key for this transaction, or the answer that it already has.

    Whoever comes second with the same key waits here until the first has committed and then gets
    its answer; if the first failed, the second takes its place. Raises :class:`KeyReused` where
    the key was used with a request of another fingerprint.
    """
    session.execute(delete(IdempotencyRow).where(IdempotencyRow.created_at < now() - KEPT))
    mine = (
        inserted(
            session,
            IdempotencyRow,
            caller=caller,
            key=key,
            fingerprint=fingerprint,
            status=0,
            headers={},
            body=b"",
            created_at=now(),
        )
        .on_conflict_do_nothing()
        .returning(IdempotencyRow.key)
    )
    if session.execute(mine).scalar() is not None:
        return None
    return _answer(session.get_one(IdempotencyRow, (caller, key)), fingerprint)


def _answer(row: IdempotencyRow, fingerprint: str) -> Answer:
    if row.fingerprint != fingerprint:
        raise KeyReused("This Idempotency-Key was used before with another request.")
    return Answer(row.status, dict(row.headers), row.body)


def keep(session: Session, caller: str, key: str, answer: Answer) -> None:
    """Keep the answer of a claimed key; it is there for others once the transaction commits."""
    session.execute(
        update(IdempotencyRow)
        .where(IdempotencyRow.caller == caller, IdempotencyRow.key == key)
        .values(status=answer.status, headers=answer.headers, body=answer.body)
    )
