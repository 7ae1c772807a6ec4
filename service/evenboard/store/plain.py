"""Frozen objects as JSON values and back, by the types that their fields declare."""

from __future__ import annotations

import dataclasses
import functools
import types
import typing
from collections.abc import Hashable, Mapping
from datetime import date, datetime
from typing import Any, TypeVar

__all__ = ["as_plain", "from_plain"]

Thing = TypeVar("Thing")


def as_plain(value: Any) -> Any:
    """A frozen object as JSON values: fields by name, moments and days as ISO text."""
    if dataclasses.is_dataclass(value):
        return {
            field.name: as_plain(getattr(value, field.name)) for field in dataclasses.fields(value)
        }
    if isinstance(value, tuple):
        return [as_plain(item) for item in value]
    return value.isoformat() if isinstance(value, date) else value


def from_plain(kind: type[Thing], values: Mapping[str, Any]) -> Thing:
    """The object that :func:`as_plain` made these values of; a field not there has its default."""
    hints = _hints(typing.cast(Hashable, kind))
    return kind(**{name: _read(hints[name], value) for name, value in values.items()})


@functools.cache
def _hints(kind: Hashable) -> dict[str, Any]:
    return typing.get_type_hints(typing.cast(type, kind))


def _read(hint: Any, value: Any) -> Any:
    if value is None:
        return None
    if typing.get_origin(hint) in (typing.Union, types.UnionType):
        [hint] = [kind for kind in typing.get_args(hint) if kind is not types.NoneType]
    if typing.get_origin(hint) is tuple:
        return tuple(value)
    if dataclasses.is_dataclass(hint):
        return from_plain(typing.cast(type, hint), value)
    if hint in (date, datetime):
        return hint.fromisoformat(value)
    return value
