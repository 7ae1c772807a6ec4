"""Reads a JSON body strictly and hands its shape faults on, all at once.

The library's own reading takes repeated names and NaN, and fails with a 500 on deep nesting or
on numbers of thousands of digits; here each of these is a plain refusal.
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Iterator, Mapping
from typing import Any, NoReturn

import marshmallow as ma
from flask import Request
from webargs.flaskparser import FlaskParser
from werkzeug.exceptions import RequestEntityTooLarge

from evenboard.api.problem import Problem, invalid_body
from evenboard.intake import Fault
from evenboard.intake.nearest import quoted

__all__ = ["StrictParser", "faults_of", "raw_body", "read_json"]

_DIGITS = 30
"""Longest whole number that is read: far beyond any quantity, far below what is slow."""
_DEPTH = 32
"""Deepest nesting that is read; a layout needs seven."""


class _Refused(ValueError):
    """What is wrong with a JSON text, in words for its author."""


def read_json(data: bytes) -> Any:
    """The value of a JSON text; a 400 problem for everything that is not strictly one."""
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as error:
        raise _malformed(f"The body is not UTF-8: byte {error.start} is out of place.") from None
    if not text.strip():
        raise _malformed("The body is empty; it must be a JSON object.")
    if text.startswith("\ufeff"):
        raise _malformed("The body starts with a byte order mark; JSON has none.")
    _check_depth(text)
    try:
        value = json.loads(
            text,
            object_pairs_hook=_members,
            parse_constant=_constant,
            parse_float=_fraction,
            parse_int=_whole,
        )
    except json.JSONDecodeError as error:
        raise _malformed(
            f"The body is not JSON: {error.msg} at line {error.lineno}, column {error.colno}."
        ) from None
    except _Refused as error:
        raise _malformed(str(error)) from None
    if "\\u" in text:
        _check_unicode(value)
    return value


def raw_body(req: Request, most: int | None = None) -> bytes:
    """A body as it was sent; 413 beyond ``most`` bytes, by default the service's limit."""
    if most is not None:
        req.max_content_length = most
    limit = req.max_content_length
    data = req.get_data(cache=True)
    # A chunked body has no length to be refused by: the library cuts it at the limit, silently.
    if len(data) == limit and req.content_length is None and req.environ["wsgi.input"].read(1):
        raise RequestEntityTooLarge
    return data


def _malformed(detail: str) -> Problem:
    return Problem(400, detail, kind="malformed-json")


def _members(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    members = dict(pairs)
    if len(members) < len(pairs):
        seen: set[str] = set()
        repeated = next(name for name, _ in pairs if name in seen or seen.add(name))  # type: ignore[func-returns-value]
        raise _Refused(f"The name {repeated!r} stands twice in one object.")
    return members


def _constant(word: str) -> NoReturn:
    raise _Refused(f"{word} is not a JSON number; leave the field out where there is no figure.")


def _fraction(digits: str) -> float:
    number = float(digits)
    if not math.isfinite(number):
        raise _Refused(f"The number {digits[:_DIGITS]} is too large.")
    return number


def _whole(digits: str) -> int:
    if len(digits) > _DIGITS:
        raise _Refused(f"A number of {len(digits)} digits is more than any quantity needs.")
    return int(digits)


def _check_unicode(value: Any) -> None:
    # Half a surrogate pair can be escaped in JSON, yet is no text: it cannot be stored or sent.
    try:
        json.dumps(value, ensure_ascii=False).encode()
    except UnicodeEncodeError:
        raise _malformed("The body escapes half a surrogate pair, which is no character.") from None


# Possessive, and the closing quote optional: one pass whatever the text, never a step back.
_STRING_OR_BRACKET = re.compile(r'"[^"\\]*+(?:\\.[^"\\]*+)*+"?|[\[\]{}]', re.DOTALL)


def _check_depth(text: str) -> None:
    # Before the parser, which recurses: its limit would depend on how deep the stack already is.
    depth = 0
    for match in _STRING_OR_BRACKET.finditer(text):
        mark = match[0]
        if mark in "[{":
            depth += 1
            if depth > _DEPTH:
                raise _malformed(f"The body nests deeper than {_DEPTH} levels.")
        elif mark in "]}":
            depth -= 1


def faults_of(messages: Any, pointer: str = "") -> Iterator[Fault]:
    """A schema's nested messages as faults with RFC 6901 pointers."""
    if isinstance(messages, Mapping):
        for name, inner in messages.items():
            if name == "_schema":
                yield from faults_of(inner, pointer)
            else:
                step = str(name).replace("~", "~0").replace("/", "~1")
                yield from faults_of(inner, f"{pointer}/{step}")
    elif isinstance(messages, list):
        for message in messages:
            yield from faults_of(message, pointer)
    else:
        yield Fault(pointer, str(messages))


class StrictParser(FlaskParser):
    """The parser of all blueprints: strict JSON, 415 for other types, no stray parameters."""

    DEFAULT_UNKNOWN_BY_LOCATION: dict[str, str | None] = {  # noqa: RUF012 - as the library has it
        **FlaskParser.DEFAULT_UNKNOWN_BY_LOCATION,
        "query": ma.RAISE,
    }

    def load_json(self, req: Request, schema: ma.Schema) -> Any:
        """The body's JSON value."""
        if req.mimetype != "application/json":
            said = f"not {req.mimetype}" if req.mimetype else "and the request names no type"
            raise Problem(
                415,
                f"The body must be application/json, {said}.",
                headers={"Accept-Post": "application/json"},
            )
        charset = req.mimetype_params.get("charset", "utf-8")
        if charset.lower() not in ("utf-8", "utf8"):
            raise Problem(
                415,
                f"The body says charset {quoted(charset)}; JSON is utf-8: send it so.",
                headers={"Accept-Post": "application/json"},
            )
        return read_json(raw_body(req))

    def load_querystring(self, req: Request, schema: ma.Schema) -> Any:
        """The query's parameters, each at most once."""
        repeated = [name for name, values in req.args.lists() if len(values) > 1]
        if repeated:
            raise Problem(
                422,
                "A parameter stands twice.",
                kind="invalid-query",
                errors=[{"parameter": name, "detail": "stands twice"} for name in repeated],
            )
        return req.args.to_dict()

    def handle_error(
        self,
        error: ma.ValidationError,
        req: Request,
        schema: ma.Schema,
        *,
        error_status_code: int | None,
        error_headers: Mapping[str, str] | None,
    ) -> NoReturn:
        """Turn a schema's messages into one problem with all faults."""
        [(location, messages)] = error.messages_dict.items()
        faults = list(faults_of(messages))
        if location == "json":
            raise invalid_body(faults)
        raise Problem(
            422,
            "See errors." if len(faults) > 1 else faults[0].detail,
            kind="invalid-query",
            errors=[{"parameter": f.pointer.removeprefix("/"), "detail": f.detail} for f in faults],
        )
