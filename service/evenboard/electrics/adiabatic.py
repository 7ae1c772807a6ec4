"""What a conductor stands while a fault is cut off: the adiabatic equation."""

from __future__ import annotations

import math

from evenboard.electrics.constant import Constant, Table
from evenboard.electrics.equipment import Basis

__all__ = ["FAULT_TEMPERATURES", "adiabatic_csa_mm2", "adiabatic_factor"]

FAULT_TEMPERATURES = Table(
    "Conductor temperatures for the adiabatic check, initial and final",
    ("initial (°C)", "final (°C)"),
    ((60.0, 200.0), (70.0, 160.0), (85.0, 220.0), (90.0, 250.0)),
    Basis(
        "memory",
        "IEC 60364-4-43 Table 43A: rubber 60 °C and 85 °C, PVC 70 °C, EPR and XLPE 90 °C (from "
        "memory)",
    ),
)
_ADIABATIC_K = Constant(
    "Copper constant of the adiabatic equation",
    226.0,
    "A s^0.5/mm2",
    Basis("handbook", "IEC 60949, as summarised in trade literature"),
)
_INVERSE_COEFFICIENT = Constant(
    "Reciprocal of copper's temperature coefficient at 0 °C",
    234.5,
    "K",
    Basis("handbook", "IEC 60949 and IEC 60287, as summarised in trade literature"),
)


def adiabatic_factor(initial_c: float, final_c: float) -> float:
    """Factor k of the adiabatic equation for a copper conductor.

    Parameters
    ----------
    initial_c : float
        Conductor temperature at the start of the fault. [deg C]
    final_c : float
        Highest temperature that the insulation stands for a moment. [deg C]

    Returns
    -------
    float
        k. [A s^0.5/mm2]

    Raises
    ------
    ValueError
        If the final temperature is not above the initial one, or one makes no sense.

    References
    ----------
    .. [1] IEC 60949: ``k = 226 sqrt(ln(1 + (tf - ti)/(234.5 + ti)))``.

    Examples
    --------
    >>> round(adiabatic_factor(60.0, 200.0), 1)
    140.9
    """
    inverse = _INVERSE_COEFFICIENT.value
    if not (math.isfinite(final_c) and -inverse < initial_c < final_c):
        raise ValueError(
            f"a fault must heat the conductor: {initial_c} to {final_c} deg C does not"
        )
    return _ADIABATIC_K.value * math.sqrt(math.log1p((final_c - initial_c) / (inverse + initial_c)))


def adiabatic_csa_mm2(fault_a: float, seconds: float, k: float) -> float:
    """Smallest copper conductor that stands a fault current until it is cut off.

    Parameters
    ----------
    fault_a : float
        Fault current, RMS. [A]
    seconds : float
        Time until it is cut off, up to 5 s. [s]
    k : float
        Factor k, see :func:`adiabatic_factor`. [A s^0.5/mm2]

    Returns
    -------
    float
        Cross-section. [mm2]

    Raises
    ------
    ValueError
        If the time is not between 0 and 5 s, or another figure is not positive.

    References
    ----------
    .. [1] IEC 60364-4-43, 434.5.2: ``S = I sqrt(t) / k`` for up to 5 s.

    Examples
    --------
    >>> round(adiabatic_csa_mm2(1000.0, 0.4, 141.0), 2)
    4.49
    """
    if not 0.0 < seconds <= 5.0:
        raise ValueError(f"the adiabatic equation holds up to 5 s, not for {seconds} s")
    if not (fault_a >= 0.0 and k > 0.0 and math.isfinite(fault_a)):
        raise ValueError(f"fault current {fault_a} A and k {k} must be positive")
    return fault_a * math.sqrt(seconds) / k
