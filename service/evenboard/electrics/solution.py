"""The solved layout: voltages, currents and powers in every set-up, made once, never changed.

Shapes: ``S`` set-ups, ``N`` nodes, ``L`` loads, 4 conductors in the order L1 L2 L3 N of the supply.
Node 0 is the supply's terminals; node ``b + 1`` is board ``b`` of the layout. Voltages and
fundamental currents are complex128 RMS phasors referred to L1 of the source. A line that a supply
or a board does not have carries zeros.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from evenboard.electrics.layout import Layout

__all__ = ["BoolArray", "ComplexArray", "FloatArray", "Flow", "Solution"]

FloatArray = NDArray[np.float64]
ComplexArray = NDArray[np.complex128]
BoolArray = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Flow:
    """Currents on conductors, split by how they add up.

    ``fundamental_a`` complex, ``triplen_a`` the zero-sequence harmonics (in phase on all lines, so
    that they add arithmetically in the neutral), ``rest_a`` the other harmonics lumped at the
    fifth, complex. All shape (S, N, 4). The neutral's entry is the current returning in it.
    """

    fundamental_a: ComplexArray
    triplen_a: FloatArray
    rest_a: ComplexArray

    @property
    def rms_a(self) -> FloatArray:
        """True RMS current, shape (S, N, 4). [A]"""
        rms: FloatArray = np.sqrt(
            np.abs(self.fundamental_a) ** 2 + self.triplen_a**2 + np.abs(self.rest_a) ** 2
        )
        return rms


@dataclass(frozen=True, slots=True)
class Solution:
    """A layout and what flows in it.

    ``inflow`` is what each node takes in from its feeder (node 0: from the supply). ``voltage_v``
    is against the earthed star point of the source, shape (S, N, 4). ``load_*`` have shape (S, L):
    ``load_voltage_v`` across one branch, ``load_current_a`` true RMS per line of the plug for all
    ``count`` units, ``load_power_w`` for all units; zeros where the load is off. ``load_current``
    splits them: ``load_fundamental_a`` is the first branch's phasor referred to the source's L1,
    ``load_neutral_a`` the phasor that the load sends into the neutral (zero line to line). Of a
    three-phase load the lowest branch voltage and the highest line current are given.
    ``loss_w`` is lost in each node's feeder, shape (S, N), node 0 in the source impedance.
    ``light_pct`` and ``colour_temperature_k`` are NaN except for tungsten that burns.
    ``converged`` is False for a set-up that has no solution; its figures are then zeros.
    """

    layout: Layout
    on: BoolArray
    converged: BoolArray
    voltage_v: ComplexArray
    inflow: Flow
    loss_w: FloatArray
    load_voltage_v: FloatArray
    load_current_a: FloatArray
    load_fundamental_a: ComplexArray
    load_triplen_a: FloatArray
    load_rest_a: FloatArray
    load_power_w: FloatArray
    load_reactive_var: FloatArray
    light_pct: FloatArray
    colour_temperature_k: FloatArray
    load_neutral_a: ComplexArray = field(
        default_factory=lambda: np.zeros((0, 0), dtype=np.complex128)
    )
