"""``/v1/layouts``: saved layouts, whole: list, save, show, replace, remove, balance."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from flask import Response, request, url_for

from evenboard import ENGINE_VERSION
from evenboard.api.access import CREW, DESK, caller, may
from evenboard.api.answer import json_bytes
from evenboard.api.etag import IF_MATCH, TAGGED, require_match, tag, tagged, versions_read
from evenboard.api.idempotency import IDEMPOTENCY_KEY, once
from evenboard.api.lists import PAGE, page_answer
from evenboard.api.paging import moment_page
from evenboard.api.problem import Problem
from evenboard.api.saved_layout import (
    ALL,
    check_burning,
    document,
    event_document,
    opened,
    read_layout,
    said_by,
)
from evenboard.api.schemas.balance import BalanceSchema
from evenboard.api.schemas.saved import (
    LayoutQuerySchema,
    NewLayoutSchema,
    ReplacedLayoutSchema,
    SavedLayoutPageSchema,
    SavedLayoutSchema,
)
from evenboard.api.spec import Blueprint
from evenboard.api.state import current_catalogue, state
from evenboard.api.tagged import filled_in, standing
from evenboard.api.writing import say, writing
from evenboard.balance import NOTICE, balance, balance_document, common_types
from evenboard.desk.differences import differences
from evenboard.desk.layouts import as_before
from evenboard.intake.nearest import quoted
from evenboard.store import Session, layouts, orders
from evenboard.store.errors import ChangedMeanwhile, NotThere
from evenboard.store.layouts import SavedLayout

__all__ = ["blueprint"]

blueprint = Blueprint("layouts", __name__, description="Saved layouts, shared by many phones")


@blueprint.get("/v1/layouts")
@may(CREW, DESK)
@blueprint.arguments(LayoutQuerySchema, location="query")
@blueprint.response(200, SavedLayoutPageSchema, headers=TAGGED)
def saved_layouts(query: dict[str, Any]) -> Response:
    """List saved layouts, the latest first.

    A crew link lists those of its order.
    """
    who = caller()
    asked = {"order_ref": query.get("order_ref"), "q": query.get("q")}
    if who.role is CREW:
        if asked["order_ref"] not in (None, who.order_ref):
            raise NotThere(f"This link opens no order {quoted(str(asked['order_ref']))}.")
        asked["order_ref"] = who.order_ref
    with state().store.reading() as session:
        part = moment_page(
            lambda after, limit: layouts.listing(session, limit=limit, after=after, **asked),
            lambda saved: (saved.created_at, saved.id),
            query.get("limit") or PAGE,
            query.get("cursor"),
            asked,
        )
    items = [document(saved) for saved in part.items]
    for item in items:
        del item["body"]
    return page_answer(part, items)


@blueprint.post("/v1/layouts")
@may(DESK)
@blueprint.arguments(NewLayoutSchema)
@blueprint.response(201, SavedLayoutSchema, headers=TAGGED)
@blueprint.doc(parameters=[IDEMPOTENCY_KEY])
def save_layout(body: dict[str, Any]) -> Response:
    """Save a layout, to be shared by links.

    Its loads may be loose: on the list and not plugged in yet.
    """
    given = body["body"]
    check_burning(body.get("burning"), given.layout)

    def create(session: Session) -> Response:
        name = body.get("name") or given.layout.name or "Layout"
        if body.get("order_ref") is not None:
            orders.known(session, body["order_ref"], said_by(body))
        saved = layouts.add(
            session,
            name=name,
            order_ref=body.get("order_ref"),
            body=given.body,
            burning=body.get("burning"),
            who=caller().who,
            by=said_by(body),
        )
        say(f"Saved layout {name}.")
        response = _answer(saved, 201)
        response.headers["Location"] = url_for("layouts.saved_layout", layout_id=saved.id)
        return response

    return once(create)


@blueprint.get("/v1/layouts/<layout_id>")
@may(*ALL)
@blueprint.response(200, SavedLayoutSchema, headers=TAGGED)
@blueprint.refuses(404)
def saved_layout(layout_id: str) -> Response:
    """Show a saved layout as it is now."""
    with state().store.reading() as session:
        return _answer(opened(session, layout_id))


@blueprint.put("/v1/layouts/<layout_id>")
@may(DESK)
@blueprint.arguments(ReplacedLayoutSchema)
@blueprint.response(200, SavedLayoutSchema, headers=TAGGED)
@blueprint.refuses(404, 412, 428)
@blueprint.doc(parameters=[IF_MATCH])
def replace_layout(body: dict[str, Any], layout_id: str) -> Response:
    """Put a whole layout in place of a saved one.

    A refusal with 412 lists in `changes` what others did since. For what is done on set, small
    changes (`POST …/changes`) let several people work at once.
    """
    given = body["body"]

    def make(session: Session, saved: SavedLayout) -> tuple[SavedLayout, dict[str, Any]]:
        _require_match(session, saved)
        kept = saved.burning if saved.burning in given.layout.setups else None
        after = replace(
            saved,
            name=body.get("name") or saved.name,
            order_ref=body.get("order_ref", saved.order_ref),
            body=given.body,
            burning=body.get("burning", kept),
        )
        check_burning(after.burning, given.layout)
        if after.order_ref is not None:
            orders.known(session, after.order_ref, said_by(body))
        found = differences(saved.body, after.body, (saved.burning, after.burning))
        words = [words for words, _ in found]
        words += [
            f"Changed {name} to {getattr(after, name) or 'none'}."
            for name in ("name", "order_ref")
            if getattr(saved, name) != getattr(after, name)
        ]
        return after, {
            "words": words,
            "touches": sorted({touch for _, touches in found for touch in touches}),
            "before": {"body": saved.body, "burning": saved.burning},
        }

    with writing() as session:
        who, name = caller().who, said_by(body)
        saved, _ = layouts.change(
            session, layout_id, who, name, "replaced", lambda saved: make(session, saved)
        )
        say(f"Replaced layout {saved.name}.")
        return _answer(saved)


@blueprint.delete("/v1/layouts/<layout_id>")
@may(DESK)
@blueprint.response(204)
@blueprint.refuses(404, 412, 428)
@blueprint.doc(parameters=[IF_MATCH])
def remove_layout(layout_id: str) -> Response:
    """Take a saved layout out of sight; its history is kept, its links open nothing any more."""
    with writing() as session:
        who = caller()

        def check(saved: SavedLayout) -> None:
            _require_match(session, saved)
            say(f"Removed layout {saved.name}.")

        layouts.remove(session, layout_id, who.who, who.name, check)
    return Response(status=204)


@blueprint.get("/v1/layouts/<layout_id>/versions/<int:version>")
@may(*ALL)
@blueprint.response(200, SavedLayoutSchema, headers=TAGGED)
@blueprint.refuses(404)
def layout_version(layout_id: str, version: int) -> Response:
    """Show a saved layout as it was in an earlier version."""
    with state().store.reading() as session:
        saved = opened(session, layout_id)
        if not 1 <= version <= saved.version:
            raise NotThere(f"There is no version {version}; they go from 1 to {saved.version}.")
        made = layouts.event(session, layout_id, version)
        later = list(layouts.events(session, layout_id, after=version, limit=saved.version))
    body, burning = as_before(saved.body, saved.burning, (e.document for e in reversed(later)))
    return _answer(
        replace(
            saved,
            body=body,
            burning=burning,
            version=version,
            updated_at=made.at,
            updated_by=made.by,
        )
    )


@blueprint.get("/v1/layouts/<layout_id>/balance")
@may(*ALL)
@blueprint.response(200, BalanceSchema, headers=TAGGED)
@blueprint.refuses(404, 422)
def layout_balance(layout_id: str) -> Response:
    """Balance a saved layout as it is now; loads that are not plugged in count as off."""
    with state().store.reading() as session:
        saved = opened(session, layout_id)
    catalogue = current_catalogue()
    layout = read_layout(saved.body)
    equipment = standing(layout, order_ref=saved.order_ref, layout_id=saved.id)
    made_from = f"{saved.id} {saved.version} {catalogue.version} {ENGINE_VERSION}".encode()
    if equipment:
        # What is on record of a piece, and its state, change without the layout.
        body, _ = filled_in(saved.body, strict=False)
        made_from += json_bytes(body, ordered=True) + repr(sorted(equipment.items())).encode()
    mark = tag(made_from)
    if mark in request.if_none_match:
        # Known by what it is made from, before anything is solved.
        return tagged(b"", mark=mark)
    result = balance(layout, common=common_types(catalogue, layout), equipment=equipment)
    told = {
        **balance_document(result),
        "engine_version": ENGINE_VERSION,
        "catalogue_version": catalogue.version,
        "notice": NOTICE,
    }
    return tagged(json_bytes(told), mark=mark)


def _bytes(saved: SavedLayout) -> bytes:
    # The names in order: what the store gives back has another order than what was sent.
    return json_bytes(document(saved), ordered=True)


def _mark(saved: SavedLayout) -> str:
    # The version in front lets a refusal say what was done since.
    return f"{saved.version}.{tag(_bytes(saved))}"


def _answer(saved: SavedLayout, status: int = 200) -> Response:
    return tagged(_bytes(saved), status=status, mark=_mark(saved))


def _require_match(session: Session, saved: SavedLayout) -> None:
    """As for every change, but the refusal says what others did since."""
    try:
        require_match(_mark(saved))
    except ChangedMeanwhile as error:
        since = max(versions_read(), default=saved.version)
        events = layouts.events(session, saved.id, after=since, limit=100)
        raise Problem(
            412,
            str(error),
            kind="changed-meanwhile",
            more={"version": saved.version, "changes": [event_document(e) for e in events]},
        ) from None
