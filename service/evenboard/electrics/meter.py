"""What a clamp meter shows of a current that is no sine."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from evenboard.electrics.solution import FloatArray

__all__ = ["averaging_reading_a"]

_FORM_FACTOR = math.pi / (2.0 * math.sqrt(2.0))
"""RMS over rectified mean of a sine: the factor that an averaging meter's scale has built in."""
_STEPS = 1440
"""Samples of a cycle: the mean of a current of low harmonics is then good to some 1e-5."""


def averaging_reading_a(
    orders: Sequence[int], rms_a: FloatArray, phase_rad: Sequence[float] | None = None
) -> FloatArray:
    """What an averaging meter, scaled for sines, shows of a distorted current.

    Such a meter rectifies and averages, then multiplies by 1.11. A pulsed current reads low, which
    is how a hot neutral or an overloaded phase passes for a sound one.

    Parameters
    ----------
    orders : sequence of int, length K
        Orders of the harmonics, 1 for the fundamental.
    rms_a : ndarray, shape (..., K)
        RMS of each. [A]
    phase_rad : sequence of float, length K, optional
        Phase of each at the moment at which the fundamental's cosine peaks; by default all peak
        together, as in the narrow pulse that a rectifier draws at the top of the voltage. [rad]

    Returns
    -------
    ndarray, shape (...)
        The reading. [A]

    Raises
    ------
    ValueError
        If the numbers of orders, currents and phases differ.

    References
    ----------
    .. [1] Form factor of the sine, pi / (2 sqrt 2), by definition. Application notes of instrument
       makers (from memory): an averaging meter shows a square wave 11 % high, a triangle 4 % low,
       the current of a single-phase rectifier up to 40 % low.

    Examples
    --------
    >>> float(averaging_reading_a((1,), np.array([10.0])).round(3))
    10.0
    """
    phases = [0.0] * len(orders) if phase_rad is None else list(phase_rad)
    if not len(orders) == len(phases) == rms_a.shape[-1]:
        raise ValueError(
            f"{len(orders)} orders, {rms_a.shape[-1]} currents and {len(phases)} phases: one each"
        )
    turn = 2.0 * math.pi * (np.arange(_STEPS) + 0.5) / _STEPS
    waves = np.cos(np.outer(orders, turn) + np.array(phases)[:, None])
    mean: FloatArray = np.abs(math.sqrt(2.0) * rms_a @ waves).mean(axis=-1)
    reading: FloatArray = _FORM_FACTOR * mean
    return reading
