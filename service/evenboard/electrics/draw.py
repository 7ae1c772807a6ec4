"""What the loads of a layout draw, as arrays: the figures of ``load`` for many at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import chain
from operator import attrgetter

import numpy as np
from numpy.typing import NDArray

from evenboard.electrics.dimming import firing_angle_rad, phase_cut
from evenboard.electrics.layout import Load
from evenboard.electrics.load import (
    INPUT_TOLERANCE,
    VOLTAGE_EXPONENT,
    contradiction,
    is_phase_cut,
)
from evenboard.electrics.solution import ComplexArray, FloatArray
from evenboard.electrics.tungsten import CURRENT_EXPONENT, POWER_EXPONENT

__all__ = ["Draws", "draws", "floor_v"]

_SIGN = {"lagging": -1.0, "leading": 1.0, "none": 0.0}
_BRANCHES = {"single": 1.0, "line-to-line": 1.0, "star": 3.0, "delta": 3.0}
_COLD_RESISTANCE = 1.0 / 14.0
_SLACK = 1e-9
_TINY = 1e-300

_NUMBERS = attrgetter(
    "power_w",
    "count",
    "dimmed_to",
    "power_factor",
    "displacement_factor",
    "third_harmonic_pct",
    "rated_voltage_v",
)


@dataclass(frozen=True, slots=True, eq=False)
class Draws:
    """Per load, all shapes (L,): what one of its branches draws with everything at full.

    The fundamental is ``coefficient * |U|**exponent / conj(U)``; ``triplen``, ``rest`` and the true
    ``rms`` are over its magnitude. ``filament_v`` is the supply voltage at which a lamp burns as
    rated (above its rated voltage where it is dimmed), NaN for what is no lamp or is dimmed out;
    ``has_lamps`` says if any is one.
    """

    coefficient: ComplexArray
    exponent: FloatArray
    triplen: FloatArray
    rest: FloatArray
    rms: FloatArray
    filament_v: FloatArray
    has_lamps: bool

    def of(self, load: NDArray[np.intp]) -> Draws:
        """The same by branch: entry ``i`` is that of load ``load[i]``."""
        return Draws(
            self.coefficient[load],
            self.exponent[load],
            self.triplen[load],
            self.rest[load],
            self.rms[load],
            self.filament_v[load],
            self.has_lamps,
        )


def draws(loads: Sequence[Load], *, has_three_phase: bool = True) -> Draws:
    """What each load draws per branch, by its own model.

    Parameters
    ----------
    loads : sequence of Load
        The loads.
    has_three_phase : bool
        Whether any load may be a star or a delta; False saves the look.

    Returns
    -------
    Draws
        Coefficients, harmonics and exponents.

    Raises
    ------
    ValueError
        If a load's figures contradict each other; the message names the load.

    References
    ----------
    .. [1] As :func:`evenboard.electrics.load.load_split`.
    """
    count_of = len(loads)
    numbers = np.fromiter(chain.from_iterable(map(_NUMBERS, loads)), np.float64, 7 * count_of)
    power_w, count, dimmed_to, factor, cosine, third_pct, rated_v = numbers.reshape(count_of, 7).T
    sign = np.array([_SIGN[load.displacement] for load in loads])
    exponent = np.array([VOLTAGE_EXPONENT[load.load_model] for load in loads])
    if not (factor.min(initial=1.0) > 0.0 and cosine.min(initial=1.0) > 0.0):
        _refuse(loads)
    square = cosine * cosine
    angle = np.sqrt(np.maximum(1.0 / square - 1.0, 0.0))
    tangent = sign * angle
    triplen = third_pct * 0.01
    rms_square = square / (factor * factor)
    rest_square = rms_square - 1.0 - triplen * triplen
    sound = (rest_square >= -_SLACK) & (cosine <= 1.0) & (np.abs(tangent) == angle)
    if not sound.all():
        _refuse(loads)
    rest = np.sqrt(np.maximum(rest_square, 0.0))
    rms = np.sqrt(rms_square)
    cut = [i for i, load in enumerate(loads) if load.dimmer == "phase-cut" and is_phase_cut(load)]
    if cut:
        _chop(cut, dimmed_to, exponent, tangent, triplen, rest, rms)
    power_w = power_w * count * dimmed_to
    if has_three_phase:
        power_w = power_w / np.array([_BRANCHES[load.connection] for load in loads])
        # A delta's triplens circulate inside it.
        triplen = triplen * np.array([load.connection != "delta" for load in loads])
    coefficient = np.empty(count_of, dtype=np.complex128)
    coefficient.real = power_w / rated_v**exponent
    coefficient.imag = coefficient.real * tangent
    filament_v = np.full(count_of, np.nan)
    lamps = exponent == POWER_EXPONENT.value
    has_lamps = bool(lamps.any())
    if has_lamps:
        lamps &= dimmed_to > 0.0
        # A dimmed filament gets the voltage at which it takes the dimmed power.
        filament_v[lamps] = rated_v[lamps] * dimmed_to[lamps] ** (-1.0 / POWER_EXPONENT.value)
    return Draws(coefficient, exponent, triplen, rest, rms, filament_v, has_lamps)


def floor_v(loads: Sequence[Load]) -> FloatArray:
    """Voltage below which, on a floating neutral, a load is taken as an impedance.

    Parameters
    ----------
    loads : sequence of Load
        The loads.

    Returns
    -------
    ndarray, shape (L,)
        For electronics the foot of their input range less its tolerance (of the rated voltage,
        where the range is not known); for a filament the voltage at which it is cold. [V]

    References
    ----------
    .. [1] Estimate: below its range a supply starves; constant impedance is what general-purpose
       distribution simulators take there. A cold filament has a fourteenth of its hot resistance
       (lamp technology reference, inrush of 14 times); its resistance goes with V^0.45.
    """
    cold = _COLD_RESISTANCE ** (1.0 / (1.0 - CURRENT_EXPONENT.value))
    floors = []
    for load in loads:
        if load.load_model in ("constant-power", "constant-current"):
            low = load.input_range_v[0] if load.input_range_v else load.rated_voltage_v
            floors.append(low * (1.0 - INPUT_TOLERANCE.value))
        else:
            floors.append(load.rated_voltage_v * cold)
    return np.array(floors, dtype=np.float64)


def _chop(
    cut: list[int],
    dimmed_to: FloatArray,
    exponent: FloatArray,
    tangent: FloatArray,
    triplen: FloatArray,
    rest: FloatArray,
    rms: FloatArray,
) -> None:
    """Put the chopped current's figures in place, for the loads on a phase-cut dimmer."""
    chopped = phase_cut(firing_angle_rad(dimmed_to[cut] ** (2.0 / exponent[cut])))
    size = np.maximum(np.abs(chopped.fundamental), _TINY)
    tangent[cut] = chopped.fundamental.imag / np.maximum(chopped.fundamental.real, _TINY)
    triplen[cut] = chopped.triplen / size
    rest[cut] = chopped.rest / size
    rms[cut] = chopped.rms / size


def _refuse(loads: Sequence[Load]) -> None:
    """Name the first load whose figures contradict each other by more than rounding."""
    for load in loads:
        fault = contradiction(
            load.power_factor, load.displacement_factor, load.displacement, load.third_harmonic_pct
        )
        if fault is not None:
            raise ValueError(f"load {load.id}: {fault}")
