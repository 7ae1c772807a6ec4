"""Strict scalars for bodies: a number is a number, a flag is a flag, and text is plain text.

The library's own fields take ``"1.5"`` for a number and ``"yes"`` for true, which hides a
client's slip until the figure is wrong. Query parameters are text by nature and keep the lenient
fields. Every message says what would be right.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping
from datetime import UTC, date, datetime
from typing import Any

import marshmallow as ma
from marshmallow import fields, validate

from evenboard.desk.references import MAX_REFERENCE, ReferenceInvalid, order_reference
from evenboard.intake.nearest import nearest, quoted
from evenboard.intake.text import is_printable

__all__ = [
    "Choice",
    "Day",
    "Flag",
    "Items",
    "Moment",
    "Number",
    "OrderRef",
    "Part",
    "Schema",
    "Text",
    "Whole",
]

_REQUIRED: dict[str, Any] = {
    "required": "This field is missing.",
    "null": "This may not be null; leave it out.",
}

_UNKNOWN = "\0unknown"
"""Stands for the message of a stray field until its nearest name has been looked up."""


class Schema(ma.Schema):
    """A JSON object with no other fields than its own; tells a stray one its nearest name."""

    class Meta:
        """Unknown fields are refused."""

        unknown = ma.RAISE

    error_messages: dict[str, str] = {  # noqa: RUF012 - the library declares it so
        "type": "This must be an object.",
        "unknown": _UNKNOWN,
    }

    def handle_error(self, error: ma.ValidationError, data: Any, **_: Any) -> None:
        """Say of each stray field which one may have been meant."""
        messages = error.messages
        if not isinstance(messages, dict):
            return
        for name, found in messages.items():
            if found == [_UNKNOWN]:
                close = nearest(name, self.load_fields, 1)
                hint = f" Nearest: {close[0]}." if close else ""
                messages[name] = [f"There is no field {quoted(name)} here.{hint}"]


def _options(
    description: str, required: bool, checks: list[Any], extra: Mapping[str, Any] | None = None
) -> dict[str, Any]:
    """What all fields share; a field that may be missing may also be null."""
    return {
        "required": required,
        "allow_none": not required,
        "validate": checks,
        "metadata": {**({"description": description} if description else {}), **(extra or {})},
    }


class Number(fields.Float):
    """A finite JSON number from ``least`` (or from just above ``above``) to ``most``."""

    default_error_messages = _REQUIRED | {
        "invalid": "This must be a number.",
        "special": "This must be a finite number.",
        "too_large": "This number is too large.",
    }

    def __init__(
        self,
        description: str = "",
        *,
        least: float | None = None,
        above: float | None = None,
        most: float | None = None,
        required: bool = False,
    ) -> None:
        checks, extra = _limits(least, above, most)
        super().__init__(**_options(description, required, checks, extra))

    def _validated(self, value: Any) -> float:
        if isinstance(value, bool | str):
            raise self.make_error("invalid", input=value)
        return super()._validated(value)


class Whole(fields.Integer):
    """A whole JSON number; ``2.0`` is one, ``2.5`` is not."""

    default_error_messages = _REQUIRED | {
        "invalid": "This must be a whole number.",
        "too_large": "This number is too large.",
    }

    def __init__(
        self,
        description: str = "",
        *,
        least: float | None = None,
        most: float | None = None,
        required: bool = False,
    ) -> None:
        checks, extra = _limits(least, None, most)
        super().__init__(**_options(description, required, checks, extra))

    def _validated(self, value: Any) -> int:
        whole = isinstance(value, int) or (isinstance(value, float) and value.is_integer())
        if isinstance(value, bool) or not whole:
            raise self.make_error("invalid", input=value)
        return super()._validated(value)


def _limits(
    least: float | None, above: float | None, most: float | None
) -> tuple[list[Any], dict[str, Any]]:
    lower = f"above {above:g}" if above is not None else None
    lower = f"at least {least:g}" if least is not None else lower
    upper = f"at most {most:g}" if most is not None else None
    words = " and ".join(part for part in (lower, upper) if part)
    if not words:
        return [], {}
    check = validate.Range(
        min=least if above is None else above,
        max=most,
        min_inclusive=above is None,
        error=f"This must be {words}.",
    )
    # The library publishes an exclusive limit as an inclusive one beside this one.
    return [check], {} if above is None else {"exclusiveMinimum": above}


class Flag(fields.Boolean):
    """JSON ``true`` or ``false``, nothing that merely looks like it."""

    default_error_messages = _REQUIRED | {"invalid": "This must be true or false."}

    def __init__(self, description: str = "", *, required: bool = False) -> None:
        super().__init__(**_options(description, required, []))

    def _deserialize(self, value: Any, attr: str | None, data: Any, **_: Any) -> bool:
        if not isinstance(value, bool):
            raise self.make_error("invalid", input=value)
        return value


class Text(fields.String):
    """Printable text on one line, so that it can be stored, sent and put on paper anywhere."""

    default_error_messages = _REQUIRED | {
        "invalid": "This must be text.",
        "unprintable": "This has a control character in it; plain text on one line is right.",
    }

    def __init__(
        self,
        description: str = "",
        *,
        least: int = 1,
        most: int = 200,
        pattern: str | None = None,
        required: bool = False,
    ) -> None:
        checks: list[Any] = [
            validate.Length(
                min=least, max=most, error=f"This must have {least} to {most} characters."
            )
        ]
        if pattern is not None:
            checks.append(validate.Regexp(pattern, error=f"This must match {pattern}"))
        super().__init__(**_options(description, required, checks))

    def _deserialize(self, value: Any, attr: str | None, data: Any, **options: Any) -> str:
        text: str = super()._deserialize(value, attr, data, **options)
        if not is_printable(text):
            raise self.make_error("unprintable")
        return text


class OrderRef(Text):
    """The desk's own reference of an order, given in its one form."""

    def __init__(self, description: str = "", *, required: bool = False) -> None:
        super().__init__(description, most=MAX_REFERENCE, required=required)

    def _deserialize(self, value: Any, attr: str | None, data: Any, **options: Any) -> str:
        try:
            return order_reference(super()._deserialize(value, attr, data, **options))
        except ReferenceInvalid as error:
            raise ma.ValidationError(str(error)) from None


