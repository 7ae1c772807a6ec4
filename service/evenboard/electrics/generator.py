"""What a load asks of a generating set: apparent and active power, evenness, steps, energy.

A set gives a third of its rating on each line; an alternator stands little negative-sequence
current, a voltage regulator little leading current, an engine neither overload nor idling.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from evenboard.electrics.constant import Constant, Table
from evenboard.electrics.equipment import Basis, Generator, System
from evenboard.electrics.layout import NEUTRAL, Supply
from evenboard.electrics.solution import ComplexArray, FloatArray, Solution
from evenboard.electrics.unbalance import sequence_components

__all__ = [
    "CLASS_LIMITS",
    "NEGATIVE_SEQUENCE_LIMIT",
    "DayEnergy",
    "GeneratorFigures",
    "day_energy",
    "generator_figures",
    "line_rating_a",
    "load_step_pct",
    "rated_current_a",
    "step_dip_pct",
]

NEGATIVE_SEQUENCE_LIMIT = Constant(
    "Negative-sequence current that a salient-pole machine carries continuously",
    8.0,
    "% of rated current",
    Basis("memory", "IEC 60034-1, table of unbalanced operation (from memory)"),
)
CLASS_LIMITS = Table(
    "Performance classes of generating sets, class G1 to G3",
    (
        "class",
        "steady voltage, within (%)",
        "voltage dip on a step (%)",
        "frequency dip on a step (%)",
    ),
    ((1.0, 5.0, 25.0, 15.0), (2.0, 2.5, 20.0, 10.0), (3.0, 1.0, 15.0, 7.0)),
    Basis("memory", "ISO 8528-5 (from memory)"),
)
_LINES: dict[System, int] = {"three-phase": 3, "three-wire": 2, "single-phase": 1}


@dataclass(frozen=True, slots=True, eq=False)
class GeneratorFigures:
    """A set's load in every set-up, in percent of what it is rated for.

    ``apparent_pct`` of its kVA (arithmetic sum over the lines), ``active_pct`` of its kW,
    ``line_pct`` of one line's share, shape (S, lines), ``negative_sequence_pct`` of its rated
    current, ``leading_pct`` the leading reactive power over its kVA, 0 where lagging. The others
    have shape (S,).
    """

    apparent_pct: FloatArray
    active_pct: FloatArray
    line_pct: FloatArray
    negative_sequence_pct: FloatArray
    leading_pct: FloatArray

    @property
    def running_pct(self) -> FloatArray:
        """The larger of apparent and active load, shape (S,). [%]"""
        return np.maximum(self.apparent_pct, self.active_pct)


@dataclass(frozen=True, slots=True)
class DayEnergy:
    """Energy of a shooting day: from the supply's terminals, in the loads, lost on the way.

    ``feeder_loss_kwh`` is the part of ``loss_kwh`` that is lost in the boards' feeders, harmonics
    included; the leads take the rest.
    """

    supply_kwh: float
    loads_kwh: float
    feeder_loss_kwh: float

    @property
    def loss_kwh(self) -> float:
        """Lost between the supply's terminals and the loads. [kWh]"""
        return self.supply_kwh - self.loads_kwh


def rated_current_a(generator: Generator, system: System, voltage_v: float) -> float:
    """Rated current of one line of a set.

    Parameters
    ----------
    generator : Generator
        The set.
    system : {"three-phase", "three-wire", "single-phase"}
        How it feeds: the rating is shared by its lines.
    voltage_v : float
        Voltage line to neutral. [V]

    Returns
    -------
    float
        Rated current per line. [A]

    Raises
    ------
    ValueError
        If rating or voltage is not above 0.

    References
    ----------
    .. [1] ``S = 3 U I`` over line to neutral; a line's share is a third (an alternator maker's
       application note on unbalanced loads).

    Examples
    --------
    >>> round(rated_current_a(Generator(100.0), "three-phase", 400.0 / 3**0.5), 1)
    144.3
    """
    if not (generator.rating_kva > 0.0 and voltage_v > 0.0):
        raise ValueError(f"{generator.rating_kva} kVA and {voltage_v} V must be above 0")
    return generator.rating_kva * 1000.0 / (_LINES[system] * voltage_v)


def line_rating_a(supply: Supply) -> float:
    """What one line of a supply may carry: its rating, and no more than a set's share of its kVA.

    Parameters
    ----------
    supply : Supply
        Any supply; its own voltage and system count.

    Returns
    -------
    float
        Current per line. [A]

    Raises
    ------
    ValueError
        If the rating or the voltage of a generator is not above 0.

    References
    ----------
    .. [1] The share of :func:`rated_current_a`: the outlet of a set may be larger than the set.

    Examples
    --------
    >>> lines = ("L1", "L2", "L3")
    >>> volts = 400.0 / 3**0.5
    >>> round(line_rating_a(Supply("generator", "three-phase", 250.0, volts, 50.0, lines,
    ...     generator=Generator(100.0))), 1)
    144.3
    """
    if supply.generator is None:
        return supply.rating_a
    share_a = rated_current_a(supply.generator, supply.system, supply.voltage_v)
    return min(supply.rating_a, share_a)


