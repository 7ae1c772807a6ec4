"""Small changes of a saved layout, made by many phones at once, and what happened to it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

from flask import Response

from evenboard.api.access import DESK, PLUG, caller, may
from evenboard.api.answer import as_json, json_bytes, moment
from evenboard.api.etag import TAGGED, tagged
from evenboard.api.idempotency import IDEMPOTENCY_KEY, once
from evenboard.api.problem import Problem, invalid_body
from evenboard.api.saved_layout import (
    ALL,
    check_burning,
    event_document,
    opened,
    read_layout,
    said_by,
)
from evenboard.api.schemas.saved import (
    ChangesAnswerSchema,
    ChangesBodySchema,
    EventQuerySchema,
    EventsSchema,
)
from evenboard.api.spec import Blueprint
from evenboard.api.state import state
from evenboard.api.writing import say
from evenboard.desk.layouts import CollidingChanges, Collision, apply
from evenboard.intake import Fault, LayoutInvalid
from evenboard.store import Session, layouts
from evenboard.store.layouts import SavedLayout

__all__ = ["ago", "blueprint"]

blueprint = Blueprint("changes", __name__, description="One board, many phones")


@blueprint.post("/v1/layouts/<layout_id>/changes")
@may(PLUG, DESK)
@blueprint.arguments(ChangesBodySchema)
@blueprint.response(200, ChangesAnswerSchema)
@blueprint.refuses(404, 409)
@blueprint.doc(parameters=[IDEMPOTENCY_KEY])
def change_layout(body: dict[str, Any], layout_id: str) -> Response:
    """Make small changes: plug, unplug, move, swap, dim, set, add, remove, burning; and of boards.

    Each says what it believes to be there (`from`, `was`) and is made where that is still so. What
    is so already is no change, so a repeat does no harm. Where somebody else was there first, the
    answer is 409 with both versions in `conflicts`, and none of the changes is made. Changes of
    different lamps and outlets never collide.
    """

    def change(session: Session) -> Response:
        opened(session, layout_id)

        def make(saved: SavedLayout) -> tuple[SavedLayout, dict[str, Any]]:
            try:
                changed = apply(saved.body, saved.burning, body["changes"])
            except CollidingChanges as error:
                raise _collision(session, saved, body["changes"], error.collisions) from None
            if changed.made:
                _check_outcome(changed.body, changed.burning, body["changes"])
            say(" ".join(changed.words) or "Nothing: all of it was so already.")
            named = any(c["op"] == "set-layout" and c["field"] == "name" for c in changed.made)
            after = replace(
                saved,
                body=changed.body,
                burning=changed.burning,
                name=(changed.body.get("name") if named else None) or saved.name,
            )
            return after, {
                "changes": changed.made,
                "undo": changed.undo,
                "touches": changed.touches,
                "words": changed.words,
                "done_at": moment(ago(body)),
            }

        who = caller().who
        saved, did = layouts.change(session, layout_id, who, said_by(body), "changed", make)
        event = layouts.event(session, layout_id, saved.version) if did else None
        return as_json(
            {"version": saved.version, "event": None if event is None else event_document(event)}
        )

    return once(change, growing="age_s")


@blueprint.get("/v1/layouts/<layout_id>/events")
@may(*ALL)
@blueprint.arguments(EventQuerySchema, location="query")
@blueprint.response(200, EventsSchema, headers=TAGGED)
@blueprint.refuses(404)
def layout_events(query: dict[str, Any], layout_id: str) -> Response:
    """Tell what happened to a layout after a version: who, when, what, and what undoes it.

    Phones ask this every second or two; the requests are not counted against the limit. Where
    there is more than `limit`, ask again after the last one.
    """
    after, limit = query.get("after") or 0, query.get("limit") or 100
    with state().store.reading() as session:
        saved = opened(session, layout_id)
        found = layouts.events(session, layout_id, after=after, limit=limit)
    items = [event_document(event) for event in found]
    return tagged(json_bytes({"items": items, "version": saved.version}))


def _check_outcome(
    body: dict[str, Any], burning: str | None, changes: Sequence[Mapping[str, Any]]
) -> None:
    """Refuse changes whose outcome is no layout, with the faults at the changes that made them."""
    try:
        layout = read_layout(body)
    except LayoutInvalid as error:
        raise invalid_body(
            Fault(_change_at(fault.pointer, body, changes), fault.detail) for fault in error.faults
        ) from None
    for index, change in enumerate(changes):
        if change["op"] == "burning" and change["to"] == burning:
            check_burning(burning, layout, f"/changes/{index}/to")


def _change_at(pointer: str, body: dict[str, Any], changes: Sequence[Mapping[str, Any]]) -> str:
    """The place of the last change of what a pointer into the outcome leads to."""
    steps = pointer.split("/")
    kind = steps[1] if len(steps) > 1 else ""
    inside = kind in ("loads", "boards") and len(steps) > 2 and steps[2].isdigit()
    found = body[kind][int(steps[2])]["id"] if inside else kind
    named = {"loads": ("load", "with"), "boards": ("board",)}.get(kind, ("field",))
    whole = {"loads": "add", "boards": "add-board"}.get(kind)
    rest = "".join(f"/{step}" for step in steps[3 if inside else 2 :])
    for index in range(len(changes) - 1, -1, -1):
        change = changes[index]
        if change["op"] == whole and change["new"]["id"] == found:
            return f"/changes/{index}/new{rest}"
        sets = change["op"] == "set-layout"
        if sets == (named == ("field",)) and found in [change.get(name) for name in named]:
            return f"/changes/{index}/to{rest}" if sets else f"/changes/{index}"
    return "/changes"


def _collision(
    session: Session,
    saved: SavedLayout,
    changes: list[dict[str, Any]],
    collisions: tuple[Collision, ...],
) -> Problem:
    """Both versions of every collision: the change that was sent, and who made what is there."""
    conflicts = []
    for collision in collisions:
        event = layouts.last_touch(session, saved.id, collision.touches)
        theirs = None
        if event is not None:
            shown = event_document(event)
            theirs = {name: shown[name] for name in ("version", "by", "role", "at", "done_at")}
            theirs["words"] = shown["words"]
        who = f" {event.by} did that." if event is not None and event.kind != "created" else ""
        conflicts.append(
            {
                "pointer": f"/changes/{collision.index}",
                "detail": f"{collision.detail}{who}",
                "yours": changes[collision.index],
                "now": collision.now,
                "theirs": theirs,
            }
        )
    return Problem(
        409,
        "Somebody else changed the same; nothing was made. See conflicts.",
        kind="colliding-changes",
        errors=[{"pointer": c["pointer"], "detail": c["detail"]} for c in conflicts],
        more={"version": saved.version, "conflicts": conflicts},
    )


def ago(body: Mapping[str, Any]) -> datetime:
    """When something was done, by the service's clock: a phone's own may be wrong."""
    return datetime.now(UTC) - timedelta(seconds=body.get("age_s") or 0.0)
