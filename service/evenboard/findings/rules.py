"""All rules, and what they find in a solved layout."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

from evenboard.findings import (
    feeder,
    generator,
    heat,
    leads,
    neutral,
    phase,
    practice,
    protection,
    residual,
    solving,
    starting,
    voltage,
)
from evenboard.findings.finding import Finding, Severity
from evenboard.findings.one_size import one_size
from evenboard.findings.view import View

__all__ = ["RULES", "Rule", "code_of", "find"]

Rule = Callable[[View], Iterator[Finding]]

RULES: tuple[Rule, ...] = (
    solving.no_solution,
    neutral.no_neutral,
    phase.phase_overload,
    neutral.neutral_overload,
    protection.breaker_overload,
    protection.outlet_overload,
    feeder.feeder_overload,
    heat.core_overheating,
    generator.generator_overload,
    residual.loop_impedance,
    practice.voltage_mismatch,
    practice.withdrawn_equipment,
    phase.phase_loading,
    phase.overload_at_full,
    phase.current_unbalance,
    phase.idle_phase,
    protection.breaker_loading,
    protection.selectivity,
    protection.rcd_selectivity,
    protection.board_diversity,
    feeder.feeder_coiled,
    heat.uneven_core_heating,
    feeder.feeder_protection,
    leads.outlet_protection,
    voltage.voltage_drop,
    voltage.low_voltage_at_load,
    voltage.voltage_unbalance,
    voltage.colour_shift,
    residual.residual_current,
    residual.dc_leakage,
    starting.inrush_trip,
    neutral.open_neutral_overvoltage,
    neutral.third_harmonic,
    generator.generator_loading,
    generator.generator_light_load,
    generator.generator_unbalance,
    generator.generator_load_step,
    generator.leading_power_factor,
    generator.largest_lamp_drop,
    practice.duplicate_outlet,
    practice.tag_in_two_places,
    practice.claimed_elsewhere,
    practice.overdue_test,
    practice.test_falls_due,
    practice.unknown_tag,
    practice.phase_cut_electronics,
    practice.row_convention,
)
"""Every rule; its code is its name with hyphens."""


def code_of(rule: Rule) -> str:
    """The finding code of a rule: its name with hyphens."""
    return rule.__name__.replace("_", "-")


POSITION = {code_of(rule): position for position, rule in enumerate(RULES)}
ORDER: tuple[Severity, ...] = ("fail", "caution", "note")


def find(view: View) -> tuple[Finding, ...]:
    """Everything that the rules find, the gravest first, then from the supply outwards.

    What the region's code only advises is never more than a note. What several findings ask of one
    cable is one size.
    """
    advisory = view.layout.region.advisory
    found = [
        replace(finding, severity="note") if finding.code in advisory else finding
        for rule in RULES
        for finding in rule(view)
    ]
    return tuple(sorted(one_size(view, found), key=lambda finding: _place(view, finding)))


def _place(view: View, finding: Finding) -> tuple[int, int, int, int, int]:
    where, layout = finding.where, view.layout
    board = outlet = load = 0
    if where.board is not None:
        index = layout.board_index(where.board)
        board = index + 1
        outlets = [o.id for o in layout.boards[index].outlets]
        outlet = outlets.index(where.outlet) + 1 if where.outlet in outlets else 0
    if where.load is not None:
        load = view.load_index[where.load] + 1
    return ORDER.index(finding.severity), board, outlet, load, POSITION[finding.code]
