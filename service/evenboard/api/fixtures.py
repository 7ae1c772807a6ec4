"""``/v1/fixtures``: find a lamp or appliance, look at one, and add the desk's own."""

from __future__ import annotations

import dataclasses
from typing import Any

from flask import Response, url_for

from evenboard.api.access import DESK, PUBLIC, caller, may
from evenboard.api.answer import json_bytes
from evenboard.api.etag import IF_MATCH, TAGGED, require_match, tag, tagged
from evenboard.api.idempotency import IDEMPOTENCY_KEY, once
from evenboard.api.lists import PAGE, known_parameter, one_of
from evenboard.api.own_fixture import own_fixture
from evenboard.api.paging import page
from evenboard.api.problem import Problem, invalid_body
from evenboard.api.schemas.described import page_schema
from evenboard.api.schemas.fixtures import (
    FixtureBodySchema,
    FixtureChangeSchema,
    FixtureQuerySchema,
    FixtureSchema,
    VoltageQuerySchema,
)
from evenboard.api.spec import Blueprint
from evenboard.api.state import current_catalogue, state
from evenboard.api.writing import writing
from evenboard.catalogue import AtVoltage, Catalogue
from evenboard.electrics.equipment import FixtureType
from evenboard.intake import Fault
from evenboard.intake.nearest import quoted
from evenboard.store import Session
from evenboard.store import fixtures as own
from evenboard.store.errors import AlreadyThere

__all__ = ["blueprint"]

VOLTAGE_V = 230.0
"""Where neither a voltage nor a region is given: the nominal of most of the world (IEC 60038)."""
USUAL_V = (120.0, 230.0)
"""Voltages that a crew reckons in, wherever it is: shown beside the one asked for."""

blueprint = Blueprint(
    "fixtures", __name__, description="Lamps and appliances as the mains sees them"
)


@blueprint.get("/v1/fixtures")
@may(PUBLIC)
@blueprint.arguments(FixtureQuerySchema, location="query")
@blueprint.response(200, page_schema(FixtureSchema), headers=TAGGED)
def fixtures(query: dict[str, Any]) -> Response:
    """Find fixtures by words, family, size, power or current.

    Words may have slips and may be sizes: `2k`, `1.8 kw par`, `800w`. The best match comes first.
    """
    catalogue = current_catalogue()
    voltage_v = _voltage(query, catalogue)
    names = ("q", "family", "size_class", "min_power_w", "max_power_w", "max_current_a")
    filters = {name: query[name] for name in names if query.get(name) is not None}
    if "family" in filters:
        known_parameter(
            {family.id: family for family in catalogue.families}, filters["family"], "family"
        )
    hits = catalogue.search.find(**filters, voltage_v=voltage_v)
    part = page(
        [hit.fixture for hit in hits],
        lambda fixture: fixture.slug,
        query.get("limit") or PAGE,
        query.get("cursor"),
        {**filters, "voltage_v": voltage_v},
    )
    items = [document(fixture, catalogue, voltage_v) for fixture in part.items]
    return tagged(
        json_bytes(
            {
                "items": items,
                "next_cursor": part.next_cursor,
                "catalogue_version": catalogue.version,
            }
        ),
        pack=True,
    )


@blueprint.get("/v1/fixtures/<slug>")
@may(PUBLIC)
@blueprint.arguments(VoltageQuerySchema, location="query")
@blueprint.response(200, FixtureSchema, headers=TAGGED)
@blueprint.refuses(404)
def fixture(query: dict[str, Any], slug: str) -> Response:
    """Show one fixture type."""
    catalogue = current_catalogue()
    found = one_of(catalogue.fixtures, slug, "fixture type")
    return tagged(json_bytes(document(found, catalogue, _voltage(query, catalogue))))


