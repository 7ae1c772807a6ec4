"""Webhooks: what is sent and what is answered."""

from __future__ import annotations

import marshmallow as ma
from marshmallow import fields

from evenboard.api.fields import Choice, Schema, Text
from evenboard.api.schemas import told
from evenboard.api.schemas.queries import PageQuerySchema
from evenboard.desk.telling import EVENTS, PING
from evenboard.store.deliveries import STATUSES
from evenboard.webhooks.address import MAX_URL

__all__ = [
    "DeliveryPageSchema",
    "DeliveryQuerySchema",
    "DeliverySchema",
    "NewWebhookSchema",
    "WebhookBodySchema",
    "WebhookListSchema",
    "WebhookSchema",
]


class WebhookBodySchema(Schema):
    """An address that shall be told of reports."""

    name = Text("Whose it is, such as `order system`.", most=100, required=True)
    url = Text("Where to post, `https://…`, outside this network.", most=MAX_URL, required=True)


class WebhookSchema(ma.Schema):
    """An address that is told, without its secret."""

    id = told.text()
    name = told.text()
    url = told.text()
    created_at = told.moment()
    created_by = told.text()
    removed_at = told.moment(nullable=True)


class NewWebhookSchema(WebhookSchema):
    """An address that is told from now on, with the secret that signs what it is told."""

    secret = told.text("Shown this once: in a repeated answer it is null.", nullable=True)


class WebhookListSchema(ma.Schema):
    """All webhooks, oldest first, the removed ones too."""

    items = fields.List(fields.Nested(WebhookSchema), required=True)
    next_cursor = told.text(nullable=True)


class DeliveryQuerySchema(PageQuerySchema):
    """Which messages."""

    status = Choice(STATUSES)


class DeliverySchema(ma.Schema):
    """A message to a webhook and what became of it."""

    id = told.text("Sent as `webhook-id`: the same in every try.")
    event = fields.String(required=True, validate=ma.validate.OneOf((*EVENTS, PING)))
    report_id = told.text(nullable=True)
    status = fields.String(required=True, validate=ma.validate.OneOf(STATUSES))
    attempts = told.whole("Tries so far.")
    created_at = told.moment()
    next_at = told.moment("When it is tried next.", nullable=True)
    tried_at = told.moment(nullable=True)
    answer = told.text("What the last try heard, in words.", nullable=True)
    delivered_at = told.moment(nullable=True)


class DeliveryPageSchema(ma.Schema):
    """A page of messages, the latest first."""

    items = fields.List(fields.Nested(DeliverySchema), required=True)
    next_cursor = told.text(nullable=True)
