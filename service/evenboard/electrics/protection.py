"""Breakers and residual-current devices: what trips, what does not, and what guards a place.

A loop impedance is held against the upper edge of the breaker's band, where it trips at once for
certain; an inrush against the lower edge, below which it surely does not.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from evenboard.electrics.constant import Constant, Table
from evenboard.electrics.equipment import Basis, Breaker, Curve, RcdType
from evenboard.electrics.layout import Board, Layout, Outlet
from evenboard.electrics.solution import FloatArray

__all__ = [
    "BREAKER_BANDS",
    "CONVENTIONAL_CURRENTS",
    "RATED_DIVERSITY",
    "RCD_NO_TRIP_SHARE",
    "Band",
    "Guard",
    "breaker_band_a",
    "conventional_currents_a",
    "covering_rcd",
    "guards_above",
    "leakage_ma",
    "loop_impedance_limit_ohm",
    "rated_diversity",
]

BREAKER_BANDS = Table(
    "Instantaneous band of circuit breakers, curves B, C and D in this order",
    ("curve (1 B, 2 C, 3 D)", "surely not up to (In)", "surely from (In)"),
    ((1.0, 3.0, 5.0), (2.0, 5.0, 10.0), (3.0, 10.0, 20.0)),
    Basis("standard", "IEC 60898-1, Table 2, as summarised in trade literature"),
)
CONVENTIONAL_CURRENTS = Table(
    "Conventional non-tripping and tripping current at 30 °C",
    ("standard (1 IEC 60898-1, 2 IEC 60947-2)", "not within (In)", "within (In)"),
    ((1.0, 1.13, 1.45), (2.0, 1.05, 1.30)),
    Basis(
        "standard",
        "IEC 60898-1 and IEC 60947-2, as summarised in trade literature: in 1 h, 2 h above 63 A",
    ),
)
RCD_NO_TRIP_SHARE = Constant(
    "Share of the rated residual current below which a device must not trip",
    0.5,
    "",
    Basis("memory", "IEC 61008-1 (from memory)"),
)
RATED_DIVERSITY = Table(
    "Rated diversity factor of breakers side by side in one enclosure",
    ("circuits, up to", "factor"),
    ((1.0, 1.0), (3.0, 0.9), (5.0, 0.8), (9.0, 0.7), (math.inf, 0.6)),
    Basis("memory", "IEC 61439-2 Table 101 (from memory)"),
)

_CURVES: tuple[Curve, ...] = ("B", "C", "D")


@dataclass(frozen=True, slots=True)
class Band:
    """A breaker's instantaneous band, RMS.

    At or below ``lower_a`` it does not trip at once, at or above ``upper_a`` it does, between the
    two it may.
    """

    lower_a: float
    upper_a: float


@dataclass(frozen=True, slots=True)
class Guard:
    """A breaker between the supply and a place, and where it sits.

    ``board`` is an index, None for the supply's own device; ``outlet`` is None for an incomer.
    ``breaker`` is None where only the rating of supply or outlet is known.
    """

    board: int | None
    outlet: str | None
    rating_a: float
    breaker: Breaker | None


def breaker_band_a(breaker: Breaker) -> Band:
    """The band in which a breaker's instantaneous release lies.

    Parameters
    ----------
    breaker : Breaker
        The breaker.

    Returns
    -------
    Band
        Lower and upper edge, RMS. [A]

    Raises
    ------
    ValueError
        If the rating is not above 0.

    References
    ----------
    .. [1] IEC 60898-1: B 3 to 5, C 5 to 10, D 10 to 20 times the rated current.

    Examples
    --------
    >>> breaker_band_a(Breaker(16, "C"))
    Band(lower_a=80.0, upper_a=160.0)
    """
    if not (math.isfinite(breaker.rating_a) and breaker.rating_a > 0.0):
        raise ValueError(f"a breaker's rating must be above 0 A, not {breaker.rating_a} A")
    _, lower, upper = BREAKER_BANDS.rows[_CURVES.index(breaker.curve)]
    assert lower is not None
    assert upper is not None
    return Band(lower * breaker.rating_a, upper * breaker.rating_a)


def conventional_currents_a(rating_a: float) -> tuple[float, float]:
    """Currents that a breaker carries for an hour, and that it must break within one.

    Parameters
    ----------
    rating_a : float
        Rated current. [A]

    Returns
    -------
    not_tripping_a, tripping_a : float
        Conventional currents. [A]

    Raises
    ------
    ValueError
        If the rating is not above 0.

    References
    ----------
    .. [1] IEC 60898-1: 1.13 and 1.45 times the rated current, 1 h up to 63 A, 2 h above.

    Examples
    --------
    >>> [round(current, 2) for current in conventional_currents_a(16.0)]
    [18.08, 23.2]
    """
    if not (math.isfinite(rating_a) and rating_a > 0.0):
        raise ValueError(f"a breaker's rating must be above 0 A, not {rating_a} A")
    _, lower, upper = CONVENTIONAL_CURRENTS.rows[0]
    assert lower is not None
    assert upper is not None
    return lower * rating_a, upper * rating_a


def loop_impedance_limit_ohm(
    breaker: Breaker, voltage_v: float, voltage_factor: float = 1.0
) -> float:
    """Largest earth-fault loop impedance at which a breaker trips at once for certain.

    Parameters
    ----------
    breaker : Breaker
        The breaker.
    voltage_v : float
        Nominal voltage line to earth. [V]
    voltage_factor : float
        Factor for the lowest voltage, 0.95 in BS 7671, 1 in IEC 60364-4-41. [-]

    Returns
    -------
    float
        Impedance of source, line and protective conductor. [ohm]

    Raises
    ------
    ValueError
        If a figure is not above 0.

    References
    ----------
    .. [1] BS 7671:2018 Table 41.3 (as reproduced): ``Zs = Cmin U0 / Ia``; IEC 60364-4-41, 411.4.4
       (from memory): ``Zs = U0 / Ia``.

    Examples
    --------
    >>> round(loop_impedance_limit_ohm(Breaker(16, "B"), 230.0, 0.95), 2)
    2.73
    """
    if not (voltage_v > 0.0 and voltage_factor > 0.0):
        raise ValueError(f"voltage {voltage_v} V and factor {voltage_factor} must be above 0")
    return voltage_factor * voltage_v / breaker_band_a(breaker).upper_a


def guards_above(layout: Layout, board: int, outlet: str | None = None) -> tuple[Guard, ...]:
    """The breakers between the supply and a board or one of its outlets, the supply's first.

    Parameters
    ----------
    layout : Layout
        The layout.
    board : int
        Index of the board.
    outlet : str, optional
        Id of an outlet of it, whose own breaker is then the last.

    Returns
    -------
    tuple of Guard
        Devices in the order in which the current meets them. Selectivity asks that each be smaller
        than the one before: equal ratings in series may both trip.

    Raises
    ------
    KeyError
        If the board has no such outlet.

    References
    ----------
    .. [1] IEC 60364-5-53, coordination of protective devices (from memory).
    """
    below_first: list[Guard] = []
    for index, place, through in _way_up(layout, board, outlet):
        if through is not None:
            kind = _outlet(place, through).type
            if kind.breaker is not None:
                below_first.append(Guard(index, through, kind.breaker.rating_a, kind.breaker))
        if place.incomer is not None:
            below_first.append(Guard(index, None, place.incomer.rating_a, place.incomer))
    below_first.append(Guard(None, None, layout.supply.rating_a, None))
    return tuple(reversed(below_first))


def covering_rcd(layout: Layout, board: int, outlet: str | None = None) -> RcdType | None:
    """The most sensitive residual-current device between the supply and a place.

    Parameters
    ----------
    layout : Layout
        The layout.
    board : int
        Index of the board.
    outlet : str, optional
        Id of an outlet of it, whose own device then counts too.

    Returns
    -------
    RcdType or None
        The device with the lowest rated residual current; the nearest of equals; None without any.

    Raises
    ------
    KeyError
        If the board has no such outlet.

    References
    ----------
    .. [1] IEC 60364-4-41, 411.3.3 and 415.1: additional protection by 30 mA devices (from memory).
    """
    devices: list[RcdType] = []
    for _, place, through in _way_up(layout, board, outlet):
        if through is not None:
            wanted = _outlet(place, through).type.rcd
            devices += [rcd for rcd in place.rcds if rcd.id == wanted]
        if place.incomer_rcd is not None:
            devices.append(place.incomer_rcd)
    return min(devices, key=lambda rcd: rcd.rated_residual_ma, default=None)


def leakage_ma(layout: Layout, loads: tuple[int, ...]) -> FloatArray:
    """Standing leakage of some loads in every set-up.

    Parameters
    ----------
    layout : Layout
        The layout.
    loads : tuple of int
        Indices of the loads.

    Returns
    -------
    ndarray, shape (setups,)
        Arithmetic sum, the safe side: leakages of different phases partly cancel. [mA]

    References
    ----------
    .. [1] BS 7671:2018, 531.3.2: not above 30 % of the rated residual current (as reproduced).
    """
    total = np.zeros(len(layout.setups), dtype=np.float64)
    for index in loads:
        load = layout.loads[index]
        total += np.where(load.on, load.leakage_ma * load.count, 0.0)
    return total


def rated_diversity(circuits: int) -> float:
    """Share of its rating that each of several breakers side by side carries without overheating.

    Parameters
    ----------
    circuits : int
        Loaded circuits in one enclosure.

    Returns
    -------
    float
        Rated diversity factor. [-]

    Raises
    ------
    ValueError
        If the number is below 1.

    References
    ----------
    .. [1] IEC 61439-2 Table 101 (from memory): 2 and 3 circuits 0.9, 4 and 5 0.8, 6 to 9 0.7, 0.6.

    Examples
    --------
    >>> [rated_diversity(circuits) for circuits in (1, 3, 5, 9, 12)]
    [1.0, 0.9, 0.8, 0.7, 0.6]
    """
    if circuits < 1:
        raise ValueError(f"diversity is for 1 circuit or more, not {circuits}")
    return next(f for n, f in RATED_DIVERSITY.column("factor").items() if circuits <= n)


def _way_up(
    layout: Layout, board: int, outlet: str | None
) -> Iterator[tuple[int, Board, str | None]]:
    """From a place up to the supply: each board and the outlet of it through which the way goes."""
    index: int | None = board
    through = outlet
    while index is not None:
        place = layout.boards[index]
        yield index, place, through
        through = place.parent_outlet
        index = place.parent


def _outlet(board: Board, outlet_id: str) -> Outlet:
    outlet = board.outlet(outlet_id)
    if outlet is None:
        raise KeyError(outlet_id)
    return outlet
