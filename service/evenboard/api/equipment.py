"""``/v1/equipment``: the desk's cables, boards and adapters by asset tag."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields
from datetime import timedelta
from typing import Any

from flask import Response, url_for

from evenboard.api.access import DESK, caller, may
from evenboard.api.answer import wanted
from evenboard.api.balance import CSV, JSON
from evenboard.api.etag import IF_MATCH, TAGGED
from evenboard.api.idempotency import IDEMPOTENCY_KEY, once
from evenboard.api.lists import PAGE, page_answer
from evenboard.api.paging import keyed_page, page
from evenboard.api.piece import answer, documents, matching, refusal
from evenboard.api.practice import practice, seen, today
from evenboard.api.problem import invalid_body
from evenboard.api.saved_layout import said_by
from evenboard.api.schemas.equipment import (
    DueQuerySchema,
    EquipmentQuerySchema,
    NewPieceSchema,
    RecordBodySchema,
)
from evenboard.api.schemas.equipment_answers import EquipmentPageSchema, PieceSchema
from evenboard.api.spec import Blueprint
from evenboard.api.state import current_catalogue, state
from evenboard.api.writing import say, writing
from evenboard.desk import stocklist
from evenboard.desk.descriptions import record_faults
from evenboard.desk.equipment import PieceRefused, amend, enter, retire
from evenboard.desk.testing import due_by, due_on
from evenboard.intake import Fault
from evenboard.store import Session, equipment
from evenboard.store.equipment import Told
from evenboard.store.errors import AlreadyThere
from evenboard.store.piece import Piece, Record
from evenboard.store.plain import as_plain

__all__ = ["amended", "blueprint", "record_of"]

MOST_DUE = 5000
"""Due pieces that are put in order: more than a bench tests in months (estimate)."""
MOST_EXPORTED = 100_000
"""Pieces in one file: far beyond a large desk's stock, and still a few seconds (estimate)."""
SOON_DAYS = 14
"""How far ahead what falls due is listed where the desk does not say: two weeks (estimate)."""

blueprint = Blueprint("equipment", __name__, description="The desk's equipment by asset tag")


@blueprint.get("/v1/equipment")
@may(DESK)
@blueprint.arguments(EquipmentQuerySchema, location="query")
@blueprint.response(200, EquipmentPageSchema, headers=TAGGED)
@blueprint.alt_response(200, schema={"type": "string"}, content_type=CSV, success=True)
@blueprint.refuses(406)
def pieces(query: dict[str, Any]) -> Response:
    """List pieces of equipment by tag.

    Retired ones are listed with `state=retired` only. `Accept: text/csv` gives all of them that
    fit as a file, which `POST /v1/equipment-imports` takes back.
    """
    form = wanted((JSON, CSV))
    day = query.get("due_by")
    asked = {name: query.get(name) for name in ("q", "kind", "state", "order_ref")}
    due = due_by(day, practice()) if day else None
    with state().store.reading() as session:
        if form == CSV:
            found = equipment.listing(session, limit=MOST_EXPORTED, due=due, **asked)
            return _file(stocklist.written(found, practice()))
        part = keyed_page(
            lambda last, limit: equipment.listing(
                session, limit=limit, after=last, due=due, **asked
            ),
            lambda piece: piece.tag,
            query.get("limit") or PAGE,
            query.get("cursor"),
            {**asked, "due_by": day},
        )
    return page_answer(part, documents(part.items))


def _file(text: str) -> Response:
    response = Response(text, content_type=f"{CSV}; charset=utf-8; header=present")
    response.headers["Content-Disposition"] = 'attachment; filename="equipment.csv"'
    response.headers["Cache-Control"] = "no-store"
    return response


@blueprint.get("/v1/equipment-due")
@may(DESK)
@blueprint.arguments(DueQuerySchema, location="query")
@blueprint.response(200, EquipmentPageSchema, headers=TAGGED)
def due_pieces(query: dict[str, Any]) -> Response:
    """List pieces due for a test soon, the longest overdue first.

    Withdrawn and retired ones are not among them.
    """
    within = query.get("within_days", SOON_DAYS)
    rule = practice()
    day = today() + timedelta(days=within)
    with state().store.reading() as session:
        found = equipment.listing(session, limit=MOST_DUE, due=due_by(day, rule))
    found = sorted(found, key=lambda piece: (due_on(piece, rule), piece.tag))
    part = page(
        found,
        lambda piece: piece.tag,
        query.get("limit") or PAGE,
        query.get("cursor"),
        {"within_days": within},
    )
    return page_answer(part, documents(part.items))


