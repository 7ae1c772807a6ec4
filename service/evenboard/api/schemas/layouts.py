"""A board layout as it is sent: the shape of the body of ``POST /v1/balance``.

The schema knows shapes, ``intake`` knows meaning, and one answer has the faults of both. Loading a
body gives the resolved :class:`~evenboard.electrics.layout.Layout`.
"""

from __future__ import annotations

import dataclasses
import typing
from collections.abc import Iterable
from typing import Any

from evenboard.api.fields import Choice, Flag, Items, Number, Part, Schema, Text, Whole
from evenboard.api.reader import faults_of
from evenboard.api.state import current_catalogue
from evenboard.api.tagged import filled_in
from evenboard.electrics import equipment
from evenboard.electrics.equipment import Limits
from evenboard.electrics.layout import Dimmer, Laid, Layout
from evenboard.intake import Fault, LayoutInvalid, resolve
from evenboard.intake import bounds as b
from evenboard.intake.custom import LEAST_FACTOR

__all__ = ["LayoutSchema", "LoadBodySchema", "merged"]

ENOUGH = 200
"""Faults of meaning with which a body is refused before its shape is gone through too."""
SYSTEMS = typing.get_args(equipment.System)


def _id(description: str = "", *, required: bool = False) -> Text:
    return Text(description, most=64, required=required)


class ConductorBodySchema(Schema):
    """A conductor spelled out instead of a cable type and size."""

    r_ohm_per_km = Number(least=0, most=b.MAX_OHM_PER_KM, required=True)
    x_ohm_per_km = Number(least=0, most=b.MAX_OHM_PER_KM)
    neutral_r_ohm_per_km = Number("The lines' by default.", least=0, most=b.MAX_OHM_PER_KM)
    neutral_x_ohm_per_km = Number("The lines' by default.", least=0, most=b.MAX_OHM_PER_KM)
    capacity_a = Number(least=b.MIN_AMPS, most=b.MAX_AMPS)


class RunBodySchema(Schema):
    """A run of cable: a board's feeder or a load's lead."""

    cable = _id("A cable type; needs `csa_mm2`.")
    csa_mm2 = Number("Size of the lines.", above=0, most=b.MAX_CSA_MM2)
    table = _id("Rating table of the cable type; the region's by default.")
    neutral_csa_mm2 = Number("The lines' size by default.", above=0, most=b.MAX_CSA_MM2)
    conductor = Part(ConductorBodySchema, "Instead of `cable`.")
    length_m = Number(
        "Needed but where the desk has it on record under `tag`.", least=0, most=b.MAX_LENGTH_M
    )
    laid = Choice(typing.get_args(Laid), "`free-air` by default.")
    coil_layers = Whole("Layers on each other, where coiled.", least=0, most=b.MAX_COIL_LAYERS)
    grouped_circuits = Whole("Circuits that lie together.", least=1, most=b.MAX_CIRCUITS)
    neutral_connected = Flag("`false` where the neutral is open.")
    tag = _id("Asset tag.")


class SourceImpedanceBodySchema(Schema):
    """The impedance up to the supply's terminals."""

    r_ohm = Number(least=0, most=b.MAX_OHM)
    x_ohm = Number(least=0, most=b.MAX_OHM)
    neutral_r_ohm = Number(least=0, most=b.MAX_OHM)
    neutral_x_ohm = Number(least=0, most=b.MAX_OHM)


class GeneratorBodySchema(Schema):
    """A generating set by its plate."""

    rating_kva = Number(least=b.MIN_KVA, most=b.MAX_KVA, required=True)
    rated_power_factor = Number("0.8 by default.", least=b.MIN_RATED_FACTOR, most=1)
    subtransient_reactance_pct = Number(above=0, most=100)
    max_step_pct = Number("Largest load step it takes.", least=b.MIN_LIMIT, most=100)


