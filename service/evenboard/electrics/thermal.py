"""How warm each core of a cable gets, how unevenly, and what that does to its length.

In the steady state the rise of a core over the ambient goes with the square of its current. Where
the cores carry unequal currents the rise is split: a part that the whole cable shares, since all
cores lie under one sheath, and a part of the core's own insulation. The split is an estimate; the
equal case is exact whatever the split. Spread and expansion are indicators, not measurements.
"""

from __future__ import annotations

import math

import numpy as np

from evenboard.electrics.capacity import AS_GIVEN, Capacity
from evenboard.electrics.constant import Constant
from evenboard.electrics.equipment import Basis
from evenboard.electrics.layout import Run
from evenboard.electrics.solution import FloatArray

__all__ = [
    "COPPER_EXPANSION",
    "GIVEN_RISE",
    "OWN_SHARE",
    "core_spread_k",
    "core_temperature_c",
    "differential_expansion_mm",
    "run_temperature_c",
    "temperature_correction",
]

OWN_SHARE = Constant(
    "Share of a core's rise that is its own, not the cable's",
    0.25,
    "",
    Basis(
        "estimate",
        "no source found for unequal currents in flexible cable; heat conduction over the section "
        "of 4- and 5-core rubber cable of 2.5 to 35 mm2 gives 0.10 to 0.17, so that 0.25 shows "
        "uneven cores sooner and a lone core warmer than it is",
    ),
)
COPPER_EXPANSION = Constant(
    "Linear expansion of copper",
    17e-6,
    "1/K",
    Basis("memory", "materials handbooks: 16.5 to 17 per million per kelvin (from memory)"),
)
GIVEN_RISE = Constant(
    "Rise at capacity of a conductor whose rated temperature is not known",
    30.0,
    "K",
    Basis("estimate", "60 °C rubber at 30 °C, the commonest heavy flexible cable"),
)
_CT_BASE = Constant(
    "Base temperature in the correction for conductor operating temperature",
    230.0,
    "°C",
    Basis("memory", "BS 7671:2018 appendix 4, 6.1 (from memory)"),
)


def core_temperature_c(
    current_a: FloatArray,
    capacity_a: FloatArray | float,
    *,
    ambient_c: float,
    rated_temperature_c: float,
    loaded_cores: int,
    own_share: float = OWN_SHARE.value,
) -> FloatArray:
    """Steady temperature of each core of a run.

    Parameters
    ----------
    current_a : ndarray, shape (..., cores)
        True RMS current of every core, those at rest too. [A]
    capacity_a : float or ndarray, broadcast to ``current_a``
        What each core may carry where the cable lies (rating times all its factors), so that all
        loaded cores at their capacity reach the rated temperature. [A]
    ambient_c : float
        Ambient temperature, the one that the capacity holds for. [deg C]
    rated_temperature_c : float
        Rated conductor temperature of the cable. [deg C]
    loaded_cores : int
        Loaded cores for which the capacity holds.
    own_share : float
        Share of the rise that is the core's own, 0 to 1. [-]

    Returns
    -------
    ndarray, shape (..., cores)
        Temperature of each core. [deg C]

    Raises
    ------
    ValueError
        If a current is negative or not finite, a capacity is not above 0, the share is outside 0
        to 1, no core counts as loaded, or the cable is not rated above the ambient.

    References
    ----------
    .. [1] IEC 60287 simplified, as in AS/NZS 3008.1.1 clause 4.4 and BS 7671:2018 appendix 4, 6.1
       (from memory): ``theta = theta_a + (theta_max - theta_a) (I/Iz)^2`` for equal cores.
    .. [2] Split for unequal cores: estimate. ``rise_i = (theta_max - theta_a) (own x_i + (1 - own)
       sum(x)/n)`` with ``x = (I/Iz)^2`` and ``n`` loaded cores; equal cores give [1] exactly.

    Examples
    --------
    >>> core_temperature_c(np.full(3, 50.4), 63.0, ambient_c=30, rated_temperature_c=60,
    ...                    loaded_cores=3)
    array([49.2, 49.2, 49.2])
    """
    current = np.asarray(current_a, dtype=np.float64)
    capacity = np.asarray(capacity_a, dtype=np.float64)
    if not np.all(np.isfinite(current) & (current >= 0.0)):
        raise ValueError("the current of a core must be 0 A or more and finite")
    if not np.all(np.isfinite(capacity) & (capacity > 0.0)):
        raise ValueError("the capacity of a core must be above 0 A and finite")
    if not 0.0 <= own_share <= 1.0:
        raise ValueError(f"own share of the rise must be 0 to 1, not {own_share}")
    if loaded_cores < 1:
        raise ValueError(f"at least one core must be loaded, not {loaded_cores}")
    if not rated_temperature_c > ambient_c:
        raise ValueError(
            f"a cable rated {rated_temperature_c} deg C has no capacity at {ambient_c} deg C"
        )
    load = (current / capacity) ** 2
    shared = load.sum(axis=-1, keepdims=True) / loaded_cores
    rise = (rated_temperature_c - ambient_c) * (own_share * load + (1.0 - own_share) * shared)
    temperature: FloatArray = ambient_c + rise
    return temperature


