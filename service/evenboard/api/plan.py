"""``POST /v1/plan``: which load on which outlet. Needs no account, changes nothing."""

from __future__ import annotations

from flask import Response

from evenboard import ENGINE_VERSION
from evenboard.api.access import PUBLIC, may
from evenboard.api.answer import as_json, wanted
from evenboard.api.balance import CSV, JSON, balance_answer, balanced, phase_table_answer
from evenboard.api.schemas.plan import PlanBodySchema, PlanSchema
from evenboard.api.spec import Blueprint
from evenboard.api.state import current_catalogue
from evenboard.balance import NOTICE
from evenboard.electrics.layout import Layout
from evenboard.planning import PlanOptions, apply, plan, plan_document

__all__ = ["blueprint"]

blueprint = Blueprint("plan", __name__, description="Which load on which outlet")


@blueprint.post("/v1/plan")
@may(PUBLIC)
@blueprint.arguments(PlanBodySchema)
@blueprint.response(200, PlanSchema)
@blueprint.alt_response(200, schema={"type": "string"}, content_type=CSV, success=True)
@blueprint.refuses(406)
def post_plan(asked: tuple[Layout, PlanOptions]) -> Response:
    """Plan the plugs of a layout.

    Even in every set-up, then in the fewest moves; no rating, connector or pin is broken, on the
    way neither. `before` has the loose loads left out. Nothing is stored. `Accept: text/csv` gives
    the phase table of the plan.
    """
    layout, options = asked
    form = wanted((JSON, CSV))
    found = plan(layout, options)
    after = balanced(apply(layout, found))
    if form == CSV:
        return phase_table_answer(after)
    return as_json(
        {
            **plan_document(found),
            "before": balance_answer(balanced(layout)),
            "after": balance_answer(after),
            "engine_version": ENGINE_VERSION,
            "catalogue_version": current_catalogue().version,
            "notice": NOTICE,
        }
    )
