"""``/v1/cables``: cable types with their rating tables."""

from __future__ import annotations

import dataclasses
from typing import Any

from flask import Response

from evenboard.api.access import PUBLIC, may
from evenboard.api.answer import json_bytes
from evenboard.api.etag import TAGGED, tagged
from evenboard.api.lists import listed, one_of
from evenboard.api.schemas.described import page_schema, schema_of
from evenboard.api.schemas.queries import PageQuerySchema
from evenboard.api.spec import Blueprint
from evenboard.api.state import current_catalogue
from evenboard.electrics.equipment import CableType

__all__ = ["blueprint"]

blueprint = Blueprint("cables", __name__, description="Cable types and their rating tables")


@blueprint.get("/v1/cables")
@may(PUBLIC)
@blueprint.arguments(PageQuerySchema, location="query")
@blueprint.response(200, page_schema(schema_of(CableType)), headers=TAGGED)
def cables(query: dict[str, Any]) -> Response:
    """List the cable types with the rating tables and factors of each standard."""
    catalogue = current_catalogue()
    return listed(list(catalogue.cables.values()), catalogue.version, query)


@blueprint.get("/v1/cables/<cable_id>")
@may(PUBLIC)
@blueprint.response(200, schema_of(CableType), headers=TAGGED)
@blueprint.refuses(404)
def cable(cable_id: str) -> Response:
    """Show one cable type."""
    found = one_of(current_catalogue().cables, cable_id, "cable type")
    return tagged(json_bytes(dataclasses.asdict(found)))
