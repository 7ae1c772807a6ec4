"""Equipment by tag: what is sent of a piece and of what happened to it, and what is asked."""

from __future__ import annotations

from typing import Any

import marshmallow as ma

from evenboard.api.fields import Choice, Day, Flag, Items, Number, OrderRef, Schema, Text, Whole
from evenboard.api.schemas.queries import PageQuerySchema, QueryWhole
from evenboard.api.schemas.saved import by
from evenboard.desk.descriptions import MOST_MONTHS, tag_fault
from evenboard.desk.equipment import CAUSES, FOUND, KINDS, STATES
from evenboard.intake import bounds as b
from evenboard.reports import SHEETS
from evenboard.reports.labels import MAX_LABELS

__all__ = [
    "CauseBodySchema",
    "CheckOutBodySchema",
    "DueQuerySchema",
    "EquipmentQuerySchema",
    "ImportQuerySchema",
    "InspectionBodySchema",
    "LabelsBodySchema",
    "NewPieceSchema",
    "RecordBodySchema",
    "ReleaseBodySchema",
    "TestBodySchema",
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

    order_ref = OrderRef("The order it goes out on.", required=True)
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


class EquipmentQuerySchema(PageQuerySchema):
    """Which pieces: all by their tags by default, but for the retired ones."""

    q = Text("Words in tag, name, note, type, size or order.")
    kind = Choice(KINDS)
    state = Choice(STATES)
    order_ref = OrderRef("Out on this order.")
    due_by = Day("Due for a test by this day.")


class DueQuerySchema(PageQuerySchema):
    """How far ahead."""

    within_days = QueryWhole("14 by default; 0 lists what is due or overdue.", least=0, most=3660)


class UnevenQuerySchema(PageQuerySchema):
    """From which sum on."""

    least_kh = QueryWhole("The threshold by default; 0 lists all that ran.", least=0, most=10**9)


class LabelsBodySchema(Schema):
    """Labels with QR codes, to be stuck on pieces."""

    tags = Items(Text(most=64), "In this order.", least=1, most=MAX_LABELS, required=True)
    paper = Choice(tuple(SHEETS), "`a4` by default: 24 of 70 x 37 mm; `letter`: 30.")
    skip = Whole("Places of the first sheet that are used up.", least=0, most=29)


class ImportQuerySchema(Schema):
    """Whether it is only tried."""

    dry_run = Choice(("0", "1"), "`1` changes nothing and lists every fault.")
