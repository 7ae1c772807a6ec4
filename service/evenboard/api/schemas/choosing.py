"""Which board would do and what a board still takes: what is asked and what is answered."""

from __future__ import annotations

import typing
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import marshmallow as ma
from marshmallow import fields

from evenboard.api.fields import Choice, Flag, Items, Number, Part, Schema, Text
from evenboard.api.reader import faults_of
from evenboard.api.schemas.layouts import LayoutSchema, LoadBodySchema, merged
from evenboard.api.schemas.plan import PlaceSchema, StepSchema
from evenboard.api.state import current_catalogue
from evenboard.api.tagged import filled_in
from evenboard.electrics.equipment import System
from evenboard.intake import LayoutInvalid
from evenboard.intake import bounds as b
from evenboard.planning import board_systems, list_faults

__all__ = [
    "ChoicesSchema",
    "ListAsked",
    "ListBodySchema",
    "MoreAsked",
    "MoreBodySchema",
    "TakingSchema",
]

SPARE_PCT = 20.0
"""Kept free for what comes on the day. Common practice, no source. [%]"""


class ListBodySchema(Schema):
    """A lighting list that is to be carried: a layout without supply and boards."""

    name = Text(least=0)
    region = Text("A region profile: au, eu, jp, uk, us.", most=64, required=True)
    system = Choice(
        typing.get_args(System), "The supply's system; three-phase by default, if there is one."
    )
    spare_pct = Number("Kept free on every line of the supply; 20 by default.", least=0, most=90)
    ambient_c = LayoutSchema().fields["ambient_c"]
    # The metaclass takes fields out of the class, so the method of that name is still there.
    loads = Items(Part(LoadBodySchema), most=b.MAX_LOADS, required=True)  # type: ignore[assignment]
    setups = LayoutSchema().fields["setups"]
    limits = LayoutSchema().fields["limits"]

    def load(self, data: Any, **_: Any) -> ListAsked:
        """The list, the system and the spare. Raises ``LayoutInvalid`` with every fault."""
        body = data if isinstance(data, Mapping) else {}
        catalogue = current_catalogue()
        region = catalogue.regions.get(str(body.get("region")))
        systems: list[System] = [] if region is None else board_systems(region, catalogue)
        system: System = "three-phase"
        if body.get("system") in typing.get_args(System):
            system = body["system"]
        elif systems and system not in systems:
            system = systems[0]
        own = {name: value for name, value in body.items() if name not in ("system", "spare_pct")}
        meaning = list_faults(own, catalogue, system) if isinstance(data, Mapping) else []
        found = merged(meaning, faults_of(self.validate(data)))
        if found:
            raise LayoutInvalid(found)
        spare = body.get("spare_pct")
        return ListAsked(own, system, SPARE_PCT if spare is None else float(spare))


@dataclass(frozen=True, slots=True)
class ListAsked:
    """A list as asked for: its body, the supply's system, the spare in percent."""

    body: Mapping[str, Any]
    system: System
    spare_pct: float


class LampBodySchema(LoadBodySchema):
    """What is to go in: as a load of the layout, without id and place."""

    class Meta(LoadBodySchema.Meta):
        exclude = ("id", "board", "outlet", "keep", "tag")


class MoreBodySchema(LayoutSchema):
    """A layout, and the lamp of which as many as can be are to go in."""

    more = Part(LampBodySchema, required=True)
    may_move = Flag("Whether what is plugged may be plugged elsewhere; no by default.")
    spare_a = Number("Kept free on every line.", least=0, most=b.MAX_AMPS)
    loose: typing.ClassVar[bool] = True

    def load(self, data: Any, **_: Any) -> MoreAsked:  # type: ignore[override]
        """The layout's body and the lamp. Raises ``LayoutInvalid`` with every fault."""
        super().load(data)
        given = {name: data.get(name) for name in ("may_move", "spare_a")}
        body, _contradictions = filled_in(self.layout_of(data), strict=False)
        return MoreAsked(
            body, data["more"], bool(given["may_move"]), float(given["spare_a"] or 0.0)
        )

    @staticmethod
    def layout_of(data: Any) -> Any:
        """The body without what is asked of it."""
        if not isinstance(data, Mapping):
            return data
        own = ("more", "may_move", "spare_a")
        return {name: value for name, value in data.items() if name not in own}


@dataclass(frozen=True, slots=True)
class MoreAsked:
    """A layout's body, the lamp, whether plugs may move, and what is kept free. [A]"""

    body: Mapping[str, Any]
    lamp: Mapping[str, Any]
    may_move: bool
    spare_a: float


class SupplyChosenSchema(ma.Schema):
    """A supply that a list would be carried by."""

    system = fields.String(required=True)
    rating_a = fields.Float(required=True)


class ChoiceSchema(ma.Schema):
    """Boards on a supply of their own rating, and how the list lies on them."""

    carries = fields.Boolean(
        required=True, metadata={"description": "Whether every load has its place, spare kept."}
    )
    supply = fields.Nested(SupplyChosenSchema, required=True)
    boards = fields.List(
        fields.Dict(), required=True, metadata={"description": "As a layout has them."}
    )
    names = fields.List(fields.String(), required=True)
    outlets = fields.Integer(required=True)
    worst_phase_a = fields.Float(required=True, allow_none=True)
    headroom_a = fields.Float(
        required=True,
        allow_none=True,
        metadata={"description": "From the highest line of the worst set-up to the rating."},
    )
    spread_a = fields.Float(required=True, allow_none=True)
    verdict = fields.String(required=True, allow_none=True)
    why = fields.List(fields.String(), required=True)
    layout = fields.Dict(
        required=True, metadata={"description": "The layout with the loads plugged as planned."}
    )


class ChoicesSchema(ma.Schema):
    """The last boards that are too small, then the smallest that carry a list."""

    choices = fields.List(fields.Nested(ChoiceSchema), required=True)
    spare_pct = fields.Float(required=True)
    engine_version = fields.String(required=True)
    catalogue_version = fields.String(required=True)
    notice = fields.String(required=True)


class TakingSchema(ma.Schema):
    """How many more of a lamp go in, where, and what keeps the next one out."""

    count = fields.Integer(required=True)
    and_more = fields.Boolean(
        required=True,
        metadata={"description": "All that were asked for at once went in: there may be room."},
    )
    proven = fields.Boolean(
        required=True, metadata={"description": "Whether no plan takes more of them."}
    )
    by_line = fields.Dict(keys=fields.String(), values=fields.Integer(), required=True)
    outlets = fields.List(fields.Nested(PlaceSchema), required=True)
    moves = fields.Integer(required=True)
    steps = fields.List(fields.Nested(StepSchema), required=True)
    phases_a = fields.List(fields.List(fields.Float()), required=True)
    why = fields.String(required=True)
    engine_version = fields.String(required=True)
    catalogue_version = fields.String(required=True)
    notice = fields.String(required=True)
