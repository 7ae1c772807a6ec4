"""A report's PDF as an answer: the bytes that were kept, on the size of paper that is asked for."""

from __future__ import annotations

import re
import unicodedata

from flask import Response

from evenboard.api.etag import tagged
from evenboard.api.state import state
from evenboard.desk.issuing import set_on_paper
from evenboard.store import reports
from evenboard.store.reports import Paper, Report

__all__ = ["PDF", "paper_answer"]

PDF = "application/pdf"


def paper_answer(report: Report, size: str | None) -> Response:
    """The PDF, to be looked at in a browser; the other size than the issued one is made once."""
    made = _paper(report, size or report.paper)
    response = tagged(made.pdf, PDF, mark=made.pdf_sha256)
    response.headers["Content-Disposition"] = f'inline; filename="{_file_name(report)}"'
    # It is somebody's order: no cache between here and there keeps it.
    response.headers["Cache-Control"] = "private, no-cache"
    return response


def _paper(report: Report, size: str) -> Paper:
    with state().store.reading() as session:
        kept = reports.paper(session, report.id, size)
        if kept is not None:
            return kept
        content = reports.content(session, report.id)
    made = set_on_paper(report, content, size)
    # No change of anybody's: what the page says was said when the report was issued.
    with state().store.writing() as session:
        return reports.keep_paper(session, report.id, made)


def _file_name(report: Report) -> str:
    plain = unicodedata.normalize("NFKD", report.order_ref).encode("ascii", "ignore").decode()
    ref = re.sub(r"[^A-Za-z0-9]+", "-", plain).strip("-")
    return f"check-report-{ref}-{report.number}.pdf" if ref else f"check-report-{report.number}.pdf"
