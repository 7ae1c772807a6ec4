"""Answer schemas made from the frozen classes of ``electrics``: one source for each field name."""

from __future__ import annotations

import dataclasses
import functools
import types
import typing
from collections.abc import Mapping
from typing import Any

import marshmallow as ma
from marshmallow import fields, validate

__all__ = ["page_schema", "schema_of"]


@functools.cache
def schema_of(kind: type) -> type[ma.Schema]:
    """The answer schema of a dataclass: its fields by name and type, tuples as arrays."""
    hints = typing.get_type_hints(kind)
    members: dict[str, Any] = {
        field.name: _field(hints[field.name], required=True) for field in dataclasses.fields(kind)
    }
    return ma.Schema.from_dict(members, name=kind.__name__)


@functools.cache
def page_schema(item: type[ma.Schema]) -> type[ma.Schema]:
    """The answer schema of a page of a list."""
    name = item.__name__.removesuffix("Schema")
    return ma.Schema.from_dict(
        {
            "items": fields.List(fields.Nested(item), required=True),
            "next_cursor": fields.String(
                required=True,
                allow_none=True,
                metadata={"description": "Send it as `cursor` for the next page; null at the end."},
            ),
            "catalogue_version": fields.String(required=True),
        },
        name=f"{name}Page",
    )


def _field(hint: Any, *, required: bool = False, nullable: bool = False) -> fields.Field:
    options: dict[str, Any] = {"required": required, "allow_none": nullable}
    origin, arguments = typing.get_origin(hint), typing.get_args(hint)
    if origin in (typing.Union, types.UnionType):
        [inner] = [argument for argument in arguments if argument is not types.NoneType]
        return _field(inner, required=required, nullable=True)
    if origin is typing.Literal:
        return fields.String(validate=validate.OneOf(arguments), **options)
    if origin is tuple:
        inner = arguments[0]
        size = None if arguments[-1] is Ellipsis else len(arguments)
        check = [] if size is None else [validate.Length(equal=size)]
        return fields.List(_field(inner), validate=check, **options)
    if origin in (dict, Mapping):
        return fields.Dict(keys=_field(arguments[0]), values=_field(arguments[1]), **options)
    if dataclasses.is_dataclass(hint):
        return fields.Nested(schema_of(typing.cast(type, hint)), **options)
    return _PLAIN[hint](**options)


_PLAIN: dict[Any, type[fields.Field]] = {
    str: fields.String,
    float: fields.Float,
    int: fields.Integer,
    bool: fields.Boolean,
}
