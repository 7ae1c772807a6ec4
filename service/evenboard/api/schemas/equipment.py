"""Equipment by tag: what is sent of a piece and of what happened to it, and what is answered."""

from __future__ import annotations

from typing import Any

import marshmallow as ma
from marshmallow import fields

from evenboard.api.fields import Choice, Day, Flag, Items, Number, Schema, Text, Whole
from evenboard.api.schemas.queries import PageQuerySchema, QueryWhole
from evenboard.api.schemas.saved import by, order_ref
from evenboard.desk.descriptions import MOST_MONTHS, tag_fault
from evenboard.desk.equipment import CAUSES, FOUND, KINDS, STATES
from evenboard.intake import bounds as b
from evenboard.reports import SHEETS
from evenboard.reports.labels import MAX_LABELS

__all__ = [
    "CauseBodySchema",
    "CheckOutBodySchema",
    "DoneSchema",
    "DueQuerySchema",
    "EquipmentPageSchema",
    "EquipmentQuerySchema",
    "HistorySchema",
    "ImportAnswerSchema",
    "ImportQuerySchema",
    "InspectionBodySchema",
    "LabelsBodySchema",
    "NewPieceSchema",
    "PhotoListSchema",
    "PhotoSchema",
    "PieceSchema",
    "RecordBodySchema",
    "ReleaseBodySchema",
    "TestBodySchema",
    "UnevenPageSchema",
    "UnevenQuerySchema",
    "WithdrawalBodySchema",
]

MAX_OHM, MAX_MOHM = 100_000, 1_000_000


def _tag(value: str) -> None:
    fault = tag_fault(value)
    if fault:
        raise ma.ValidationError(fault)


def _note(description: str = "", *, required: bool = False) -> Text:
    return Text(description, least=1 if required else 0, most=1000, required=required)


class RecordBodySchema(Schema):
    """What a piece is. What is left out is not known."""

    kind = Choice(KINDS, required=True)
    name = Text("In the desk's own words.", least=0)
    cable = Text("A cable type of the catalogue.", most=64)
    csa_mm2 = Number("Size of the lines.", above=0, most=b.MAX_CSA_MM2)
    length_m = Number(above=0, most=b.MAX_LENGTH_M)
    connector = Text("An outlet type of a region.", most=64)
    board = Text("A generic board type, of a board or multi-way lead.", most=64)
    fixture = Text("Slug of a fixture type.", most=64)
    bought_on = Day()
    tested_on = Day("Last test before it was recorded here; later ones are recorded as tests.")
    test_interval_months = Whole(
        "Months between its tests; the desk's interval by default.", least=1, most=MOST_MONTHS
    )
    note = _note()
    by = by()


class NewPieceSchema(RecordBodySchema):
    """A piece to be put on the desk's list."""

    tag = Text(
        "Asset tag: any printable text, slashes too, but none at its ends.", most=64, required=True
    )

    @ma.validates("tag")
    def _sound(self, value: str, **_: Any) -> None:
        _tag(value)


class CheckOutBodySchema(Schema):
    """A piece goes out on an order."""

    order_ref = order_ref("The order it goes out on.", required=True)
    until = Day("The day it is expected back.")
    note = _note()
    by = by()


class InspectionBodySchema(Schema):
    """What a look at a piece has shown. Anything but `fine` withdraws it at once."""

    found = Items(
        Choice(("fine", *FOUND)),
        "`fine` alone, or whatever was found.",
        least=1,
        most=len(FOUND),
        required=True,
    )
    returned = Flag("It has come back from its order with this.")
    note = _note()
    photos = Items(Text(most=26), "Ids of photos of this piece that show it.", most=20)
    by = by()

    @ma.validates("found")
    def _one_or_the_other(self, value: list[str], **_: Any) -> None:
        if "fine" in value and len(value) > 1:
            raise ma.ValidationError("`fine` stands alone: leave it out, or all else.")


class WithdrawalBodySchema(Schema):
    """A piece is taken out of service by hand."""

    note = _note("Why.", required=True)
    by = by()


class CauseBodySchema(Schema):
    """What made a withdrawn piece unfit."""

    cause = Choice(tuple(CAUSES), "While it is `unknown` the piece stays withdrawn.", required=True)
    note = _note()
    by = by()


