"""The rental desk in tests: its keys, and a fixture type of its own."""

from __future__ import annotations

from typing import Any

from flask import Flask

from evenboard.store import keys

__all__ = ["a_fixture_body", "desk_headers"]


def desk_headers(app: Flask) -> dict[str, str]:
    """The headers of a caller with a key of this application's desk."""
    with app.extensions["evenboard"].store.writing() as session:
        _, secret = keys.create(session, "test desk")
    return {"Authorization": f"Bearer {secret}"}


def a_fixture_body(**changes: Any) -> dict[str, Any]:
    """A sound fixture type of the desk's own."""
    body: dict[str, Any] = {
        "slug": "led-house-panel-350",
        "name": "House panel",
        "family": "led",
        "power_w": 350,
        "power_factor": 0.95,
        "displacement_factor": 0.98,
        "third_harmonic_pct": 10,
        "input_voltage_v": [100, 240],
        "basis": {"kind": "estimate", "text": "read off the plate by the desk"},
    }
    return body | changes
