"""``/v1/boards``: generic board types, outlet by outlet."""

from __future__ import annotations

import dataclasses
from typing import Any

from flask import Response

from evenboard.api.access import PUBLIC, may
from evenboard.api.answer import json_bytes
from evenboard.api.etag import TAGGED, tagged
from evenboard.api.fields import Text
from evenboard.api.lists import known_parameter, listed, one_of
from evenboard.api.schemas.described import page_schema, schema_of
from evenboard.api.schemas.queries import PageQuerySchema
from evenboard.api.spec import Blueprint
from evenboard.api.state import current_catalogue
from evenboard.electrics.equipment import BoardType

__all__ = ["blueprint"]

blueprint = Blueprint("boards", __name__, description="Generic distribution boards")


class BoardQuerySchema(PageQuerySchema):
    """Which board types."""

    region = Text("Only those used in this region.", most=64)


@blueprint.get("/v1/boards")
@may(PUBLIC)
@blueprint.arguments(BoardQuerySchema, location="query")
@blueprint.response(200, page_schema(schema_of(BoardType)), headers=TAGGED)
def boards(query: dict[str, Any]) -> Response:
    """List the generic board types: inlet, outlets with rows, breakers and residual devices."""
    catalogue = current_catalogue()
    region = query.get("region")
    if region is not None:
        known_parameter(catalogue.regions, region, "region")
    found = [b for b in catalogue.boards.values() if region is None or region in b.regions]
    return listed(found, catalogue.version, query)


@blueprint.get("/v1/boards/<board_id>")
@may(PUBLIC)
@blueprint.response(200, schema_of(BoardType), headers=TAGGED)
@blueprint.refuses(404)
def board(board_id: str) -> Response:
    """Show one board type."""
    found = one_of(current_catalogue().boards, board_id, "board type")
    return tagged(json_bytes(dataclasses.asdict(found)))