class TestBodySchema(Schema):
    """A test by a competent person. A failed one withdraws the piece at once."""

    __test__ = False

    passed = Flag(required=True)
    competent_person = Text("Who tested it.", most=100, required=True)
    tested_on = Day("Today by default.")
    continuity_ohm = Number("Of the protective conductor.", least=0, most=MAX_OHM)
    insulation_mohm = Number(
        "Of the live conductors to earth, in megohms; an instrument's upper end counts as read.",
        least=0,
        most=MAX_MOHM,
    )
    polarity = Choice(("correct", "wrong"))
    loop_impedance_ohm = Number(least=0, most=MAX_OHM)
    note = _note()
    by = by()


class ReleaseBodySchema(Schema):
    """A piece goes back into service, or back on the list."""

    note = _note()
    by = by()


def _told(description: str = "", *, nullable: bool = False) -> fields.String:
    return fields.String(required=True, allow_none=nullable, metadata={"description": description})


def _moment(description: str = "", *, nullable: bool = False) -> fields.String:
    metadata = {"description": description, "format": "date-time"}
    return fields.String(required=True, allow_none=nullable, metadata=metadata)


def _day(description: str = "", *, nullable: bool = True) -> fields.String:
    metadata = {"description": description, "format": "date"}
    return fields.String(required=True, allow_none=nullable, metadata=metadata)


def _number(*, nullable: bool = True) -> fields.Float:
    return fields.Float(required=True, allow_none=nullable)


def _whole(*, nullable: bool = False) -> fields.Integer:
    return fields.Integer(required=True, allow_none=nullable)


class TestSchema(ma.Schema):
    """A passed test."""

    __test__ = False

    on = _day(nullable=False)
    competent_person = _told()
    at = _moment("When it was recorded.")


class CauseSchema(ma.Schema):
    """A recorded cause."""

    cause = _told()
    note = _told()
    by = _told()
    at = _moment()


class WithdrawalSchema(ma.Schema):
    """Why a piece is out of service, and what has been done about it."""

    since = _moment()
    by = _told()
    found = fields.List(fields.String(), required=True)
    note = _told()
    cause = fields.Nested(CauseSchema, required=True, allow_none=True)
    passed = fields.Nested(
        TestSchema,
        required=True,
        allow_none=True,
        metadata={"description": "The test passed since its cause was recorded."},
    )


class HireSchema(ma.Schema):
    """The order that a piece is out on."""

    order_ref = _told()
    since = _moment()
    until = _day()
    by = _told()


class ReasonSchema(ma.Schema):
    """Why a piece must not go out."""

    code = _told()
    detail = _told()


class IntervalSchema(ma.Schema):
    """How often a piece is tested, and on whose word."""

    months = _whole()
    basis = _told()


class PieceSchema(ma.Schema):
    """A piece of equipment as it is now."""

    tag = _told()
    kind = fields.String(required=True, validate=ma.validate.OneOf(KINDS))
    name = _told()
    cable = _told(nullable=True)
    csa_mm2 = _number()
    length_m = _number()
    connector = _told(nullable=True)
    board = _told(nullable=True)
    fixture = _told(nullable=True)
    bought_on = _day()
    tested_on = _day("The last test that is known.")
    tested_before_on = _day("`tested_on` as it was sent: the last test from before this list.")
    test_interval_months = _whole(nullable=True)
    note = _told()
    state = fields.String(required=True, validate=ma.validate.OneOf(STATES))
    fit = fields.Boolean(
        required=True, metadata={"description": "Whether it may go out and into a report."}
    )
    unfit_because = fields.List(fields.Nested(ReasonSchema), required=True)
    hire = fields.Nested(HireSchema, required=True, allow_none=True)
    withdrawal = fields.Nested(WithdrawalSchema, required=True, allow_none=True)
    tested = fields.Nested(TestSchema, required=True, allow_none=True)
    test_due_on = _day("The last day on which it may go out.", nullable=False)
    days_overdue = _whole()
    test_interval = fields.Nested(IntervalSchema, required=True)
    retired_at = _moment(nullable=True)
    version = _whole()
    created_at = _moment()
    created_by = _told()
    updated_at = _moment()
    updated_by = _told()


