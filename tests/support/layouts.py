"""Bodies of ``POST /v1/balance`` with sane defaults: only what matters to a test is written."""

from __future__ import annotations

import copy
from typing import Any

__all__ = ["a_body", "a_body_load", "changed"]


def a_body(*loads: dict[str, Any], **changes: Any) -> dict[str, Any]:
    """One 32 A board of the Australian region; without loads one 2 kW lamp is on it."""
    body: dict[str, Any] = {
        "name": "test",
        "region": "au",
        "supply": {"kind": "outlet", "rating_a": 32},
        "boards": [{"id": "main", "type": "three-row-32"}],
        "loads": list(loads) or [a_body_load()],
    }
    return body | changes


def a_body_load(load_id: str = "key", outlet: str = "l1-bottom", **changes: Any) -> dict[str, Any]:
    """A 2 kW lamp on an outlet of the main board."""
    load: dict[str, Any] = {
        "id": load_id,
        "fixture": "tungsten-open-face-2000",
        "board": "main",
        "outlet": outlet,
    }
    load |= changes
    return {name: value for name, value in load.items() if value is not None}


def changed(body: dict[str, Any], pointer: str, value: Any) -> dict[str, Any]:
    """A copy of a body with another value in one place (RFC 6901, no escapes)."""
    copied = copy.deepcopy(body)
    *way, last = pointer.split("/")[1:]
    place: Any = copied
    for step in way:
        place = place[int(step)] if isinstance(place, list) else place[step]
    if isinstance(place, list):
        place[int(last)] = value
    else:
        place[last] = value
    return copied
