"""What the routes about a piece of equipment share: changing, showing, saying what changed."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Any

from flask import Response, request

from evenboard.api.access import caller
from evenboard.api.answer import as_json, json_bytes, moment
from evenboard.api.etag import CHANGED, require_if_match, tagged, versions_read
from evenboard.api.etag import tag as tag_of
from evenboard.api.idempotency import once
from evenboard.api.practice import practice, today
from evenboard.api.problem import Problem
from evenboard.api.saved_layout import said_by
from evenboard.api.writing import say
from evenboard.desk.equipment import PieceRefused, unfit
from evenboard.desk.testing import days_overdue, due_on, tested_on
from evenboard.store import Session, equipment
from evenboard.store.equipment import PieceEvent, Told
from evenboard.store.piece import Piece, Test

__all__ = ["answer", "document", "done", "event_document", "matching", "refusal"]

Make = Callable[[Piece], tuple[Piece, Told]]
Notes = Callable[[Session, Piece], list[str]]


def done(
    tag: str,
    body: Mapping[str, Any],
    make: Make,
    notes: Notes | None = None,
    *,
    first: Callable[[Session], None] | None = None,
) -> Response:
    """Let something happen to a piece, once: the answer of every route that does.

    ``notes`` adds what is worth knowing, in the same unit of work; ``first`` is done in it before
    the piece is held.
    """
    by = said_by(body)

    def create(session: Session) -> Response:
        if first is not None:
            first(session)
        try:
            piece, did = equipment.change(session, tag, caller().who, by, _matched(session, make))
        except PieceRefused as refused:
            raise refusal(session, refused) from None
        event = None
        if did:
            event = equipment.events(session, tag, after=piece.version - 1, limit=1)[0]
            say(" ".join(event.document["words"]))
        told = {
            "piece": document(piece),
            "event": None if event is None else event_document(event),
            "warnings": notes(session, piece) if notes else [],
        }
        response = as_json(told, status=201)
        response.set_etag(mark(piece))
        return response

    return once(create)


def _matched(session: Session, make: Make) -> Make:
    def matched(piece: Piece) -> tuple[Piece, Told]:
        if "If-Match" in request.headers:
            matching(session, piece)
        return make(piece)

    return matched


def matching(session: Session, piece: Piece) -> None:
    """Refuse a change that was not made against the piece as it is now.

    The refusal lists what happened since. Only the version counts: the day alone may change the
    rest of what is shown.
    """
    require_if_match()
    versions = versions_read()
    if request.if_match.star_tag or piece.version in versions:
        return
    raise Problem(
        412,
        CHANGED,
        kind="changed-meanwhile",
        more=_since(session, piece, max(versions, default=piece.version)),
    )


def refusal(session: Session, refused: PieceRefused) -> Problem:
    """What cannot be done with a piece, why, and what happened to it last."""
    piece = refused.piece
    reasons = [{"code": reason.code, "detail": reason.detail} for reason in refused.reasons]
    more = {"reasons": reasons, **_since(session, piece, max(0, piece.version - 3))}
    return Problem(409, str(refused), kind="equipment-refused", more=more)


def _since(session: Session, piece: Piece, version: int) -> dict[str, Any]:
    found = equipment.events(session, piece.tag, after=version, limit=100)
    return {"version": piece.version, "changes": [event_document(event) for event in found]}


def mark(piece: Piece) -> str:
    """The tag of a piece's answer: its version in front, for refusals and for ``If-Match``."""
    return f"{piece.version}.{tag_of(json_bytes(document(piece), ordered=True))}"


def answer(piece: Piece, status: int = 200) -> Response:
    """A piece as an answer."""
    return tagged(json_bytes(document(piece)), status=status, mark=mark(piece))


def document(piece: Piece) -> dict[str, Any]:
    """A piece as it is shown."""
    record, standing = piece.record, piece.standing
    rule, day = practice(), today()
    hire, withdrawal = standing.hire, standing.withdrawal
    cause = withdrawal.cause if withdrawal else None
    own = record.test_interval_months
    return {
        "tag": piece.tag,
        "kind": record.kind,
        "name": record.name,
        "cable": record.cable,
        "csa_mm2": record.csa_mm2,
        "length_m": record.length_m,
        "connector": record.connector,
        "board": record.board,
        "fixture": record.fixture,
        "bought_on": _iso(record.bought_on),
        "tested_on": _iso(tested_on(piece)),
        "tested_before_on": _iso(record.tested_on),
        "test_interval_months": own,
        "note": record.note,
        "state": piece.state,
        "fit": not unfit(piece, rule, day),
        "unfit_because": [
            {"code": reason.code, "detail": reason.detail} for reason in unfit(piece, rule, day)
        ],
        "hire": None
        if hire is None
        else {
            "order_ref": hire.order_ref,
            "since": moment(hire.since),
            "until": _iso(hire.until),
            "by": hire.by,
        },
        "withdrawal": None
        if withdrawal is None
        else {
            "since": moment(withdrawal.since),
            "by": withdrawal.by,
            "found": list(withdrawal.found),
            "note": withdrawal.note,
            "cause": None
            if cause is None
            else {
                "cause": cause.code,
                "note": cause.note,
                "by": cause.by,
                "at": moment(cause.at),
            },
            "passed": _test(withdrawal.passed),
        },
        "tested": _test(standing.tested),
        "test_due_on": due_on(piece, rule).isoformat(),
        "days_overdue": days_overdue(piece, rule, day),
        "test_interval": {
            "months": own or rule.months,
            "basis": "the piece's own" if own else rule.basis,
        },
        "retired_at": None if standing.retired_at is None else moment(standing.retired_at),
        "version": piece.version,
        "created_at": moment(piece.created_at),
        "created_by": piece.created_by,
        "updated_at": moment(piece.updated_at),
        "updated_by": piece.updated_by,
    }


def _test(test: Test | None) -> dict[str, Any] | None:
    if test is None:
        return None
    return {"on": test.on.isoformat(), "competent_person": test.by, "at": moment(test.at)}


def _iso(day: Any) -> str | None:
    return None if day is None else day.isoformat()


def event_document(event: PieceEvent) -> dict[str, Any]:
    """An event as it is shown."""
    return {
        "version": event.version,
        "kind": event.kind,
        "order_ref": event.order_ref,
        "at": moment(event.at),
        "by": event.by,
        "role": event.who.role,
        "words": event.document["words"],
        "more": {name: value for name, value in event.document.items() if name != "words"},
    }


def documents(pieces: Iterable[Piece]) -> list[dict[str, Any]]:
    """Pieces as they are shown in a list."""
    return [document(piece) for piece in pieces]
