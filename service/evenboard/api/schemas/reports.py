"""Check reports: what is sent to issue one and what is answered."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import marshmallow as ma
from marshmallow import fields

from evenboard.api.fields import Choice, Part, Schema, Text
from evenboard.api.schemas import told
from evenboard.api.schemas.queries import PageQuerySchema
from evenboard.api.schemas.saved import LayoutPart, LooseLayoutSchema
from evenboard.reports import PAPERS

__all__ = [
    "IssuedSchema",
    "PaperQuerySchema",
    "ReportBodySchema",
    "ReportPageSchema",
    "ReportQuerySchema",
    "ReportSchema",
    "VerificationSchema",
]

STATUSES = ("current", "superseded")


def _paper(description: str) -> Choice:
    return Choice(PAPERS, description)


class AcceptanceSchema(Schema):
    """Who answers for a layout that fails, and why it may go out all the same."""

    by = Text("Name of the competent person; printed on the paper.", most=100, required=True)
    reason = Text("Printed on the paper.", least=10, most=500, required=True)


class ReportBodySchema(Schema):
    """A check report to be issued, of a layout that is sent or of a saved one."""

    layout = LayoutPart(LooseLayoutSchema, "As for `POST /v1/balance`; loads may be loose.")
    layout_id = Text("A saved layout instead, as it is now, with its readings.", most=26)
    title = Text("The layout's name by default.")
    note = Text("Printed under the verdict.", most=1000)
    issued_by = Text("Who answers for it; the key's name by default.", most=100)
    paper = _paper("`a4` by default. The other one can be had later.")
    supersedes = Text(
        "Id of the report that this one replaces; null for none. By default the order's current "
        "report of the same saved layout, else of the same title.",
        most=26,
    )
    accept_fail = Part(AcceptanceSchema, "Needed where the layout fails, refused where it holds.")

    @ma.validates_schema(skip_on_field_errors=False, pass_original=True)
    def _one_layout(self, data: Any, sent: Any, **_: Any) -> None:
        if not isinstance(sent, Mapping):
            return
        given = [name for name in ("layout", "layout_id") if sent.get(name) is not None]
        if not given:
            raise ma.ValidationError({"layout": ["Send layout, or layout_id of a saved one."]})
        if len(given) > 1:
            raise ma.ValidationError({"layout_id": ["Send layout or layout_id, not both."]})


class ReportQuerySchema(PageQuerySchema):
    """Which reports."""

    status = Choice(STATUSES, "`current`: those that nothing has superseded.")
    layout_id = Text("Those of one saved layout.", most=26)


class PaperQuerySchema(Schema):
    """On which paper."""

    paper = _paper("The one it was issued on by default.")


class SignatureSchema(ma.Schema):
    """A signature over the canonical content."""

    alg = told.text("`EdDSA`: Ed25519, RFC 8032.")
    key_id = told.text("Of a key in `/.well-known/jwks.json`.")
    value = told.text("64 bytes, base64url.")


class ReportLinksSchema(ma.Schema):
    """Where a report is found."""

    json = told.text("For programs, with the desk's key.")
    pdf = told.text("For a browser: whoever has this address can read the paper.")
    verify = told.text("The public page that says whether a paper is genuine.")


class PaperSchema(ma.Schema):
    """A size of paper that the report was handed out on."""

    paper = fields.String(required=True, validate=ma.validate.OneOf(PAPERS))
    sha256 = told.text("Of the PDF's bytes, which never change.")


class ReportLineSchema(ma.Schema):
    """A report as it stands in a list, without its content."""

    id = told.text()
    order_ref = told.text()
    number = told.whole("Counts the order's reports, from 1.")
    title = told.text()
    verdict = fields.String(required=True, validate=ma.validate.OneOf(("pass", "caution", "fail")))
    status = fields.String(required=True, validate=ma.validate.OneOf(STATUSES))
    issued_at = told.moment()
    issued_by = told.text()
    layout_id = told.text("The saved layout it is of.", nullable=True)
    layout_version = told.whole("That layout's version.", nullable=True)
    supersedes = told.text(nullable=True)
    superseded_by = told.text(nullable=True)
    superseded_at = told.moment(nullable=True)
    content_sha256 = told.text("Of the content in canonical form (RFC 8785).")
    signature = fields.Nested(SignatureSchema, required=True)
    links = fields.Nested(ReportLinksSchema, required=True)


class IssuedSchema(ReportLineSchema):
    """A report that was just issued."""

    engine_version = told.text()
    catalogue_version = told.text()
    notice = told.text()


class ReportSchema(ReportLineSchema):
    """A report with its content."""

    papers = fields.List(fields.Nested(PaperSchema), required=True)
    content = fields.Dict(
        required=True,
        metadata={
            "description": "All that the paper says: `issue`, `layout`, `resolved`, `balance`, "
            "`equipment`, `readings`, `engine_version`, `catalogue_version`, `notice`."
        },
    )


class ReportPageSchema(ma.Schema):
    """A page of reports, the latest issued first."""

    items = fields.List(fields.Nested(ReportLineSchema), required=True)
    next_cursor = told.text(nullable=True)


class VerificationSchema(ma.Schema):
    """Whether a paper is genuine; nothing of the order."""

    id = told.text()
    status = fields.String(
        required=True, validate=ma.validate.OneOf(("genuine", "superseded", "unknown"))
    )
    issued_at = told.moment(nullable=True)
    superseded_at = told.moment(nullable=True)
    content_sha256 = told.text(nullable=True)
    signature = fields.Nested(SignatureSchema, required=True, allow_none=True)
    papers = fields.List(fields.Nested(PaperSchema), required=True)