def run_temperature_c(
    run: Run, capacity: Capacity, current_a: FloatArray, *, ambient_c: float, loaded_cores: int
) -> FloatArray:
    """Steady temperature of each core of a run, in every set-up.

    Parameters
    ----------
    run : Run
        The run.
    capacity : Capacity
        What :func:`evenboard.electrics.capacity.run_capacity` says of it.
    current_a : ndarray, shape (setups, 4)
        True RMS current of L1, L2, L3 and N; 0 in a core that the run does not have. [A]
    ambient_c : float
        The ambient that the capacity was asked for. [deg C]
    loaded_cores : int
        The loaded cores that the capacity was asked for.

    Returns
    -------
    ndarray, shape (setups, 4)
        Temperature of L1, L2, L3 and N. [deg C]. A spelled-out conductor, of which no rated
        temperature is known, is taken to rise by 30 K at its capacity. Where the capacity is 0
        because of the ambient, the rise is that of the table's own reference ambient.

    Raises
    ------
    ValueError
        As :func:`core_temperature_c`.

    References
    ----------
    .. [1] As :func:`core_temperature_c`. 30 K at capacity: estimate, 60 deg C rubber at 30 deg C.
    .. [2] The rise is the same at every ambient for the same current: it is what the square-root
       law of ambient factors says (derived from [1] of :func:`core_temperature_c`).

    Examples
    --------
    >>> from evenboard.electrics.capacity import run_capacity
    >>> from evenboard.electrics.equipment import Conductor
    >>> run = Run(10.0, conductor=Conductor(1, 0, 1, 0, 20.0))
    >>> capacity = run_capacity(run, loaded_cores=3, ambient_c=25.0)
    >>> run_temperature_c(run, capacity, np.array([[20.0, 20.0, 20.0, 0.0]]), ambient_c=25.0,
    ...                   loaded_cores=3)[0, :3]
    array([55., 55., 55.])
    """
    if any(factor.name == "loaded neutral" for factor in capacity.factors):
        # The factor keeps four loaded cores as warm as three at the full rating: 4 x 0.86^2 = 3.
        loaded_cores = 4
    line_a, neutral_a = capacity.capacity_a, capacity.neutral_capacity_a
    if run.cable is None or run.table is None:
        rated_c = ambient_c + GIVEN_RISE.value
    elif capacity.table == AS_GIVEN or line_a <= 0.0:
        rated_c = ambient_c + run.cable.rated_temperature_c - run.table.reference_ambient_c
    else:
        rated_c = run.cable.rated_temperature_c
    if line_a <= 0.0:
        line_a = capacity.table_rating_a * math.prod(
            factor.value for factor in capacity.factors if factor.name != "ambient"
        )
        neutral_a = line_a * capacity.neutral_share
    return core_temperature_c(
        current_a,
        np.array([line_a, line_a, line_a, neutral_a]),
        ambient_c=ambient_c,
        rated_temperature_c=rated_c,
        loaded_cores=loaded_cores,
    )


