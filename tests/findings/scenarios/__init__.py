"""For every code a layout in which it is found and one in which it just is not.

The boards are those of ``support.builders``: three one-line outlets a phase and one of three lines.
"""

from __future__ import annotations

from findings.scenarios import (
    faults,
    feeders,
    generators,
    lines,
    neutrals,
    practices,
    protections,
    voltages,
)
from findings.scenarios.common import Scenario

__all__ = ["SCENARIOS", "Scenario"]

SCENARIOS: tuple[Scenario, ...] = tuple(
    scenario
    for subject in (lines, neutrals, protections, feeders, voltages, faults, generators, practices)
    for scenario in subject.SCENARIOS
)
