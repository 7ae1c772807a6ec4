"""When a piece wants its next test, and what a passed one has to show.

The interval is the piece's own where it has one, else the desk's. It counts from the last passed
test; for a piece that has none, from the day it was bought; a piece of which neither is known is
due at once.
"""

from __future__ import annotations

import calendar
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Literal

from evenboard.store.equipment import Due
from evenboard.store.piece import Piece

__all__ = [
    "LEAST_INSULATION_MOHM",
    "MOST_CONTINUITY_OHM",
    "Measured",
    "Practice",
    "dated",
    "days_overdue",
    "due_by",
    "due_on",
    "faults_of_pass",
    "months_after",
    "tested_on",
]

LEAST_INSULATION_MOHM = 1.0
"""Below this no piece passes: AS/NZS 3760 and BS EN 50699, class I, from memory. [MOhm]"""
MOST_CONTINUITY_OHM = 1.0
"""Above this no protective conductor passes: AS/NZS 3760, from memory; some ask for less. [Ohm]"""


@dataclass(frozen=True, slots=True)
class Practice:
    """How often the desk tests what has no interval of its own, and on whose word."""

    months: int
    basis: str


@dataclass(frozen=True, slots=True)
class Measured:
    """The figures of a test; None where it was not measured."""

    continuity_ohm: float | None = None
    insulation_mohm: float | None = None
    polarity: Literal["correct", "wrong"] | None = None
    loop_impedance_ohm: float | None = None


def months_after(day: date, months: int) -> date:
    """The same day so many months later, or the last day of a month that is too short."""
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    if year > date.max.year:
        return date.max
    return date(year, month + 1, min(day.day, calendar.monthrange(year, month + 1)[1]))


def tested_on(piece: Piece) -> date | None:
    """The day of the last test that is known."""
    recorded = piece.standing.tested
    days = [d for d in (recorded.on if recorded else None, piece.record.tested_on) if d is not None]
    return max(days, default=None)


def dated(piece: Piece, today: date) -> Piece:
    """The piece with what its next test counts from; due ``today`` where nothing is known."""
    start = tested_on(piece) or piece.record.bought_on
    if start is None:
        return replace(piece, test_from=None, test_by=piece.test_by or today)
    own = piece.record.test_interval_months
    if own is None:
        return replace(piece, test_from=start, test_by=None)
    return replace(piece, test_from=None, test_by=months_after(start, own))


def due_on(piece: Piece, practice: Practice) -> date:
    """The last day on which a piece may go out without another test."""
    if piece.test_from is not None:
        return months_after(piece.test_from, practice.months)
    if piece.test_by is None:
        raise ValueError(f"{piece.tag}: nothing says from when its interval counts")
    return piece.test_by


def days_overdue(piece: Piece, practice: Practice, today: date) -> int:
    """Days since a piece was due; 0 where it is not past its day."""
    return max(0, (today - due_on(piece, practice)).days)


def due_by(day: date, practice: Practice) -> Due:
    """What the store is asked for pieces that are due by a day."""
    # The months before, as near as months of unlike length let it be; then on to the very last day
    # of which the interval still ends in time.
    start = months_after(day, -practice.months)
    while months_after(start + timedelta(days=1), practice.months) <= day:
        start += timedelta(days=1)
    while months_after(start, practice.months) > day:
        start -= timedelta(days=1)
    return Due(by=day, counted_from=start)


def faults_of_pass(kind: str, measured: Measured) -> dict[str, str]:
    """Why a test with these figures cannot have been passed, by field; empty where it can."""
    faults = {}
    if measured.insulation_mohm is None:
        faults["insulation_mohm"] = "A passed test has the insulation measured."
    elif measured.insulation_mohm < LEAST_INSULATION_MOHM:
        faults["insulation_mohm"] = (
            f"{measured.insulation_mohm:g} MOhm is below {LEAST_INSULATION_MOHM:g} MOhm: "
            "no piece passes with that."
        )
    if measured.polarity == "wrong":
        faults["polarity"] = "No piece passes with wrong polarity."
    if measured.continuity_ohm is not None and measured.continuity_ohm > MOST_CONTINUITY_OHM:
        faults["continuity_ohm"] = (
            f"{measured.continuity_ohm:g} Ohm is above {MOST_CONTINUITY_OHM:g} Ohm: no protective "
            "conductor passes with that."
        )
    if kind not in ("fixture", "other"):
        # A fixture may be of class II; what others are plugged into always has the conductor.
        if measured.continuity_ohm is None:
            faults["continuity_ohm"] = "A passed test has the protective conductor measured."
        if measured.polarity is None:
            faults["polarity"] = "A passed test has the polarity checked: correct."
    return faults
