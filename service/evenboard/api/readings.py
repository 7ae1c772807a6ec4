"""``/v1/readings`` and those of a saved layout: clamp-meter amps beside the expected ones."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

from flask import Response, url_for

from evenboard import ENGINE_VERSION
from evenboard.api.access import CREW, DESK, PLUG, PUBLIC, caller, may
from evenboard.api.answer import as_json, json_bytes, moment
from evenboard.api.etag import TAGGED, tagged
from evenboard.api.idempotency import IDEMPOTENCY_KEY, once
from evenboard.api.lists import PAGE, page_answer
from evenboard.api.paging import moment_page
from evenboard.api.problem import invalid_body
from evenboard.api.saved_layout import ALL, opened, read_layout, said_by
from evenboard.api.schemas.queries import PageQuerySchema
from evenboard.api.schemas.readings import (
    AssessedSchema,
    ReadingBodySchema,
    ReadingPageSchema,
    ReadingSchema,
    SentReadingSchema,
)
from evenboard.api.spec import Blueprint
from evenboard.api.state import current_catalogue, state
from evenboard.api.writing import say
from evenboard.balance import NOTICE
from evenboard.desk.readings import Assessment, Measured, assess
from evenboard.electrics.layout import Layout
from evenboard.intake import Fault
from evenboard.intake.nearest import nearest, quoted
from evenboard.store import Session, readings
from evenboard.store.readings import Reading

__all__ = ["blueprint", "document"]

FAST_CLOCK = timedelta(hours=26)
"""How far ahead a phone's clock may be: a wrong zone, not a wrong year."""

blueprint = Blueprint("readings", __name__, description="Clamp-meter readings")


@blueprint.post("/v1/readings")
@may(PUBLIC)
@blueprint.arguments(SentReadingSchema)
@blueprint.response(200, AssessedSchema)
def assess_reading(body: dict[str, Any]) -> Response:
    """Hold a clamp-meter reading against a layout that is sent along. Nothing is stored."""
    return as_json(_assessed(body, body["layout"].layout, None))


@blueprint.post("/v1/layouts/<layout_id>/readings")
@may(CREW, PLUG, DESK)
@blueprint.arguments(ReadingBodySchema)
@blueprint.response(201, ReadingSchema)
@blueprint.refuses(404)
@blueprint.doc(parameters=[IDEMPOTENCY_KEY])
def add_reading(body: dict[str, Any], layout_id: str) -> Response:
    """Post a clamp-meter reading and hear what it means.

    The answer has the expected amps beside the measured ones, and what would explain a
    difference: a lamp that is off, on another line, something unlisted, another set-up.
    """

    def create(session: Session) -> Response:
        saved = opened(session, layout_id)
        told = _assessed(body, read_layout(saved.body), saved.burning)
        taken_at = _taken_at(body)
        reading = readings.add(
            session,
            layout_id=saved.id,
            version=saved.version,
            taken_at=taken_at,
            who=caller().who,
            by=said_by(body),
            document=told,
        )
        say(f"Posted a reading: {told['summary']}")
        response = as_json(document(reading), status=201)
        response.headers["Location"] = url_for(
            "readings.layout_reading", layout_id=saved.id, reading_id=reading.id
        )
        return response

    return once(create, growing="age_s")


@blueprint.get("/v1/layouts/<layout_id>/readings")
@may(*ALL)
@blueprint.arguments(PageQuerySchema, location="query")
@blueprint.response(200, ReadingPageSchema, headers=TAGGED)
@blueprint.refuses(404)
def layout_readings(query: dict[str, Any], layout_id: str) -> Response:
    """List the readings of a layout, the latest taken first."""
    with state().store.reading() as session:
        saved = opened(session, layout_id)
        part = moment_page(
            lambda before, limit: readings.listing(session, saved.id, limit=limit, before=before),
            lambda reading: (reading.taken_at, reading.id),
            query.get("limit") or PAGE,
            query.get("cursor"),
            {"layout": layout_id},
        )
    items = [document(reading) for reading in part.items]
    return page_answer(part, items)


@blueprint.get("/v1/layouts/<layout_id>/readings/<reading_id>")
@may(*ALL)
@blueprint.response(200, ReadingSchema, headers=TAGGED)
@blueprint.refuses(404)
def layout_reading(layout_id: str, reading_id: str) -> Response:
    """Show one reading as it was answered."""
    with state().store.reading() as session:
        saved = opened(session, layout_id)
        return tagged(json_bytes(document(readings.get(session, saved.id, reading_id))))


