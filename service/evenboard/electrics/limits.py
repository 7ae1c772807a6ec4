"""Where the general limits come from; a region or a layout that sets another says so itself."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from evenboard.electrics.equipment import Basis

__all__ = ["LIMIT_BASES"]

_CONTINUOUS = Basis(
    "handbook",
    "NFPA 70 (NEC) 210.20(A) and 215.3, as code summaries give them: a load of three hours and "
    "more may take 80 % of a breaker; a habit elsewhere",
)
_SPREAD = Basis(
    "estimate",
    "no standard limits the current unbalance of a feeder; judged by spread over rating: quiet to "
    "10 %, note to 25 %, caution to 50 %, above that a fail",
)

LIMIT_BASES: Mapping[str, Basis] = MappingProxyType(
    {
        "phase_loading_pct": _CONTINUOUS,
        "breaker_loading_pct": _CONTINUOUS,
        "spread_note_pct": _SPREAD,
        "spread_pct": _SPREAD,
        "spread_fail_pct": _SPREAD,
        "voltage_drop_pct": Basis(
            "standard",
            "IEC 60364-5-52:2009 Table G.52.1, as reproduced: 5 % for other uses, public supply",
        ),
        "low_voltage_pct": Basis("memory", "IEC 60038: within 10 % of nominal (from memory)"),
        "voltage_unbalance_pct": Basis(
            "handbook", "EN 50160: 2 % negative sequence, as a meter maker's note gives it"
        ),
        "leakage_share_pct": Basis(
            "standard",
            "BS 7671:2018, 531.3.2: 30 % of the rated residual current, as a maker's note gives it",
        ),
        "neutral_loading_pct": Basis(
            "common-practice",
            "no source: the neutral has no breaker of its own, so its rating is the limit",
        ),
        "core_spread_k": Basis(
            "estimate", "no source: an early sign of a cable that heats unevenly, an indicator"
        ),
        "negative_sequence_pct": Basis(
            "memory", "IEC 60034-1: 8 % of rated current, continuously (from memory)"
        ),
        "leading_share_pct": Basis(
            "handbook",
            "a white paper on filters: leading reactive power above 20 % of a set's kVA upsets the "
            "voltage regulator",
        ),
        "generator_high_load_pct": Basis(
            "handbook", "a vendor's recommendation: 80 % of the rating"
        ),
        "generator_low_load_pct": Basis(
            "memory", "long running below 30 % leaves unburnt fuel in a diesel (from memory)"
        ),
        "generator_step_pct": Basis(
            "estimate",
            "ISO 8528-5 lets a set take its rating in steps (from memory); half is usual",
        ),
        "insignificant_w": Basis(
            "estimate", "small LED panels and practicals move no phase; an estimate of the trade"
        ),
    }
)
"""The word behind each field of :class:`evenboard.electrics.equipment.Limits`."""
