"""Whose word the figures are: types of load, cable tables, limits."""

from __future__ import annotations

from evenboard.reports.figures import figure, listed, trimmed, watts
from evenboard.reports.given import Given, Json
from evenboard.reports.model import Column, Section
from evenboard.reports.tables import plain_table
from evenboard.reports.words import BASIS_KINDS, LIMIT_NAMES, LIMIT_UNITS

__all__ = ["limits", "tables_used", "types"]


def types(given: Given) -> Section | None:
    """The types of fixture on the layout, and the words behind their figures, each said once."""
    columns = (
        Column("Type", share=1.0),
        Column("Draws", "right"),
        Column("PF", "right"),
        Column("3rd harmonic", "right"),
        Column("Inrush", "right"),
        Column("Leakage", "right"),
        Column("Basis", "center"),
    )
    letters: dict[str, str] = {}
    rows = []
    for kind in given.resolved["fixtures"]:
        letter = letters.setdefault(_basis(kind["basis"]), _letter(len(letters)))
        rows.append(
            (
                kind["name"],
                watts(kind["power_w"]),
                figure(kind["power_factor"], 2),
                f"{trimmed(kind['third_harmonic_pct'], 0)} %",
                f"{trimmed(kind['inrush_multiple'], 1)} ×",
                f"{trimmed(kind['leakage_ma'], 1)} mA",
                letter,
            )
        )
    notes = [f"{letter}  {text}" for text, letter in letters.items()]
    own = [load["id"] for load in given.resolved["loads"] if load["fixture"] is None]
    if own:
        notes.append(f"Entered by their own plate: {listed(own, most=400)}.")
    if not rows:
        return Section("Types of load", notes=tuple(notes)) if notes else None
    return Section("Types of load", table=plain_table(columns, rows), notes=tuple(notes))


def _letter(index: int) -> str:
    """a, b … z, aa, ab …"""
    letter = chr(ord("a") + index % 26)
    return letter if index < 26 else _letter(index // 26 - 1) + letter


def tables_used(given: Given) -> Section | None:
    """The rating tables that the cables were read from."""
    columns = (
        Column("Cable", share=1.0),
        Column("Table of ratings", share=1.3),
        Column("Rated at", "right"),
        Column("Conductor", "right"),
        Column("Basis", share=1.6),
    )
    rows = [
        (
            table["cable_name"],
            table["standard"],
            f"{trimmed(table['reference_ambient_c'])} °C",
            f"{trimmed(table['rated_temperature_c'])} °C",
            _basis(table["basis"]),
        )
        for table in given.resolved["cable_tables"]
    ]
    return Section("Cable tables used", table=plain_table(columns, rows)) if rows else None


def limits(given: Given) -> Section:
    """Every limit that findings judged by, and whose word it is."""
    columns = (Column("Limit", share=1.2), Column("Set to", "right"), Column("Basis", share=1.8))
    whose = {"layout": "set by the layout", "region": given.resolved["region"]["name"]}
    rows = []
    for limit in given.resolved["limits"]:
        unit = LIMIT_UNITS[limit["name"].rsplit("_", 1)[1]]
        basis = "" if limit["basis"] is None else _basis(limit["basis"])
        word = whose.get(limit["set_by"], "")
        rows.append(
            (
                LIMIT_NAMES.get(limit["name"], limit["name"]),
                f"{trimmed(limit['value'])} {unit}",
                ": ".join(part for part in (word, basis) if part),
            )
        )
    return Section("Limits that were judged by", table=plain_table(columns, rows))


def _basis(basis: Json) -> str:
    return f"{BASIS_KINDS.get(basis['kind'], basis['kind'])}: {basis['text']}"
