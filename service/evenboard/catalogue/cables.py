"""Cable entries: one file a cable type, its rating tables with their factors inside."""

from __future__ import annotations

from itertools import pairwise
from typing import Literal

from evenboard.catalogue.entry import Entry
from evenboard.electrics.equipment import (
    FOUR_LOADED_FACTOR,
    CableSize,
    CableTable,
    CableType,
    FactorTable,
)

__all__ = ["read_cable"]

Construction = Literal["multicore", "single-core"]


def read_cable(file: Entry) -> CableType | None:
    """The cable type of one file, or None where it has faults."""
    construction: Construction = file.choice("construction", Construction)
    tables = []
    for entry in file.children("tables"):
        table = _table(entry)
        if entry.close():
            tables.append(table)
    if len({table.id for table in tables}) != len(tables):
        file.fault("tables must have different ids")
    cable = CableType(
        id=file.slug("id"),
        name=file.text("name"),
        construction=construction,
        tinned=file.flag("tinned"),
        rated_temperature_c=file.number("rated_temperature_c", above=0.0, at_most=300.0),
        reactance_ohm_per_km=file.number("reactance_ohm_per_km", at_least=0.0, at_most=1.0),
        tables=tuple(tables),
        basis=file.basis(),
    )
    return cable if file.close() else None


def _table(entry: Entry) -> CableTable:
    sizes = []
    for row in entry.children("sizes", label="csa_mm2"):
        size = CableSize(
            csa_mm2=row.number("csa_mm2", above=0.0, at_most=1000.0),
            two_loaded_a=row.optional_number("two_loaded_a"),
            three_loaded_a=row.optional_number("three_loaded_a"),
            label=row.text("label", default=""),
        )
        if size.two_loaded_a is None and size.three_loaded_a is None:
            row.fault("must have two_loaded_a, three_loaded_a or both")
        if row.close():
            sizes.append(size)
    if not sizes:
        entry.fault("sizes must list at least one size")
    for smaller, larger in pairwise(sizes):
        if larger.csa_mm2 <= smaller.csa_mm2:
            entry.fault(f"sizes must rise: {larger.csa_mm2:g} comes after {smaller.csa_mm2:g} mm2")
        for loaded in ("two_loaded_a", "three_loaded_a"):
            less, more = getattr(smaller, loaded), getattr(larger, loaded)
            if less is not None and more is not None and more < less:
                entry.fault(
                    f"{loaded} must not fall with size: {larger.csa_mm2:g} mm2 has {more:g} A, "
                    f"{smaller.csa_mm2:g} mm2 has {less:g} A"
                )
    return CableTable(
        id=entry.slug("id"),
        standard=entry.text("standard"),
        reference_ambient_c=entry.number("reference_ambient_c", above=0.0, at_most=100.0),
        sizes=tuple(sizes),
        ambient=_factors(entry.child("ambient")),
        grouping_bunched=_factors(entry.child("grouping_bunched")),
        grouping_surface=_factors(entry.child("grouping_surface")),
        drum_layers=_factors(entry.child("drum_layers")),
        basis=entry.basis(),
        four_loaded_factor=entry.number(
            "four_loaded_factor", above=0.0, at_most=1.0, default=FOUR_LOADED_FACTOR
        ),
    )


def _factors(entry: Entry) -> FactorTable:
    arguments = entry.numbers("arguments")
    factors = entry.numbers("factors", above=0.0)
    if entry.sound:
        if len(arguments) != len(factors):
            entry.fault(
                f"arguments and factors must be as many: {len(arguments)} and {len(factors)}"
            )
        if any(b <= a for a, b in pairwise(arguments)):
            entry.fault("arguments must rise")
        if any(b > a for a, b in pairwise(factors)):
            entry.fault("factors must not rise: more heat never lets a cable carry more")
    open_ended = entry.flag("open_ended", default=False)
    table = FactorTable(arguments, factors, entry.basis(), open_ended)
    entry.close()
    return table
