"""Messages to webhooks: written with what they tell of, held while sent, kept whatever happens.

A message is ``waiting`` until it is ``delivered``, ``given-up`` (after the last try) or
``cancelled`` (its webhook was removed). Whoever sends it holds it for a while; if that sender dies,
the hold runs out and another takes over, so a message may arrive twice and never not at all.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from sqlalchemy import ColumnElement, and_, or_, select
from sqlalchemy.orm import Session

from evenboard.store.columns import now
from evenboard.store.errors import NotThere
from evenboard.store.latest import latest
from evenboard.store.layouts import new_id
from evenboard.store.rows_orders import DeliveryRow, WebhookRow

__all__ = [
    "STATUSES",
    "Delivery",
    "Due",
    "Status",
    "add",
    "claim",
    "due",
    "get",
    "listing",
    "resend",
    "settle",
]

Status = Literal["waiting", "delivered", "given-up", "cancelled"]
STATUSES: tuple[Status, ...] = ("waiting", "delivered", "given-up", "cancelled")
_MOST = 300
"""Characters of an answer that are kept: a reason, not a page (estimate)."""


@dataclass(frozen=True, slots=True)
class Delivery:
    """A message to one webhook; ``answer`` is what the last try heard, in words."""

    id: str
    webhook_id: str
    event: str
    report_id: str | None
    status: Status
    attempts: int
    created_at: datetime
    next_at: datetime | None
    tried_at: datetime | None
    answer: str | None
    delivered_at: datetime | None


@dataclass(frozen=True, slots=True)
class Due:
    """A message to be sent now: its bytes, where to and signed by what; which try it is, from 1."""

    id: str
    body: str
    url: str
    secret: str
    attempt: int


def add(
    session: Session, webhook_id: str, event: str, body: str, report_id: str | None = None
) -> str:
    """Write a message, due at once, in the unit of work that it tells of; its id."""
    delivery_id = f"msg_{new_id()}"
    moment = now()
    session.add(
        DeliveryRow(
            id=delivery_id,
            webhook_id=webhook_id,
            event=event,
            report_id=report_id,
            body=body,
            status="waiting",
            attempts=0,
            created_at=moment,
            next_at=moment,
        )
    )
    return delivery_id


def due(session: Session) -> bool:
    """Whether any message can be sent now."""
    return session.scalar(select(DeliveryRow.id).where(_is_due(now())).limit(1)) is not None


def claim(session: Session, sender: str, lease: timedelta, most: int) -> Sequence[Due]:
    """Take up to so many messages that are due, the oldest first; no other sender has them."""
    moment = now()
    query = (
        select(DeliveryRow, WebhookRow)
        .join(WebhookRow, WebhookRow.id == DeliveryRow.webhook_id)
        .where(_is_due(moment))
        .order_by(DeliveryRow.next_at, DeliveryRow.id)
        .limit(most)
        .with_for_update(of=DeliveryRow, skip_locked=True)
    )
    taken = []
    for row, webhook in session.execute(query):
        if webhook.removed_at is not None:
            # Written while the webhook was being removed.
            row.status, row.next_at = "cancelled", None
            continue
        row.leased_until, row.leased_by = moment + lease, sender
        row.attempts += 1
        taken.append(Due(row.id, row.body, webhook.url, webhook.secret, row.attempts))
    return taken


def settle(
    session: Session,
    delivery_id: str,
    sender: str,
    *,
    delivered: bool,
    answer: str,
    next_at: datetime | None = None,
) -> None:
    """Write down what became of a try; without ``next_at`` a failed message is given up.

    A sender whose hold has run out and been taken over says nothing, but for a message that did
    arrive.
    """
    row = session.get(DeliveryRow, delivery_id, with_for_update=True)
    if row is None or row.status != "waiting" or (row.leased_by != sender and not delivered):
        return
    row.leased_until = row.leased_by = None
    row.tried_at, row.answer = now(), answer[:_MOST]
    if delivered:
        row.status, row.delivered_at, row.next_at = "delivered", row.tried_at, None
    elif next_at is None:
        row.status, row.next_at = "given-up", None
    else:
        row.next_at = next_at


def get(session: Session, webhook_id: str, delivery_id: str) -> Delivery:
    """One message. Raises :class:`NotThere`."""
    return _delivery(_row(session, webhook_id, delivery_id, held=False))


def resend(session: Session, webhook_id: str, delivery_id: str) -> Delivery:
    """Make a message due at once, from its first try on, also one that arrived.

    Raises :class:`NotThere`.
    """
    row = _row(session, webhook_id, delivery_id, held=True)
    row.status, row.attempts, row.next_at = "waiting", 0, now()
    row.leased_until = row.leased_by = row.delivered_at = None
    return _delivery(row)


def listing(
    session: Session,
    webhook_id: str,
    *,
    limit: int,
    after: tuple[datetime, str] | None = None,
    status: str | None = None,
) -> Sequence[Delivery]:
    """Messages to a webhook, the latest first, those written before one."""
    query = select(DeliveryRow).where(DeliveryRow.webhook_id == webhook_id)
    query = latest(query, DeliveryRow.created_at, DeliveryRow.id, after=after, limit=limit)
    if status is not None:
        query = query.where(DeliveryRow.status == status)
    return [_delivery(row) for row in session.scalars(query)]


def _is_due(moment: datetime) -> ColumnElement[bool]:
    free = or_(DeliveryRow.leased_until.is_(None), DeliveryRow.leased_until <= moment)
    return and_(DeliveryRow.status == "waiting", DeliveryRow.next_at <= moment, free)


def _row(session: Session, webhook_id: str, delivery_id: str, *, held: bool) -> DeliveryRow:
    row = session.get(DeliveryRow, delivery_id, with_for_update=held or None)
    if row is None or row.webhook_id != webhook_id:
        raise NotThere(f"The webhook was told nothing of the id {delivery_id!r}.")
    return row


def _delivery(row: DeliveryRow) -> Delivery:
    return Delivery(
        id=row.id,
        webhook_id=row.webhook_id,
        event=row.event,
        report_id=row.report_id,
        status=row.status,  # type: ignore[arg-type]
        attempts=row.attempts,
        created_at=row.created_at,
        next_at=row.next_at,
        tried_at=row.tried_at,
        answer=row.answer,
        delivered_at=row.delivered_at,
    )