class SupplyBodySchema(Schema):
    """What the boards hang on."""

    kind = Choice(("outlet", "generator", "service"), "`outlet` by default.")
    system = Choice(SYSTEMS, "`three-phase` by default.")
    rating_a = Number(
        "Amps per line; a generator's follow from its plate.", least=b.MIN_AMPS, most=b.MAX_AMPS
    )
    voltage_v = Number(
        "Line to neutral; the region's nominal by default.", least=b.MIN_VOLTS, most=b.MAX_VOLTS
    )
    frequency_hz = Number("The region's by default.", least=45, most=65)
    loop_impedance_ohm = Number("Line to earth, as measured.", least=0, most=b.MAX_OHM)
    source_impedance = Part(SourceImpedanceBodySchema)
    generator = Part(GeneratorBodySchema)
    neutral = Flag("Whether the supply has a neutral.")


class BreakerBodySchema(Schema):
    """A circuit breaker."""

    rating_a = Number(least=b.MIN_AMPS, most=b.MAX_AMPS, required=True)
    curve = Choice(typing.get_args(equipment.Curve), "`C` by default.")


class RcdBodySchema(Schema):
    """A residual-current device that outlets share."""

    id = _id(required=True)
    rated_residual_ma = Number(least=b.MIN_RESIDUAL_MA, most=b.MAX_RESIDUAL_MA, required=True)
    delayed = Flag("Time-delayed (type S).")


class IncomerRcdBodySchema(Schema):
    """A residual-current device in front of a board."""

    id = _id()
    rated_residual_ma = Number(least=b.MIN_RESIDUAL_MA, most=b.MAX_RESIDUAL_MA, required=True)
    delayed = Flag("Time-delayed (type S).")


class OutletBodySchema(Schema):
    """An outlet of a board that is spelled out."""

    id = _id(required=True)
    lines = Items(
        Choice(("L1", "L2", "L3")),
        "The board's lines behind it; two are line to line.",
        least=1,
        most=3,
        required=True,
    )
    rating_a = Number("Per line; the connector's by default.", least=b.MIN_AMPS, most=b.MAX_AMPS)
    row = Choice(typing.get_args(equipment.Row), "Large lamps at the bottom, small on top.")
    breaker = Part(BreakerBodySchema)
    rcd = _id("Id of the residual-current device it is behind.")
    connector = _id("Outlet type of the region.")
    neutral = Flag()


class IncomerBodySchema(Schema):
    """A board's main switch."""

    rating_a = Number("Per line.", least=b.MIN_AMPS, most=b.MAX_AMPS)
    breaker = Part(BreakerBodySchema)
    rcd = Part(IncomerRcdBodySchema)


class FedFromBodySchema(Schema):
    """The outlet that feeds a board; null on the supply itself."""

    board = _id()
    outlet = _id()
    phase_order = Items(
        Choice(("L1", "L2", "L3")),
        "Where the feeder is rolled: what arrives as L1, L2, L3.",
        most=3,
    )
    adaptor = Flag("An adaptor is between the plug and the outlet.")


class BoardBodySchema(Schema):
    """A board: a generic type, or its outlets spelled out."""

    id = _id(required=True)
    name = Text(least=0)
    type = _id("A generic board type; instead of `outlets`.")
    outlets = Items(Part(OutletBodySchema), most=b.MAX_OUTLETS)
    rcds = Items(Part(RcdBodySchema), most=b.MAX_OUTLETS)
    incomer = Part(IncomerBodySchema)
    fed_from = Part(FedFromBodySchema)
    feeder = Part(RunBodySchema)
    neutral = Flag("`false` where the board has none.")
    tag = _id("Asset tag.")


class CustomBodySchema(Schema):
    """A load spelled out instead of a fixture type."""

    name = Text(least=0, required=True)
    power_w = Number("At the plug.", least=b.MIN_POWER_W, most=b.MAX_POWER_W, required=True)
    power_factor = Number("1 by default.", least=LEAST_FACTOR, most=1)
    displacement_factor = Number("The power factor by default.", least=LEAST_FACTOR, most=1)
    displacement = Choice(typing.get_args(equipment.Displacement))
    load_model = Choice(typing.get_args(equipment.LoadModel), "`constant-power` by default.")
    rated_voltage_v = Number("Across one branch.", least=b.MIN_VOLTS, most=b.MAX_VOLTS)
    input_voltage_v = Items(
        Number(least=b.MIN_VOLTS, most=b.MAX_VOLTS), "Lowest and highest.", least=2, most=2
    )
    third_harmonic_pct = Number(least=0, most=100)
    inrush_multiple = Number(least=0, most=100)
    inrush_ms = Number(least=0, most=10_000)
    leakage_ma = Number(least=0, most=1000)
    size_class = Choice(typing.get_args(equipment.SizeClass))


