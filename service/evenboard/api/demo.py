"""``/v1/demo/layouts``: invented layouts to try things with; absent with ``EVENBOARD_DEMO=0``."""

from __future__ import annotations

import json
from typing import Any

import marshmallow as ma
from flask import Response
from marshmallow import fields

from evenboard.api.access import PUBLIC, may
from evenboard.api.etag import TAGGED
from evenboard.api.lists import PAGE, page_answer
from evenboard.api.paging import page
from evenboard.api.schemas.queries import PageQuerySchema
from evenboard.api.spec import Blueprint
from evenboard.paths import demo_folder

__all__ = ["blueprint"]

blueprint = Blueprint("demo", __name__, description="Invented layouts to try things with")


class DemoSchema(ma.Schema):
    """An invented layout, ready for `POST /v1/balance`."""

    id = fields.String(required=True)
    title = fields.String(required=True)
    story = fields.String(required=True)
    layout = fields.Dict(required=True)


class DemoPageSchema(ma.Schema):
    """A page of the demo."""

    items = fields.List(fields.Nested(DemoSchema), required=True)
    next_cursor = fields.String(required=True, allow_none=True)


@blueprint.get("/v1/demo/layouts")
@may(PUBLIC)
@blueprint.arguments(PageQuerySchema, location="query")
@blueprint.response(200, DemoPageSchema, headers=TAGGED)
def demo_layouts(query: dict[str, Any]) -> Response:
    """List the demo's layouts, each as `POST /v1/balance` takes it."""
    demos = [
        {"id": file.stem, **json.loads(file.read_text(encoding="utf-8"))}
        for file in sorted(demo_folder().glob("*.json"))
    ]
    part = page(demos, lambda demo: demo["id"], query.get("limit") or PAGE, query.get("cursor"), {})
    return page_answer(part, part.items)
