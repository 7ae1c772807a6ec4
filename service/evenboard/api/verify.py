"""``/verify/{id}``: whether a paper in hand is the one that was issued. Tells nothing else."""

from __future__ import annotations

import base64
import hashlib
from importlib.resources import files
from typing import Any

from flask import Response, render_template_string

from evenboard.api.access import PUBLIC, may
from evenboard.api.answer import json_bytes, moment, wanted
from evenboard.api.schemas.reports import VerificationSchema
from evenboard.api.spec import Blueprint
from evenboard.api.state import state
from evenboard.desk import proof
from evenboard.store import reports
from evenboard.store.reports import Report

__all__ = ["blueprint"]

blueprint = Blueprint("verify", __name__, description="Whether a paper is genuine")

HTML, JSON = "text/html", "application/json"
_PAGES = files(__package__) / "pages"
_PAGE = (_PAGES / "verify.html").read_text(encoding="utf-8")
_STYLE = (_PAGES / "verify.css").read_text(encoding="utf-8")
_STYLE_HASH = base64.b64encode(hashlib.sha256(_STYLE.encode()).digest()).decode()
_SECURITY = (
    f"default-src 'none'; style-src 'sha256-{_STYLE_HASH}'; base-uri 'none'; "
    "form-action 'none'; frame-ancestors 'none'"
)


@blueprint.get("/verify/<report_id>")
@may(PUBLIC)
@blueprint.response(200, VerificationSchema)
@blueprint.alt_response(200, schema={"type": "string"}, content_type=HTML, success=True)
@blueprint.refuses(406)
def verify(report_id: str) -> Response:
    """Tell whether a paper is genuine, superseded or unknown, its day and its hash.

    A page for people, JSON where `Accept` asks for it. Nothing of the order is told. A report that
    this desk never issued is `unknown`, which is an answer and no error.
    """
    form = wanted((HTML, JSON))
    # As it was typed or copied off the paper: in groups, in capitals, with marks of where a line
    # may break.
    report_id = "".join(c for c in report_id if c.isalnum()).lower()
    with state().store.reading() as session:
        report = reports.find(session, report_id)
        papers = [] if report is None else reports.papers(session, report_id)
    told = _document(report_id, report, papers)
    if form == JSON:
        response = Response(json_bytes(told), content_type=JSON)
    else:
        page = render_template_string(_PAGE, told=told, report=report, groups=_groups, style=_STYLE)
        response = Response(page, content_type=f"{HTML}; charset=utf-8")
        response.headers["Content-Security-Policy"] = _SECURITY
        response.headers["X-Robots-Tag"] = "noindex"
    # It may be superseded the next minute.
    response.headers["Cache-Control"] = "no-store"
    response.headers["Vary"] = "Accept"
    return response


def _document(report_id: str, report: Report | None, papers: Any) -> dict[str, Any]:
    if report is None:
        return {
            "id": report_id,
            "status": "unknown",
            "issued_at": None,
            "superseded_at": None,
            "content_sha256": None,
            "signature": None,
            "papers": [],
        }
    at = report.superseded_at
    return {
        "id": report.id,
        "status": "genuine" if at is None else "superseded",
        "issued_at": moment(report.issued_at),
        "superseded_at": None if at is None else moment(at),
        "content_sha256": report.content_sha256,
        "signature": proof.statement(report)["signature"],
        "papers": [{"paper": paper, "sha256": sha256} for paper, sha256 in papers],
    }


def _groups(text: str, size: int) -> str:
    """A long word in groups, as it stands on the paper."""
    return " ".join(text[start : start + size] for start in range(0, len(text), size))