def document(reading: Reading) -> dict[str, Any]:
    """A reading as it is shown."""
    return {
        **reading.document,
        "id": reading.id,
        "layout_id": reading.layout_id,
        "version": reading.version,
        "by": reading.by,
        "role": reading.who.role,
        "at": moment(reading.taken_at),
        "received_at": moment(reading.received_at),
    }


def _assessed(body: dict[str, Any], layout: Layout, burning: str | None) -> dict[str, Any]:
    """What was measured, what was expected, and what that means."""
    setup, board = _place(body, burning, layout)
    phases = {name: amps for name, amps in body["phases"].items() if amps is not None}
    measured = Measured(phases, body.get("neutral"), body.get("meter") or "true-rms")
    _check_conductors(measured, layout, board)
    found = assess(layout, measured, setup, board)
    return {
        "setup": layout.setups[setup],
        "board": body.get("board"),
        "meter": measured.meter,
        "note": body.get("note") or "",
        "phases": phases,
        "neutral": measured.neutral,
        **_told(found),
        "engine_version": ENGINE_VERSION,
        "catalogue_version": current_catalogue().version,
        "notice": NOTICE,
    }


def _place(body: dict[str, Any], burning: str | None, layout: Layout) -> tuple[int, int | None]:
    """Which set-up burns, and at which board it was clamped."""
    faults = []
    setup = body.get("setup") or burning
    if setup is None and len(layout.setups) == 1:
        setup = layout.setups[0]
    if setup is None:
        names = ", ".join(layout.setups[:5])
        faults.append(Fault("/setup", f"Which set-up burns? This layout has {names}."))
    elif setup not in layout.setups:
        close = nearest(setup, layout.setups, 1) or layout.setups[:1]
        detail = f"There is no set-up {quoted(setup)}. Nearest: {close[0]}."
        faults.append(Fault("/setup", detail))
    boards = [board.id for board in layout.boards]
    board = body.get("board")
    if board is not None and board not in boards:
        close = nearest(board, boards, 1) or boards[:1]
        detail = f"There is no board {quoted(board)}. Nearest: {', '.join(close)}."
        faults.append(Fault("/board", detail))
    if faults:
        raise invalid_body(faults)
    return layout.setups.index(str(setup)), None if board is None else boards.index(board)


def _check_conductors(measured: Measured, layout: Layout, board: int | None) -> None:
    place = layout.supply if board is None else layout.boards[board]
    faults = [
        Fault(f"/phases/{name}", f"There is no {name} here; there is {', '.join(place.lines)}.")
        for name in measured.phases
        if name not in place.lines
    ]
    if measured.neutral is not None and not place.neutral:
        faults.append(Fault("/neutral", "There is no neutral here."))
    if faults:
        raise invalid_body(faults)


def _told(found: Assessment | None) -> dict[str, Any]:
    if found is None:
        return {
            "expected": None,
            "true_rms": None,
            "fits": None,
            "summary": "The plan of this set-up has no solution, so nothing can be expected of it.",
            "differences": [],
            "explanations": [],
            "hypotheses": [],
            "cautions": [],
        }
    return {
        "expected": _levels(found.expected),
        "true_rms": _levels(found.true_rms),
        "fits": found.fits,
        "summary": found.summary,
        "differences": [
            {
                "conductor": d.conductor,
                "expected_a": round(d.expected_a, 2),
                "measured_a": d.measured_a,
                "difference_a": round(d.difference_a, 2),
                "tolerance_a": round(d.tolerance_a, 2),
                "fits": d.fits,
            }
            for d in found.differences
        ],
        "explanations": [found.summary] if not found.fits else [],
        "hypotheses": [
            {
                "kind": h.kind,
                "sentence": h.sentence,
                "loads": list(h.loads),
                "left_a": round(h.left_a, 2),
            }
            for h in found.hypotheses
        ],
        "cautions": list(found.cautions),
    }


def _levels(amps: Any) -> dict[str, Any]:
    rounded = {name: round(value, 2) + 0.0 for name, value in amps.items()}
    return {
        "phases": {name: value for name, value in rounded.items() if name != "N"},
        "neutral": rounded.get("N"),
    }


def _taken_at(body: dict[str, Any]) -> datetime:
    """When it was taken, never ahead of now by more than a wrong zone explains."""
    now = datetime.now(UTC)
    at: datetime | None = body.get("at")
    if at is None:
        return now - timedelta(seconds=body.get("age_s") or 0.0)
    if at > now + FAST_CLOCK:
        detail = f"This is not yet: it is {moment(now)} here. Send age_s if the clock is off."
        raise invalid_body([Fault("/at", detail)])
    return at
