"""A fixture type as it is asked for, shown, and entered by the desk."""

from __future__ import annotations

import typing
from typing import Any

import marshmallow as ma
from marshmallow import fields

from evenboard.api.fields import Choice, Flag, Items, Number, Part, Schema, Text
from evenboard.api.own_fixture import contradictions
from evenboard.api.problem import invalid_body
from evenboard.api.reader import faults_of
from evenboard.api.schemas.described import schema_of
from evenboard.api.schemas.queries import PageQuerySchema, QueryNumber
from evenboard.api.state import current_catalogue
from evenboard.catalogue import AtVoltage
from evenboard.electrics import equipment
from evenboard.electrics.equipment import Basis
from evenboard.intake import Fault
from evenboard.intake.bounds import MAX_AMPS, MAX_POWER_W, MAX_VOLTS, MIN_POWER_W, MIN_VOLTS
from evenboard.intake.custom import LEAST_FACTOR

__all__ = [
    "FixtureBodySchema",
    "FixtureChangeSchema",
    "FixtureQuerySchema",
    "FixtureSchema",
    "VoltageQuerySchema",
]

SLUG = r"^[a-z0-9]+(-[a-z0-9]+)*$"
SIZES = typing.get_args(equipment.SizeClass)
READ_ONLY = ("at_voltage", "also_at", "own", "catalogue_version")


class VoltageQuerySchema(Schema):
    """At which voltage a fixture's figures are wanted."""

    voltage_v = QueryNumber(
        "Line-to-neutral voltage of the figures; default the region's nominal, else 230.",
        least=MIN_VOLTS,
        most=MAX_VOLTS,
    )
    region = Text("Region whose nominal voltage counts.", most=64)


class FixtureQuerySchema(VoltageQuerySchema, PageQuerySchema):
    """Which fixtures."""

    q = Text("Words, with slips, sizes and watts: `2k`, `1.8 kw par`, `800w`.", least=0)
    family = Text("One family.", most=64)
    size_class = Choice(SIZES, "One size class.")
    min_power_w = QueryNumber("At least this power.", least=0, most=MAX_POWER_W)
    max_power_w = QueryNumber("At most this power.", least=0, most=MAX_POWER_W)
    max_current_a = QueryNumber("At most this current.", least=0, most=MAX_AMPS)


class BasisBodySchema(Schema):
    """Where the figures come from."""

    kind = Choice(typing.get_args(equipment.BasisKind), required=True)
    text = Text("The source, as somebody else can find it.", most=500, required=True)


class FixtureChangeSchema(Schema):
    """A fixture type of the desk's own, as it is entered; what is read-only is passed over."""

    slug = Text("Its name in layouts.", most=64, pattern=SLUG)
    name = Text("What people call it.", required=True)
    family = Text("One of the catalogue's families.", most=64, required=True)
    size_class = Choice(SIZES, "By its power per line where it is not given.")
    power_w = Number(
        "Power at the plug, all losses in it.", least=MIN_POWER_W, most=500_000, required=True
    )
    lamp_power_w = Number("The lamp's own power.", least=MIN_POWER_W, most=500_000)
    power_factor = Number("True power factor.", least=LEAST_FACTOR, most=1, required=True)
    displacement_factor = Number(
        "Cosine of the fundamental's angle; the power factor where it is not given.",
        least=LEAST_FACTOR,
        most=1,
    )
    displacement = Choice(typing.get_args(equipment.Displacement))
    third_harmonic_pct = Number("Percent of the fundamental.", least=0, most=200)
    current_thd_pct = Number("As the power factors imply where it is not given.", least=0, most=500)
    load_model = Choice(typing.get_args(equipment.LoadModel), "`constant-power` by default.")
    inrush_multiple = Number("First peak over rated peak.", least=1, most=100)
    inrush_ms = Number(above=0, most=60_000)
    leakage_ma = Number(least=0, most=100)
    input_voltage_v = Items(
        Number(least=MIN_VOLTS, most=MAX_VOLTS), "Lowest and highest input.", least=2, most=2
    )
    input_ranges_v = Items(
        Items(Number(least=MIN_VOLTS, most=MAX_VOLTS), least=2, most=2),
        "The voltage versions, where there are several.",
        least=1,
        most=8,
    )
    connection = Choice(("single", "star", "delta"), "`single` by default.")
    also_known_as = Items(Text(most=64), most=40)
    smooth_dc_leakage = Flag("Needs a type B residual device.")
    basis = Part(BasisBodySchema, required=True)

    def load(self, data: Any, **_: Any) -> dict[str, Any]:
        """The body's fields. Raises a 422 problem with the faults of shape and of meaning."""
        shape: list[Fault] = []
        if isinstance(data, dict):
            # So that what a GET showed can be changed and sent back.
            data = {name: value for name, value in data.items() if name not in READ_ONLY}
        try:
            body: dict[str, Any] = super().load(data)
        except ma.ValidationError as error:
            body = error.valid_data if isinstance(error.valid_data, dict) else {}
            shape = list(faults_of(error.messages))
        told = {fault.pointer for fault in shape}
        meaning = contradictions(_sound(body, told), current_catalogue())
        found = shape + [fault for fault in meaning if fault.pointer not in told]
        if found:
            raise invalid_body(found)
        return body


def _sound(body: dict[str, Any], told: set[str]) -> dict[str, Any]:
    """The fields that have no fault in them."""
    wrong = {pointer.split("/")[1] for pointer in told if pointer}
    return {name: value for name, value in body.items() if name not in wrong}


class FixtureBodySchema(FixtureChangeSchema):
    """A new fixture type of the desk's own."""

    slug = Text("Its name in layouts.", most=64, pattern=SLUG, required=True)


class FixtureSchema(ma.Schema):
    """A fixture type as the mains sees it."""

    slug = fields.String(required=True)
    name = fields.String(required=True)
    family = fields.String(required=True)
    size_class = fields.String(required=True)
    power_w = fields.Float(
        required=True, metadata={"description": "Drawn at the plug, all losses included."}
    )
    lamp_power_w = fields.Float(required=True, allow_none=True)
    power_factor = fields.Float(required=True)
    displacement_factor = fields.Float(required=True)
    displacement = fields.String(required=True)
    third_harmonic_pct = fields.Float(required=True)
    current_thd_pct = fields.Float(required=True)
    load_model = fields.String(required=True)
    inrush_multiple = fields.Float(required=True)
    inrush_ms = fields.Float(required=True)
    leakage_ma = fields.Float(required=True)
    input_voltage_v = fields.List(
        fields.Float(),
        required=True,
        metadata={"description": "The version for the voltage asked for, else the first one."},
    )
    input_ranges_v = fields.List(fields.List(fields.Float()), required=True)
    connection = fields.String(required=True)
    smooth_dc_leakage = fields.Boolean(required=True)
    at_voltage = fields.Nested(
        schema_of(AtVoltage),
        required=True,
        allow_none=True,
        metadata={"description": "Null where it is not made for the voltage asked for."},
    )
    also_at = fields.List(
        fields.Nested(schema_of(AtVoltage)),
        required=True,
        metadata={"description": "At 120 and 230 V, as far as it is made for them."},
    )
    also_known_as = fields.List(fields.String(), required=True)
    basis = fields.Nested(schema_of(Basis), required=True)
    own = fields.Boolean(
        required=True, metadata={"description": "Added by the desk, not shipped with the service."}
    )
