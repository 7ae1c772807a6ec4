"""``/v1/orders/{ref}/reports``, ``/v1/reports/{id}``: check reports are issued, listed, read."""

from __future__ import annotations

import hmac
from collections.abc import Callable, Mapping
from typing import Any

from flask import Response, url_for

from evenboard import ENGINE_VERSION
from evenboard.api.access import DESK, PUBLIC, may
from evenboard.api.answer import as_json, json_bytes, moment, wanted
from evenboard.api.etag import TAGGED, tagged
from evenboard.api.idempotency import IDEMPOTENCY_KEY, once
from evenboard.api.issue import Issuing
from evenboard.api.lists import PAGE, page_answer
from evenboard.api.paging import moment_page
from evenboard.api.papers import PDF, paper_answer
from evenboard.api.references import reference
from evenboard.api.schemas.reports import (
    IssuedSchema,
    PaperQuerySchema,
    ReportBodySchema,
    ReportPageSchema,
    ReportQuerySchema,
    ReportSchema,
)
from evenboard.api.spec import Blueprint
from evenboard.api.state import base_url, current_catalogue, state
from evenboard.api.writing import say
from evenboard.balance import NOTICE
from evenboard.desk import proof
from evenboard.desk.issuing import Outdated
from evenboard.desk.telling import addresses
from evenboard.store import Session, orders, reports, signing
from evenboard.store.errors import NotThere
from evenboard.store.reports import Report

__all__ = ["blueprint"]

blueprint = Blueprint("reports", __name__, description="Check reports")

JSON = "application/json"
TRIES = 3
"""Drafts without the database held; the next one holds it, so that it does come to an end."""
_PDF_SCHEMA = {"type": "string", "format": "binary"}


@blueprint.post("/v1/orders/<path:order_ref>/reports")
@may(DESK)
@blueprint.arguments(ReportBodySchema)
@blueprint.response(201, IssuedSchema)
@blueprint.refuses(404, 409)
@blueprint.doc(parameters=[IDEMPOTENCY_KEY])
def issue_report(body: dict[str, Any], order_ref: str) -> Response:
    """Issue a check report on an order, which is made where it was unknown.

    The report never changes; a later one supersedes it. A layout that fails is refused unless
    `accept_fail` names a competent person and a reason.
    """
    issuing = Issuing(reference(order_ref), body)

    def answer(session: Session, report: Report) -> Response:
        say(f"Issued report {report.number} on order {report.order_ref}: {report.verdict}.")
        told = _document(session, report) | {
            "engine_version": ENGINE_VERSION,
            "catalogue_version": current_catalogue().version,
            "notice": NOTICE,
        }
        location = url_for("reports.report", report_id=report.id)
        return as_json(told, status=201, headers={"Location": location})

    response = _issued(issuing, answer)
    state().sender.wake()
    return response


def _issued(issuing: Issuing, answer: Callable[[Session, Report], Response]) -> Response:
    for _ in range(TRIES):
        try:
            return once(
                lambda session: answer(session, issuing.issue(session)), first=issuing.prepare
            )
        except Outdated:
            continue
    return once(lambda session: answer(session, issuing.issue_held(session)))


@blueprint.get("/v1/orders/<path:order_ref>/reports")
@may(DESK)
@blueprint.arguments(ReportQuerySchema, location="query")
@blueprint.response(200, ReportPageSchema, headers=TAGGED)
@blueprint.refuses(404)
def order_reports(query: dict[str, Any], order_ref: str) -> Response:
    """List the reports of an order, the latest first."""
    ref = reference(order_ref)
    with state().store.reading() as session:
        orders.get(session, ref)
        return _listed(session, query, ref)


@blueprint.get("/v1/reports")
@may(DESK)
@blueprint.arguments(ReportQuerySchema, location="query")
@blueprint.response(200, ReportPageSchema, headers=TAGGED)
def all_reports(query: dict[str, Any]) -> Response:
    """List the reports of all orders, the latest first."""
    with state().store.reading() as session:
        return _listed(session, query, None)


@blueprint.get("/v1/reports/<report_id>")
@may(DESK)
@blueprint.arguments(PaperQuerySchema, location="query")
@blueprint.response(200, ReportSchema, headers=TAGGED)
@blueprint.alt_response(200, schema=_PDF_SCHEMA, content_type=PDF, success=True)
@blueprint.refuses(404, 406)
def report(query: dict[str, Any], report_id: str) -> Response:
    """Show a report: its content as JSON, or its paper where `Accept` asks for PDF.

    The PDF's bytes are kept: the same whenever they are read.
    """
    form = wanted((JSON, PDF))
    with state().store.reading() as session:
        found = reports.get(session, report_id)
        if form == JSON:
            told = _document(session, found)
            told["papers"] = [
                {"paper": paper, "sha256": sha256}
                for paper, sha256 in reports.papers(session, report_id)
            ]
            content = reports.content(session, report_id)
    if form == PDF:
        response = paper_answer(found, query.get("paper"))
    else:
        # The canonical bytes as they are: nothing between writes a figure another way.
        response = tagged(json_bytes(told)[:-1] + b',"content":' + content + b"}")
    response.headers.add("Vary", "Accept")
    return response


@blueprint.get("/paper/<report_id>/<word>.pdf")
@may(PUBLIC)
@blueprint.arguments(PaperQuerySchema, location="query")
@blueprint.response(200, _PDF_SCHEMA, content_type=PDF)
@blueprint.refuses(404)
def paper(query: dict[str, Any], report_id: str, word: str) -> Response:
    """Open a report's paper in a browser, by the address that was told when it was issued.

    Whoever has the address can read the paper, as whoever holds it can. The id alone, which its QR
    code tells, opens nothing.
    """
    with state().store.reading() as session:
        found = reports.find(session, report_id)
        right = "" if found is None else proof.opens(signing.get(session, found.key_id), found.id)
    if found is None or not hmac.compare_digest(right.encode(), word.encode()):
        raise NotThere("There is no paper at this address.")
    return paper_answer(found, query.get("paper"))


def _listed(session: Session, query: Mapping[str, Any], order_ref: str | None) -> Response:
    asked = {
        "order_ref": order_ref,
        "layout_id": query.get("layout_id"),
        "status": query.get("status"),
    }
    part = moment_page(
        lambda after, limit: reports.listing(session, limit=limit, after=after, **asked),
        lambda found: (found.issued_at, found.id),
        query.get("limit") or PAGE,
        query.get("cursor"),
        asked,
    )
    items = [_document(session, found) for found in part.items]
    return page_answer(part, items)


def _document(session: Session, found: Report) -> dict[str, Any]:
    superseded_at = found.superseded_at
    return {
        "id": found.id,
        "order_ref": found.order_ref,
        "number": found.number,
        "title": found.title,
        "verdict": found.verdict,
        "status": "current" if found.superseded_by is None else "superseded",
        "issued_at": moment(found.issued_at),
        "issued_by": found.issued_by,
        "layout_id": found.layout_id,
        "layout_version": found.layout_version,
        "supersedes": found.supersedes,
        "superseded_by": found.superseded_by,
        "superseded_at": None if superseded_at is None else moment(superseded_at),
        "content_sha256": found.content_sha256,
        "signature": proof.statement(found)["signature"],
        "links": addresses(session, found, base_url()),
    }
