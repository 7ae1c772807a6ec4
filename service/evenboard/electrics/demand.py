"""How much of a connected load a rule lets a feeder or a breaker be chosen for."""

from __future__ import annotations

import math

from evenboard.electrics.constant import Constant, Table
from evenboard.electrics.equipment import Basis

__all__ = [
    "CONTINUOUS_FACTOR",
    "CONTINUOUS_HOURS",
    "STAGE_SET_DEMAND",
    "STANDARD_RATINGS",
    "apparent_kva",
    "continuous_rating_a",
    "stage_set_demand_kva",
    "standard_rating_a",
]

CONTINUOUS_FACTOR = Constant(
    "Rating that a continuous load asks for, over its current",
    1.25,
    "",
    Basis("memory", "NFPA 70 (NEC) 210.20(A) and 215.3 (from memory)"),
)
CONTINUOUS_HOURS = Constant(
    "Duration from which a load is continuous",
    3.0,
    "h",
    Basis("handbook", "NFPA 70 (NEC) article 100, as quoted in a code forum"),
)
STAGE_SET_DEMAND = Table(
    "Demand of stage-set lighting on a feeder, of each portion of the connected load",
    ("up to (kVA)", "share (%)"),
    ((50.0, 100.0), (100.0, 75.0), (200.0, 60.0), (math.inf, 50.0)),
    Basis("memory", "NFPA 70 (NEC) Table 530.19(A) (from memory)"),
)
STANDARD_RATINGS = Table(
    "Standard ratings of overcurrent devices",
    ("rating (A)",),
    tuple(
        (float(rating),)
        for rating in (
            *(15, 20, 25, 30, 35, 40, 45, 50, 60, 70, 80, 90, 100, 110, 125, 150, 175, 200),
            *(225, 250, 300, 350, 400, 450, 500, 600, 700, 800, 1000, 1200),
        )
    ),
    Basis("memory", "NFPA 70 (NEC) 240.6(A) (from memory)"),
)


def continuous_rating_a(continuous_a: float, other_a: float = 0.0) -> float:
    """Rating of a breaker for a load of which a part burns for three hours or more.

    Parameters
    ----------
    continuous_a : float
        Current of the continuous part. [A]
    other_a : float
        Current of the rest. [A]

    Returns
    -------
    float
        Rating to be met or exceeded. [A]

    Raises
    ------
    ValueError
        If a current is negative or not finite.

    References
    ----------
    .. [1] NFPA 70 (NEC) 210.20(A), 215.3: 125 % of the continuous part and the rest.

    Examples
    --------
    >>> continuous_rating_a(16.0)
    20.0
    """
    for current in (continuous_a, other_a):
        if not (math.isfinite(current) and current >= 0.0):
            raise ValueError(f"current must be 0 A or more, not {current} A")
    return CONTINUOUS_FACTOR.value * continuous_a + other_a


def standard_rating_a(current_a: float) -> float | None:
    """Next standard rating of an overcurrent device.

    Parameters
    ----------
    current_a : float
        Current to be met or exceeded. [A]

    Returns
    -------
    float or None
        Rating; None above the largest. [A]

    Raises
    ------
    ValueError
        If the current is negative or not finite.

    References
    ----------
    .. [1] NFPA 70 (NEC) 240.6(A).

    Examples
    --------
    >>> standard_rating_a(83.3)
    90.0
    """
    if not (math.isfinite(current_a) and current_a >= 0.0):
        raise ValueError(f"current must be 0 A or more, not {current_a} A")
    ratings = [rating for (rating,) in STANDARD_RATINGS.rows if rating is not None]
    return next((rating for rating in ratings if rating >= current_a), None)


def stage_set_demand_kva(connected_kva: float) -> float:
    """Load for which a feeder of stage-set lighting may be chosen in the United States.

    Parameters
    ----------
    connected_kva : float
        Connected stage-set lighting. [kVA]

    Returns
    -------
    float
        Demand. [kVA]

    Raises
    ------
    ValueError
        If the load is negative or not finite.

    References
    ----------
    .. [1] NFPA 70 (NEC) Table 530.19(A): 100 % of the first 50 kVA, 75 % of the next 50, 60 % of
       the next 100, 50 % above. For fixed stage feeders only: a set that burns whole takes all.

    Examples
    --------
    >>> stage_set_demand_kva(200.0)
    147.5
    """
    if not (math.isfinite(connected_kva) and connected_kva >= 0.0):
        raise ValueError(f"connected load must be 0 kVA or more, not {connected_kva} kVA")
    demand = below = 0.0
    for upto, share in STAGE_SET_DEMAND.column("share (%)").items():
        demand += share / 100.0 * (min(connected_kva, upto) - below)
        below = min(connected_kva, upto)
    return demand


def apparent_kva(line_to_line_v: float, rating_a: float) -> float:
    """Apparent power of a three-phase outlet: its rating is per line.

    Parameters
    ----------
    line_to_line_v : float
        Voltage line to line. [V]
    rating_a : float
        Rating of each line. [A]

    Returns
    -------
    float
        Apparent power. [kVA]

    Raises
    ------
    ValueError
        If a figure is negative or not finite.

    References
    ----------
    .. [1] ``S = sqrt(3) U I``.

    Examples
    --------
    >>> round(apparent_kva(400.0, 32.0), 2)
    22.17
    """
    if not (math.isfinite(line_to_line_v * rating_a) and line_to_line_v >= 0 and rating_a >= 0):
        raise ValueError(f"{line_to_line_v} V and {rating_a} A must be 0 or more")
    return math.sqrt(3.0) * line_to_line_v * rating_a / 1000.0
