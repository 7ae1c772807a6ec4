"""Equipment as files: a list taken in from a spreadsheet, labels with QR codes to print."""

from __future__ import annotations

from typing import Any
from urllib.parse import quote

from flask import Response, request

from evenboard.api.access import DESK, caller, may
from evenboard.api.answer import as_json
from evenboard.api.balance import CSV
from evenboard.api.idempotency import IDEMPOTENCY_KEY, once
from evenboard.api.practice import today
from evenboard.api.problem import Problem, invalid_body
from evenboard.api.reader import raw_body
from evenboard.api.schemas.equipment import ImportQuerySchema, LabelsBodySchema
from evenboard.api.schemas.equipment_answers import ImportAnswerSchema
from evenboard.api.spec import Blueprint
from evenboard.api.state import current_catalogue, state
from evenboard.api.writing import say
from evenboard.desk import stocklist
from evenboard.desk.stocklist import FileFault, Planned
from evenboard.intake import Fault
from evenboard.intake.nearest import quoted
from evenboard.reports import SHEETS, Label, render_labels
from evenboard.store import Session, equipment
from evenboard.store.equipment import Told
from evenboard.store.piece import Piece
from evenboard.store.plain import as_plain

__all__ = ["blueprint", "label_of"]

PDF = "application/pdf"
MOST_TOLD = 1000
"""Faults that an answer lists: nobody mends more at a sitting (estimate)."""
MOST_WORDS = 44
"""Characters of a line of a label: two lines of its small print (tried on both sheets)."""

blueprint = Blueprint("equipment-files", __name__, description="Equipment lists and labels")


@blueprint.post("/v1/equipment-imports")
@may(DESK)
@blueprint.arguments(ImportQuerySchema, location="query")
@blueprint.response(200, ImportAnswerSchema)
@blueprint.refuses(413, 415, 422)
@blueprint.doc(
    parameters=[IDEMPOTENCY_KEY],
    requestBody={"required": True, "content": {CSV: {"schema": {"type": "string"}}}},
)
def import_equipment(query: dict[str, Any]) -> Response:
    """Take in a CSV file of equipment: all of it, or with any fault nothing.

    New tags are added, records of known ones changed; a column that is not there leaves what it
    would say, a blank cell clears it. `dry_run=1` changes nothing and lists every fault with its
    line and column.
    """
    if request.mimetype != CSV:
        raise Problem(415, f"The body must be {CSV}.", headers={"Accept-Post": CSV})
    lines, faults = stocklist.read(raw_body(request))
    names = [line.tag for line in lines]
    dry = query.get("dry_run") == "1"
    if dry:
        with state().store.reading() as session:
            planned, more = _planned(lines, equipment.find(session, names))
        return as_json(_told(True, planned, [*faults, *more]))

    def create(session: Session) -> Response:
        planned, more = _planned(lines, equipment.held(session, names))
        found = [*faults, *more]
        if found:
            raise _invalid_file(found)
        taken = [_taken(each) for each in planned if each.before is None or each.changed]
        equipment.put_all(session, taken, caller().who, caller().name)
        say(f"Took in a file of {len(planned)} pieces of equipment.")
        return as_json(_told(False, planned, []))

    return once(create)


def _planned(
    lines: list[stocklist.Line], pieces: dict[str, Piece]
) -> tuple[list[Planned], list[FileFault]]:
    return stocklist.plan(lines, pieces, current_catalogue(), today())


def _taken(planned: Planned) -> tuple[Piece, Told]:
    before, after = planned.before, planned.after
    words = f"from line {planned.line} of a file"
    if before is None:
        return after, Told("added", (f"Added {after.tag} {words}.",))
    old, new = as_plain(before.record), as_plain(after.record)
    more = {"changed": {field: {"was": old[field], "now": new[field]} for field in planned.changed}}
    said = f"Changed {', '.join(planned.changed)} of {after.tag} {words}."
    return after, Told("changed", (said,), more=more)


def _told(dry: bool, planned: list[Planned], faults: list[FileFault]) -> dict[str, Any]:
    done = [
        (each, {"line": each.line, "tag": each.after.tag, "fields": list(each.changed)})
        for each in planned
    ]
    changed = [told for each, told in done if each.before is not None and each.changed]
    return {
        "dry_run": dry,
        "rows": len(planned),
        "added": [told for each, told in done if each.before is None],
        "changed": changed,
        "unchanged": sum(1 for each, _ in done if each.before is not None and not each.changed),
        "faults": [_fault(fault) for fault in sorted(faults, key=_place)[:MOST_TOLD]],
    }


def _place(fault: FileFault) -> tuple[int, int]:
    return fault.line, fault.column


def _fault(fault: FileFault) -> dict[str, Any]:
    return {
        "line": fault.line,
        "column": fault.column,
        "field": fault.field,
        "detail": fault.detail,
    }


def _invalid_file(faults: list[FileFault]) -> Problem:
    listed = [_fault(fault) for fault in sorted(faults, key=_place)[:MOST_TOLD]]
    count = "One fault" if len(faults) == 1 else f"{len(faults)} faults"
    detail = f"{count}; nothing was taken from the file. See errors."
    return Problem(422, detail, kind="invalid-file", errors=listed)


@blueprint.post("/v1/equipment-labels")
@may(DESK)
@blueprint.arguments(LabelsBodySchema)
@blueprint.response(200, {"type": "string", "format": "binary"}, content_type=PDF)
def labels(body: dict[str, Any]) -> Response:
    """Print labels with QR codes, as PDF sheets in the order of the tags.

    A code opens the piece in the desk's pages; its last part is the tag.
    """
    tags, paper, skip = body["tags"], body.get("paper") or "a4", body.get("skip") or 0
    with state().store.reading() as session:
        pieces = equipment.find(session, set(tags))
    faults = [
        Fault(f"/tags/{index}", f"There is no piece {quoted(tag)}.")
        for index, tag in enumerate(tags)
        if tag not in pieces
    ]
    places = SHEETS[paper].columns * SHEETS[paper].rows
    if skip >= places:
        faults.append(Fault("/skip", f"A sheet has {places} places: skip 0 to {places - 1}."))
    if faults:
        raise invalid_body(faults)
    pdf = render_labels([label_of(pieces[tag]) for tag in tags], paper, skip=skip)
    response = Response(pdf, content_type=PDF)
    response.headers["Content-Disposition"] = 'inline; filename="labels.pdf"'
    response.headers["Cache-Control"] = "no-store"
    return response


def _short(words: str) -> str:
    return words if len(words) <= MOST_WORDS else f"{words[: MOST_WORDS - 1].rstrip()}…"


def label_of(piece: Piece) -> Label:
    """The label of a piece: what it is in two lines, and where its code leads."""
    base = state().config.public_url or request.host_url.rstrip("/")
    record = piece.record
    size = " ".join(
        part
        for part in (
            record.cable or record.board or record.fixture or "",
            f"{record.csa_mm2:g} mm²" if record.csa_mm2 else "",
            f"{record.length_m:g} m" if record.length_m else "",
        )
        if part
    )
    words = [_short(word) for word in (record.name, size, record.kind) if word]
    return Label(
        tag=piece.tag,
        code=f"{base}/#/equipment/{quote(piece.tag, safe='')}",
        words=words[0],
        second=words[1] if len(words) > 2 else "",
    )
