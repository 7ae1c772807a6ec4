"""What happens to a piece: out on an order, looked over, withdrawn, tested, back in service."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from flask import Response
from marshmallow import Schema

from evenboard.api.access import DESK, may
from evenboard.api.idempotency import IDEMPOTENCY_KEY
from evenboard.api.piece import done
from evenboard.api.practice import practice, seen, today
from evenboard.api.problem import invalid_body
from evenboard.api.saved_layout import said_by
from evenboard.api.schemas.equipment import (
    CauseBodySchema,
    CheckOutBodySchema,
    InspectionBodySchema,
    ReleaseBodySchema,
    TestBodySchema,
    WithdrawalBodySchema,
)
from evenboard.api.schemas.equipment_answers import DoneSchema
from evenboard.api.spec import Blueprint
from evenboard.api.state import state
from evenboard.api.tagged import keep_runs_of_layouts
from evenboard.desk import equipment as rules
from evenboard.desk.tagged import claims
from evenboard.desk.testing import Measured, due_on, faults_of_pass
from evenboard.desk.uneven import DEFORMS_KH
from evenboard.intake import Fault
from evenboard.intake.nearest import quoted
from evenboard.store import Session, equipment, orders, photos, runs
from evenboard.store.equipment import Told
from evenboard.store.piece import Piece

__all__ = ["blueprint"]

blueprint = Blueprint("equipment-events", __name__, description="What happens to equipment")

View = Callable[[dict[str, Any], str], Response]


def _happening(kind: str, body: type[Schema]) -> Callable[[View], Any]:
    """The desk's door for one kind of thing done to a piece: all answer and refuse alike."""

    def routed(view: View) -> Any:
        described: Any = blueprint.doc(parameters=[IDEMPOTENCY_KEY])(view)
        described = blueprint.refuses(404, 409, 412)(described)
        described = blueprint.response(201, DoneSchema)(described)
        described = may(DESK)(blueprint.arguments(body)(described))
        return blueprint.post(f"/v1/equipment/<path:tag>/{kind}")(described)

    return routed


@_happening("check-outs", CheckOutBodySchema)
def check_out(body: dict[str, Any], tag: str) -> Response:
    """Hand a piece out on an order.

    Refused with every obstacle while it is withdrawn, missing, retired, overdue or out on another
    order. On the same order already, nothing is done twice.
    """
    order, until = body["order_ref"], body.get("until")
    if until is not None and until < today():
        raise invalid_body([Fault("/until", f"{until} is over: it is {today()} here.")])

    def make(piece: Piece) -> tuple[Piece, Told]:
        out = rules.check_out(piece, order, until, seen(said_by(body)), practice(), today())
        back = f", back by {until}" if until else ""
        words = (f"{tag} went out on order {order}{back}.",)
        return out, Told("checked-out", words, order, {"note": body.get("note", "")})

    def notes(session: Session, piece: Piece) -> list[str]:
        due = due_on(piece, practice())
        told = []
        if until is not None and due < until:
            told.append(f"{tag} is due for its test on {due}, before it is back on {until}.")
        told += [
            f"{tag} is counted on elsewhere: {claim.words}."
            for claim in claims(session, {tag: piece}, order_ref=order)
        ]
        return told

    def known(session: Session) -> None:
        # What went out on an order is found under that order. The order before the piece, as a
        # report that is being issued holds them: else the two could wait for each other.
        orders.known(session, order, said_by(body))

    return done(tag, body, make, notes, first=known)


@_happening("inspections", InspectionBodySchema)
def inspect(body: dict[str, Any], tag: str) -> Response:
    """Look a piece over, on its way home (`returned`) or at any time.

    Whatever is found withdraws it at once.
    """
    found = [code for code in dict.fromkeys(body["found"]) if code != "fine"]
    note, returned = body.get("note") or "", bool(body.get("returned"))
    shown = list(dict.fromkeys(body.get("photos") or ()))
    with state().store.reading() as session:
        equipment.get(session, tag)
        strange = photos.unknown(session, tag, shown)
    if strange:
        raise invalid_body(
            Fault(f"/photos/{index}", f"There is no photo {quoted(name)} of this piece.")
            for index, name in enumerate(body["photos"])
            if name in strange
        )
    hires = []

    def make(piece: Piece) -> tuple[Piece, Told]:
        hire = piece.standing.hire
        hires.append(hire)
        after = rules.inspect(piece, found, note, returned, seen(said_by(body)))
        home = f", back from order {hire.order_ref}" if hire and returned else ""
        words = [f"Looked over {tag}{home}: {_listed(found) or 'fine'}."]
        if found:
            words.append(f"Withdrew {tag}.")
        order = hire.order_ref if hire else None
        more = {"found": found or ["fine"], "note": note, "photos": shown, "returned": returned}
        return after, Told("inspected", tuple(words), order, more, always=True)

    def notes(session: Session, piece: Piece) -> list[str]:
        hire = hires[-1]
        if hire is not None and piece.standing.hire is None:
            keep_runs_of_layouts(session, tag, hire)
        total = sum(run.spread_kh for run in runs.listing(session, tag) if run.counts)
        if total < DEFORMS_KH:
            return []
        return [
            f"{tag} has run uneven for {total:.0f} K h over its orders: feel along it for ripples "
            "and one core that is longer than the others."
        ]

    return done(tag, body, make, notes)