def core_spread_k(temperature_c: FloatArray) -> FloatArray:
    """Hottest less coolest line core of a run.

    Parameters
    ----------
    temperature_c : ndarray, shape (..., lines)
        Temperature of the line cores, without the neutral. [deg C]

    Returns
    -------
    ndarray, shape (...)
        Spread; 0 for a single line. [K]

    Raises
    ------
    ValueError
        If there is no core.

    References
    ----------
    .. [1] Indicator of uneven heating: estimate, no standard limits it.

    Examples
    --------
    >>> core_spread_k(np.array([[52.0, 40.0, 35.0]]))
    array([17.])
    """
    temperature = np.asarray(temperature_c, dtype=np.float64)
    if temperature.shape[-1:] in ((), (0,)):
        raise ValueError("the spread of core temperatures needs at least one core")
    spread: FloatArray = temperature.max(axis=-1) - temperature.min(axis=-1)
    return spread


def differential_expansion_mm(length_m: float, spread_k: FloatArray | float) -> FloatArray:
    """How much longer the hottest core of a run grows than the coolest, if nothing held it.

    Parameters
    ----------
    length_m : float
        Length of the run. [m]
    spread_k : float or ndarray
        Difference of the cores' temperatures. [K]

    Returns
    -------
    ndarray, shape of ``spread_k``
        Difference of length: an indicator of a cable that will deform, not a measurement. [mm]

    Raises
    ------
    ValueError
        If the length is negative or not finite.

    References
    ----------
    .. [1] Linear expansion, ``alpha L dT`` with copper's 17e-6/K (materials handbooks, from
       memory). That uneven expansion bends a cable is common practice, no source.

    Examples
    --------
    >>> round(float(differential_expansion_mm(100.0, 40.0)), 3)
    68.0
    """
    if not (math.isfinite(length_m) and length_m >= 0.0):
        raise ValueError(f"a run cannot be {length_m} m long: give a length of 0 m or more")
    spread = np.asarray(spread_k, dtype=np.float64)
    expansion: FloatArray = np.where(
        spread > 0.0, COPPER_EXPANSION.value * length_m * 1000.0 * spread, 0.0
    )
    return expansion


def temperature_correction(
    loading: float,
    rated_temperature_c: float,
    *,
    ambient_factor: float = 1.0,
    grouping_factor: float = 1.0,
) -> float:
    """Factor Ct of BS 7671 on a tabulated voltage drop, for a cable below its rated temperature.

    Parameters
    ----------
    loading : float
        Design current over the tabulated rating, ``Ib/It``. [-]
    rated_temperature_c : float
        Rated conductor temperature ``tp``. [deg C]
    ambient_factor : float
        ``Ca``. [-]
    grouping_factor : float
        ``Cg``. [-]

    Returns
    -------
    float
        Factor on the resistive part of the tabulated drop. [-]

    Raises
    ------
    ValueError
        If the loading is negative or not finite.

    References
    ----------
    .. [1] BS 7671:2018 appendix 4, 6.1 (from memory); holds for a 30 deg C reference ambient.

    Examples
    --------
    >>> round(temperature_correction(0.8, 70.0), 3)
    0.952
    """
    if not (math.isfinite(loading) and loading >= 0.0):
        raise ValueError(f"loading must be 0 or more, not {loading}")
    base = _CT_BASE.value + rated_temperature_c
    spare = (ambient_factor * grouping_factor) ** 2 - loading**2
    return (base - spare * (rated_temperature_c - 30.0)) / base
