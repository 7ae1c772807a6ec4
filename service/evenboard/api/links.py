"""Links that open one order for its crew, or one layout for phones; and who is calling."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from typing import Any

from flask import Response, request

from evenboard.api.access import CREW, DESK, PLUG, READ, caller, may
from evenboard.api.answer import as_json, json_bytes, moment
from evenboard.api.etag import TAGGED, tagged
from evenboard.api.idempotency import IDEMPOTENCY_KEY, once
from evenboard.api.problem import invalid_body
from evenboard.api.references import reference
from evenboard.api.saved_layout import opened
from evenboard.api.schemas.access import (
    CallerSchema,
    LayoutLinkBodySchema,
    LinkListSchema,
    LinkSchema,
    NewLinkSchema,
    OrderLinkBodySchema,
)
from evenboard.api.spec import Blueprint
from evenboard.api.state import base_url, state
from evenboard.api.writing import say, writing
from evenboard.desk.links import EndInvalid, end_of
from evenboard.intake import Fault
from evenboard.reports import qr_svg
from evenboard.store import Session, links, orders
from evenboard.store.links import Link

__all__ = ["blueprint"]

SVG = "image/svg+xml"

blueprint = Blueprint("links", __name__, description="Links for crews and phones")


@blueprint.get("/v1/whoami")
@may(CREW, READ, PLUG, DESK)
@blueprint.response(200, CallerSchema)
def whoami() -> Response:
    """Tell what the key or link that was sent opens."""
    who = caller()
    return as_json(
        {
            "role": who.role,
            "name": who.name,
            "order_ref": who.order_ref,
            "layout_id": who.layout_id,
        }
    )


@blueprint.post("/v1/orders/<path:order_ref>/links")
@may(DESK)
@blueprint.arguments(OrderLinkBodySchema)
@blueprint.response(201, NewLinkSchema)
@blueprint.refuses(404)
@blueprint.doc(parameters=[IDEMPOTENCY_KEY])
def add_order_link(body: dict[str, Any], order_ref: str) -> Response:
    """Make a link for the crew of an order: it reads the order's layouts and posts readings.

    The secret is shown this once.
    """
    return _made(body, "crew", order_ref=reference(order_ref))


@blueprint.get("/v1/orders/<path:order_ref>/links")
@may(DESK)
@blueprint.response(200, LinkListSchema, headers=TAGGED)
@blueprint.refuses(404)
def order_links(order_ref: str) -> Response:
    """List the links of an order, those that are over too."""
    with state().store.reading() as session:
        return _listed(links.listing(session, order_ref=reference(order_ref)))


@blueprint.post("/v1/layouts/<layout_id>/links")
@may(DESK)
@blueprint.arguments(LayoutLinkBodySchema)
@blueprint.response(201, NewLinkSchema)
@blueprint.refuses(404)
@blueprint.doc(parameters=[IDEMPOTENCY_KEY])
def add_layout_link(body: dict[str, Any], layout_id: str) -> Response:
    """Make a link to one layout, to read it or to plug on it.

    The secret is shown this once.
    """
    return _made(body, body["may"], layout_id=layout_id)


@blueprint.get("/v1/layouts/<layout_id>/links")
@may(DESK)
@blueprint.response(200, LinkListSchema, headers=TAGGED)
@blueprint.refuses(404)
def layout_links(layout_id: str) -> Response:
    """List the links of a layout, those that are over too."""
    with state().store.reading() as session:
        opened(session, layout_id)
        return _listed(links.listing(session, layout_id=layout_id))


@blueprint.delete("/v1/links/<link_id>")
@may(DESK)
@blueprint.response(200, LinkSchema)
@blueprint.refuses(404)
def revoke_link(link_id: str) -> Response:
    """Make a link open nothing from now on; it stays in the list."""
    with writing() as session:
        link = links.revoke(session, link_id)
        say(f"Revoked link {link.name}.")
    return as_json(_document(link))


@blueprint.get("/v1/link/qr")
@may(CREW, READ, PLUG)
@blueprint.alt_response(200, schema={"type": "string"}, content_type=SVG, success=True)
def link_qr() -> Response:
    """Draw the QR code of the link that this request came with, to be scanned by another phone.

    The secret comes in `Authorization` and stands in no address.
    """
    given = request.authorization
    secret = str(given.token if given is not None else "")
    response = Response(qr_svg(_address(secret), ground=True), content_type=SVG)
    response.headers["Cache-Control"] = "no-store"
    return response


def _address(secret: str) -> str:
    """What opens a link in the web client; the secret is behind the #, which no server is told."""
    return f"{base_url()}/#/open/{secret}"


def _made(
    body: dict[str, Any],
    may_do: links.May,
    *,
    order_ref: str | None = None,
    layout_id: str | None = None,
) -> Response:
    try:
        expires_at = end_of(body.get("expires_at"), datetime.now(UTC))
    except EndInvalid as error:
        raise invalid_body([Fault("/expires_at", str(error))]) from None

    def create(session: Session) -> Response:
        if layout_id is not None:
            opened(session, layout_id)
        if order_ref is not None:
            orders.known(session, order_ref, caller().name)
        link, secret = links.create(
            session,
            body["name"],
            may_do,
            order_ref=order_ref,
            layout_id=layout_id,
            created_by=caller().name,
            expires_at=expires_at,
        )
        say(f"Made link {link.name}, {may_do}.")
        shown = {"token": secret, "url": _address(secret)}
        return as_json(_document(link) | shown, status=201)

    return once(create, kept=_without_secret)


def _without_secret(answer: bytes) -> bytes:
    return json_bytes(json.loads(answer) | {"token": None, "url": None})


def _listed(found: list[Link]) -> Response:
    return tagged(json_bytes({"items": [_document(link) for link in found], "next_cursor": None}))


def _document(link: Link) -> dict[str, Any]:
    return {
        "id": link.id,
        "name": link.name,
        "may": link.may,
        "order_ref": link.order_ref,
        "layout_id": link.layout_id,
        "created_at": moment(link.created_at),
        "created_by": link.created_by,
        "expires_at": moment(link.expires_at),
        "revoked_at": None if link.revoked_at is None else moment(link.revoked_at),
    }
