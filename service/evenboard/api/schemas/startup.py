"""Starting and stopping a set-up: what is asked and what is answered."""

from __future__ import annotations

import marshmallow as ma
from marshmallow import fields

from evenboard.api.fields import Schema, Text

__all__ = ["StartupQuerySchema", "StartupSchema"]


class StartupQuerySchema(Schema):
    """Which set-up is started."""

    setup = Text("A set-up of the layout; the one that burns, else the first, by default.", most=64)


def _figure(description: str) -> fields.Float:
    return fields.Float(required=True, allow_none=True, metadata={"description": description})


class StartupStepSchema(ma.Schema):
    """One thing to do, see or wait for."""

    key = fields.String(
        required=True, metadata={"description": "The same as long as the step means the same."}
    )
    kind = fields.String(required=True, metadata={"example": "lamps"})
    text = fields.String(required=True)
    caution = fields.String(required=True, allow_none=True)
    basis = fields.String(required=True)
    # The metaclass takes fields out of the class, so the method of that name is still there.
    loads = fields.List(fields.String(), required=True)  # type: ignore[assignment]
    board = fields.String(required=True, allow_none=True)
    running_a = fields.Dict(
        keys=fields.String(),
        values=fields.Float(),
        required=True,
        allow_none=True,
        metadata={
            "description": "The plain sum of nominal amps by line of the supply afterwards.",
            "example": {"L1": 8.7, "L2": 0.0, "L3": 8.7},
        },
    )
    peak_a = _figure("The worst line's, with the inrush of what is switched on.")
    step_pct = _figure("The load step, in percent of the generator.")
    wait_s = fields.Integer(
        required=True, metadata={"description": "How long to wait before the next step."}
    )


class StartupSchema(ma.Schema):
    """Lists to tick for starting one set-up and for stopping it."""

    setup = fields.String(required=True)
    start = fields.List(fields.Nested(StartupStepSchema), required=True)
    stop = fields.List(fields.Nested(StartupStepSchema), required=True)
    cautions = fields.List(
        fields.String(), required=True, metadata={"description": "To be told first."}
    )
    engine_version = fields.String(required=True)
    catalogue_version = fields.String(required=True)
    notice = fields.String(required=True)