@blueprint.post("/v1/fixtures")
@may(DESK)
@blueprint.arguments(FixtureBodySchema)
@blueprint.response(201, FixtureSchema, headers=TAGGED)
@blueprint.refuses(409)
@blueprint.doc(parameters=[IDEMPOTENCY_KEY])
def add_fixture(body: dict[str, Any]) -> Response:
    """Add a fixture type of the desk's own; it can be used in layouts at once."""
    catalogue = current_catalogue()
    added = own_fixture(body, body["slug"], catalogue)

    def create(session: Session) -> Response:
        if added.slug in state().shipped.fixtures:
            raise AlreadyThere(
                f"The catalogue ships a fixture type {added.slug!r}; use another slug."
            )
        own.add(session, added, caller().id)
        response = tagged(_bytes(added, catalogue), status=201)
        response.headers["Location"] = url_for("fixtures.fixture", slug=added.slug)
        return response

    return once(create)


@blueprint.put("/v1/fixtures/<slug>")
@may(DESK)
@blueprint.arguments(FixtureChangeSchema)
@blueprint.response(200, FixtureSchema, headers=TAGGED)
@blueprint.refuses(403, 404, 412, 428)
@blueprint.doc(parameters=[IF_MATCH])
def replace_fixture(body: dict[str, Any], slug: str) -> Response:
    """Replace a fixture type of the desk's own."""
    catalogue = current_catalogue()
    _refuse_shipped(slug)
    if body.get("slug") not in (None, slug):
        raise invalid_body([Fault("/slug", f"The slug stays {quoted(slug)}, as in the address.")])
    changed = own_fixture(body, slug, catalogue)
    with writing() as session:
        own.replace(
            session,
            changed,
            caller().id,
            lambda current: require_match(tag(_bytes(current, catalogue))),
        )
    return tagged(_bytes(changed, catalogue))


@blueprint.delete("/v1/fixtures/<slug>")
@may(DESK)
@blueprint.response(204)
@blueprint.refuses(403, 404, 412, 428)
@blueprint.doc(parameters=[IF_MATCH])
def remove_fixture(slug: str) -> Response:
    """Take a fixture type of the desk's own out of the catalogue."""
    catalogue = current_catalogue()
    _refuse_shipped(slug)
    with writing() as session:
        own.remove(session, slug, lambda current: require_match(tag(_bytes(current, catalogue))))
    return Response(status=204)


def document(fixture: FixtureType, catalogue: Catalogue, voltage_v: float) -> dict[str, Any]:
    """A fixture type as it is shown, with what it draws at a voltage."""
    branch_v = catalogue.search.branch_voltage_v(fixture, voltage_v)
    version = catalogue.version_for(fixture, branch_v) or fixture.input_ranges_v[0]
    return {
        **dataclasses.asdict(fixture),
        "input_voltage_v": version,
        "at_voltage": _drawn(catalogue.at_voltage(fixture, voltage_v)),
        "also_at": [
            drawn
            for usual_v in USUAL_V
            if (drawn := _drawn(catalogue.at_voltage(fixture, usual_v))) is not None
        ],
        "own": fixture.slug not in state().shipped.fixtures,
    }


def _drawn(at: AtVoltage | None) -> dict[str, float] | None:
    if at is None:
        return None
    return {
        "voltage_v": at.voltage_v,
        "current_a": round(at.current_a, 2),
        "apparent_va": round(at.apparent_va, 1),
    }


def _bytes(fixture: FixtureType, catalogue: Catalogue) -> bytes:
    """What GET without parameters answers: its tag is the one for ``If-Match``."""
    return json_bytes(document(fixture, catalogue, VOLTAGE_V))


def _voltage(query: dict[str, Any], catalogue: Catalogue) -> float:
    voltage_v: float | None = query.get("voltage_v")
    if query.get("region") is None:
        return voltage_v or VOLTAGE_V
    region = known_parameter(catalogue.regions, query["region"], "region")
    return voltage_v or region.systems[0].line_to_neutral_v


def _refuse_shipped(slug: str) -> None:
    if slug in state().shipped.fixtures:
        raise Problem(
            403,
            "This type is shipped with the service and is the same everywhere; add one of your own "
            "under another slug.",
        )