@_happening("withdrawals", WithdrawalBodySchema)
def withdraw(body: dict[str, Any], tag: str) -> Response:
    """Take a piece out of service by hand, wherever it is."""

    def make(piece: Piece) -> tuple[Piece, Told]:
        after = rules.withdraw(piece, body["note"], seen(said_by(body)))
        return after, Told("withdrawn", (f"Withdrew {tag}: {body['note']}",))

    return done(tag, body, make)


@_happening("causes", CauseBodySchema)
def record_cause(body: dict[str, Any], tag: str) -> Response:
    """Record what made a withdrawn piece unfit. A test has to follow it."""
    code, note = body["cause"], body.get("note") or ""

    def make(piece: Piece) -> tuple[Piece, Told]:
        after = rules.record_cause(piece, code, note, seen(said_by(body)))
        words = f"Cause of {tag}: {rules.CAUSES[code]}."
        return after, Told("cause-recorded", (words,), more={"cause": code, "note": note})

    return done(tag, body, make)


@_happening("tests", TestBodySchema)
def record_test(body: dict[str, Any], tag: str) -> Response:
    """Record a test by a competent person.

    A passed one sets the next due day; a failed one withdraws the piece at once.
    """
    names = ("continuity_ohm", "insulation_mohm", "polarity", "loop_impedance_ohm")
    figures = {name: body.get(name) for name in names}
    person, note, on = body["competent_person"], body.get("note") or "", body.get("tested_on")
    day = today()
    if on is not None and on > day:
        raise invalid_body([Fault("/tested_on", f"{on} is not over yet: it is {day} here.")])

    def make(piece: Piece) -> tuple[Piece, Told]:
        if body["passed"]:
            faults = faults_of_pass(piece.record.kind, Measured(**figures))
            if faults:
                raise invalid_body(Fault(f"/{name}", words) for name, words in faults.items())
        when = on or day
        after = rules.record_test(piece, when, body["passed"], person, note, seen(said_by(body)))
        result = "passed" if body["passed"] else "failed; withdrew it"
        told = f"{person} tested {tag} on {when}: {result}."
        more = {"passed": body["passed"], "on": when.isoformat(), "competent_person": person}
        more |= {**figures, "note": note}
        return after, Told("tested", (told,), more=more, always=True)

    return done(tag, body, make)


@_happening("releases", ReleaseBodySchema)
def release(body: dict[str, Any], tag: str) -> Response:
    """Put a withdrawn piece back into service.

    Refused until its cause is recorded, and known, and a test was passed after that.
    """

    def make(piece: Piece) -> tuple[Piece, Told]:
        after = rules.release(piece, practice(), today())
        withdrawal = piece.standing.withdrawal
        more: dict[str, Any] = {"note": body.get("note") or ""}
        if withdrawal and withdrawal.cause and withdrawal.passed:
            more["cause"] = withdrawal.cause.code
            more["competent_person"] = withdrawal.passed.by
        return after, Told("released", (f"Put {tag} back into service.",), more=more)

    return done(tag, body, make)


@_happening("restorations", ReleaseBodySchema)
def restore(body: dict[str, Any], tag: str) -> Response:
    """Take a retired piece back into the stock, withdrawn if it was."""

    def make(piece: Piece) -> tuple[Piece, Told]:
        more = {"note": body.get("note") or ""}
        return rules.restore(piece), Told("restored", (f"Restored {tag}.",), more=more)

    return done(tag, body, make)


def _listed(found: list[str]) -> str:
    return ", ".join(code.replace("-", " ") for code in found)