class EquipmentPageSchema(ma.Schema):
    """A page of pieces."""

    items = fields.List(fields.Nested(PieceSchema), required=True)
    next_cursor = fields.String(required=True, allow_none=True)


class EquipmentQuerySchema(PageQuerySchema):
    """Which pieces: all by their tags by default, but for the retired ones."""

    q = Text("Words in tag, name, note, type, size or order.")
    kind = Choice(KINDS)
    state = Choice(STATES)
    order_ref = order_ref("Out on this order.")
    due_by = Day("Due for a test by this day.")


class DueQuerySchema(PageQuerySchema):
    """How far ahead."""

    within_days = QueryWhole("14 by default; 0 lists what is due or overdue.", least=0, most=3660)


class PieceEventSchema(ma.Schema):
    """One thing that happened to a piece."""

    version = _whole()
    kind = _told()
    order_ref = _told(nullable=True)
    at = _moment()
    by = _told()
    role = _told()
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

    id = _told()
    at = _moment()
    by = _told()
    media_type = _told()
    width_px = _whole()
    height_px = _whole()
    url = _told("Where its bytes are, for whoever has the desk's key.")


class PhotoListSchema(ma.Schema):
    """All photos of a piece, the latest first."""

    items = fields.List(fields.Nested(PhotoSchema), required=True)
    next_cursor = fields.String(required=True, allow_none=True)


class RunSchema(ma.Schema):
    """A cable on an order, by one report or layout: core spread times hours."""

    source = fields.String(required=True, validate=ma.validate.OneOf(("report", "layout")))
    source_id = _told()
    counts = fields.Boolean(
        required=True, metadata={"description": "False where a later report superseded it."}
    )
    board = _told()
    setup = _told("The set-up with the widest spread.")
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

    order_ref = _told()
    out_at = _moment(nullable=True)
    back_at = _moment(nullable=True)
    found = fields.List(fields.String(), required=True, allow_none=True)
    runs = fields.List(fields.Nested(RunSchema), required=True)
    spread_kh = _number(nullable=False)
    total_kh = fields.Float(
        required=True, metadata={"description": "Sum of this order and all before it."}
    )


class HistorySchema(ma.Schema):
    """All that happened to a piece, in its order, and how unevenly it ran."""

    tag = _told()
    events = fields.List(fields.Nested(PieceEventSchema), required=True)
    orders = fields.List(fields.Nested(OnOrderSchema), required=True)
    spread_kh = fields.Float(
        required=True, metadata={"description": "Core spread times hours, all orders."}
    )
    deforms_kh = _number(nullable=False)
    likely_to_deform = fields.Boolean(required=True)
    basis = _told("What the threshold rests on, and what is assumed.")
    version = _whole()


class UnevenQuerySchema(PageQuerySchema):
    """From which sum on."""

    least_kh = QueryWhole("The threshold by default; 0 lists all that ran.", least=0, most=10**9)


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
    basis = _told()


class LabelsBodySchema(Schema):
    """Labels with QR codes, to be stuck on pieces."""

    tags = Items(Text(most=64), "In this order.", least=1, most=MAX_LABELS, required=True)
    paper = Choice(tuple(SHEETS), "`a4` by default: 24 of 70 x 37 mm; `letter`: 30.")
    skip = Whole("Places of the first sheet that are used up.", least=0, most=29)


class ImportQuerySchema(Schema):
    """Whether it is only tried."""

    dry_run = Choice(("0", "1"), "`1` changes nothing and lists every fault.")


class FileFaultSchema(ma.Schema):
    """A fault of a file."""

    line = _whole()
    column = _whole()
    field = _told("The field that the column holds.", nullable=True)
    detail = _told()


class ImportedSchema(ma.Schema):
    """A line that adds or changes a piece."""

    line = _whole()
    tag = _told()
    fields_ = fields.List(fields.String(), required=True, data_key="fields")


class ImportAnswerSchema(ma.Schema):
    """What a file does, or would do."""

    dry_run = fields.Boolean(required=True)
    rows = _whole()
    added = fields.List(fields.Nested(ImportedSchema), required=True)
    changed = fields.List(fields.Nested(ImportedSchema), required=True)
    unchanged = _whole()
    faults = fields.List(fields.Nested(FileFaultSchema), required=True)
