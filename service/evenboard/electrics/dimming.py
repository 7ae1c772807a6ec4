"""Phase-cut dimming: what a chopped sine draws, in closed form from the firing angle.

A leading-edge dimmer waits in each half cycle until the firing angle, then connects a resistance
until the next zero. Currents here are RMS values over the RMS of the full sine (same resistance,
firing angle 0). The filament's resistance is taken as constant within a cycle.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from evenboard.electrics.solution import ComplexArray, FloatArray

__all__ = ["PhaseCut", "firing_angle_rad", "harmonic_current", "phase_cut"]

_THIRD_OF_A_TURN = 2.0 * np.pi / 3.0
_SIXTH_OF_A_TURN = np.pi / 3.0


@dataclass(frozen=True, slots=True)
class PhaseCut:
    """A chopped sine current over the full one, each an array of one shape.

    ``rms`` true RMS; ``power`` the share of full power in a fixed resistance (``rms`` squared);
    ``fundamental`` phasor against the supply voltage, lagging is a negative imaginary part;
    ``third`` the third harmonic alone; ``triplen`` all harmonics of order 3, 9, 15 ... together;
    ``rest`` every other harmonic together.
    """

    rms: FloatArray
    power: FloatArray
    fundamental: ComplexArray
    third: FloatArray
    triplen: FloatArray
    rest: FloatArray

    @property
    def displacement_factor(self) -> FloatArray:
        """Cosine of the fundamental's lag; 1 where nothing flows."""
        size = np.abs(self.fundamental)
        factor = np.ones_like(size)
        np.divide(self.fundamental.real, size, out=factor, where=size > 0.0)
        return factor


def phase_cut(firing_angle_rad: ArrayLike) -> PhaseCut:
    """Split the current of a leading-edge phase-cut dimmer by how it adds up on three phases.

    Parameters
    ----------
    firing_angle_rad : array_like
        Where in the half cycle conduction begins, 0 (full) to pi (off). [rad]

    Returns
    -------
    PhaseCut
        Currents over the full-sine current, the shape of the argument. [-]

    Raises
    ------
    ValueError
        If an angle is outside 0 to pi or not finite.

    Notes
    -----
    With all three phases alike only the triplens meet in the neutral, so that their RMS is a third
    of the neutral's: ``triplen**2 = (rms**2 + 2 R) / 3``, R the mean of the product of the currents
    of two phases. R comes from the two stretches in which both conduct.

    References
    ----------
    .. [1] Fourier series of a phase-controlled resistive load, as in power-electronics textbooks
       (from memory); checked in the tests against numeric integration of the waveform.

    Examples
    --------
    >>> cut = phase_cut(np.pi / 2)
    >>> f"{cut.power:.3f} {abs(cut.fundamental):.3f} {3 * cut.triplen:.3f}"
    '0.500 0.593 1.000'
    """
    angle = np.asarray(firing_angle_rad, dtype=np.float64)
    if not np.all((angle >= 0.0) & (angle <= np.pi)):
        raise ValueError("a firing angle must lie between 0 and pi radians")
    power = np.clip((np.pi - angle + 0.5 * np.sin(2.0 * angle)) / np.pi, 0.0, 1.0)
    fundamental = power - 1j * np.sin(angle) ** 2 / np.pi
    # A phase a third of a turn away is, by half-wave symmetry, the negative of one a sixth away.
    late = _overlap(np.minimum(angle + _SIXTH_OF_A_TURN, np.pi), np.pi)
    early = _overlap(np.minimum(angle, _SIXTH_OF_A_TURN), _SIXTH_OF_A_TURN)
    triplen_squared = np.clip((power - 2.0 * (late + early)) / 3.0, 0.0, None)
    rest_squared = np.clip(power - np.abs(fundamental) ** 2 - triplen_squared, 0.0, None)
    return PhaseCut(
        rms=np.sqrt(power),
        power=power,
        fundamental=fundamental,
        third=np.abs(harmonic_current(angle, 3)),
        triplen=np.sqrt(triplen_squared),
        rest=np.sqrt(rest_squared),
    )


def harmonic_current(firing_angle_rad: ArrayLike, order: int) -> ComplexArray:
    """One odd harmonic of a phase-cut current, above the fundamental.

    Parameters
    ----------
    firing_angle_rad : array_like
        Where in the half cycle conduction begins, 0 (full) to pi (off). [rad]
    order : int
        Order of the harmonic: 3, 5, 7 ...

    Returns
    -------
    ndarray of complex128
        RMS phasor over the full-sine current; its angle is against a sine of that order. [-]

    Raises
    ------
    ValueError
        If the order is even or below 3.

    References
    ----------
    .. [1] Fourier series of a phase-controlled resistive load (from memory).

    Examples
    --------
    >>> f"{abs(harmonic_current(np.pi / 2, 3)):.4f}"
    '0.3183'
    """
    if order < 3 or order % 2 == 0:
        raise ValueError(f"harmonic order {order} must be odd and at least 3")
    angle = np.asarray(firing_angle_rad, dtype=np.float64)
    above, below = order + 1, order - 1
    sine = np.sin(above * angle) / above - np.sin(below * angle) / below
    cosine = (np.cos(above * angle) - 1.0) / above + (1.0 - np.cos(below * angle)) / below
    phasor = np.asarray(sine + 1j * cosine, dtype=np.complex128)
    return phasor / np.pi


def firing_angle_rad(power_share: ArrayLike) -> FloatArray:
    """Firing angle at which a fixed resistance takes a given share of its full power.

    Parameters
    ----------
    power_share : array_like
        Share of full power, 0 to 1. [-]

    Returns
    -------
    ndarray
        Firing angle, the shape of the argument. [rad]

    Raises
    ------
    ValueError
        If a share is outside 0 to 1 or not finite.

    Notes
    -----
    With ``x = 2 (pi - angle)`` the share obeys ``x - sin x = 2 pi share``, Kepler's equation at
    eccentricity 1: solved on its lower half (the upper mirrors it) from the cube root that it
    tends to, by Halley's method.

    References
    ----------
    .. [1] Power of a phase-controlled resistance, ``(pi - a + sin(2 a) / 2) / pi``, as in
       power-electronics textbooks (from memory).

    Examples
    --------
    >>> np.degrees(firing_angle_rad([1.0, 0.5, 0.0])).round(6)
    array([  0.,  90., 180.])
    """
    share = np.asarray(power_share, dtype=np.float64)
    if not np.all((share >= 0.0) & (share <= 1.0)):
        raise ValueError("a share of power must lie between 0 and 1")
    lower = np.minimum(share, 1.0 - share)
    target = 2.0 * np.pi * lower
    x = np.cbrt(6.0 * target)
    for _ in range(4):
        miss = x - np.sin(x) - target
        slope = 1.0 - np.cos(x)
        bend = np.sin(x)
        step = np.zeros_like(x)
        below = 2.0 * slope * slope - miss * bend
        np.divide(2.0 * miss * slope, below, out=step, where=below > 0.0)
        x = x - step
    half = 0.5 * x
    angle: FloatArray = np.where(share <= 0.5, np.pi - half, half)
    return angle


def _overlap(start: FloatArray, end: FloatArray | float) -> FloatArray:
    """Mean over a half cycle of ``2 sin(t) sin(t - pi/3)`` taken from ``start`` to ``end``."""
    swing = 0.5 * (np.sin(2.0 * end - np.pi / 3.0) - np.sin(2.0 * start - np.pi / 3.0))
    mean: FloatArray = ((end - start) * 0.5 - swing) / np.pi
    return mean
