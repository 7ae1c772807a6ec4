"""What a load is made for, and whether it is fed by that at all."""

from __future__ import annotations

from typing import TYPE_CHECKING

from evenboard.electrics.layout import Load
from evenboard.electrics.load import takes_voltage

if TYPE_CHECKING:
    from evenboard.findings.view import View

__all__ = [
    "RATED_TOLERANCE",
    "input_range_v",
    "is_cut_off",
    "is_mismatched",
    "lowest_v",
    "range_of",
]

RATED_TOLERANCE = 0.10
"""How far the supply may be off a load's rated voltage where no input range is known: the +-10 % of
IEC 60038 (from memory)."""


def range_of(load: Load) -> tuple[float, float]:
    """What a load is made for: its input range, or +-10 % of its rated voltage. [V]"""
    if load.input_range_v is not None:
        return load.input_range_v
    rated = load.rated_voltage_v
    return rated * (1.0 - RATED_TOLERANCE), rated * (1.0 + RATED_TOLERANCE)


def input_range_v(view: View, index: int) -> tuple[float, float]:
    """The input range of a load of the layout. [V]"""
    return range_of(view.layout.loads[index])


def is_mismatched(view: View, index: int) -> bool:
    """Whether the supply's voltage is none that a load is made for.

    A marked range is taken with the tolerance that every supply has: 243 V is right for 220-240 V.
    """
    nominal = float(view.load_nominal_v[index])
    marked = view.layout.loads[index].input_range_v
    if marked is not None:
        return not takes_voltage(marked, nominal)
    low, high = input_range_v(view, index)
    return not low * (1.0 - 1e-9) <= nominal <= high * (1.0 + 1e-9)


def lowest_v(view: View, index: int) -> float:
    """The least voltage that a load should get: of a wide input range its own lower end. [V]"""
    low, _ = input_range_v(view, index)
    rated = view.layout.loads[index].rated_voltage_v
    return min(low, rated * (1.0 - view.limits.low_voltage_pct / 100.0))


def is_cut_off(view: View, node: int) -> bool:
    """Whether a node's loads want a neutral and none reaches it: its voltages mean nothing then."""
    if view.has_neutral[node]:
        return False
    return any(
        view.is_below[i, n]
        for n in view.path(node - 1)
        if not view.has_neutral[n]
        for i, load in enumerate(view.layout.loads)
        if load.connection == "single" and len(load.supply_lines) == 1
    )
