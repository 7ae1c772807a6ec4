"""Region entries: supplies, colours, outlets in use and the limits of that region's practice."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import fields

from evenboard.catalogue.entry import SLUG, Entry
from evenboard.catalogue.outlets import LINES
from evenboard.electrics.equipment import (
    Basis,
    CableType,
    ConductorColours,
    Limits,
    OutletStandard,
    Region,
    SupplySystem,
    System,
)

__all__ = ["read_region"]

FIGURES = ("systems", "frequency_hz", "default_ambient_c", "loop_voltage_factor", "advisory")
"""What a region must say the source of, besides each limit it sets."""
TESTING = "test_interval_months"

VOLTAGE_RATIO = {"three-phase": math.sqrt(3.0), "three-wire": 2.0}
RATIO_TOLERANCE = 0.01
"""Nominal voltages are rounded: 230/400 is 0.4 % off the root of three."""


def read_region(
    file: Entry, known: Mapping[str, OutletStandard], cables: Mapping[str, CableType]
) -> Region | None:
    """The region of one file, or None where it has faults. Without cables none is looked up."""
    systems = []
    for entry in file.children("systems", label="system"):
        system = _system(entry)
        if entry.close():
            systems.append(system)
    if not systems:
        file.fault("systems must list at least one supply system")
    if len({s.system for s in systems}) != len(systems):
        file.fault("systems must each be listed once")
    colours = []
    for entry in file.children("colours", label="code"):
        colour = ConductorColours(
            code=entry.text("code"),
            colours=_colours(entry),
            in_force=entry.flag("in_force"),
            basis=entry.basis(),
        )
        if entry.close():
            colours.append(colour)
    if not any(colour.in_force for colour in colours):
        file.fault("colours must list a code that is in force")
    outlets = file.texts("outlets")
    for outlet in outlets:
        file.one_of("outlets", outlet, known)
    limits, limits_set = _limits(file)
    advisory = file.texts("advisory", optional=True)
    for code in advisory:
        if not SLUG.fullmatch(code):
            file.fault(f"advisory {code!r} must be the code of a finding, like voltage-drop")
    cable_tables = file.mapping("cable_tables", optional=True)
    if cables:
        _check_cable_tables(file, cable_tables, cables)
    region = Region(
        id=file.slug("id"),
        name=file.text("name"),
        frequency_hz=file.numbers("frequency_hz", above=0.0),
        systems=tuple(systems),
        colours=tuple(colours),
        outlets=tuple(known[outlet] for outlet in outlets if outlet in known),
        limits=limits,
        advisory=advisory,
        loop_voltage_factor=file.number("loop_voltage_factor", above=0.0, at_most=1.1),
        cable_tables=cable_tables,
        default_ambient_c=file.number("default_ambient_c", at_least=-20.0, at_most=60.0),
        test_interval_months=(
            file.integer(TESTING, at_least=1, at_most=60) if file.has(TESTING) else None
        ),
        bases=_bases(file, (*FIGURES, *((TESTING,) if file.has(TESTING) else ()), *limits_set)),
    )
    return region if file.close() else None


def _system(entry: Entry) -> SupplySystem:
    system: System = entry.choice("system", System)
    lines = LINES[system]
    to_neutral_v = entry.number("line_to_neutral_v", above=0.0, at_most=1000.0)
    to_line_v = entry.optional_number("line_to_line_v")
    ratio = VOLTAGE_RATIO.get(system)
    if ratio is None and to_line_v is not None:
        entry.fault("line_to_line_v: a single-phase supply has one line, leave it out")
    elif ratio is not None and to_line_v is None:
        entry.fault("line_to_line_v is missing")
    elif ratio is not None and to_line_v is not None:
        expected_v = to_neutral_v * ratio
        if abs(to_line_v - expected_v) > RATIO_TOLERANCE * expected_v:
            entry.fault(
                f"line_to_line_v {to_line_v:g} contradicts line_to_neutral_v {to_neutral_v:g}: "
                f"a {system} supply has {expected_v:.0f}"
            )
    return SupplySystem(
        system, lines, to_neutral_v, to_line_v, neutral=entry.flag("neutral", default=True)
    )


def _colours(entry: Entry) -> dict[str, str]:
    colours = entry.mapping("colours")
    for conductor in colours:
        entry.one_of("colours", conductor, ("L1", "L2", "L3", "N", "PE"))
    for conductor in ("L1", "PE"):
        if colours and conductor not in colours:
            entry.fault(f"colours must give the colour of {conductor}")
    return colours


def _limits(file: Entry) -> tuple[Limits, tuple[str, ...]]:
    """The region's limits, and the names of those that it sets itself."""
    entry = file.child("limits")
    names = tuple(field.name for field in fields(Limits) if entry.has(field.name))
    given = {name: entry.number(name, above=0.0) for name in names}
    limits = Limits(**given)
    if not limits.spread_note_pct < limits.spread_pct < limits.spread_fail_pct:
        entry.fault("spread_note_pct, spread_pct and spread_fail_pct must rise")
    for field in fields(Limits):
        entry.has_read(field.name)
    entry.close()
    return limits, names


def _bases(file: Entry, needed: tuple[str, ...]) -> dict[str, Basis]:
    entry = file.child("bases")
    for name in needed:
        if not entry.has(name):
            entry.fault(f"must say where {name} comes from")
    bases = {name: entry.basis(name) for name in entry.table}
    for name in bases:
        known = (
            *FIGURES,
            TESTING,
            "limits",
            "cable_tables",
            *(field.name for field in fields(Limits)),
        )
        entry.one_of("bases", name, known)
    entry.close()
    return bases


def _check_cable_tables(
    file: Entry, tables: Mapping[str, str], cables: Mapping[str, CableType]
) -> None:
    for cable_id, table_id in tables.items():
        cable = cables.get(cable_id)
        if cable is None:
            file.one_of("cable_tables", cable_id, cables)
        else:
            file.one_of(f"cable_tables {cable_id}", table_id, {t.id for t in cable.tables})
