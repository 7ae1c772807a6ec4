"""What a load is made for, and whether it is fed by that at all."""

from __future__ import annotations

from typing import TYPE_CHECKING

from evenboard.electrics.layout import Load
from evenboard.electrics.load import INPUT_TOLERANCE, SUPPLY_HIGH, SUPPLY_LOW
from evenboard.findings.judging import ROUNDING

if TYPE_CHECKING:
    from evenboard.findings.view import View

__all__ = [
    "borne_v",
    "is_cut_off",
    "is_mismatched",
    "is_unfed",
    "lowest_v",
    "made_for_v",
    "neutral_ends_at",
    "survived_v",
]


def made_for_v(load: Load) -> tuple[float, float]:
    """What a load is marked for: its input range, or its rated voltage alone. [V]"""
    return load.input_range_v or (load.rated_voltage_v, load.rated_voltage_v)


def borne_v(load: Load) -> tuple[float, float]:
    """Nominal voltages that a load may be plugged into: a supply is never quite as marked. [V]

    243 V is right for 220 to 240 V; where only a rated voltage is known, +-10 % of it.
    """
    low, high = made_for_v(load)
    if load.input_range_v is None:
        return low * (1.0 - INPUT_TOLERANCE.value), high * (1.0 + INPUT_TOLERANCE.value)
    return low * SUPPLY_LOW.value, high * SUPPLY_HIGH.value


def survived_v(load: Load) -> float:
    """The highest voltage that does a load no harm: what it is marked for and 10 %. [V]"""
    return made_for_v(load)[1] * (1.0 + INPUT_TOLERANCE.value)


def is_mismatched(view: View, index: int) -> bool:
    """Whether the supply's nominal voltage is none that a load may be plugged into."""
    low, high = borne_v(view.layout.loads[index])
    nominal = float(view.load_nominal_v[index])
    return not low * (1.0 - ROUNDING) <= nominal <= high * (1.0 + ROUNDING)


def lowest_v(view: View, index: int) -> float:
    """The least voltage that a load should get: of a wide input range its own lower end. [V]"""
    low, _ = made_for_v(view.layout.loads[index])
    rated = view.layout.loads[index].rated_voltage_v
    return min(low, rated * (1.0 - view.limits.low_voltage_pct / 100.0))


def neutral_ends_at(view: View, node: int) -> bool:
    """Whether a node is where the neutral ends: it has none through, and what feeds it has."""
    parent = view.parents[node]
    return not view.has_neutral[node] and (parent < 0 or bool(view.has_neutral[parent]))


def is_unfed(view: View, index: int) -> bool:
    """Whether a load gets no voltage to speak of: its outlet, lead or board lacks the neutral."""
    load = view.layout.loads[index]
    if load.board is None or load.outlet is None:
        return True
    if is_cut_off(view, load.board + 1):
        return True
    if load.connection != "single" or len(load.supply_lines) != 1:
        return False
    has = view.outlet_at[load.board, load.outlet].type.neutral
    return not has or (load.lead is not None and not load.lead.neutral_connected)


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
