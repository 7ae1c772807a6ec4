"""Saved layouts: what is sent to save and to change one, and what is answered."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import marshmallow as ma
from marshmallow import fields

from evenboard.api.fields import Choice, Items, Number, OrderRef, Part, Schema, Text
from evenboard.api.schemas import told
from evenboard.api.schemas.layouts import FedFromBodySchema, LayoutSchema
from evenboard.api.schemas.queries import PageQuerySchema, QueryWhole
from evenboard.desk.layouts import OPS, SETTABLE
from evenboard.desk.rig import BOARD_FIELDS, LAYOUT_FIELDS
from evenboard.electrics.layout import Layout
from evenboard.intake import Fault, LayoutInvalid
from evenboard.intake.nearest import quoted

__all__ = [
    "AGO",
    "ChangesAnswerSchema",
    "ChangesBodySchema",
    "EventQuerySchema",
    "EventsSchema",
    "GivenLayout",
    "LayoutPart",
    "LayoutQuerySchema",
    "LooseLayoutSchema",
    "NewLayoutSchema",
    "ReplacedLayoutSchema",
    "SavedBodySchema",
    "SavedLayoutPageSchema",
    "SavedLayoutSchema",
    "by",
]

MAX_CHANGES = 100
MAX_EVENTS = 500
AGO = 7 * 86_400
"""Longest time that a phone may have been without reception, as long as repeats are known. [s]"""


def by() -> Text:
    """Who did it, as the person says; else the name of the key or link."""
    return Text("Who does this; the name of the key or link by default.", most=60)


class LooseLayoutSchema(LayoutSchema):
    """A board layout whose loads may be loose: on the list, not plugged in yet."""

    loose = True


class SavedBodySchema(LooseLayoutSchema):
    """A layout as it was saved; a record of a tagged piece may have changed since."""

    saved = True


@dataclass(frozen=True, slots=True)
class GivenLayout:
    """A layout as it was sent and as it was read."""

    body: dict[str, Any]
    layout: Layout


class LayoutPart(Part):
    """A whole layout inside another body, read and checked; gives a :class:`GivenLayout`."""

    def _load(self, value: Any, partial: Any = None) -> GivenLayout:
        try:
            return GivenLayout(value, self.schema.load(value))
        except LayoutInvalid as error:
            raise ma.ValidationError(_nested(error.faults)) from None


def _nested(faults: tuple[Fault, ...]) -> dict[str, Any]:
    """Faults with pointers as the nested messages that a schema gives."""
    root: dict[str, Any] = {}
    for fault in faults:
        place = root
        for step in fault.pointer.split("/")[1:]:
            place = place.setdefault(step.replace("~1", "/").replace("~0", "~"), {})
        place.setdefault("_schema", []).append(fault.detail)
    return root


class NewLayoutSchema(Schema):
    """A layout to be saved."""

    name = Text("The layout's own name by default.")
    order_ref = OrderRef("The order it belongs to.")
    body = LayoutPart(LooseLayoutSchema, required=True)
    burning = Text("The set-up that burns.", most=64)
    by = by()


class ReplacedLayoutSchema(NewLayoutSchema):
    """A layout in place of a saved one; what is left out stays as it is, but for the body."""


class Anything(fields.Raw):
    """A JSON value of whatever kind the field beside it says."""

    def __init__(self, description: str) -> None:
        super().__init__(allow_none=True, metadata={"description": description})


class PlaceSchema(Schema):
    """An outlet of a board."""

    board = Text(most=64, required=True)
    outlet = Text(most=64, required=True)
    lines = Items(Choice(("L1", "L2", "L3")), "Where only some of the outlet's are used.", most=3)


class _LoadIdSchema(Schema):
    class Meta:
        unknown = ma.INCLUDE

    id = Text(most=64, required=True)


NEEDS: Mapping[str, tuple[str, ...]] = {
    "plug": ("load", "to"),
    "unplug": ("load", "from"),
    "move": ("load", "from", "to"),
    "swap": ("load", "from", "with", "to"),
    "dim": ("load", "was", "to"),
    "set": ("load", "field", "was", "to"),
    "add": ("new",),
    "remove": ("load", "from"),
    "burning": ("was", "to"),
    "add-board": ("new",),
    "remove-board": ("board", "from"),
    "set-board": ("board", "field", "was", "to"),
    "set-layout": ("field", "was", "to"),
}
"""The fields of each kind of change."""
MAY_HAVE: Mapping[str, tuple[str, ...]] = dict.fromkeys(("plug", "move", "add"), ("beside",))
"""Fields that a kind of change has besides, or not."""
FIELDS_OF: Mapping[str, tuple[str, ...]] = {
    "set": SETTABLE,
    "set-board": BOARD_FIELDS,
    "set-layout": LAYOUT_FIELDS,
}
"""Which fields a kind of change gives another value."""
_A_PLACE = 'This must be a place: {"board": "main", "outlet": "l1-top"}.'
_PLACE, _SHARE = PlaceSchema(), Number(least=0, most=1, required=True)
_SETUP = Text(most=64)
_LOAD = _LoadIdSchema()
_FED_FROM = FedFromBodySchema()


def _place(value: Any) -> None:
    if not isinstance(value, Mapping):
        raise ma.ValidationError(_A_PLACE)
    _PLACE.load(value)


def _place_or_loose(value: Any) -> None:
    if value is not None:
        _place(value)


def _share(value: Any) -> None:
    if value is not None:
        _SHARE.deserialize(value)


def _setup(value: Any) -> None:
    _SETUP.deserialize(value)


def _new_load(value: Any) -> None:
    if not isinstance(value, Mapping):
        raise ma.ValidationError("This must be an object: a load with its id.")
    _LOAD.load(value)


def _new_board(value: Any) -> None:
    if not isinstance(value, Mapping):
        raise ma.ValidationError("This must be an object: a board with its id.")
    _LOAD.load(value)
    _fed_from(value.get("fed_from"))


def _fed_from(value: Any) -> None:
    if value is None:
        return
    if not isinstance(value, Mapping):
        raise ma.ValidationError(f"{_A_PLACE} Null is the supply.")
    _FED_FROM.load(value)
    _PLACE.load({name: value[name] for name in ("board", "outlet") if name in value})


def _anything(value: Any) -> None:
    return None


_NAMES = ("load", "with", "field", "board")
_CHECKS: Mapping[tuple[str, str], Callable[[Any], None]] = {
    ("plug", "to"): _place,
    ("unplug", "from"): _place,
    ("move", "from"): _place,
    ("move", "to"): _place,
    ("swap", "from"): _place,
    ("swap", "to"): _place,
    ("dim", "was"): _share,
    ("dim", "to"): _share,
    ("add", "new"): _new_load,
    ("remove", "from"): _place_or_loose,
    ("burning", "was"): _setup,
    ("burning", "to"): _setup,
    ("add-board", "new"): _new_board,
    ("remove-board", "from"): _fed_from,
}

_ChangeFields = Schema.from_dict(
    {
        "op": Choice(tuple(OPS), required=True),
        "load": Text("Id of the load.", most=64),
        "with": Text("`swap`: id of the other load, which is at `to`.", most=64),
        "board": Text("`remove-board`, `set-board`: id of the board.", most=64),
        "from": Anything(
            "The place where the load is believed to be; `remove`: null where loose; "
            "`remove-board`: the outlet that feeds it, null for the supply."
        ),
        "to": Anything("The place where it shall be; `dim`, `set…`, `burning`: the new value."),
        "was": Anything("`dim`, `set…`, `burning`: the value that is believed to be there."),
        "field": Choice(
            tuple(dict.fromkeys((*SETTABLE, *BOARD_FIELDS, *LAYOUT_FIELDS))),
            "`set`: which field of the load; `set-board`, `set-layout`: of board or layout.",
        ),
        "new": Anything(
            "`add`: the whole load, with `board` and `outlet` or loose; `add-board`: the board."
        ),
        "beside": Items(
            Text(most=64), "`plug`, `move`, `add`: loads known to be in the same outlet.", most=100
        ),
    },
    name="ChangeFields",
)


class ChangeSchema(_ChangeFields):  # type: ignore[valid-type, misc]
    """A small change: what, and what is believed to be there; see `op`."""

    @ma.validates_schema
    def _fits(self, data: dict[str, Any], **_: Any) -> None:
        op = data["op"]
        wrong: dict[str, Any] = {}
        for name in NEEDS[op]:
            if name not in data or (data[name] is None and name in _NAMES):
                wrong[name] = [f"This field is missing: {op} has {', '.join(NEEDS[op])}."]
                continue
            try:
                _CHECKS.get((op, name), _anything)(data[name])
            except ma.ValidationError as error:
                wrong[name] = error.messages
        field = data.get("field")
        if "field" not in wrong and op in FIELDS_OF and field not in FIELDS_OF[op]:
            wrong["field"] = [f"{op} has no {quoted(field)}; it has {', '.join(FIELDS_OF[op])}."]
        if op == "set-board" and field == "fed_from":
            try:
                _fed_from(data.get("to"))
            except ma.ValidationError as error:
                wrong["to"] = error.messages
        known = (*NEEDS[op], *MAY_HAVE.get(op, ()))
        for name in data.keys() - {"op", *known}:
            wrong[name] = [f"There is no {name} in {op}; it has {', '.join(known)}."]
        other = data.get("with")
        if op == "swap" and other is not None and data.get("load") == other:
            wrong.setdefault("with", [f"This is {quoted(other)} again: two loads swap."])
        if wrong:
            raise ma.ValidationError(wrong)


class ChangesBodySchema(Schema):
    """Small changes, made in this order, all or none."""

    changes = Items(Part(ChangeSchema), least=1, most=MAX_CHANGES, required=True)
    by = by()
    age_s = Number("How long ago it was done, where it waited for reception.", least=0, most=AGO)


class LayoutQuerySchema(PageQuerySchema):
    """Which saved layouts."""

    order_ref = OrderRef("Those of one order.")
    q = Text("Words in the name.")


class EventQuerySchema(Schema):
    """Which part of a layout's history."""

    after = QueryWhole("The version that is known; 0 by default.", least=0)
    limit = QueryWhole("At most so many, 100 by default.", least=1, most=MAX_EVENTS)