class LoadBodySchema(Schema):
    """A lamp or appliance, or several like ones on one plug."""

    id = _id(required=True)
    name = Text(least=0)
    fixture = Text("Slug of a fixture type; or `custom`.", most=64)
    custom = Part(CustomBodySchema)
    count = Whole("Like ones on this plug; 1 by default.", least=1, most=b.MAX_COUNT)
    board = _id()
    outlet = _id()
    lines = Items(Choice(("L1", "L2", "L3")), "Which lines of the outlet it takes.", most=3)
    connection = Choice(("single", "line-to-line", "star", "delta"))
    connector = _id("The plug, where it is known.")
    dimmed_to = Number("Share of full power; 1 by default.", least=0, most=1)
    dimmer = Choice(typing.get_args(Dimmer))
    lead = Part(RunBodySchema)
    setups = Items(
        _id(), "Where it is on; all by default, none by an empty list.", most=b.MAX_SETUPS
    )
    keep = Flag("A plan leaves it where it is.")
    tag = _id("Asset tag.")


class SetupBodySchema(Schema):
    """A set-up: which lamps burn together."""

    id = _id(required=True)
    name = Text(least=0)
    hours_h = Number("Hours a day that it burns; for the energy.", least=0, most=24)


LimitsBodySchema = Schema.from_dict(
    {
        field.name: Number(least=0, most=100_000)
        if field.name.endswith("_w")
        else Number(least=b.MIN_LIMIT, most=200)
        for field in dataclasses.fields(Limits)
    },
    name="LimitsBody",
)


class LayoutSchema(Schema):
    """A board layout, as plugged."""

    name = Text(least=0)
    region = _id("A region profile: au, eu, jp, uk, us.", required=True)
    supply = Part(SupplyBodySchema, required=True)
    ambient_c = Number("The region's by default.", least=b.MIN_AMBIENT_C, most=b.MAX_AMBIENT_C)
    boards = Items(Part(BoardBodySchema), most=b.MAX_BOARDS, required=True)
    # The metaclass takes fields out of the class, so the method of that name is still there.
    loads = Items(Part(LoadBodySchema), most=b.MAX_LOADS)  # type: ignore[assignment]
    setups = Items(Part(SetupBodySchema), "One where all is on by default.", most=b.MAX_SETUPS)
    start_order = Items(
        Items(_id(), most=b.MAX_LOADS),
        "Loads that go on together, group after group; all at once by default.",
        most=b.MAX_LOADS,
    )
    limits = Part(LimitsBodySchema, "In place of the region's.")

    loose: typing.ClassVar[bool] = False
    """Whether a load may be without an outlet, as a plan's are."""
    saved: typing.ClassVar[bool] = False
    """Whether it is read from the store, where the record of a piece may have changed since."""

    def load(self, data: Any, **_: Any) -> Layout:
        """The resolved layout of a body. Raises ``LayoutInvalid`` with the faults of both kinds.

        What it leaves out of a piece with a tag is taken from the desk's record, for whoever may
        look that up; what contradicts the record is a fault, but in a layout that was saved before.
        """
        body, contradictions = filled_in(self.layout_of(data), strict=not self.saved)
        meaning = tuple(contradictions)
        try:
            layout = resolve(body, current_catalogue(), loose=self.loose)
        except LayoutInvalid as error:
            meaning += error.faults
        shape = faults_of(self.validate(data)) if len(meaning) < ENOUGH else ()
        found = merged(meaning, shape)
        if found:
            raise LayoutInvalid(found)
        return layout

    @staticmethod
    def layout_of(data: Any) -> Any:
        """What of the body describes the layout: here all of it."""
        return data


def merged(meaning: Iterable[Fault], shape: Iterable[Fault]) -> list[Fault]:
    """All faults, each place once: where both rooms object, intake knows better what is right."""
    merged = list(meaning)
    told = {fault.pointer for fault in merged}
    told |= {pointer[:i] for pointer in told for i, mark in enumerate(pointer) if mark == "/"}
    return merged + [fault for fault in shape if fault.pointer not in told]