def generator_figures(
    generator: Generator,
    system: System,
    voltage_v: float,
    *,
    apparent_va: FloatArray,
    power_w: FloatArray,
    reactive_var: FloatArray,
    fundamental_a: ComplexArray,
) -> GeneratorFigures:
    """A set's load in every set-up against its ratings.

    Parameters
    ----------
    generator : Generator
        The set.
    system : {"three-phase", "three-wire", "single-phase"}
        How it feeds.
    voltage_v : float
        Voltage line to neutral. [V]
    apparent_va : ndarray, shape (setups, 3)
        Voltage times true RMS current of each line. [VA]
    power_w : ndarray, shape (setups, 3)
        Active power of each line. [W]
    reactive_var : ndarray, shape (setups, 3)
        Fundamental reactive power of each line, positive lagging. [var]
    fundamental_a : ndarray of complex, shape (setups, 3)
        Fundamental phasors of the lines, 0 for a line that the system lacks. [A]

    Returns
    -------
    GeneratorFigures
        Percentages; negative sequence is 0 where the system has not three phases.

    Raises
    ------
    ValueError
        If rating, rated power factor or voltage is not above 0.

    References
    ----------
    .. [1] ISO 8528-1, ratings; IEC 60034-1, unbalanced operation (from memory).

    Examples
    --------
    >>> lines = np.array([[10e3, 10e3, 10e3]])
    >>> figures = generator_figures(Generator(60.0), "three-phase", 230.0, apparent_va=lines,
    ...     power_w=lines, reactive_var=0 * lines, fundamental_a=np.zeros((1, 3), complex))
    >>> figures.apparent_pct, figures.active_pct
    (array([50.]), array([62.5]))
    """
    rated_a = rated_current_a(generator, system, voltage_v)
    if not 0.0 < generator.rated_power_factor <= 1.0:
        raise ValueError(
            f"rated power factor must be above 0 and at most 1, not {generator.rated_power_factor}"
        )
    rated_va = generator.rating_kva * 1000.0
    lines = _LINES[system]
    negative = np.zeros(len(apparent_va))
    if system == "three-phase":
        negative = np.abs(sequence_components(fundamental_a).negative) / rated_a
    active: FloatArray = power_w.sum(axis=1) / (rated_va * generator.rated_power_factor)
    return GeneratorFigures(
        apparent_pct=100.0 * apparent_va.sum(axis=1) / rated_va,
        active_pct=100.0 * active,
        line_pct=100.0 * apparent_va[:, :lines] / (rated_va / lines),
        negative_sequence_pct=100.0 * negative,
        leading_pct=100.0 * np.maximum(-reactive_var.sum(axis=1), 0.0) / rated_va,
    )


def load_step_pct(generator: Generator, step_w: float) -> float:
    """A load that is switched at once, against what the engine is rated for.

    Parameters
    ----------
    generator : Generator
        The set.
    step_w : float
        Active power that is switched on or off. [W]

    Returns
    -------
    float
        Share of the rated active power. [%]

    Raises
    ------
    ValueError
        If the rating is not above 0.

    References
    ----------
    .. [1] ISO 8528-5, load acceptance: a set takes its rating in steps (from memory).

    Examples
    --------
    >>> load_step_pct(Generator(100.0), 40e3)
    50.0
    """
    rated_w = generator.rating_kva * 1000.0 * generator.rated_power_factor
    if not rated_w > 0.0:
        raise ValueError(f"a set's rating must be above 0, not {rated_w} W")
    return 100.0 * abs(step_w) / rated_w


def step_dip_pct(generator: Generator, step_va: float) -> float | None:
    """Voltage dip at the first moment of a step, if the load were a plain reactance.

    Parameters
    ----------
    generator : Generator
        The set.
    step_va : float
        Apparent power that is switched on, its inrush included. [VA]

    Returns
    -------
    float or None
        Dip below the voltage before the step; None where the subtransient reactance is not known.
        [%]

    Raises
    ------
    ValueError
        If the step is negative.

    References
    ----------
    .. [1] Voltage divider of the subtransient reactance and the load, ``x s / (1 + x s)``: common
       estimate for starting motors; resistive loads dip less.

    Examples
    --------
    >>> round(step_dip_pct(Generator(100.0, subtransient_reactance_pct=10.0), 100e3), 2)
    9.09
    """
    if step_va < 0.0:
        raise ValueError(f"a step must be 0 VA or more, not {step_va} VA")
    if generator.subtransient_reactance_pct is None:
        return None
    ratio = generator.subtransient_reactance_pct / 100.0 * step_va / (generator.rating_kva * 1000.0)
    return 100.0 * ratio / (1.0 + ratio)


def day_energy(solution: Solution, hours: FloatArray) -> DayEnergy:
    """Energy of a day from the hours that each set-up burns.

    Parameters
    ----------
    solution : Solution
        The solved layout.
    hours : ndarray, shape (setups,)
        Hours of each set-up. [h]

    Returns
    -------
    DayEnergy
        Energy in kWh; a set-up without a solution adds nothing.

    Raises
    ------
    ValueError
        If the hours are not one for each set-up, negative or not finite.

    References
    ----------
    .. [1] Power times time; active power is that of the fundamental.
    """
    hours = np.asarray(hours, dtype=np.float64)
    if hours.shape != (len(solution.layout.setups),):
        raise ValueError(f"give the hours of each of the {len(solution.layout.setups)} set-ups")
    if not np.all(np.isfinite(hours) & (hours >= 0.0)):
        raise ValueError("the hours of a set-up must be 0 or more")
    lines, neutral = solution.voltage_v[:, 0, :NEUTRAL], solution.voltage_v[:, 0, NEUTRAL:]
    current = solution.inflow.fundamental_a[:, 0, :NEUTRAL]
    supply_w = ((lines - neutral) * np.conj(current)).real.sum(axis=1)
    loads_w = solution.load_power_w.sum(axis=1)
    feeders_w = solution.loss_w[:, 1:].sum(axis=1)
    supply, loads, feeders = (
        math.fsum(watts * hours) / 1000.0 for watts in (supply_w, loads_w, feeders_w)
    )
    return DayEnergy(supply, loads, feeders)
