"""``/v1/webhooks``: addresses that are told of reports, and what became of each message."""

from __future__ import annotations

import json
from datetime import datetime
from typing import Any

from flask import Response, url_for

from evenboard.api.access import DESK, caller, may
from evenboard.api.answer import as_json, json_bytes, moment
from evenboard.api.etag import TAGGED, tagged
from evenboard.api.idempotency import IDEMPOTENCY_KEY, once
from evenboard.api.lists import PAGE, page_answer
from evenboard.api.paging import moment_page
from evenboard.api.problem import invalid_body
from evenboard.api.schemas.webhooks import (
    DeliveryPageSchema,
    DeliveryQuerySchema,
    DeliverySchema,
    NewWebhookSchema,
    WebhookBodySchema,
    WebhookListSchema,
    WebhookSchema,
)
from evenboard.api.spec import Blueprint
from evenboard.api.state import state
from evenboard.api.writing import say, writing
from evenboard.desk.telling import tell_ping
from evenboard.intake import Fault
from evenboard.store import Session, deliveries, webhooks
from evenboard.store.deliveries import Delivery
from evenboard.store.webhooks import Webhook
from evenboard.webhooks import AddressRefused, resolved

__all__ = ["blueprint"]

blueprint = Blueprint("webhooks", __name__, description="Telling other systems of reports")


@blueprint.get("/v1/webhooks")
@may(DESK)
@blueprint.response(200, WebhookListSchema, headers=TAGGED)
def desk_webhooks() -> Response:
    """List the addresses that are told of reports, the removed ones too."""
    with state().store.reading() as session:
        items = [_document(webhook) for webhook in webhooks.listing(session)]
    return tagged(json_bytes({"items": items, "next_cursor": None}))


@blueprint.post("/v1/webhooks")
@may(DESK)
@blueprint.arguments(WebhookBodySchema)
@blueprint.response(201, NewWebhookSchema)
@blueprint.doc(parameters=[IDEMPOTENCY_KEY])
def add_webhook(body: dict[str, Any]) -> Response:
    """Tell an address of every report that is issued or superseded from now on.

    Messages are signed with the secret, which is shown this once, by the Standard Webhooks
    specification: HMAC-SHA256 over `webhook-id.webhook-timestamp.body`. One that is not answered
    with 2xx is sent again for five days; the same one may arrive twice.
    """

    def create(session: Session) -> Response:
        try:
            resolved(body["url"], state().config.webhook_hosts)
        except AddressRefused as error:
            raise invalid_body([Fault("/url", str(error))]) from None
        webhook = webhooks.add(session, body["name"], body["url"], caller().name)
        say(f"Made webhook {webhook.name}.")
        response = as_json(_document(webhook) | {"secret": webhook.secret}, status=201)
        response.headers["Location"] = url_for("webhooks.desk_webhook", webhook_id=webhook.id)
        return response

    return once(create, kept=lambda answer: json_bytes(json.loads(answer) | {"secret": None}))


@blueprint.get("/v1/webhooks/<webhook_id>")
@may(DESK)
@blueprint.response(200, WebhookSchema, headers=TAGGED)
@blueprint.refuses(404)
def desk_webhook(webhook_id: str) -> Response:
    """Show one webhook, without its secret."""
    with state().store.reading() as session:
        return tagged(json_bytes(_document(webhooks.get(session, webhook_id))))


@blueprint.delete("/v1/webhooks/<webhook_id>")
@may(DESK)
@blueprint.response(200, WebhookSchema)
@blueprint.refuses(404)
def remove_webhook(webhook_id: str) -> Response:
    """Tell an address nothing any more; what it was told stays in the list."""
    with writing() as session:
        webhook = webhooks.remove(session, webhook_id)
        say(f"Removed webhook {webhook.name}.")
    return as_json(_document(webhook))


@blueprint.get("/v1/webhooks/<webhook_id>/deliveries")
@may(DESK)
@blueprint.arguments(DeliveryQuerySchema, location="query")
@blueprint.response(200, DeliveryPageSchema, headers=TAGGED)
@blueprint.refuses(404)
def webhook_deliveries(query: dict[str, Any], webhook_id: str) -> Response:
    """List the messages to a webhook, the latest first: which arrived, what the others wait for."""
    status = query.get("status")
    with state().store.reading() as session:
        webhooks.get(session, webhook_id)
        part = moment_page(
            lambda after, limit: deliveries.listing(
                session, webhook_id, limit=limit, after=after, status=status
            ),
            lambda delivery: (delivery.created_at, delivery.id),
            query.get("limit") or PAGE,
            query.get("cursor"),
            {"webhook": webhook_id, "status": status},
        )
    items = [_delivery(delivery) for delivery in part.items]
    return page_answer(part, items)


@blueprint.post("/v1/webhooks/<webhook_id>/deliveries")
@may(DESK)
@blueprint.response(201, DeliverySchema)
@blueprint.refuses(404, 409)
@blueprint.doc(parameters=[IDEMPOTENCY_KEY])
def ping_webhook(webhook_id: str) -> Response:
    """Send a webhook a message that tells of nothing, to see whether somebody listens."""

    def create(session: Session) -> Response:
        webhook = webhooks.active(session, webhook_id)
        delivery_id = tell_ping(session, webhook.id)
        session.flush()
        say(f"Sent a ping to webhook {webhook.name}.")
        return as_json(_delivery(deliveries.get(session, webhook.id, delivery_id)), status=201)

    response = once(create)
    state().sender.wake()
    return response


@blueprint.post("/v1/webhooks/<webhook_id>/deliveries/<delivery_id>/resend")
@may(DESK)
@blueprint.response(200, DeliverySchema)
@blueprint.refuses(404, 409)
def resend_delivery(webhook_id: str, delivery_id: str) -> Response:
    """Send a message once more, from its first try on, whatever became of it."""
    with writing() as session:
        webhook = webhooks.active(session, webhook_id)
        delivery = deliveries.resend(session, webhook_id, delivery_id)
        say(f"Sent message {delivery_id} to webhook {webhook.name} once more.")
    state().sender.wake()
    return as_json(_delivery(delivery))


def _document(webhook: Webhook) -> dict[str, Any]:
    return {
        "id": webhook.id,
        "name": webhook.name,
        "url": webhook.url,
        "created_at": moment(webhook.created_at),
        "created_by": webhook.created_by,
        "removed_at": _moment(webhook.removed_at),
    }


def _delivery(delivery: Delivery) -> dict[str, Any]:
    return {
        "id": delivery.id,
        "event": delivery.event,
        "report_id": delivery.report_id,
        "status": delivery.status,
        "attempts": delivery.attempts,
        "created_at": moment(delivery.created_at),
        "next_at": _moment(delivery.next_at),
        "tried_at": _moment(delivery.tried_at),
        "answer": delivery.answer,
        "delivered_at": _moment(delivery.delivered_at),
    }


def _moment(at: datetime | None) -> str | None:
    return None if at is None else moment(at)
