"""Pieces of equipment in tests, with sane defaults: only what matters to a test is written."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

from flask.testing import FlaskClient

from evenboard.desk.equipment import Seen, enter
from evenboard.desk.testing import Practice
from evenboard.store.piece import Piece, Record

__all__ = [
    "MEASURED",
    "PRACTICE",
    "TODAY",
    "a_body_piece",
    "a_piece",
    "add_piece",
    "later",
    "seen",
    "withdraw",
]

TODAY = date(2026, 11, 25)
PRACTICE = Practice(3, "made for a test")
MEASURED = {"continuity_ohm": 0.08, "insulation_mohm": 200.0, "polarity": "correct"}


def later(days: int) -> date:
    """A day so many days from the tests' own today."""
    return TODAY + timedelta(days=days)


def seen(days: int = 0, by: str = "Ana") -> Seen:
    """Somebody, at noon of a day."""
    return Seen(by, datetime(2026, 11, 25, 12, tzinfo=UTC) + timedelta(days=days))


def a_piece(tag: str = "C-12", **record: Any) -> Piece:
    """A five-core cable, tested a week ago."""
    values: dict[str, Any] = {
        "kind": "cable",
        "cable": "h07rn-f",
        "csa_mm2": 6.0,
        "length_m": 30.0,
        "tested_on": later(-7),
    }
    piece = replace(Piece(tag, Record(**(values | record))), created_at=seen().at, version=1)
    return enter(piece, TODAY)


def a_body_piece(tag: str = "C-12", **changes: Any) -> dict[str, Any]:
    """The body that puts a cable, tested today, on the desk's list."""
    body: dict[str, Any] = {
        "tag": tag,
        "kind": "cable",
        "cable": "h07rn-f",
        "csa_mm2": 6,
        "length_m": 30,
        "tested_on": datetime.now().astimezone().date().isoformat(),
    }
    return {name: value for name, value in (body | changes).items() if value is not None}


def add_piece(
    client: FlaskClient, headers: dict[str, str], tag: str = "C-12", **changes: Any
) -> dict[str, Any]:
    """Put a piece on the list; the answer."""
    answer = client.post("/v1/equipment", json=a_body_piece(tag, **changes), headers=headers)
    assert answer.status_code == 201, answer.text
    told: dict[str, Any] = answer.json
    return told


def withdraw(client: FlaskClient, headers: dict[str, str], tag: str = "C-12") -> None:
    """Find a kink in a piece."""
    path = f"/v1/equipment/{tag}/inspections"
    answer = client.post(path, json={"found": ["kinked"]}, headers=headers)
    assert answer.status_code == 201, answer.text