# --- answers ----------------------------------------------------------------------------------


class SavedLayoutLineSchema(ma.Schema):
    """A saved layout as it stands in a list, without its body."""

    id = told.text()
    order_ref = told.text(nullable=True)
    name = told.text()
    version = fields.Integer(required=True, metadata={"description": "Goes up by one a change."})
    burning = told.text("The set-up that burns, where that is said.", nullable=True)
    created_at = told.moment()
    created_by = told.text()
    updated_at = told.moment()
    updated_by = told.text()


class SavedLayoutSchema(SavedLayoutLineSchema):
    """A saved layout, as it is now or was in a version."""

    body = fields.Nested(LooseLayoutSchema, required=True)


class SavedLayoutPageSchema(ma.Schema):
    """A page of saved layouts, the latest first; without their bodies."""

    items = fields.List(fields.Nested(SavedLayoutLineSchema), required=True)
    next_cursor = told.text(nullable=True)


class EventSchema(ma.Schema):
    """One change of a layout: who, when, what, and the changes that undo it."""

    version = fields.Integer(required=True, metadata={"description": "The version it made."})
    kind = fields.String(
        required=True, validate=ma.validate.OneOf(("created", "changed", "replaced", "removed"))
    )
    at = told.moment("When the service made it.")
    done_at = told.moment("When it was done on set: earlier where the phone had no reception.")
    by = told.text()
    role = told.text("What kind of key or link made it.")
    words = fields.List(fields.String(), required=True)
    changes = fields.List(fields.Dict(), required=True)
    undo = fields.List(
        fields.Dict(),
        required=True,
        metadata={"description": "Send these as `changes` to undo it; empty where it has none."},
    )


class EventsSchema(ma.Schema):
    """What happened after a version, in its order."""

    items = fields.List(fields.Nested(EventSchema), required=True)
    version = fields.Integer(required=True, metadata={"description": "The version that is now."})


class ChangesAnswerSchema(ma.Schema):
    """What became of the changes."""

    version = fields.Integer(required=True)
    event = fields.Nested(
        EventSchema,
        required=True,
        allow_none=True,
        metadata={"description": "null where all of it was so already."},
    )
