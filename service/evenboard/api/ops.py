"""For those who run the service: alive, ready, figures, the description of the API."""

from __future__ import annotations

from typing import cast

import marshmallow as ma
from flask import Response, current_app
from marshmallow import fields
from werkzeug.exceptions import NotFound

from evenboard.api.access import PUBLIC, may
from evenboard.api.answer import as_json, json_bytes
from evenboard.api.etag import TAGGED, tagged
from evenboard.api.metrics import Metrics
from evenboard.api.problem import TYPES, document
from evenboard.api.spec import Blueprint
from evenboard.api.state import state
from evenboard.store import StoreUnavailable

__all__ = ["blueprint"]

blueprint = Blueprint("ops", __name__, description="For those who run the service")

ANY_OBJECT = {"type": "object"}


class StatusSchema(ma.Schema):
    """How the service is."""

    status = fields.String(required=True)
    catalogue_version = fields.String()


class ProblemTypeSchema(ma.Schema):
    """A kind of problem."""

    title = fields.String(required=True)
    status = fields.Integer(required=True)
    detail = fields.String(required=True)


@blueprint.get("/healthz")
@may(PUBLIC)
@blueprint.response(200, StatusSchema)
def healthz() -> Response:
    """Answer while the process lives."""
    return as_json({"status": "ok"})


@blueprint.get("/readyz")
@may(PUBLIC)
@blueprint.response(200, StatusSchema)
@blueprint.refuses(503)
def readyz() -> Response:
    """Answer 200 once the database answers and its tables are those of this version."""
    try:
        ready = state().store.up_to_date()
    except StoreUnavailable:
        return document(503, "The database does not answer.", headers={"Retry-After": "5"})
    if not ready:
        return document(503, "The tables are not up to date; run `evenboard migrate`.")
    return as_json({"status": "ready", "catalogue_version": state().shipped.version})


@blueprint.get("/metrics")
@may(PUBLIC)
@blueprint.response(200, {"type": "string"}, content_type="text/plain")
def metrics() -> Response:
    """The figures for Prometheus."""
    return cast(Metrics, current_app.extensions["evenboard-metrics"]).page()


@blueprint.get("/openapi.json")
@may(PUBLIC)
@blueprint.response(200, ANY_OBJECT, headers=TAGGED)
def openapi() -> Response:
    """The OpenAPI document, generated from the schemas."""
    return tagged(cast(bytes, current_app.extensions["evenboard-openapi"]))


@blueprint.get("/problems/<slug>")
@may(PUBLIC)
@blueprint.response(200, ProblemTypeSchema, headers=TAGGED)
@blueprint.refuses(404)
def problem_type(slug: str) -> Response:
    """What a problem's `type` means and what to do about it."""
    kind = TYPES.get(slug)
    if kind is None:
        raise NotFound
    return tagged(json_bytes({"title": kind.title, "status": kind.status, "detail": kind.sentence}))
