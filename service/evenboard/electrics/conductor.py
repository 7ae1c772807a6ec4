"""Resistance and reactance of a run of flexible cable, conductor by conductor.

One place for all: the power flow, the loop impedance and the losses take a run's impedance from
here. A cable type gives size and material, the published resistances give ohms at 20 deg C, and
the rated conductor temperature (the safe side) brings them into service.
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np

from evenboard.electrics.constant import Constant, Table
from evenboard.electrics.equipment import Basis, CableType
from evenboard.electrics.layout import Run
from evenboard.electrics.solution import ComplexArray

__all__ = [
    "AWG_STRANDED",
    "BRITISH_CORD",
    "CLASS_5",
    "COPPER_COEFFICIENT",
    "JIS_FLEXIBLE",
    "REFERENCE_FREQUENCY",
    "conductor_sizes_mm2",
    "is_same_size",
    "line_and_neutral_ohm",
    "protective_impedance_ohm",
    "resistance_ohm_per_km",
    "run_impedance_ohm",
    "temperature_factor",
]

COPPER_COEFFICIENT = Constant(
    "Temperature coefficient of copper's resistance, referred to 20 deg C",
    0.00393,
    "1/K",
    Basis("handbook", "IEC 60228 annex on temperature correction, as handbooks print it"),
)
REFERENCE_FREQUENCY = Constant(
    "Frequency for which a cable type's reactance is stated",
    50.0,
    "Hz",
    Basis("handbook", "IEC 60364-5-52:2009 annex G: 0.08 milliohm/m for 50 Hz cable systems"),
)
CLASS_5 = Table(
    "Resistance of flexible copper conductors, class 5, at 20 deg C, maximum",
    ("size (mm2)", "plain (ohm/km)", "tinned (ohm/km)"),
    (
        (0.5, 39.0, 40.1),
        (0.75, 26.0, 26.7),
        (1.0, 19.5, 20.0),
        (1.5, 13.3, 13.7),
        (2.5, 7.98, 8.21),
        (4.0, 4.95, 5.09),
        (6.0, 3.30, 3.39),
        (10.0, 1.91, 1.95),
        (16.0, 1.21, 1.24),
        (25.0, 0.780, 0.795),
        (35.0, 0.554, 0.565),
        (50.0, 0.386, 0.393),
        (70.0, 0.272, 0.277),
        (95.0, 0.206, 0.210),
        (120.0, 0.161, 0.164),
        (150.0, 0.129, 0.132),
        (185.0, 0.106, 0.108),
        (240.0, 0.0801, 0.0817),
        (300.0, 0.0641, 0.0654),
    ),
    Basis("standard", "IEC 60228 class 5 (DIN VDE 0295), as reproduced in trade literature"),
)
BRITISH_CORD = Table(
    "Resistance of the British cord size outside IEC 60228, class 5, at 20 deg C",
    ("size (mm2)", "plain (ohm/km)", "tinned (ohm/km)"),
    ((1.25, 15.6, 16.1),),
    Basis(
        "memory",
        "BS 6360 (from memory); agrees with the 37 mV/A/m of BS 7671 Table 4F3B, as reproduced in "
        "trade literature",
    ),
)
JIS_FLEXIBLE = Table(
    "Resistance of flexible copper conductors of JIS sizes at 20 deg C",
    ("size (mm2)", "plain (ohm/km)", "tinned (ohm/km)"),
    (
        (2.0, 10.1, 10.4),
        (3.5, 5.68, 5.83),
        (5.5, 3.64, 3.73),
        (8.0, 2.53, 2.60),
        (14.0, 1.44, 1.48),
        (22.0, 0.909, 0.932),
        (38.0, 0.532, 0.546),
        (60.0, 0.333, 0.342),
        (100.0, 0.200, 0.205),
    ),
    Basis(
        "estimate",
        "JIS C 3342 stranded conductors (a Japanese cable maker's table) raised by 7 %, as IEC "
        "60228 class 5 lies above class 2; tinned another 2.5 %",
    ),
)
AWG_STRANDED = Table(
    "Resistance of stranded copper conductors of AWG sizes at 75 deg C, direct current",
    ("size (mm2)", "plain (ohm/km)", "tinned (ohm/km)"),
    (
        (0.823, 26.1, 27.7),
        (1.31, 16.4, 17.3),
        (2.08, 10.3, 10.7),
        (3.31, 6.50, 6.73),
        (5.26, 4.070, 4.226),
        (8.37, 2.551, 2.653),
        (13.3, 1.608, 1.671),
        (21.2, 1.010, 1.053),
        (26.7, 0.802, 0.833),
        (33.6, 0.634, 0.661),
        (42.4, 0.505, 0.524),
        (53.5, 0.399, 0.415),
        (67.4, 0.3170, 0.329),
        (85.0, 0.2512, 0.2610),
        (107.0, 0.1996, 0.2050),
    ),
    Basis(
        "memory",
        "NFPA 70 (NEC) chapter 9 Table 8, stranded, uncoated and coated (from memory; the uncoated "
        "column agrees with a public reproduction to 3 %); a finely stranded rope reads a little "
        "more",
    ),
)

_AT_20 = (CLASS_5, BRITISH_CORD, JIS_FLEXIBLE)
_PLAIN = "plain (ohm/km)"
_TINNED = "tinned (ohm/km)"
_AWG_TEMPERATURE_C = 75.0
_SAME_SIZE = 0.005


def is_same_size(first_mm2: float, second_mm2: float) -> bool:
    """Whether two cross-sections are one size, rounded differently.

    Parameters
    ----------
    first_mm2, second_mm2 : float
        Cross-sections. [mm2]

    Returns
    -------
    bool
        True where they differ by less than 0.5 %: neighbouring sizes differ by 4 % and more.

    References
    ----------
    .. [1] A rule of this house: AWG sizes are printed with three and with four figures.

    Examples
    --------
    >>> is_same_size(5.26, 5.261), is_same_size(5.26, 5.5)
    (True, False)
    """
    return math.isclose(first_mm2, second_mm2, rel_tol=_SAME_SIZE)


def temperature_factor(temperature_c: float) -> float:
    """Resistance of copper at a temperature over its resistance at 20 deg C.

    Parameters
    ----------
    temperature_c : float
        Conductor temperature. [deg C]

    Returns
    -------
    float
        Factor on the resistance at 20 deg C. [-]

    Raises
    ------
    ValueError
        If the temperature is not finite, or so low that the factor would not be positive.

    References
    ----------
    .. [1] IEC 60228, annex on temperature correction: ``1 + 0.00393 (t - 20)``.

    Examples
    --------
    >>> round(temperature_factor(60.0), 4)
    1.1572
    """
    factor = 1.0 + COPPER_COEFFICIENT.value * (temperature_c - 20.0)
    if not (math.isfinite(factor) and factor > 0.0):
        raise ValueError(f"conductor temperature {temperature_c} deg C gives no resistance")
    return factor


def conductor_sizes_mm2() -> tuple[float, ...]:
    """Sizes whose resistance is known, sorted: IEC 60228, British cord, JIS and AWG sizes.

    Returns
    -------
    tuple of float
        Cross-sections. [mm2]

    References
    ----------
    .. [1] IEC 60228 class 5; NFPA 70 chapter 9 Table 8.

    Examples
    --------
    >>> 2.5 in conductor_sizes_mm2(), 3.31 in conductor_sizes_mm2()
    (True, True)
    """
    return tuple(sorted(size for table in (*_AT_20, AWG_STRANDED) for size in table.column(_PLAIN)))


def resistance_ohm_per_km(csa_mm2: float, *, tinned: bool, temperature_c: float = 20.0) -> float:
    """Resistance of a flexible copper conductor of a standard size.

    Parameters
    ----------
    csa_mm2 : float
        Nominal cross-section: an IEC 60228 size, or an AWG size by its area. [mm2]
    tinned : bool
        Whether the strands are tinned, which costs 2 to 4 %.
    temperature_c : float
        Conductor temperature. [deg C]

    Returns
    -------
    float
        Resistance, direct current. [ohm/km]

    Raises
    ------
    ValueError
        If no published table has that size; the message names the nearest that is known.

    References
    ----------
    .. [1] IEC 60228 class 5; BS 6360, JIS C 3342 and NFPA 70 chapter 9 Table 8 for sizes that it
       does not have, each with its word in the tables of this module.

    Examples
    --------
    >>> resistance_ohm_per_km(16, tinned=False)
    1.21
    >>> round(resistance_ohm_per_km(2.5, tinned=False, temperature_c=90), 2)
    10.18
    """
    factor = temperature_factor(temperature_c)
    for table in _AT_20:
        at_20 = _lookup(table, csa_mm2, tinned)
        if at_20 is not None:
            return at_20 * factor
    at_75 = _lookup(AWG_STRANDED, csa_mm2, tinned)
    if at_75 is None:
        raise ValueError(_unknown_size(csa_mm2))
    return at_75 * factor / temperature_factor(_AWG_TEMPERATURE_C)


def line_and_neutral_ohm(
    run: Run, frequency_hz: float, temperature_c: float | None = None
) -> tuple[complex, complex]:
    """Series impedance of a line conductor and of the neutral of a run.

    The same figures as :func:`run_impedance_ohm` without an array around them: the power flow asks
    for every run of a layout. Whether the neutral is connected makes no difference here.

    Parameters
    ----------
    run : Run
        The run.
    frequency_hz : float
        Frequency of the supply. [Hz]
    temperature_c : float, optional
        Conductor temperature; by default the cable's rated temperature, the safe side. [deg C]

    Returns
    -------
    line, neutral : complex
        Impedance of one line conductor and of the neutral. [ohm]

    Raises
    ------
    ValueError
        As :func:`run_impedance_ohm`.

    References
    ----------
    .. [1] As :func:`run_impedance_ohm`.

    Examples
    --------
    >>> from evenboard.electrics.equipment import Conductor
    >>> line_and_neutral_ohm(Run(500.0, conductor=Conductor(2.0, 0.5, 4.0, 0.5)), 60.0)
    ((1+0.25j), (2+0.25j))
    """
    km = _length_km(run)
    if run.conductor is not None:
        given = run.conductor
        line = complex(given.r_ohm_per_km, given.x_ohm_per_km)
        neutral = complex(given.neutral_r_ohm_per_km, given.neutral_x_ohm_per_km)
    else:
        cable, csa_mm2 = _cable_and_size(run)
        neutral_csa_mm2 = csa_mm2 if run.neutral_csa_mm2 is None else run.neutral_csa_mm2
        line = _ohm_per_km(cable, csa_mm2, frequency_hz, temperature_c)
        neutral = _ohm_per_km(cable, neutral_csa_mm2, frequency_hz, temperature_c)
    return line * km, neutral * km


def run_impedance_ohm(
    run: Run, frequency_hz: float, temperature_c: float | None = None
) -> ComplexArray:
    """Series impedance of each conductor of a run, in the order L1 L2 L3 N.

    All three line entries are filled, whichever lines the run really has.

    Parameters
    ----------
    run : Run
        The run. A spelled-out ``conductor`` is taken to the digit: neither temperature nor
        frequency changes it.
    frequency_hz : float
        Frequency of the supply; the reactance of a cable type, stated at 50 Hz, scales with it.
        [Hz]
    temperature_c : float, optional
        Conductor temperature; by default the cable's rated temperature, the safe side. [deg C]

    Returns
    -------
    ndarray of complex128, shape (4,)
        Impedance of L1, L2, L3 and N. The neutral's entry is ``inf + 0j`` where
        ``run.neutral_connected`` is False: test it with ``numpy.isinf``, never multiply by it.
        [ohm]

    Raises
    ------
    ValueError
        If the length is negative or not finite, if the run has neither a conductor nor a cable with
        a size, or if a size is not a published one.

    References
    ----------
    .. [1] IEC 60228 class 5, resistances; IEC 60364-5-52:2009 annex G, 0.08 milliohm/m.

    Examples
    --------
    >>> from evenboard.electrics.equipment import Conductor
    >>> run_impedance_ohm(Run(100.0, conductor=Conductor(2.0, 0.1, 4.0, 0.1)), 60.0)
    array([0.2+0.01j, 0.2+0.01j, 0.2+0.01j, 0.4+0.01j])
    """
    line, neutral = line_and_neutral_ohm(run, frequency_hz, temperature_c)
    impedance = np.array([line, line, line, neutral], dtype=np.complex128)
    if not run.neutral_connected:
        impedance[3] = complex(math.inf, 0.0)
    return impedance


def protective_impedance_ohm(
    run: Run, frequency_hz: float, temperature_c: float | None = None
) -> complex:
    """Series impedance of a run's protective conductor.

    A flexible cable with a green-and-yellow core has it in the size of its lines, so the line's own
    impedance is taken; the same where the run is spelled out, since nothing else is given.

    Parameters
    ----------
    run : Run
        The run.
    frequency_hz : float
        Frequency of the supply. [Hz]
    temperature_c : float, optional
        Conductor temperature; by default the cable's rated temperature, the safe side. [deg C]

    Returns
    -------
    complex
        Impedance of the protective conductor. [ohm]

    Raises
    ------
    ValueError
        As :func:`run_impedance_ohm`.

    References
    ----------
    .. [1] IEC 60364-5-54 Table 54.2: the protective conductor has the line's size up to 16 mm2
       (from memory); above that, equal cores are how flexible multicore cable is made, and an
       assumption for single-core sets.

    Examples
    --------
    >>> from evenboard.electrics.equipment import Conductor
    >>> protective_impedance_ohm(Run(500.0, conductor=Conductor(2.0, 0.5, 4.0, 0.5)), 50.0)
    (1+0.25j)
    """
    return complex(run_impedance_ohm(run, frequency_hz, temperature_c)[0])


def _length_km(run: Run) -> float:
    if not (math.isfinite(run.length_m) and run.length_m >= 0.0):
        raise ValueError(f"a run cannot be {run.length_m} m long: give a length of 0 m or more")
    return run.length_m / 1000.0


def _cable_and_size(run: Run) -> tuple[CableType, float]:
    if run.cable is None or run.csa_mm2 is None:
        raise ValueError("a run needs a cable type with csa_mm2, or a conductor spelled out")
    return run.cable, run.csa_mm2


def _ohm_per_km(
    cable: CableType, csa_mm2: float, frequency_hz: float, temperature_c: float | None
) -> complex:
    if not (math.isfinite(frequency_hz) and frequency_hz > 0.0):
        raise ValueError(f"frequency must be above 0 Hz, not {frequency_hz} Hz")
    at_c = cable.rated_temperature_c if temperature_c is None else temperature_c
    resistance = _service_resistance(csa_mm2, cable.tinned, at_c)
    reactance = cable.reactance_ohm_per_km * frequency_hz / REFERENCE_FREQUENCY.value
    return complex(resistance, reactance)


@lru_cache(maxsize=1024)
def _service_resistance(csa_mm2: float, tinned: bool, temperature_c: float) -> float:
    """Resistance remembered: a layout has hundreds of runs of a dozen sizes."""
    return resistance_ohm_per_km(csa_mm2, tinned=tinned, temperature_c=temperature_c)


def _lookup(table: Table, csa_mm2: float, tinned: bool) -> float | None:
    for size, resistance in table.column(_TINNED if tinned else _PLAIN).items():
        if is_same_size(size, csa_mm2):
            return resistance
    return None


def _unknown_size(csa_mm2: float) -> str:
    sizes = conductor_sizes_mm2()
    if not (math.isfinite(csa_mm2) and csa_mm2 > 0.0):
        return f"csa_mm2 must be a conductor size such as {sizes[3]:g}, not {csa_mm2}"
    nearest = min(sizes, key=lambda size: abs(math.log(size / csa_mm2)))
    return f"no published resistance for {csa_mm2:g} mm2; the nearest size is {nearest:g} mm2"
