"""The answer of ``POST /v1/balance``, described; the answer itself is made by ``balance``.

Figures that a supply has no place for (no neutral, no third phase) or that have no solution are
null. A test holds real answers against this description.
"""

from __future__ import annotations

import typing

import marshmallow as ma
from marshmallow import fields, validate

from evenboard.balance.model import Verdict
from evenboard.findings.finding import Severity

__all__ = ["BalanceSchema", "PhaseSchema"]


def _figure(description: str = "", *, nullable: bool = True) -> fields.Float:
    return fields.Float(required=True, allow_none=nullable, metadata={"description": description})


def _sure(description: str = "") -> fields.Float:
    return _figure(description, nullable=False)


def _name(*, nullable: bool = False) -> fields.String:
    return fields.String(required=True, allow_none=nullable)


def _by_line(description: str) -> fields.Dict:
    return fields.Dict(
        keys=fields.String(),
        values=fields.Float(allow_none=True),
        required=True,
        allow_none=True,
        metadata={"description": description, "example": {"L1": 229.1, "L2": 228.4, "L3": 230}},
    )


def _part(schema: type[ma.Schema], *, nullable: bool = False) -> fields.Nested:
    return fields.Nested(schema, required=True, allow_none=nullable)


def _parts(schema: type[ma.Schema]) -> fields.List:
    return fields.List(fields.Nested(schema), required=True)


class SupplyAnswerSchema(ma.Schema):
    """What the supply may give."""

    rating_a = _sure("Per line.")
    total_rating_a = _sure("All lines together.")
    voltage_v = _sure("Line to neutral.")
    capacity_va = _sure()


class RoomSchema(ma.Schema):
    """How many more of a common type still fit on a phase."""

    fixture = _name()
    name = _name()
    current_a = _sure("Each one's.")
    count = fields.Integer(required=True)


class SidePhaseSchema(ma.Schema):
    """One line of a board, or of the supply in one set-up."""

    phase = _name()
    current_a = _figure("True RMS; overload is judged on it.")
    fundamental_a = _figure()
    power_w = _figure()
    reactive_var = _figure()
    apparent_va = _figure()
    power_factor = _figure()
    rating_a = _sure()
    loading_pct = _figure()
    sum_a = _sure("Arithmetic sum of the loads' amps at nominal voltage; room left counts on it.")
    headroom_a = _sure()


class PhaseSchema(SidePhaseSchema):
    """One line of the supply, in the set-up with the fullest line."""

    room_for = _parts(RoomSchema)


class SideNeutralSchema(ma.Schema):
    """The supply's neutral in one set-up."""

    current_a = _figure()
    fundamental_a = _figure()
    triplen_a = _figure("Third harmonics and their odd multiples, which add up.")
    rating_a = _sure()
    loading_pct = _figure()


class NeutralSchema(SideNeutralSchema):
    """A neutral, at its fullest."""

    worst_switching_a = _figure("Largest over every combination of loads on and off.")
    worst_switching_on = fields.List(fields.String(), required=True)


class OpenNeutralSchema(ma.Schema):
    """What the loads would get if the neutral opened."""

    voltage_v = _by_line("Line to the floating neutral.")


class UnbalanceSchema(ma.Schema):
    """How uneven the phases are."""

    current_pct = _figure("Largest deviation from the mean, over the mean (NEMA MG 1).")
    spread_a = _figure("Highest less lowest.")
    spread_pct = _figure("The spread over the rating; this one is judged.")
    negative_sequence_pct = _figure("I2/I1.")
    voltage_pct = _figure("V2/V1 at the worst board.")


class FeederSchema(ma.Schema):
    """The cable that feeds a board."""

    capacity_a = _figure("As it lies.")
    capacity_basis = _name(nullable=True)
    length_m = _sure()
    loss_w = _figure()
    core_temperature_c = _by_line("By conductor, `N` for the neutral.")
    core_spread_k = _figure()
    differential_expansion_mm = _figure()


class OutletSchema(ma.Schema):
    """An outlet of a board."""

    id = _name()
    lines = fields.List(fields.String(), required=True)
    row = _name(nullable=True)
    rating_a = _sure()
    breaker_a = _figure()
    used_by = _name(nullable=True)
    current_a = _figure()
    voltage_v = _figure()
    inrush_a = _sure()
    loop_impedance_ohm = _figure()


class RcdSchema(ma.Schema):
    """A residual-current device and the standing leakage behind it."""

    id = _name()
    rated_residual_ma = _sure()
    leakage_ma = _sure()


