"""``/v1/orders``: orders by the desk's own reference, whatever system they are kept in."""

from __future__ import annotations

from typing import Any

from flask import Response, url_for

from evenboard.api.access import DESK, caller, may
from evenboard.api.answer import json_bytes, moment
from evenboard.api.etag import TAGGED, require_match, tag, tagged
from evenboard.api.lists import PAGE, page_answer
from evenboard.api.paging import moment_page
from evenboard.api.references import reference
from evenboard.api.schemas.orders import (
    OrderBodySchema,
    OrderPageSchema,
    OrderQuerySchema,
    OrderSchema,
)
from evenboard.api.spec import Blueprint
from evenboard.api.state import state
from evenboard.api.writing import say, writing
from evenboard.store import orders
from evenboard.store.orders import Details, Order

__all__ = ["blueprint"]

blueprint = Blueprint("orders", __name__, description="Orders of the rental desk")

IF_MATCH_OF_DETAILS = {
    "in": "header",
    "name": "If-Match",
    "required": False,
    "description": "The `ETag` that was read. Needed where details would be lost: not for an order "
    "that is new or has none yet, nor for the same ones again.",
    "schema": {"type": "string", "pattern": '^(\\*|"[!#-~]+")$'},
}


@blueprint.get("/v1/orders")
@may(DESK)
@blueprint.arguments(OrderQuerySchema, location="query")
@blueprint.response(200, OrderPageSchema, headers=TAGGED)
def desk_orders(query: dict[str, Any]) -> Response:
    """List orders, the latest made first: all, those with some words, those of a day."""
    asked = {"q": query.get("q"), "on": query.get("on")}
    with state().store.reading() as session:
        part = moment_page(
            lambda after, limit: orders.listing(session, limit=limit, after=after, **asked),
            lambda order: (order.created_at, order.ref),
            query.get("limit") or PAGE,
            query.get("cursor"),
            asked,
        )
    items = [_document(order) for order in part.items]
    return page_answer(part, items)


@blueprint.get("/v1/orders/<path:order_ref>")
@may(DESK)
@blueprint.response(200, OrderSchema, headers=TAGGED)
@blueprint.refuses(404, 422)
def desk_order(order_ref: str) -> Response:
    """Show one order."""
    with state().store.reading() as session:
        return tagged(_bytes(orders.get(session, reference(order_ref))))


@blueprint.put("/v1/orders/<path:order_ref>")
@may(DESK)
@blueprint.arguments(OrderBodySchema)
@blueprint.response(200, OrderSchema, headers=TAGGED)
@blueprint.refuses(412, 428)
@blueprint.doc(parameters=[IF_MATCH_OF_DETAILS])
def put_order(body: dict[str, Any], order_ref: str) -> Response:
    """Tell what is known of an order, whether it is known here or not.

    The same once more does no harm, so that a program may simply send it again.
    """
    ref = reference(order_ref)
    details = Details(
        production=body.get("production") or "",
        contact=body.get("contact") or "",
        note=body.get("note") or "",
        starts_on=body.get("starts_on"),
        ends_on=body.get("ends_on"),
    )
    with writing() as session:
        order, changed = orders.put(
            session,
            ref,
            details,
            caller().name,
            lambda order: require_match(tag(_bytes(order))),
        )
        say(f"Told of order {ref}." if changed else f"Told of order {ref} what was known.")
    return tagged(_bytes(order))


def _bytes(order: Order) -> bytes:
    return json_bytes(_document(order))


def _document(order: Order) -> dict[str, Any]:
    details = order.details
    return {
        "ref": order.ref,
        "production": details.production,
        "contact": details.contact,
        "note": details.note,
        "starts_on": None if details.starts_on is None else details.starts_on.isoformat(),
        "ends_on": None if details.ends_on is None else details.ends_on.isoformat(),
        "reports": order.reports,
        "version": order.version,
        "created_at": moment(order.created_at),
        "created_by": order.created_by,
        "updated_at": moment(order.updated_at),
        "updated_by": order.updated_by,
        "links": {
            "self": url_for("orders.desk_order", order_ref=order.ref),
            "reports": url_for("reports.order_reports", order_ref=order.ref),
            "links": url_for("links.order_links", order_ref=order.ref),
        },
    }
