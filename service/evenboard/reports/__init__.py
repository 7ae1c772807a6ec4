"""Paper: a check report and equipment labels as PDF, from plain figures.

``report_json`` makes the content that is hashed, signed and kept; ``report_document`` says what the
pages say, as frozen plain text; ``render_report`` sets them. Same content, same bytes. Nothing here
knows a request, a database or the clock. The pages are read without colour: phases are letters and
patterns, verdicts and severities are words.
"""

from evenboard.reports.content import report_json
from evenboard.reports.document import LANGUAGES, report_document
from evenboard.reports.issue import Issue
from evenboard.reports.labels import SHEETS, Label, Sheet, render_labels
from evenboard.reports.model import ReportDocument
from evenboard.reports.render import PAPERS, RenderFailed, qr_svg, render_report

__all__ = [
    "LANGUAGES",
    "PAPERS",
    "SHEETS",
    "Issue",
    "Label",
    "RenderFailed",
    "ReportDocument",
    "Sheet",
    "qr_svg",
    "render_labels",
    "render_report",
    "report_document",
    "report_json",
]