class Choice(fields.String):
    """One of a few words; a wrong one is told the nearest."""

    default_error_messages = _REQUIRED | {"invalid": "This must be text."}

    def __init__(
        self, choices: Collection[str], description: str = "", *, required: bool = False
    ) -> None:
        super().__init__(**_options(description, required, [_OneOf(tuple(choices))]))


class _OneOf(validate.OneOf):
    def __call__(self, value: Any) -> Any:
        if value in self.choices:
            return value
        close = nearest(value, tuple(self.choices), 1)
        hint = f" Nearest: {close[0]}." if close else ""
        raise ma.ValidationError(f"{quoted(value)} is not one of {self.choices_text}.{hint}")


class Moment(fields.AwareDateTime):
    """A moment with its zone (RFC 3339), such as ``2026-11-25T09:30:00Z``."""

    default_error_messages = _REQUIRED | {
        "invalid": "This must be a moment with its zone, such as 2026-11-25T09:30:00Z.",
    }
    _FORM = re.compile(
        r"2[01][0-9]{2}-[0-9]{2}-[0-9]{2}[Tt ][0-9]{2}:[0-9]{2}:[0-9]{2}(\.[0-9]{1,6})?"
        r"([Zz]|[+-][0-9]{2}:[0-9]{2})",
        re.ASCII,
    )

    def __init__(self, description: str = "", *, required: bool = False) -> None:
        super().__init__(**_options(description, required, []))

    def _deserialize(self, value: Any, attr: str | None, data: Any, **_: Any) -> datetime:
        if not isinstance(value, str) or not self._FORM.fullmatch(value):
            raise self.make_error("invalid")
        try:
            return datetime.fromisoformat(value.upper()).astimezone(UTC)
        except ValueError:
            raise self.make_error("invalid") from None


class Day(fields.Date):
    """A day of the calendar, such as ``2026-11-25``."""

    default_error_messages = _REQUIRED | {"invalid": "This must be a day, such as 2026-11-25."}
    _FORM = re.compile(r"2[01][0-9]{2}-[0-9]{2}-[0-9]{2}", re.ASCII)

    def __init__(self, description: str = "", *, required: bool = False) -> None:
        super().__init__(**_options(description, required, []))

    def _deserialize(self, value: Any, attr: str | None, data: Any, **_: Any) -> date:
        if not isinstance(value, str) or not self._FORM.fullmatch(value):
            raise self.make_error("invalid")
        try:
            return date.fromisoformat(value)
        except ValueError:
            raise self.make_error("invalid") from None


class Items(fields.List):
    """A list of ``least`` to ``most`` items."""

    default_error_messages = _REQUIRED | {"invalid": "This must be a list."}

    def __init__(
        self,
        inner: fields.Field | type[fields.Field],
        description: str = "",
        *,
        least: int = 0,
        most: int = 1000,
        required: bool = False,
    ) -> None:
        check = validate.Length(
            min=least, max=most, error=f"This must have {least} to {most} items."
        )
        super().__init__(inner, **_options(description, required, [check]))
        self._most = most
        # A field may be missing, hence null; an item is simply not in the list.
        self.inner.allow_none = False

    def _deserialize(self, value: Any, attr: str | None, data: Any, **options: Any) -> list[Any]:
        # Before the items are read: the library counts them only when it has read them all.
        if isinstance(value, list) and len(value) > self._most:
            raise ma.ValidationError(f"This has {len(value)} items; at most {self._most} are read.")
        return super()._deserialize(value, attr, data, **options) or []


class Part(fields.Nested):
    """An object inside an object."""

    default_error_messages = _REQUIRED | {"type": "This must be an object."}

    def __init__(
        self, schema: type[ma.Schema], description: str = "", *, required: bool = False
    ) -> None:
        super().__init__(schema, **_options(description, required, []))
