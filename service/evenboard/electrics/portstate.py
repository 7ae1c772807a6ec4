"""Solved ports, and how a branch answers the voltage that it gets."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenboard.electrics.network import Network
from evenboard.electrics.solution import BoolArray, ComplexArray, FloatArray

__all__ = ["PortState", "branch_admittance_s", "tolerance_v"]

_TOLERANCE = 1e-11
"""Largest last step over the supply voltage; the error left is below 1e-9 wherever this is met."""


@dataclass(frozen=True, slots=True, eq=False)
class PortState:
    """Solved ports of ``K`` rows: voltages and currents (K, P), floating neutrals (K, F).

    Rows that have no solution are not ``converged`` (K,) and hold zeros.
    """

    voltage_v: ComplexArray
    current_a: ComplexArray
    floating_v: ComplexArray
    converged: BoolArray


def tolerance_v(net: Network) -> float:
    """Largest last step of a port voltage with which a row counts as solved.

    Parameters
    ----------
    net : Network
        The layout made ready.

    Returns
    -------
    float
        Step. [V]

    References
    ----------
    .. [1] Chosen so that the error left is below 1e-9 of the supply voltage.
    """
    return _TOLERANCE * net.layout.supply.voltage_v


def branch_admittance_s(net: Network, scale: FloatArray, size_v: FloatArray) -> ComplexArray:
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
        Admittance; 0 where the branch is off or has no voltage. [S]

    References
    ----------
    .. [1] ``P = P0 (V / V0)^k``; on a floating neutral constant impedance below
       ``Branches.floor_v``, as general-purpose distribution simulators do below a voltage limit.
    """
    branches = net.branches
    size_v = np.maximum(size_v, branches.floor_v)
    law = np.zeros_like(size_v)
    np.power(size_v, branches.exponent - 2.0, out=law, where=size_v > 0.0)
    admittance: ComplexArray = scale * branches.coefficient * law
    return admittance
