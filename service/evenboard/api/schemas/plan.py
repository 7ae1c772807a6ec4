"""The body of ``POST /v1/plan`` and its answer, described."""

from __future__ import annotations

import typing
from collections.abc import Mapping
from typing import Any

import marshmallow as ma
from marshmallow import fields

from evenboard.api.fields import Choice, Number, Part, Schema, Whole
from evenboard.api.schemas.balance import BalanceSchema
from evenboard.api.schemas.layouts import LayoutSchema
from evenboard.electrics.layout import Layout
from evenboard.intake import bounds as b
from evenboard.planning import PlanOptions
from evenboard.planning.result import Objective

__all__ = ["PlaceSchema", "PlanBodySchema", "PlanSchema", "StepSchema"]


class OptionsBodySchema(Schema):
    """What the plan is to reach."""

    objective = Choice(
        typing.get_args(Objective),
        "`even` (default): the evenest, then the fewest moves. `fewest-moves`: the fewest moves "
        "that reach the target.",
    )
    max_moves = Whole("At most so many plugged loads change outlet.", least=0, most=b.MAX_LOADS)
    target_current_unbalance_pct = Number(
        "For `fewest-moves`: largest deviation from the mean over the mean, in every set-up.",
        least=0,
        most=200,
    )
    spare_a = Number("Kept free on every line.", least=0, most=b.MAX_AMPS)


class PlanBodySchema(LayoutSchema):
    """A layout whose loads may be loose or plugged; `keep` pins one where it is."""

    options = Part(OptionsBodySchema)
    loose: typing.ClassVar[bool] = True

    def load(self, data: Any, **_: Any) -> tuple[Layout, PlanOptions]:  # type: ignore[override]
        """The resolved layout and the options. Raises ``LayoutInvalid`` with every fault."""
        layout = super().load(data)
        given = self.fields["options"].deserialize(data.get("options")) or {}
        # An option that is null is one that is not given.
        return layout, PlanOptions(**{k: v for k, v in given.items() if v is not None})

    @staticmethod
    def layout_of(data: Any) -> Any:
        """The body without what is asked of the plan."""
        if not isinstance(data, Mapping):
            return data
        return {name: value for name, value in data.items() if name != "options"}


class PlaceSchema(ma.Schema):
    """An outlet of a board."""

    board = fields.String(required=True)
    outlet = fields.String(required=True)


class AssignmentSchema(ma.Schema):
    """Where one load is plugged in the plan."""

    # The metaclass takes fields out of the class, so the method of that name is still there.
    load = fields.String(required=True)  # type: ignore[assignment]
    board = fields.String(required=True)
    outlet = fields.String(required=True)
    moved_from = fields.Nested(PlaceSchema, required=True, allow_none=True)
    action = fields.String(required=True, validate=ma.validate.OneOf(("stay", "move", "plug-in")))


StepSchema = ma.Schema.from_dict(
    {
        "number": fields.Integer(required=True),
        "action": fields.String(
            required=True, validate=ma.validate.OneOf(("unplug", "move", "plug-in"))
        ),
        "load": fields.String(required=True),
        "from": fields.Nested(PlaceSchema, required=True, allow_none=True),
        "to": fields.Nested(PlaceSchema, required=True, allow_none=True),
        "text": fields.String(required=True),
    },
    name="Step",
)


class UnplacedSchema(ma.Schema):
    """A load of the smallest set that has to stay out, and why."""

    load = fields.String(required=True)  # type: ignore[assignment]
    why = fields.String(required=True)


class ProvenSchema(ma.Schema):
    """Which levels of the aim are proven best, each given the ones before."""

    placed = fields.Boolean(required=True)
    worst_phase = fields.Boolean(required=True)
    largest_spread = fields.Boolean(required=True)
    sum_of_spreads = fields.Boolean(required=True)
    moves = fields.Boolean(required=True)


class PlanSchema(ma.Schema):
    """A plug plan, with the balance before and after."""

    assignments = fields.List(fields.Nested(AssignmentSchema), required=True)
    steps = fields.List(fields.Nested(StepSchema), required=True)
    moves = fields.Integer(required=True)
    worst_phase_a = fields.Float(required=True)
    worst_phase = fields.String(required=True)
    worst_setup = fields.String(required=True)
    spread_a = fields.Float(required=True)
    sum_of_spreads_a = fields.Float(required=True)
    lower_bound_a = fields.Float(
        required=True, metadata={"description": "No plan has a lower highest line."}
    )
    proven_optimal = fields.Boolean(required=True)
    proven = fields.Nested(ProvenSchema, required=True)
    phases_a = fields.List(fields.List(fields.Float()), required=True)
    target_met = fields.Boolean(required=True, allow_none=True)
    unplaced = fields.List(fields.Nested(UnplacedSchema), required=True)
    why = fields.List(fields.String(), required=True)
    before = fields.Nested(BalanceSchema, required=True)
    after = fields.Nested(BalanceSchema, required=True)
    engine_version = fields.String(required=True)
    catalogue_version = fields.String(required=True)
    notice = fields.String(required=True)
