"""Addresses that are told of reports. The secret is kept: every message is signed with it."""

from __future__ import annotations

import base64
import secrets
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select, update
from sqlalchemy.orm import Session

from evenboard.store.columns import now
from evenboard.store.errors import NotThere
from evenboard.store.rows_orders import DeliveryRow, WebhookRow

__all__ = [
    "SECRET_PREFIX",
    "Webhook",
    "WebhookRemoved",
    "active",
    "add",
    "get",
    "in_force",
    "listing",
    "remove",
]

SECRET_PREFIX = "whsec_"
"""In front of a secret, as the Standard Webhooks specification 1.0 writes it."""


class WebhookRemoved(ValueError):
    """The webhook was removed; it is told nothing any more."""


@dataclass(frozen=True, slots=True)
class Webhook:
    """An address that is told; removed ones stay with what they were told."""

    id: str
    name: str
    url: str
    secret: str
    created_at: datetime
    created_by: str
    removed_at: datetime | None

    def __repr__(self) -> str:
        """Without the secret, which no log shall have."""
        return f"Webhook({self.id!r})"


def add(session: Session, name: str, url: str, by: str) -> Webhook:
    """Tell an address of reports from now on."""
    row = WebhookRow(
        id=secrets.token_hex(4),
        name=name,
        url=url,
        secret=SECRET_PREFIX + base64.b64encode(secrets.token_bytes(32)).decode(),
        created_at=now(),
        created_by=by,
        removed_at=None,
    )
    session.add(row)
    session.flush()
    return _webhook(row)


def get(session: Session, webhook_id: str) -> Webhook:
    """One webhook. Raises :class:`NotThere`."""
    row = session.get(WebhookRow, webhook_id)
    if row is None:
        raise NotThere(f"There is no webhook {webhook_id!r}.")
    return _webhook(row)


def active(session: Session, webhook_id: str) -> Webhook:
    """One webhook that is told. Raises :class:`NotThere`, :class:`WebhookRemoved`."""
    webhook = get(session, webhook_id)
    if webhook.removed_at is not None:
        raise WebhookRemoved("This webhook was removed. Make a new one to have it told again.")
    return webhook


def listing(session: Session) -> Sequence[Webhook]:
    """All webhooks, oldest first, the removed ones too."""
    query = select(WebhookRow).order_by(WebhookRow.created_at, WebhookRow.id)
    return [_webhook(row) for row in session.scalars(query)]


def in_force(session: Session) -> Sequence[Webhook]:
    """Those that are told."""
    return [webhook for webhook in listing(session) if webhook.removed_at is None]


def remove(session: Session, webhook_id: str) -> Webhook:
    """Tell an address nothing any more, also of what it still waits for.

    Raises :class:`NotThere`.
    """
    row = session.get(WebhookRow, webhook_id, with_for_update=True)
    if row is None:
        raise NotThere(f"There is no webhook {webhook_id!r}.")
    row.removed_at = row.removed_at or now()
    session.execute(
        update(DeliveryRow)
        .where(DeliveryRow.webhook_id == webhook_id, DeliveryRow.status == "waiting")
        .values(status="cancelled", next_at=None, leased_until=None, leased_by=None)
    )
    return _webhook(row)


def _webhook(row: WebhookRow) -> Webhook:
    return Webhook(
        id=row.id,
        name=row.name,
        url=row.url,
        secret=row.secret,
        created_at=row.created_at,
        created_by=row.created_by,
        removed_at=row.removed_at,
    )
