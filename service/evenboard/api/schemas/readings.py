"""Clamp-meter readings: what is sent, and the answer beside what was expected."""

from __future__ import annotations

import typing

import marshmallow as ma
from marshmallow import fields

from evenboard.api.fields import Choice, Moment, Number, Part, Schema, Text
from evenboard.api.schemas.saved import AGO, LayoutPart, LooseLayoutSchema, by
from evenboard.desk.readings import Meter
from evenboard.intake.bounds import MAX_AMPS

__all__ = [
    "AssessedSchema",
    "ReadingBodySchema",
    "ReadingPageSchema",
    "ReadingSchema",
    "SentReadingSchema",
]


def _amps(description: str = "") -> Number:
    return Number(description, least=0, most=MAX_AMPS)


class PhaseAmpsSchema(Schema):
    """Amps by line, those that were clamped, in the board's own names."""

    L1 = _amps()
    L2 = _amps()
    L3 = _amps()

    @ma.validates_schema
    def _some(self, data: dict[str, float | None], **_: object) -> None:
        if all(value is None for value in data.values()):
            raise ma.ValidationError('One line at least: {"L1": 12.3}.')


class MeasuredSchema(Schema):
    """What a clamp meter showed, and where."""

    phases = Part(PhaseAmpsSchema, required=True)
    neutral = _amps("Amps of the neutral, where it was clamped.")
    meter = Choice(typing.get_args(Meter), "`true-rms` by default.")
    setup = Text("The set-up that burns; the layout's own by default.", most=64)
    board = Text("The board whose feeder was clamped; the supply by default.", most=64)


class SentReadingSchema(MeasuredSchema):
    """A reading of a layout that is sent along."""

    layout = LayoutPart(LooseLayoutSchema, required=True)


class ReadingBodySchema(MeasuredSchema):
    """A reading of a saved layout, to be kept."""

    at = Moment("When it was taken, where the phone's clock is right; else `age_s`.")
    age_s = Number("How long ago it was taken, whatever the phone's clock says.", least=0, most=AGO)
    by = by()
    note = Text(least=0, most=500)

    @ma.validates_schema
    def _one_time(self, data: dict[str, object], **_: object) -> None:
        if data.get("at") is not None and data.get("age_s") is not None:
            raise ma.ValidationError("Either at or age_s says when it was taken.", "age_s")


# --- answers ----------------------------------------------------------------------------------


def _amps_by_line(description: str, *, nullable: bool = False) -> fields.Dict:
    return fields.Dict(
        keys=fields.String(),
        values=fields.Float(),
        required=True,
        allow_none=nullable,
        metadata={"description": description, "example": {"L1": 12.3, "L2": 11.9, "L3": 14.0}},
    )


class LevelsSchema(ma.Schema):
    """Amps of the lines and of the neutral."""

    phases = _amps_by_line("By line.")
    neutral = fields.Float(required=True, allow_none=True)


class DifferenceSchema(ma.Schema):
    """One conductor that was clamped."""

    conductor = fields.String(required=True)
    expected_a = fields.Float(required=True)
    measured_a = fields.Float(required=True)
    difference_a = fields.Float(required=True)
    tolerance_a = fields.Float(required=True)
    fits = fields.Boolean(required=True)


class HypothesisSchema(ma.Schema):
    """One way in which the reading could have come about."""

    kind = fields.String(required=True, metadata={"example": "off"})
    sentence = fields.String(required=True)
    # The metaclass takes fields out of the class, so the method of that name is still there.
    loads = fields.List(fields.String(), required=True)  # type: ignore[assignment]
    left_a = fields.Float(
        required=True, metadata={"description": "The largest difference that it leaves."}
    )


class AssessedSchema(ma.Schema):
    """A reading beside what was expected."""

    setup = fields.String(required=True)
    board = fields.String(required=True, allow_none=True)
    meter = fields.String(required=True, validate=ma.validate.OneOf(typing.get_args(Meter)))
    note = fields.String(required=True)
    phases = _amps_by_line("As measured.")
    neutral = fields.Float(required=True, allow_none=True)
    expected = fields.Nested(
        LevelsSchema,
        required=True,
        allow_none=True,
        metadata={"description": "What such a meter should show; null without a solution."},
    )
    true_rms = fields.Nested(
        LevelsSchema, required=True, allow_none=True, metadata={"description": "What flows."}
    )
    fits = fields.Boolean(required=True, allow_none=True)
    summary = fields.String(required=True)
    differences = fields.List(fields.Nested(DifferenceSchema), required=True)
    explanations = fields.List(fields.String(), required=True)
    hypotheses = fields.List(fields.Nested(HypothesisSchema), required=True)
    cautions = fields.List(
        fields.String(), required=True, metadata={"description": "To be told first."}
    )
    engine_version = fields.String(required=True)
    catalogue_version = fields.String(required=True)
    notice = fields.String(required=True)


class ReadingSchema(AssessedSchema):
    """A reading beside what was expected of it when it came in."""

    id = fields.String(required=True)
    layout_id = fields.String(required=True)
    version = fields.Integer(
        required=True, metadata={"description": "Of the layout that it was held against."}
    )
    by = fields.String(required=True)
    role = fields.String(required=True)
    at = fields.String(required=True, metadata={"format": "date-time"})
    received_at = fields.String(required=True, metadata={"format": "date-time"})


class ReadingPageSchema(ma.Schema):
    """A page of readings, the latest taken first."""

    items = fields.List(fields.Nested(ReadingSchema), required=True)
    next_cursor = fields.String(required=True, allow_none=True)
