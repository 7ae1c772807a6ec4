"""Successful answers: as JSON, in the form that was asked for."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from typing import Any

from flask import Response, request

from evenboard.api.problem import Problem

__all__ = ["as_json", "json_bytes", "moment", "wanted"]


def json_bytes(value: Any, *, ordered: bool = False) -> bytes:
    """A value as JSON; what is not finite is a fault of ours and raises ``ValueError``.

    ``ordered`` puts the names in order, for bytes that must not depend on where they came from.
    """
    text = json.dumps(
        value, ensure_ascii=False, allow_nan=False, sort_keys=ordered, separators=(",", ":")
    )
    return text.encode()


def moment(at: datetime) -> str:
    """An aware moment as it is shown: RFC 3339, in UTC, to the millisecond."""
    return at.astimezone(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


def as_json(value: Any, status: int = 200, headers: Mapping[str, str] | None = None) -> Response:
    """A value as an answer that nobody keeps."""
    response = Response(json_bytes(value), status=status, content_type="application/json")
    response.headers["Cache-Control"] = "no-store"
    response.headers.extend(dict(headers or {}))
    return response


def wanted(types: Sequence[str]) -> str:
    """The media type of ``types`` that the caller likes best; a 406 problem where there is none."""
    if "Accept" not in request.headers:
        return types[0]
    best = request.accept_mimetypes.best_match(types)
    if best is None:
        raise Problem(406, f"This can be had as {' or '.join(types)}.")
    return best
