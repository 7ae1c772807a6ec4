"""``/v1/startup`` and ``/v1/layouts/{id}/startup``: how a set-up is started and stopped."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from flask import Response

from evenboard import ENGINE_VERSION
from evenboard.api.access import PUBLIC, may
from evenboard.api.answer import as_json, json_bytes
from evenboard.api.etag import TAGGED, tagged
from evenboard.api.problem import invalid_body
from evenboard.api.saved_layout import ALL, opened, read_layout
from evenboard.api.schemas.layouts import LayoutSchema
from evenboard.api.schemas.startup import StartupQuerySchema, StartupSchema
from evenboard.api.spec import Blueprint
from evenboard.api.state import current_catalogue, state
from evenboard.balance import NOTICE
from evenboard.desk.startup import Step, startup
from evenboard.electrics.layout import Layout
from evenboard.intake import Fault
from evenboard.intake.nearest import nearest, quoted

__all__ = ["blueprint"]

blueprint = Blueprint("startup", __name__, description="Starting a supply up and stopping it")


@blueprint.post("/v1/startup")
@may(PUBLIC)
@blueprint.arguments(StartupQuerySchema, location="query")
@blueprint.arguments(LayoutSchema)
@blueprint.response(200, StartupSchema)
def post_startup(query: dict[str, Any], layout: Layout) -> Response:
    """List how a set-up of a layout is started and stopped, step by step. Nothing is stored.

    Lamps come in the order that suits breakers and generator; what stands around them is common
    practice, and what only a licensed or qualified person may do is told as that person's.
    """
    return as_json(_told(layout, query.get("setup"), None))


@blueprint.get("/v1/layouts/<layout_id>/startup")
@may(*ALL)
@blueprint.arguments(StartupQuerySchema, location="query")
@blueprint.response(200, StartupSchema, headers=TAGGED)
@blueprint.refuses(404)
def layout_startup(query: dict[str, Any], layout_id: str) -> Response:
    """List how a saved layout is started and stopped; loads that are not plugged in are left out.

    The set-up that burns by default.
    """
    with state().store.reading() as session:
        saved = opened(session, layout_id)
    return tagged(json_bytes(_told(read_layout(saved.body), query.get("setup"), saved.burning)))


def _told(layout: Layout, wanted: str | None, burning: str | None) -> dict[str, Any]:
    name = wanted or burning or layout.setups[0]
    if name not in layout.setups:
        close = nearest(name, layout.setups, 1) or layout.setups[:1]
        detail = f"There is no set-up {quoted(name)}. Nearest: {close[0]}."
        raise invalid_body([Fault("/setup", detail)])
    found = startup(layout, layout.setups.index(name))
    return {
        "setup": found.setup,
        "start": [_step(step) for step in found.start],
        "stop": [_step(step) for step in found.stop],
        "cautions": list(found.cautions),
        "engine_version": ENGINE_VERSION,
        "catalogue_version": current_catalogue().version,
        "notice": NOTICE,
    }


def _step(step: Step) -> dict[str, Any]:
    told = asdict(step)
    if step.running_a is not None:
        told["running_a"] = {line: round(a, 2) + 0.0 for line, a in step.running_a.items()}
    for name in ("peak_a", "step_pct"):
        if told[name] is not None:
            told[name] = round(told[name], 2) + 0.0
    return told
