"""Orders of the desk: what is sent and what is answered."""

from __future__ import annotations

from typing import Any

import marshmallow as ma
from marshmallow import fields

from evenboard.api.fields import Day, Schema, Text
from evenboard.api.schemas import told
from evenboard.api.schemas.queries import PageQuerySchema

__all__ = ["OrderBodySchema", "OrderPageSchema", "OrderQuerySchema", "OrderSchema"]


class OrderBodySchema(Schema):
    """What the desk tells of an order; what is left out is empty."""

    production = Text("What is being made.", most=200)
    contact = Text("Who answers for it on set.", most=200)
    note = Text(most=1000)
    starts_on = Day("First day.")
    ends_on = Day("Last day.")

    @ma.validates_schema
    def _in_order(self, data: dict[str, Any], **_: Any) -> None:
        starts_on, ends_on = data.get("starts_on"), data.get("ends_on")
        if starts_on and ends_on and ends_on < starts_on:
            raise ma.ValidationError(
                {"ends_on": [f"This is before starts_on; {starts_on} or later is right."]}
            )


class OrderQuerySchema(PageQuerySchema):
    """Which orders."""

    q = Text("Words that all stand in reference, production, contact or note.")
    on = Day("Orders whose dates cover this day.")


class OrderLinksSchema(ma.Schema):
    """Where an order and what belongs to it is found."""

    self = told.text()
    reports = told.text()
    links = told.text("The links of its crew.")


class OrderSchema(ma.Schema):
    """An order as it is now."""

    ref = told.text("The desk's own reference.")
    production = told.text()
    contact = told.text()
    note = told.text()
    starts_on = told.day()
    ends_on = told.day()
    reports = told.whole("How many reports were issued on it.")
    version = told.whole("Goes up by one a change.")
    created_at = told.moment()
    created_by = told.text()
    updated_at = told.moment()
    updated_by = told.text()
    links = fields.Nested(OrderLinksSchema, required=True)


class OrderPageSchema(ma.Schema):
    """A page of orders, the latest made first."""

    items = fields.List(fields.Nested(OrderSchema), required=True)
    next_cursor = told.text(nullable=True)
