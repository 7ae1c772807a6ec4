"""What a tungsten lamp does with the voltage it gets: power, current, light, colour and life.

The laws are powers of the ratio of the voltage across the filament to its rated voltage. They are
fitted within some tens of percent of the rated voltage; below half of it they show the trend only.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from evenboard.electrics.constant import Constant
from evenboard.electrics.equipment import Basis
from evenboard.electrics.solution import FloatArray

__all__ = [
    "COLOUR_EXPONENT",
    "CURRENT_EXPONENT",
    "LIFE_EXPONENT",
    "LIGHT_EXPONENT",
    "POWER_EXPONENT",
    "RATED_COLOUR_TEMPERATURE",
    "colour_temperature_k",
    "life_ratio",
    "light_ratio",
]

_RERATING = Basis(
    "handbook",
    "lamp re-rating as encyclopedias print it: current V^0.55, light V^3.4 to 3.5, life V^-12 to "
    "-16, colour temperature V^0.42; agrees with the table of the Field Guide to Illumination "
    "(2007)",
)
CURRENT_EXPONENT = Constant("Current of a tungsten lamp by voltage", 0.55, "", _RERATING)
POWER_EXPONENT = Constant("Power of a tungsten lamp by voltage", 1.55, "", _RERATING)
LIGHT_EXPONENT = Constant("Light of a tungsten lamp by voltage", 3.4, "", _RERATING)
COLOUR_EXPONENT = Constant("Colour temperature of a tungsten lamp by voltage", 0.42, "", _RERATING)
LIFE_EXPONENT = Constant("Life of a tungsten lamp by voltage", -13.0, "", _RERATING)
RATED_COLOUR_TEMPERATURE = Constant(
    "Colour temperature of a studio tungsten lamp at its rated voltage",
    3200.0,
    "K",
    Basis("common-practice", "studio tungsten is 3200 K; household filament lamps 2700 to 2900"),
)


def light_ratio(voltage_ratio: ArrayLike) -> FloatArray:
    """Light of a tungsten lamp over its light at rated voltage.

    Parameters
    ----------
    voltage_ratio : array_like
        Voltage across the filament over rated voltage, RMS. [-]

    Returns
    -------
    ndarray
        Light ratio, the shape of the argument. [-]

    Raises
    ------
    ValueError
        If a ratio is negative or not finite.

    References
    ----------
    .. [1] Lamp re-rating, light by V^3.4; see :data:`LIGHT_EXPONENT`.

    Examples
    --------
    >>> light_ratio([1.0, 0.95]).round(3)
    array([1.  , 0.84])
    """
    return _power(voltage_ratio, LIGHT_EXPONENT)


def colour_temperature_k(
    voltage_ratio: ArrayLike, rated_k: float = RATED_COLOUR_TEMPERATURE.value
) -> FloatArray:
    """Colour temperature of a tungsten lamp.

    Parameters
    ----------
    voltage_ratio : array_like
        Voltage across the filament over rated voltage, RMS. [-]
    rated_k : float
        Colour temperature at rated voltage. [K]

    Returns
    -------
    ndarray
        Colour temperature, the shape of the argument. [K]

    Raises
    ------
    ValueError
        If a ratio is negative or not finite.

    References
    ----------
    .. [1] Lamp re-rating, colour temperature by V^0.42; see :data:`COLOUR_EXPONENT`.

    Examples
    --------
    >>> colour_temperature_k([1.0, 0.9]).round()
    array([3200., 3061.])
    """
    return rated_k * _power(voltage_ratio, COLOUR_EXPONENT)


def life_ratio(voltage_ratio: ArrayLike) -> FloatArray:
    """Life of a tungsten lamp over its life at rated voltage.

    Parameters
    ----------
    voltage_ratio : array_like
        Voltage across the filament over rated voltage, RMS, above zero. [-]

    Returns
    -------
    ndarray
        Life ratio, the shape of the argument. [-]

    Raises
    ------
    ValueError
        If a ratio is not above zero or not finite.

    References
    ----------
    .. [1] Lamp re-rating, life by V^-12 to V^-16, here -13; see :data:`LIFE_EXPONENT`.

    Examples
    --------
    >>> life_ratio([1.0, 1.05]).round(2)
    array([1.  , 0.53])
    """
    ratio = np.asarray(voltage_ratio, dtype=np.float64)
    if not np.all(ratio > 0.0):
        raise ValueError(f"voltage ratio {ratio.min():g} must be above 0 for a life")
    return _power(ratio, LIFE_EXPONENT)


def _power(voltage_ratio: ArrayLike, exponent: Constant) -> FloatArray:
    ratio = np.asarray(voltage_ratio, dtype=np.float64)
    if not np.all(np.isfinite(ratio) & (ratio >= 0.0)):
        raise ValueError("a voltage ratio must be a finite number of 0 or more")
    result: FloatArray = ratio**exponent.value
    return result
