"""The supply that a layout hangs on: region, system, rating, voltage, source and generator."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Literal

from evenboard.catalogue import Catalogue
from evenboard.electrics.equipment import Generator, Region, SupplySystem
from evenboard.electrics.generator import rated_current_a
from evenboard.electrics.layout import SourceImpedance, Supply
from evenboard.intake.bounds import (
    MAX_AMPS,
    MAX_KVA,
    MAX_OHM,
    MAX_VOLTS,
    MIN_AMPS,
    MIN_KVA,
    MIN_LIMIT,
    MIN_RATED_FACTOR,
    MIN_VOLTS,
)
from evenboard.intake.entry import Entry
from evenboard.intake.lines import LINES_OF_SYSTEM
from evenboard.intake.nearest import listed, quoted

__all__ = ["outline", "read_region", "read_supply"]

Kind = Literal["outlet", "generator", "service"]
KINDS: dict[str, Kind] = {"outlet": "outlet", "generator": "generator", "service": "service"}
SUPPLY_FIELDS = (
    "kind",
    "system",
    "rating_a",
    "voltage_v",
    "frequency_hz",
    "loop_impedance_ohm",
    "source_impedance",
    "generator",
    "neutral",
)
SOURCE_FIELDS = ("r_ohm", "x_ohm", "neutral_r_ohm", "neutral_x_ohm")
GENERATOR_FIELDS = (
    "rating_kva",
    "rated_power_factor",
    "subtransient_reactance_pct",
    "max_step_pct",
)
LINE_TO_LINE_SLIP = 0.1
"""A line-to-neutral voltage this close to the line-to-line one is taken for a slip."""


def read_region(body: Entry, catalogue: Catalogue) -> Region | None:
    """The region profile that the body names."""
    name = body.values.get("region")
    if name is None:
        body.fault(
            f"region is missing: one of {listed(sorted(catalogue.regions))}. It sets the nominal "
            "voltage, the cable tables and the limits.",
            "region",
        )
        return None
    region = catalogue.regions.get(name) if isinstance(name, str) else None
    if region is None:
        hint = body.suggest(name, catalogue.regions, "region", 1)
        known = listed(sorted(catalogue.regions), "and")
        body.fault(f"There is no region {quoted(name)}; there is: {known}.{hint}", "region")
    return region


def read_supply(body: Entry, region: Region | None) -> Supply | None:
    """The supply; None after a fault."""
    before = len(body.faults)
    entry = body.entry("supply", "supply")
    if entry is None:
        if not body.has("supply"):
            body.fault(
                'supply is missing: what feeds the boards, at least {"rating_a": 32}, the amps '
                "per line.",
                "supply",
            )
        return None
    entry.only(SUPPLY_FIELDS, "A supply")
    generator = _generator(entry)
    kind = entry.choice("kind", KINDS, "generator" if generator else "outlet")
    if kind == "generator" and not entry.has("generator"):
        entry.fault(
            'The supply is a generator: give its plate as {"rating_kva": 60}, so that its load, '
            "its steps and its unbalance can be judged.",
            "generator",
        )
    if kind not in (None, "generator") and entry.has("generator"):
        entry.fault(
            f"The supply's kind is {kind}, yet it has a generator: say kind generator.", "kind"
        )
    system = _system(entry, region)
    voltage_v = _voltage(entry, system)
    frequency_hz = entry.number(
        "frequency_hz", "Hz", region.frequency_hz[0] if region else 50.0, least=45.0, most=65.0
    )
    rating_a = _rating(entry, generator, system, voltage_v)
    loop_ohm = entry.number("loop_impedance_ohm", "ohm", most=MAX_OHM)
    source = _source(entry)
    neutral = entry.flag("neutral", system.neutral if system else True)
    if neutral and system is not None and not system.neutral:
        entry.fault(
            f"The {system.system} supply of this region has no neutral: leave it out or say false.",
            "neutral",
        )
    if len(body.faults) > before or system is None:
        return None
    if voltage_v is None or frequency_hz is None or rating_a is None:
        return None
    return Supply(
        kind=KINDS[kind or "outlet"],
        system=system.system,
        rating_a=rating_a,
        voltage_v=voltage_v,
        frequency_hz=frequency_hz,
        lines=system.lines,
        loop_impedance_ohm=loop_ohm,
        source_impedance=source,
        generator=generator,
        neutral=neutral,
    )


def outline(body: Entry) -> Supply | None:
    """A supply of the body's system, to go on reading the boards when the supply has a fault."""
    values = body.values.get("supply")
    system = values.get("system") or "three-phase" if isinstance(values, Mapping) else "three-phase"
    for name, lines in LINES_OF_SYSTEM.items():
        if name == system:
            return Supply("outlet", name, math.inf, 230.0, 50.0, lines)
    return None


