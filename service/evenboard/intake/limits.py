"""The limits that a layout sets for itself, over those of its region."""

from __future__ import annotations

import math
from dataclasses import fields, replace
from itertools import pairwise

from evenboard.electrics.equipment import Limits
from evenboard.intake.bounds import MIN_LIMIT
from evenboard.intake.entry import Entry

__all__ = ["read_limits"]

MOST = {"pct": (200.0, "%"), "k": (200.0, "K"), "w": (100_000.0, "W")}
"""The largest limit by the unit that ends its name (estimate), and the unit in words."""
STEPS = ("spread_note_pct", "spread_pct", "spread_fail_pct")
NAMES = tuple(field.name for field in fields(Limits))


def read_limits(body: Entry, usual: Limits) -> Limits:
    """The region's limits with those that the layout sets in their place.

    The three steps of the spread stay in order: a step that the layout sets moves a neighbour that
    it leaves alone, and contradicts one that it sets too.
    """
    entry = body.entry("limits", "limits")
    if entry is None:
        return usual
    entry.only(NAMES, "limits")
    given: dict[str, float] = {}
    for name in NAMES:
        if not entry.has(name):
            continue
        most, unit = MOST[name.rsplit("_", 1)[1]]
        value = entry.number(name, unit, least=0.0 if unit == "W" else MIN_LIMIT, most=most)
        if value is not None:
            given[name] = value
    if not all(given[a] <= given[b] for a, b in _pairs(given)):
        entry.fault(
            f"{', '.join(f'{name} {given[name]:g}' for name in STEPS if name in given)}: the steps "
            "of the spread rise from note to caution to fail.",
            next(name for name in STEPS if name in given),
        )
        return usual
    for step, name in enumerate(STEPS):
        if name not in given:
            floor = max((given[n] for n in STEPS[:step] if n in given), default=0.0)
            ceiling = min((given[n] for n in STEPS[step:] if n in given), default=math.inf)
            given[name] = min(max(getattr(usual, name), floor), ceiling)
    return replace(usual, **given)


def _pairs(given: dict[str, float]) -> list[tuple[str, str]]:
    present = [name for name in STEPS if name in given]
    return list(pairwise(present))
