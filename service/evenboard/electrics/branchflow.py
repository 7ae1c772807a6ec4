"""Branch voltages: the fixed point of ``U = U0 - M I(U)``, and what to do where it is slow.

Most layouts lose a few percent on the way, and the fixed point gains that factor in each step. Near
voltage collapse it is slow: Newton's method then decides, and a row (a set-up, a scenario) that has
no solution is marked as such. With floating neutrals their potentials F join the unknowns; see
:mod:`evenboard.electrics.floating`.
"""

from __future__ import annotations

import math

import numpy as np

from evenboard.electrics.branchstate import BranchState, tolerance_v
from evenboard.electrics.floating import floating_state
from evenboard.electrics.network import Network
from evenboard.electrics.pathtree import DenseTree
from evenboard.electrics.solution import BoolArray, ComplexArray, FloatArray

__all__ = ["branch_state"]

_FIRST_CHECK = 2
_FIXED_POINT_STEPS = 40
_SWEEP_STEPS = 400
_ROW_SHARE = 0.05
_NEWTON_STEPS = 30


def branch_state(net: Network, scale: FloatArray) -> BranchState:
    """Solve the branches for rows of load scales.

    Parameters
    ----------
    net : Network
        The layout made ready.
    scale : ndarray, shape (K, B)
        Power of each branch over what its load draws as plugged; 0 is off. [-]

    Returns
    -------
    BranchState
        Voltages and currents of every branch.

    References
    ----------
    .. [1] Implicit Z-bus fixed point and Newton's method in current-injection form, as in
       power-systems literature (from memory).
    """
    with np.errstate(all="ignore"):
        if net.islands:
            return floating_state(net, scale)
        return _earthed(net, scale)


def _earthed(net: Network, scale: FloatArray) -> BranchState:
    branches, tree = net.branches, net.tree
    start_v = branches.open_circuit_v
    no_floating = np.zeros((len(scale), 0), dtype=np.complex128)
    drawn = scale * branches.coefficient
    order = branches.exponent - 2.0
    is_dense = isinstance(tree, DenseTree)
    limit = tolerance_v(net)
    voltage = start_v - tree.drop_v(drawn * (start_v * np.abs(start_v) ** order))
    change = voltage - start_v
    last = math.inf
    for step in range(1, _FIXED_POINT_STEPS if is_dense else _SWEEP_STEPS):
        before = voltage
        voltage = start_v - tree.drop_v(drawn * (voltage * np.abs(voltage) ** order))
        if step < _FIRST_CHECK:
            continue
        change = voltage - before
        size = math.sqrt(np.vdot(change, change).real)
        # A step gains the factor that the last one did: what is left is a geometric series.
        if size * size <= limit * (last - size) and step > _FIRST_CHECK:
            done = np.ones(len(scale), dtype=np.bool_)
            break
        last = size
    else:
        done = np.abs(change).max(axis=1, initial=0.0) <= _ROW_SHARE * limit
        if is_dense:
            late = np.flatnonzero(~done)
            voltage[late], done[late] = _newton(net, drawn[late])
    current = drawn * (voltage * np.abs(voltage) ** order)
    if not done.all():
        voltage[~done] = 0.0
        current[~done] = 0.0
    return BranchState(voltage, current, no_floating, done)


def _newton(net: Network, drawn: ComplexArray) -> tuple[ComplexArray, BoolArray]:
    """Newton's method from no load for rows that the fixed point does not settle.

    A solution counts only if it is on the branch that begins at no load: there the Jacobian's
    determinant has kept its sign. The other, low-voltage one is no working state.
    """
    assert isinstance(net.tree, DenseTree)
    start_v, exponent = net.branches.open_circuit_v, net.branches.exponent
    limit = tolerance_v(net)
    voltage = np.tile(start_v, (len(drawn), 1))
    good = np.zeros(len(drawn), dtype=np.bool_)
    active = np.arange(len(drawn))
    for _ in range(_NEWTON_STEPS):
        at = voltage[active]
        slope = drawn[active] * np.abs(at) ** (exponent - 2.0)
        residual = start_v - net.tree.drop_v(slope * at) - at
        jacobian = _jacobian(
            net.tree.matrix,
            0.5 * exponent * slope,
            (0.5 * exponent - 1.0) * slope * at / np.conj(at),
        )
        usable = np.isfinite(jacobian).all(axis=(1, 2)) & np.isfinite(residual).all(axis=1)
        sign = np.zeros(len(active))
        sign[usable] = np.linalg.slogdet(jacobian[usable])[0]
        usable = sign != 0.0
        active, residual, sign = active[usable], residual[usable], sign[usable]
        if not len(active):
            break
        flat = np.concatenate([residual.real, residual.imag], axis=1)[:, :, None]
        step = np.linalg.solve(jacobian[usable], flat)[:, :, 0]
        move = step[:, : len(start_v)] + 1j * step[:, len(start_v) :]
        voltage[active] += move
        settled = np.abs(move).max(axis=1) <= limit
        good[active[settled & (sign > 0.0)]] = True
        active = active[~settled]
        if not len(active):
            break
    return voltage, good


def _jacobian(matrix: ComplexArray, along: ComplexArray, across: ComplexArray) -> FloatArray:
    """Derivative of ``U + M I(U)`` by the real and imaginary parts of U, (K, 2 B, 2 B).

    ``along`` and ``across`` are the derivatives of I by U and by its conjugate, (K, B).
    """
    direct = matrix * along[:, None, :] + np.eye(len(matrix))
    mirrored = matrix * across[:, None, :]
    upper = np.concatenate([(direct + mirrored).real, -(direct - mirrored).imag], axis=2)
    lower = np.concatenate([(direct + mirrored).imag, (direct - mirrored).real], axis=2)
    return np.concatenate([upper, lower], axis=1)
