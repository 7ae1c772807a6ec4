"""``/v1/audit``: the trail of who changed what, and when."""

from __future__ import annotations

from typing import Any

from flask import Response

from evenboard.api.access import DESK, may
from evenboard.api.answer import as_json, moment
from evenboard.api.lists import PAGE
from evenboard.api.paging import keyed_page
from evenboard.api.problem import Problem
from evenboard.api.schemas.access import AuditPageSchema, AuditQuerySchema
from evenboard.api.spec import Blueprint
from evenboard.api.state import state
from evenboard.store import audit

__all__ = ["blueprint"]

blueprint = Blueprint("audit", __name__, description="Who changed what, and when")

_DIGITS = 18
"""Longest number of a line that a cursor may hold."""


@blueprint.get("/v1/audit")
@may(DESK)
@blueprint.arguments(AuditQuerySchema, location="query")
@blueprint.response(200, AuditPageSchema)
def audit_trail(query: dict[str, Any]) -> Response:
    """List the changes, the latest first: who, when, what."""
    asked = {"caller": query.get("caller"), "path": query.get("path")}
    with state().store.reading() as session:
        part = keyed_page(
            lambda last, limit: audit.listing(session, before=_line(last), limit=limit, **asked),
            lambda line: str(line.id),
            query.get("limit") or PAGE,
            query.get("cursor"),
            asked,
        )
    items = [
        {
            "at": moment(line.at),
            "role": line.who.role,
            "caller": line.who.caller,
            "name": line.who.name,
            "method": line.method,
            "path": line.path,
            "what": line.what,
        }
        for line in part.items
    ]
    return as_json({"items": items, "next_cursor": part.next_cursor})


def _line(last: str | None) -> int | None:
    if last is None:
        return None
    if not last.isascii() or not last.isdigit() or len(last) > _DIGITS:
        fault = {"parameter": "cursor", "detail": "This is no cursor of this list."}
        raise Problem(422, fault["detail"], kind="invalid-query", errors=[fault])
    return int(last)
