"""``/v1/regions``: a region's supplies, colours, outlets and limits."""

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
from evenboard.electrics.equipment import Region

__all__ = ["blueprint"]

blueprint = Blueprint("regions", __name__, description="Nominal voltages, colours, outlets, limits")


@blueprint.get("/v1/regions")
@may(PUBLIC)
@blueprint.arguments(PageQuerySchema, location="query")
@blueprint.response(200, page_schema(schema_of(Region)), headers=TAGGED)
def regions(query: dict[str, Any]) -> Response:
    """List the region profiles.

    Nominal voltages, frequency, phase names and colours, outlet types and the limits in use.
    """
    catalogue = current_catalogue()
    return listed(list(catalogue.regions.values()), catalogue.version, query)


@blueprint.get("/v1/regions/<region_id>")
@may(PUBLIC)
@blueprint.response(200, schema_of(Region), headers=TAGGED)
@blueprint.refuses(404)
def region(region_id: str) -> Response:
    """Show one region profile."""
    found = one_of(current_catalogue().regions, region_id, "region")
    return tagged(json_bytes(dataclasses.asdict(found)))