class BoardSchema(ma.Schema):
    """A board: what it takes in and what it gives."""

    id = _name()
    name = _name()
    lines = fields.List(fields.String(), required=True)
    supply_lines = fields.List(fields.String(), required=True)
    setup = _name(nullable=True)
    phases = _parts(SidePhaseSchema)
    neutral = _part(NeutralSchema, nullable=True)
    unbalance = _part(UnbalanceSchema, nullable=True)
    voltage_v = _by_line("Line to the board's own neutral.")
    neutral_to_earth_v = _figure()
    voltage_drop_pct = _by_line("From the supply's nominal.")
    feeder = _part(FeederSchema, nullable=True)
    outlets = _parts(OutletSchema)
    rcds = _parts(RcdSchema)


class SetupSchema(ma.Schema):
    """The supply in one set-up."""

    id = _name()
    solved = fields.Boolean(required=True)
    phases = _parts(SidePhaseSchema)
    neutral = _part(SideNeutralSchema, nullable=True)
    unbalance = _part(UnbalanceSchema, nullable=True)
    power_w = _figure()
    apparent_va = _figure()
    loss_w = _figure()


class LoadSchema(ma.Schema):
    """A load where it gets the lowest voltage."""

    id = _name()
    name = _name()
    setup = _name(nullable=True)
    voltage_v = _figure()
    current_a = _figure()
    power_w = _figure()
    light_pct = _figure("Tungsten only.")
    colour_temperature_k = _figure("Tungsten only.")


class WhereSchema(ma.Schema):
    """The place of a finding; what does not apply is null."""

    board = _name(nullable=True)
    phase = _name(nullable=True)
    outlet = _name(nullable=True)
    # The metaclass takes fields out of the class, so the method of that name is still there.
    load = _name(nullable=True)  # type: ignore[assignment]
    setup = _name(nullable=True)


class ActionSchema(ma.Schema):
    """What mends a finding, for a program to carry out; further fields depend on the kind."""

    class Meta:
        """Each kind has fields of its own."""

        unknown = ma.INCLUDE

    kind = _name()


class FindingSchema(ma.Schema):
    """One thing that a crew should know."""

    code = _name()
    severity = fields.String(required=True, validate=validate.OneOf(typing.get_args(Severity)))
    where = _part(WhereSchema)
    value = _figure()
    limit = _figure()
    unit = _name()
    message = _name()
    remedy = _name()
    basis = _name()
    actions = _parts(ActionSchema)


class GeneratorLoadSchema(ma.Schema):
    """A generator in the set-up that asks most of it, in percent of its ratings."""

    setup = _name()
    apparent_pct = _sure("Of its kVA.")
    active_pct = _sure("Of its kW.")
    line_pct = _by_line("Of one line's share of the kVA.")
    negative_sequence_pct = _figure("Of its rated current.")
    leading_pct = _sure("Leading reactive power over its kVA; 0 where lagging.")


class EnergySchema(ma.Schema):
    """What a shooting day takes: all set-ups by their hours, else the hungriest one (`setup`)."""

    setup = _name(nullable=True)
    hours_h = _sure()
    energy_kwh = _sure()
    loss_kwh = _sure("Of it, lost in the cables.")


class WorstSetupSchema(ma.Schema):
    """Which set-up the figures above the set-ups are of."""

    phases = _name(nullable=True)
    neutral = _name(nullable=True)
    unbalance = _name(nullable=True)


class BalanceSchema(ma.Schema):
    """The balance of a layout; figures are the worst set-up's, `setups` has each one's."""

    verdict = fields.String(required=True, validate=validate.OneOf(typing.get_args(Verdict)))
    supply = _part(SupplyAnswerSchema)
    worst_setup = _part(WorstSetupSchema)
    phases = _parts(PhaseSchema)
    neutral = _part(NeutralSchema, nullable=True)
    open_neutral = _part(OpenNeutralSchema, nullable=True)
    unbalance = _part(UnbalanceSchema, nullable=True)
    boards = _parts(BoardSchema)
    setups = _parts(SetupSchema)
    loads = _parts(LoadSchema)  # type: ignore[assignment]
    findings = _parts(FindingSchema)
    generator = _part(GeneratorLoadSchema, nullable=True)
    energy = _part(EnergySchema, nullable=True)
    engine_version = _name()
    catalogue_version = _name()
    notice = _name()
