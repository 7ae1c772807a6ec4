"""Solved branches, and how a branch answers the voltage that it gets."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenboard.electrics.network import Network
from evenboard.electrics.solution import BoolArray, ComplexArray, FloatArray

__all__ = ["BranchState", "admittance_s", "tolerance_v"]

_TOLERANCE = 2e-10
"""Largest error left over the supply voltage, by the rate at which the steps shrink; of methods
that shrink faster than any rate, the largest last step."""


@dataclass(frozen=True, slots=True, eq=False)
class BranchState:
    """Solved branches of ``K`` rows: voltages and currents (K, B), floating neutrals (K, F).

    Rows that have no solution are not ``converged`` (K,) and hold zeros.
    """

    voltage_v: ComplexArray
    current_a: ComplexArray
    floating_v: ComplexArray
    converged: BoolArray


def tolerance_v(net: Network) -> float:
    """Largest error of a branch voltage with which a row counts as solved.

    Parameters
    ----------
    net : Network
        The layout made ready.

    Returns
    -------
    float
        Error. [V]

    References
    ----------
    .. [1] Chosen to keep the promise of 1e-9 of the supply voltage.
    """
    return _TOLERANCE * net.layout.supply.voltage_v


def admittance_s(net: Network, scale: FloatArray, size_v: FloatArray) -> ComplexArray:
    """Fundamental current over voltage of every branch.

    Parameters
    ----------
    net : Network
        The layout made ready.
    scale : ndarray, shape (K, B)
        Power of each branch over what its load draws as plugged. [-]
    size_v : ndarray, shape (K, B)
        Voltage across each branch, RMS. [V]

    Returns
    -------
    ndarray of complex128, shape (K, B)
        Admittance; not finite where a branch that is on has no voltage. [S]

    References
    ----------
    .. [1] ``P = P0 (V / V0)^k``; on a floating neutral constant impedance below
       ``Branches.floor_v``, as general-purpose distribution simulators do below a voltage limit.
    """
    branches = net.branches
    if net.islands:
        size_v = np.maximum(size_v, branches.floor_v)
    admittance: ComplexArray = scale * branches.coefficient * size_v ** (branches.exponent - 2.0)
    return admittance