@blueprint.post("/v1/equipment")
@may(DESK)
@blueprint.arguments(NewPieceSchema)
@blueprint.response(201, PieceSchema, headers=TAGGED)
@blueprint.refuses(409)
@blueprint.doc(parameters=[IDEMPOTENCY_KEY])
def add_piece(body: dict[str, Any]) -> Response:
    """Put a piece of equipment on the desk's list, in service."""
    record = record_of(body)
    tag = body["tag"]

    def create(session: Session) -> Response:
        told = Told("added", (f"Added {tag}.",))
        try:
            piece = equipment.add(
                session, enter(Piece(tag, record), today()), caller().who, said_by(body), told
            )
        except AlreadyThere as taken:
            raise AlreadyThere(
                f"{taken} Its history is kept under that tag, also when it is retired."
            ) from None
        say(f"Added equipment {tag}.")
        response = answer(piece, 201)
        response.headers["Location"] = url_for("equipment.piece", tag=tag)
        return response

    return once(create)


@blueprint.get("/v1/equipment/<path:tag>")
@may(DESK)
@blueprint.response(200, PieceSchema, headers=TAGGED)
@blueprint.refuses(404)
def piece(tag: str) -> Response:
    """Show a piece of equipment as it is now."""
    with state().store.reading() as session:
        return answer(equipment.get(session, tag))


@blueprint.put("/v1/equipment/<path:tag>")
@may(DESK)
@blueprint.arguments(RecordBodySchema)
@blueprint.response(200, PieceSchema, headers=TAGGED)
@blueprint.refuses(404, 409, 412, 428)
@blueprint.doc(parameters=[IF_MATCH])
def change_piece(body: dict[str, Any], tag: str) -> Response:
    """Write the record of a piece anew; where it is and whether it is fit stay as they are.

    A refusal with 412 lists in `changes` what others did since.
    """
    record = record_of(body)

    def make(session: Session, before: Piece) -> tuple[Piece, Told]:
        matching(session, before)
        return amended(before, record)

    return _changed(tag, body, make)


@blueprint.delete("/v1/equipment/<path:tag>")
@may(DESK)
@blueprint.response(200, PieceSchema, headers=TAGGED)
@blueprint.refuses(404, 409, 412, 428)
@blueprint.doc(parameters=[IF_MATCH])
def retire_piece(tag: str) -> Response:
    """Take a piece out of the stock; its history is kept and its tag stays taken."""

    def make(session: Session, before: Piece) -> tuple[Piece, Told]:
        matching(session, before)
        return retire(before, seen(caller().name)), Told("retired", (f"Retired {tag}.",))

    return _changed(tag, {}, make)


def _changed(tag: str, body: Mapping[str, Any], make: Any) -> Response:
    with writing() as session:
        by = said_by(body)
        try:
            made, did = equipment.change(
                session, tag, caller().who, by, lambda before: make(session, before)
            )
        except PieceRefused as refused:
            raise refusal(session, refused) from None
        say(f"{'Changed' if did else 'Changed nothing of'} equipment {tag}.")
        if made.standing.retired_at is not None:
            say(f"Retired equipment {tag}.")
        return answer(made)


def record_of(body: Mapping[str, Any]) -> Record:
    """The record that a body describes. Raises a 422 problem with what is wrong in it."""
    given = {f.name: body[f.name] for f in fields(Record) if body.get(f.name) is not None}
    record = Record(**given)
    faults = record_faults(record, current_catalogue(), today())
    if faults:
        raise invalid_body([Fault(f"/{name}", detail) for name, detail in faults.items()])
    return record


def amended(before: Piece, record: Record) -> tuple[Piece, Told]:
    """A piece with another record, and what to tell of that."""
    after = amend(before, record, today())
    named = [
        f.name for f in fields(Record) if getattr(before.record, f.name) != getattr(record, f.name)
    ]
    old, new = as_plain(before.record), as_plain(record)
    more = {"changed": {name: {"was": old[name], "now": new[name]} for name in named}}
    return after, Told("changed", (f"Changed {', '.join(named)} of {before.tag}.",), more=more)
