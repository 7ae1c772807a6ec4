"""Equipment by tag: what is answered about a piece, its history, its photos and files of it."""

from __future__ import annotations

import marshmallow as ma
from marshmallow import fields

from evenboard.api.schemas import told
from evenboard.desk.equipment import KINDS, STATES

__all__ = [
    "DoneSchema",
    "EquipmentPageSchema",
    "HistorySchema",
    "ImportAnswerSchema",
    "PhotoListSchema",
    "PhotoSchema",
    "PieceSchema",
    "UnevenPageSchema",
]


def _number(*, nullable: bool = True) -> fields.Float:
    return fields.Float(required=True, allow_none=nullable)


def _whole(*, nullable: bool = False) -> fields.Integer:
    return fields.Integer(required=True, allow_none=nullable)


class TestSchema(ma.Schema):
    """A passed test."""

    __test__ = False

    on = told.day(nullable=False)
    competent_person = told.text()
    at = told.moment("When it was recorded.")


class CauseSchema(ma.Schema):
    """A recorded cause."""

    cause = told.text()
    note = told.text()
    by = told.text()
    at = told.moment()


class WithdrawalSchema(ma.Schema):
    """Why a piece is out of service, and what has been done about it."""

    since = told.moment()
    by = told.text()
    found = fields.List(fields.String(), required=True)
    note = told.text()
    cause = fields.Nested(CauseSchema, required=True, allow_none=True)
    passed = fields.Nested(
        TestSchema,
        required=True,
        allow_none=True,
        metadata={"description": "The test passed since its cause was recorded."},
    )


class HireSchema(ma.Schema):
    """The order that a piece is out on."""

    order_ref = told.text()
    since = told.moment()
    until = told.day()
    by = told.text()


class ReasonSchema(ma.Schema):
    """Why a piece must not go out."""

    code = told.text()
    detail = told.text()


class IntervalSchema(ma.Schema):
    """How often a piece is tested, and on whose word."""

    months = _whole()
    basis = told.text()


class PieceSchema(ma.Schema):
    """A piece of equipment as it is now."""

    tag = told.text()
    kind = fields.String(required=True, validate=ma.validate.OneOf(KINDS))
    name = told.text()
    cable = told.text(nullable=True)
    csa_mm2 = _number()
    length_m = _number()
    connector = told.text(nullable=True)
    board = told.text(nullable=True)
    fixture = told.text(nullable=True)
    bought_on = told.day()
    tested_on = told.day("The last test that is known.")
    tested_before_on = told.day("`tested_on` as it was sent: the last test from before this list.")
    test_interval_months = _whole(nullable=True)
    note = told.text()
    state = fields.String(required=True, validate=ma.validate.OneOf(STATES))
    fit = fields.Boolean(
        required=True, metadata={"description": "Whether it may go out and into a report."}
    )
    unfit_because = fields.List(fields.Nested(ReasonSchema), required=True)
    hire = fields.Nested(HireSchema, required=True, allow_none=True)
    withdrawal = fields.Nested(WithdrawalSchema, required=True, allow_none=True)
    tested = fields.Nested(TestSchema, required=True, allow_none=True)
    test_due_on = told.day("The last day on which it may go out.", nullable=False)
    days_overdue = _whole()
    test_interval = fields.Nested(IntervalSchema, required=True)
    retired_at = told.moment(nullable=True)
    version = _whole()
    created_at = told.moment()
    created_by = told.text()
    updated_at = told.moment()
    updated_by = told.text()


class EquipmentPageSchema(ma.Schema):
    """A page of pieces."""

    items = fields.List(fields.Nested(PieceSchema), required=True)
    next_cursor = fields.String(required=True, allow_none=True)


class PieceEventSchema(ma.Schema):
    """One thing that happened to a piece."""

    version = _whole()
    kind = told.text()
    order_ref = told.text(nullable=True)
    at = told.moment()
    by = told.text()
    role = told.text()
    words = fields.List(fields.String(), required=True)
    more = fields.Dict(
        required=True,
        metadata={"description": "Its figures: what was found, measured, changed; photos."},
    )


