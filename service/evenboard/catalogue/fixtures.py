"""Fixture entries: what all of a class share, what each has of its own, and what cannot be true."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from evenboard.catalogue.entry import Entry
from evenboard.catalogue.families import SizeClasses
from evenboard.electrics.equipment import (
    Connection,
    Displacement,
    FixtureType,
    LoadModel,
    SizeClass,
)

__all__ = ["implied_thd_pct", "read_fixtures"]

MAX_POWER_W = 500_000.0
"""More than the largest road feeder carries; above it a figure is a slip of the units."""


def implied_thd_pct(power_factor: float, displacement_factor: float) -> float:
    """Total harmonic distortion of the current that the two factors imply, % of the fundamental.

    IEEE 1459: power factor = displacement factor / sqrt(1 + THD^2) on a sinusoidal voltage.
    """
    return 100.0 * math.sqrt(max(0.0, (displacement_factor / power_factor) ** 2 - 1.0))


def read_fixtures(
    file: Entry, known_families: Mapping[str, str], sizes: SizeClasses
) -> list[FixtureType]:
    """The fixture types of one family file; their faults go to the file's list."""
    family = file.text("family")
    stem = file.file.rsplit("/", 1)[-1].removesuffix(".toml")
    if family:
        file.one_of("family", family, known_families)
        if family != stem:
            file.fault(f"family {family!r} must be the file's name, {stem!r}")
    classes = file.table_of_tables("class")
    fixtures = []
    for entry in file.children("fixture", label="slug"):
        merged = _with_class(entry, classes)
        fixture = _fixture(merged, family, sizes)
        if merged.close():
            fixtures.append(fixture)
    file.close()
    return fixtures


def _with_class(entry: Entry, classes: Mapping[str, Mapping[str, Any]]) -> Entry:
    """The entry with what its class gives; search words and the basis text are added up."""
    name = entry.optional_text("class")
    if name is None:
        return entry
    if name not in classes:
        entry.one_of("class", name, classes)
        return entry
    shared, own = classes[name], entry.table
    table = {**shared, **own}
    words, more = shared.get("also_known_as", []), own.get("also_known_as", [])
    if isinstance(words, list) and isinstance(more, list):
        table["also_known_as"] = [*more, *words]
    basis, own_basis = shared.get("basis"), own.get("basis")
    if isinstance(basis, dict) and isinstance(own_basis, dict):
        texts = (own_basis.get("text", ""), basis.get("text", ""))
        table["basis"] = {**own_basis, "text": " ".join(str(text) for text in texts)}
    return entry.replaced(table)


def _fixture(entry: Entry, family: str, sizes: SizeClasses) -> FixtureType:
    slug = entry.slug("slug")
    if slug and family and not slug.startswith(f"{family}-"):
        entry.fault(f"slug {slug!r} must begin with its family, {family}-")
    power_w = entry.number("power_w", above=0.0, at_most=MAX_POWER_W)
    lamp_power_w = entry.optional_number("lamp_power_w")
    if lamp_power_w == power_w:
        entry.fault("lamp_power_w is the same as power_w: leave it out")
    power_factor = entry.number("power_factor", above=0.0, at_most=1.0)
    displacement_factor = entry.number("displacement_factor", above=0.0, at_most=1.0)
    displacement: Displacement = entry.choice("displacement", Displacement)
    third_harmonic_pct = entry.number("third_harmonic_pct", at_least=0.0)
    thd_pct = 0.0
    if entry.sound:
        thd_pct = _thd_pct(
            entry, power_factor, displacement_factor, displacement, third_harmonic_pct
        )
    connection: Connection = entry.choice("connection", Connection, "single")
    if connection == "line-to-line":
        entry.fault(
            'connection "line-to-line" is how a lamp is plugged: a type is single, star or delta'
        )
    lines = 1 if connection == "single" else 3
    size_class: SizeClass = (
        entry.choice("size_class", SizeClass)
        if entry.has("size_class")
        else sizes.of(power_w / lines)
    )
    return FixtureType(
        slug=slug,
        name=entry.text("name"),
        family=family,
        size_class=size_class,
        power_w=power_w,
        lamp_power_w=lamp_power_w,
        power_factor=power_factor,
        displacement_factor=displacement_factor,
        displacement=displacement,
        third_harmonic_pct=third_harmonic_pct,
        current_thd_pct=thd_pct,
        load_model=entry.choice("load_model", LoadModel),
        inrush_multiple=entry.number("inrush_multiple", at_least=1.0, at_most=100.0),
        inrush_ms=entry.number("inrush_ms", above=0.0, at_most=60_000.0),
        leakage_ma=entry.number("leakage_ma", at_least=0.0, at_most=100.0),
        input_ranges_v=entry.spans("input_ranges_v"),
        connection=connection,
        also_known_as=entry.texts("also_known_as", optional=True),
        basis=entry.basis(),
        smooth_dc_leakage=entry.flag("smooth_dc_leakage", default=False),
    )


def _thd_pct(
    entry: Entry,
    power_factor: float,
    displacement_factor: float,
    displacement: Displacement,
    third_harmonic_pct: float,
) -> float:
    """The distortion implied, after the figures have been held against each other."""
    if power_factor > displacement_factor:
        entry.fault(
            f"power_factor {power_factor:g} must not be greater than displacement_factor "
            f"{displacement_factor:g}: distortion only lowers it"
        )
        return 0.0
    if (displacement == "none") != (displacement_factor == 1.0):
        entry.fault(
            f"displacement {displacement!r} contradicts displacement_factor "
            f'{displacement_factor:g}: "none" goes with 1, lagging or leading with less'
        )
    thd_pct = implied_thd_pct(power_factor, displacement_factor)
    if third_harmonic_pct > thd_pct:
        entry.fault(
            f"third_harmonic_pct {third_harmonic_pct:g} must not be greater than the distortion "
            f"that the power factors leave, {thd_pct:.1f} %"
        )
    if entry.has("current_thd_pct"):
        stated = entry.number("current_thd_pct", at_least=0.0)
        if abs(stated - thd_pct) > 2.0:
            entry.fault(
                f"current_thd_pct {stated:g} contradicts the power factors, which give "
                f"{thd_pct:.1f} %: correct one of the three"
            )
    return round(thd_pct, 1)
