"""Links, keys and the trail: what is sent and what is answered. A secret is shown once."""

from __future__ import annotations

import marshmallow as ma
from marshmallow import fields

from evenboard.api.access import Role
from evenboard.api.fields import Choice, Moment, Schema, Text
from evenboard.api.schemas import told
from evenboard.api.schemas.queries import PageQuerySchema

__all__ = [
    "AuditPageSchema",
    "AuditQuerySchema",
    "CallerSchema",
    "KeyBodySchema",
    "KeyListSchema",
    "KeySchema",
    "LayoutLinkBodySchema",
    "LinkListSchema",
    "LinkSchema",
    "NewKeySchema",
    "NewLinkSchema",
    "OrderLinkBodySchema",
]

SECRET = "Shown this once: in a repeated answer it is null."


class OrderLinkBodySchema(Schema):
    """A link for the crew of an order."""

    name = Text("Whom it is for.", most=100, required=True)
    expires_at = Moment("When it ends; in 30 days by default, in 366 at most.")


class LayoutLinkBodySchema(OrderLinkBodySchema):
    """A link to one layout."""

    may = Choice(("read", "plug"), "`plug` changes it and posts readings.", required=True)


class LinkSchema(ma.Schema):
    """A link: what it opens, for whom and until when."""

    id = told.text()
    name = told.text()
    may = fields.String(required=True, validate=ma.validate.OneOf(("crew", "read", "plug")))
    order_ref = told.text(nullable=True)
    layout_id = told.text(nullable=True)
    created_at = told.moment()
    created_by = told.text()
    expires_at = told.moment()
    revoked_at = told.moment(nullable=True)


class NewLinkSchema(LinkSchema):
    """A link that was just made, with its secret."""

    token = told.text(SECRET, nullable=True)
    url = told.text(
        "Opens it in the web client; the secret is behind the #, which no server is told.",
        nullable=True,
    )


class LinkListSchema(ma.Schema):
    """All links of an order or layout, those that are over too."""

    items = fields.List(fields.Nested(LinkSchema), required=True)
    next_cursor = fields.String(required=True, allow_none=True)


class KeyBodySchema(Schema):
    """A key of the rental desk."""

    name = Text("Who has it, such as `front desk`.", most=100, required=True)
    expires_at = Moment("When it ends; never by default.")


class KeySchema(ma.Schema):
    """A key of the rental desk, without its secret."""

    id = told.text()
    name = told.text()
    created_at = told.moment()
    expires_at = told.moment(nullable=True)
    revoked_at = told.moment(nullable=True)


class NewKeySchema(KeySchema):
    """A key that was just made, with its secret."""

    secret = told.text(SECRET, nullable=True)


class KeyListSchema(ma.Schema):
    """All keys, oldest first, those that are over too."""

    items = fields.List(fields.Nested(KeySchema), required=True)
    next_cursor = fields.String(required=True, allow_none=True)


class CallerSchema(ma.Schema):
    """Who is calling and what that opens."""

    role = fields.String(required=True, validate=ma.validate.OneOf(tuple(map(str, Role))))
    name = told.text()
    order_ref = told.text("The order that a crew link opens.", nullable=True)
    layout_id = told.text("The layout that a link opens.", nullable=True)


class AuditQuerySchema(PageQuerySchema):
    """Which part of the trail."""

    caller = Text("Of one key or link, by its id.", most=16)
    path = Text("Of paths that begin so, such as `/v1/layouts`.")


class AuditLineSchema(ma.Schema):
    """One change: who, when, by which request, what."""

    at = told.moment()
    role = fields.String(required=True)
    caller = told.text("Id of the key or link.")
    name = told.text()
    method = told.text()
    path = told.text()
    what = told.text()


class AuditPageSchema(ma.Schema):
    """A page of the trail, the latest first."""

    items = fields.List(fields.Nested(AuditLineSchema), required=True)
    next_cursor = fields.String(required=True, allow_none=True)
