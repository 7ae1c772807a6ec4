"""Plans: which load on which outlet, which board would do, what a board still takes.

They need no account and change nothing.
"""

from __future__ import annotations

from typing import Any

from flask import Response

from evenboard import ENGINE_VERSION
from evenboard.api.access import PUBLIC, may
from evenboard.api.answer import as_json, wanted
from evenboard.api.balance import CSV, JSON, balance_answer, balanced, phase_table_answer
from evenboard.api.schemas.choosing import (
    ChoicesSchema,
    ListAsked,
    ListBodySchema,
    MoreAsked,
    MoreBodySchema,
    TakingSchema,
)
from evenboard.api.schemas.plan import PlanBodySchema, PlanSchema
from evenboard.api.spec import Blueprint
from evenboard.api.state import current_catalogue
from evenboard.balance import NOTICE
from evenboard.electrics.layout import Layout
from evenboard.planning import (
    Choice,
    PlanOptions,
    apply,
    choose_boards,
    plan,
    plan_document,
    take_more,
)

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


CHOICES = 3
"""Boards that carry the list, each on a larger supply than the one before."""


@blueprint.post("/v1/plan/boards")
@may(PUBLIC)
@blueprint.arguments(ListBodySchema)
@blueprint.response(200, ChoicesSchema)
def post_plan_boards(asked: ListAsked) -> Response:
    """Find the smallest board and supply that carry a lighting list.

    Generic boards of the region, alone or with others on their outlets, from small to large: the
    last that are too small and why, then up to three that carry every load with the spare kept,
    planned. How the loads are plugged now does not count. Nothing is stored.
    """
    catalogue = current_catalogue()
    choices = choose_boards(
        *(asked.body, catalogue, asked.system), spare_pct=asked.spare_pct, most=CHOICES
    )
    return as_json(
        {
            "choices": [_choice(choice) for choice in choices],
            "spare_pct": asked.spare_pct,
            "engine_version": ENGINE_VERSION,
            "catalogue_version": catalogue.version,
            "notice": NOTICE,
        }
    )


def _choice(choice: Choice) -> dict[str, Any]:
    carries = choice.plan is not None and not choice.why
    candidate, found = choice.candidate, choice.plan
    places = {} if found is None else {a.load: a.place for a in found.assignments}
    verdict = None
    if found is not None and choice.layout is not None and carries:
        verdict = balanced(apply(choice.layout, found)).verdict
    types = [candidate.main, *(each.type for each in candidate.hung)]
    loads = [
        load
        if (place := places.get(load["id"])) is None
        else {**load, "board": place.board, "outlet": place.outlet}
        for load in choice.body["loads"]
    ]
    return {
        "carries": carries,
        "supply": {
            "system": candidate.main.system,
            "rating_a": candidate.rating_a,
        },
        "boards": candidate.boards(),
        "names": [board.name for board in types],
        "outlets": candidate.seats,
        "worst_phase_a": None if found is None else round(found.worst_phase_a, 2),
        "headroom_a": None if found is None else round(candidate.rating_a - found.worst_phase_a, 2),
        "spread_a": None if found is None else round(found.spread_a, 2),
        "verdict": verdict,
        "why": list(choice.why),
        "layout": {**choice.body, "loads": loads},
    }


@blueprint.post("/v1/plan/more")
@may(PUBLIC)
@blueprint.arguments(MoreBodySchema)
@blueprint.response(200, TakingSchema)
def post_plan_more(asked: MoreAsked) -> Response:
    """Count how many more of a lamp a board can take, and say where they go.

    What is plugged stays where it is, unless `may_move`. No rating, connector or residual-current
    device is passed in any set-up. Nothing is stored.
    """
    catalogue = current_catalogue()
    found = take_more(
        *(asked.body, asked.lamp, catalogue), spare_a=asked.spare_a, may_move=asked.may_move
    )
    document = plan_document(found.plan)
    return as_json(
        {
            "count": len(found.more),
            "and_more": len(found.more) == found.asked,
            "proven": found.plan.proven.placed,
            "by_line": found.by_line,
            "outlets": [{"board": a.place.board, "outlet": a.place.outlet} for a in found.more],
            "moves": found.plan.moves,
            "steps": document["steps"],
            "phases_a": document["phases_a"],
            "why": found.why,
            "engine_version": ENGINE_VERSION,
            "catalogue_version": catalogue.version,
            "notice": NOTICE,
        }
    )
