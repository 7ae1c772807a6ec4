"""What the desk and the crew have on record: tagged equipment, clamp-meter readings."""

from __future__ import annotations

from datetime import date

from evenboard.reports.figures import amps, day, figure, listed, moment, trimmed
from evenboard.reports.given import Given, Json
from evenboard.reports.model import Column, Row, Section, Table
from evenboard.reports.tables import plain_table
from evenboard.reports.words import STATES

__all__ = ["equipment", "readings"]

BLANK_SETUPS = 12
"""Set-ups for which the form for readings is printed; more would be paper for its own sake."""


def equipment(given: Given) -> Section | None:
    """Every tagged piece: the desk's record of it and where the layout uses it."""
    uses: dict[str, list[str]] = {}
    for board in given.resolved["boards"]:
        for tag, use in (
            (board["tag"], f"board {board['id']}"),
            ((board["feeder"] or {}).get("tag"), f"feeder of {board['id']}"),
        ):
            if tag:
                uses.setdefault(tag, []).append(use)
    for load in given.resolved["loads"]:
        for tag, use in (
            (load["tag"], load["id"]),
            ((load["lead"] or {}).get("tag"), f"lead of {load['id']}"),
        ):
            if tag:
                uses.setdefault(tag, []).append(use)
    records = {piece["tag"]: piece for piece in given.content["equipment"]}
    if not uses and not records:
        return None
    columns = (
        Column("Tag"),
        Column("What", share=1.5),
        Column("Used as", share=1.2),
        Column("Tested", "right"),
        Column("Next test", "right"),
        Column("State"),
    )
    rows = []
    for tag in sorted({*uses, *records}):
        piece = records.get(tag)
        rows.append(
            (
                tag,
                "not on the desk’s list" if piece is None else _piece(piece),
                listed(uses.get(tag, ["not on this layout"]), most=8),
                _date(piece, "tested_on"),
                _date(piece, "test_due_on"),
                "" if piece is None else STATES.get(str(piece.get("state")), ""),
            )
        )
    return Section("Equipment by tag", table=plain_table(columns, rows))


def _piece(piece: Json) -> str:
    parts = [str(piece.get("name") or piece.get("kind") or "")]
    kind = piece.get("cable") or piece.get("board")
    if kind:
        parts.append(str(kind))
    if piece.get("csa_mm2"):
        parts.append(f"{trimmed(piece['csa_mm2'])} mm²")
    if piece.get("length_m"):
        parts.append(f"{trimmed(piece['length_m'], 1)} m")
    return ", ".join(part for part in parts if part)


def _date(piece: Json | None, name: str) -> str:
    text = None if piece is None else piece.get(name)
    if not text:
        return ""
    try:
        return day(date.fromisoformat(str(text)[:10]))
    except ValueError:
        return str(text)


def readings(given: Given) -> Section:
    """Measured beside expected; without readings a form with what is expected printed in."""
    setups = {setup["id"]: setup for setup in given.balance["setups"]}
    has_neutral = any(setup["neutral"] for setup in setups.values())
    names = given.lines + (["N"] if has_neutral else [])
    taken = given.content["readings"]
    return _measurements(taken, setups, names) if taken else _form(setups, names)


def _pairs(names: list[str]) -> list[Column]:
    return [
        Column(f"{name} {word}", "right", share=0.8)
        for name in names
        for word in ("expected", "measured")
    ]


def _form(setups: dict[str, Json], names: list[str]) -> Section:
    """Boxes to write into beside what is expected at the supply."""
    rows = [
        Row((name, *(cell for line in names for cell in (amps(_amps(setup, line)), "")), ""))
        for name, setup in list(setups.items())[:BLANK_SETUPS]
    ]
    columns = (Column("Set-up", share=1.2), *_pairs(names), Column("Time, initials", share=1.0))
    left = len(setups) - BLANK_SETUPS
    return Section(
        "Readings",
        lead="No readings yet. Measure with a true-RMS clamp meter once the lamps of a set-up are "
        "lit, and write the amps beside those expected at the supply.",
        table=Table(columns, tuple(rows), ruled=True),
        notes=(f"{left} more set-ups are not on this form.",) if left > 0 else (),
    )


def _measurements(taken: list[Json], setups: dict[str, Json], names: list[str]) -> Section:
    """Each reading with its differences, and what was said of it."""
    columns = (
        Column("Set-up", share=1.0),
        Column("At", share=0.8),
        Column("Taken", share=1.9),
        *_pairs(names),
    )
    rows: list[Row] = []
    notes: list[str] = []
    for place, reading in enumerate(taken, start=1):
        expected = _expected_of(reading, setups)
        measured = {**(reading.get("phases") or {}), "N": reading.get("neutral")}
        cells = [
            f"{place}. {reading.get('setup') or ''}",
            f"board {reading['board']}" if reading.get("board") else "supply",
            _taken(reading),
        ]
        for name in names:
            cells += [amps(expected.get(name)), _measured(measured.get(name), expected.get(name))]
        rows.append(Row(tuple(cells)))
        words = [reading.get("summary"), *(reading.get("explanations") or ())]
        words += [reading.get("note"), *(reading.get("cautions") or ())]
        # Where one sentence says it all, the explanation is that sentence again.
        text = " ".join(dict.fromkeys(str(word) for word in words if word))
        notes += [f"{place}. {text}"] if text else []
    if any(reading.get("meter") == "averaging" for reading in taken):
        notes.append(
            "An averaging meter reads chopped and pulsed currents too low: trust a true-RMS one."
        )
    return Section("Readings", table=Table(columns, tuple(rows)), notes=tuple(notes))


def _taken(reading: Json) -> str:
    """When, by whom and with what a reading was taken."""
    meter = str(reading.get("meter") or "").replace("true-rms", "true RMS")
    words = [moment(str(reading.get("at") or "")), str(reading.get("by") or ""), meter]
    return ", ".join(word for word in words if word)


def _expected_of(reading: Json, setups: dict[str, Json]) -> dict[str, float | None]:
    """Amps expected by conductor: as told with the reading, else the answer's at the supply."""
    told = reading.get("expected")
    if told is not None:
        return {**(told.get("phases") or {}), "N": told.get("neutral")}
    setup = setups.get(reading.get("setup") or "")
    if setup is None or reading.get("board"):
        return {}
    lines = [phase["phase"] for phase in setup["phases"]]
    return {name: _amps(setup, name) for name in (*lines, "N")}


def _amps(setup: Json, line: str) -> float | None:
    """What is expected at the supply; None where the set-up or the line is not there."""
    if line == "N":
        amount = (setup.get("neutral") or {}).get("current_a")
    else:
        phases = setup.get("phases") or ()
        amount = next((p["current_a"] for p in phases if p["phase"] == line), None)
    return None if amount is None else float(amount)


def _measured(measured_a: float | None, expected_a: float | None) -> str:
    if measured_a is None or expected_a is None:
        return amps(measured_a)
    more = measured_a - expected_a
    return f"{amps(measured_a)} ({'+' if more >= 0.0 else ''}{figure(more, 1)})"