class DoneSchema(ma.Schema):
    """What came of it: the piece as it is now, the event, and what is worth knowing."""

    piece = fields.Nested(PieceSchema, required=True)
    event = fields.Nested(
        PieceEventSchema,
        required=True,
        allow_none=True,
        metadata={"description": "null where it was so already."},
    )
    warnings = fields.List(fields.String(), required=True)


class PhotoSchema(ma.Schema):
    """A photo of a piece, as it is kept."""

    id = told.text()
    at = told.moment()
    by = told.text()
    media_type = told.text()
    width_px = _whole()
    height_px = _whole()
    url = told.text("Where its bytes are, for whoever has the desk's key.")


class PhotoListSchema(ma.Schema):
    """All photos of a piece, the latest first."""

    items = fields.List(fields.Nested(PhotoSchema), required=True)
    next_cursor = fields.String(required=True, allow_none=True)


class RunSchema(ma.Schema):
    """A cable on an order, by one report or layout: core spread times hours."""

    source = fields.String(required=True, validate=ma.validate.OneOf(("report", "layout")))
    source_id = told.text()
    counts = fields.Boolean(
        required=True, metadata={"description": "False where a later report superseded it."}
    )
    board = told.text()
    setup = told.text("The set-up with the widest spread.")
    core_spread_k = _number(nullable=False)
    hours_per_day_h = _number(nullable=False)
    hours_from = fields.String(required=True, validate=ma.validate.OneOf(("set-ups", "assumed")))
    days = _whole()
    days_from = fields.String(
        required=True, validate=ma.validate.OneOf(("order", "out", "assumed"))
    )
    spread_kh = _number(nullable=False)


class OnOrderSchema(ma.Schema):
    """A piece on one order."""

    order_ref = told.text()
    out_at = told.moment(nullable=True)
    back_at = told.moment(nullable=True)
    found = fields.List(fields.String(), required=True, allow_none=True)
    runs = fields.List(fields.Nested(RunSchema), required=True)
    spread_kh = _number(nullable=False)
    total_kh = fields.Float(
        required=True, metadata={"description": "Sum of this order and all before it."}
    )


class HistorySchema(ma.Schema):
    """All that happened to a piece, in its order, and how unevenly it ran."""

    tag = told.text()
    events = fields.List(fields.Nested(PieceEventSchema), required=True)
    orders = fields.List(fields.Nested(OnOrderSchema), required=True)
    spread_kh = fields.Float(
        required=True, metadata={"description": "Core spread times hours, all orders."}
    )
    deforms_kh = _number(nullable=False)
    likely_to_deform = fields.Boolean(required=True)
    basis = told.text("What the threshold rests on, and what is assumed.")
    version = _whole()


class UnevenSchema(ma.Schema):
    """A cable with the sum of its runs."""

    piece = fields.Nested(PieceSchema, required=True)
    spread_kh = _number(nullable=False)
    orders = _whole()
    likely_to_deform = fields.Boolean(required=True)


class UnevenPageSchema(ma.Schema):
    """Cables by how unevenly they ran, the worst first."""

    items = fields.List(fields.Nested(UnevenSchema), required=True)
    next_cursor = fields.String(required=True, allow_none=True)
    deforms_kh = _number(nullable=False)
    basis = told.text()


class FileFaultSchema(ma.Schema):
    """A fault of a file."""

    line = _whole()
    column = _whole()
    field = told.text("The field that the column holds.", nullable=True)
    detail = told.text()


class ImportedSchema(ma.Schema):
    """A line that adds or changes a piece."""

    line = _whole()
    tag = told.text()
    fields_ = fields.List(fields.String(), required=True, data_key="fields")


class ImportAnswerSchema(ma.Schema):
    """What a file does, or would do."""

    dry_run = fields.Boolean(required=True)
    rows = _whole()
    added = fields.List(fields.Nested(ImportedSchema), required=True)
    changed = fields.List(fields.Nested(ImportedSchema), required=True)
    unchanged = _whole()
    faults = fields.List(fields.Nested(FileFaultSchema), required=True)