def _system(entry: Entry, region: Region | None) -> SupplySystem | None:
    name = entry.choice("system", tuple(LINES_OF_SYSTEM), "three-phase")
    if region is None or name is None:
        return None
    system = region.system(name)
    if system is None:
        known = listed([s.system for s in region.systems], "and")
        entry.fault(f"{region.name} has no {name} supply; there is: {known}.", "system")
    return system


def _voltage(entry: Entry, system: SupplySystem | None) -> float | None:
    """Line to neutral. The line-to-line figure is the classic slip and is told apart."""
    voltage_v = entry.number(
        "voltage_v",
        "V, line to neutral",
        system.line_to_neutral_v if system else 230.0,
        least=MIN_VOLTS,
        most=MAX_VOLTS,
    )
    if voltage_v is None or system is None or system.line_to_line_v is None:
        return voltage_v
    if abs(voltage_v / system.line_to_line_v - 1.0) <= LINE_TO_LINE_SLIP:
        entry.fault(
            f"voltage_v is {voltage_v:g}, a line-to-line voltage: give line to neutral, nominally "
            f"{system.line_to_neutral_v:g} V here.",
            "voltage_v",
        )
        return None
    return voltage_v


def _rating(
    entry: Entry,
    generator: Generator | None,
    system: SupplySystem | None,
    voltage_v: float | None,
) -> float | None:
    """Amps per line; a generator's follow from its plate where they are not given."""
    if not entry.has("rating_a") and entry.has("generator"):
        if generator is None or system is None or voltage_v is None:
            return None
        return rated_current_a(generator, system.system, voltage_v)
    if not entry.has("rating_a"):
        entry.fault(
            "rating_a is missing: the amps per line that the supply may give, such as 32 (three "
            "lines of 32 A are 96 A in all).",
            "rating_a",
        )
        return None
    return entry.number("rating_a", "A per line", least=MIN_AMPS, most=MAX_AMPS)


def _source(entry: Entry) -> SourceImpedance | None:
    source = entry.entry("source_impedance", "impedance of the source")
    if source is None:
        return None
    source.only(SOURCE_FIELDS, "A source impedance")
    r = source.number("r_ohm", "ohm", 0.0, most=MAX_OHM)
    x = source.number("x_ohm", "ohm", 0.0, most=MAX_OHM)
    neutral_r = source.number("neutral_r_ohm", "ohm", r, most=MAX_OHM)
    neutral_x = source.number("neutral_x_ohm", "ohm", x, most=MAX_OHM)
    if r is None or x is None or neutral_r is None or neutral_x is None:
        return None
    return SourceImpedance(r, x, neutral_r, neutral_x)


def _generator(entry: Entry) -> Generator | None:
    plate = entry.entry("generator", "generator")
    if plate is None:
        return None
    plate.only(GENERATOR_FIELDS, "A generator")
    rating_kva = plate.number("rating_kva", "kVA", least=MIN_KVA, most=MAX_KVA, required=True)
    factor = plate.number("rated_power_factor", "", 0.8, least=MIN_RATED_FACTOR, most=1.0)
    reactance = plate.number("subtransient_reactance_pct", "%", most=100.0, above=True)
    step = plate.number("max_step_pct", "%", least=MIN_LIMIT, most=100.0)
    if rating_kva is None or factor is None:
        return None
    return Generator(rating_kva, factor, reactance, step)
