"""Port voltages: the fixed point of ``U = U0 - M I(U)``, and what to do where it is slow.

Most layouts lose a few percent on the way, and the fixed point gains that factor in each step. Near
voltage collapse it is slow: Newton's method then decides, and a row (a set-up, a scenario) that has
no solution is marked as such. With floating neutrals their potentials F join the unknowns; see
:mod:`evenboard.electrics.floating`.
"""

from __future__ import annotations

import numpy as np

from evenboard.electrics.floating import floating_state
from evenboard.electrics.network import Network
from evenboard.electrics.pathtree import DenseTree
from evenboard.electrics.portstate import PortState, tolerance_v
from evenboard.electrics.solution import BoolArray, ComplexArray, FloatArray

__all__ = ["port_state"]

_FIRST_CHECK = 4
_FIXED_POINT_STEPS = 40
_SWEEP_STEPS = 400
_NEWTON_STEPS = 30


def port_state(net: Network, scale: FloatArray) -> PortState:
    """Solve the ports for rows of load scales.

    Parameters
    ----------
    net : Network
        The layout made ready.
    scale : ndarray, shape (K, B)
        Power of each branch over what its load draws as plugged; 0 is off. [-]

    Returns
    -------
    PortState
        Voltages and currents of every port.

    References
    ----------
    .. [1] Implicit Z-bus fixed point and Newton's method in current-injection form, as in
       power-systems literature (from memory).
    """
    with np.errstate(all="ignore"):
        if net.islands:
            return floating_state(net, scale)
        return _earthed(net, scale)


def _earthed(net: Network, scale: FloatArray) -> PortState:
    start_v = net.ports.open_circuit_v
    rows, ports = len(scale), len(start_v)
    no_floating = np.zeros((rows, 0), dtype=np.complex128)
    if ports == 0:
        empty = np.zeros((rows, 0), dtype=np.complex128)
        return PortState(empty, empty, no_floating, np.ones(rows, dtype=np.bool_))
    draws = _draws_by_port(net, scale)
    limit = tolerance_v(net)
    is_dense = isinstance(net.tree, DenseTree)
    # Where the fixed point takes more than these steps its error may exceed its last step by far.
    steps = _FIXED_POINT_STEPS if is_dense else _SWEEP_STEPS
    current = _current(np.broadcast_to(start_v, (rows, ports)), draws)
    voltage = start_v - net.tree.drop_v(current)
    done = np.zeros(rows, dtype=np.bool_)
    for step in range(1, steps):
        before = voltage
        current = _current(voltage, draws)
        voltage = start_v - net.tree.drop_v(current)
        if step >= _FIRST_CHECK:
            change = voltage - before
            done = np.maximum(np.abs(change.real), np.abs(change.imag)).max(axis=1) <= limit
            if done.all():
                break
    if not done.all() and is_dense:
        late = np.flatnonzero(~done)
        voltage[late], done[late] = _newton(net, [(k, d[late]) for k, d in draws])
    current = _current(voltage, draws)
    if not done.all():
        voltage[~done] = 0.0
        current[~done] = 0.0
    return PortState(voltage, current, no_floating, done)


def _draws_by_port(net: Network, scale: FloatArray) -> list[tuple[float, ComplexArray]]:
    """Per exponent in use, the summed coefficients of each port, (K, P)."""
    branches, ports = net.branches, len(net.ports.node)
    each = scale * branches.coefficient
    total = np.zeros((len(scale), len(net.exponents) * ports), dtype=np.complex128)
    if len(branches.starts) < each.shape[1]:
        each = np.add.reduceat(each, branches.starts, axis=1)
    total[:, branches.keys] = each
    return [
        (exponent, total[:, i * ports : (i + 1) * ports])
        for i, exponent in enumerate(net.exponents)
    ]


def _current(voltage: ComplexArray, draws: list[tuple[float, ComplexArray]]) -> ComplexArray:
    """Fundamental that each port draws at a voltage, (K, P)."""
    total: ComplexArray | None = None
    size: FloatArray | None = None
    for exponent, coefficient in draws:
        if exponent == 0.0:
            part = coefficient / np.conj(voltage)
        elif exponent == 2.0:
            part = coefficient * voltage
        else:
            size = np.abs(voltage) if size is None else size
            part = coefficient * voltage
            part *= size ** (exponent - 2.0)
        total = part if total is None else total + part
    assert total is not None
    return total


def _newton(
    net: Network, draws: list[tuple[float, ComplexArray]]
) -> tuple[ComplexArray, BoolArray]:
    """Newton's method from no load for rows that the fixed point does not settle.

    A solution counts only if it is on the branch that begins at no load: there the Jacobian's
    determinant has kept its sign. The other, low-voltage one is no working state.
    """
    assert isinstance(net.tree, DenseTree)
    matrix, start_v = net.tree.matrix, net.ports.open_circuit_v
    rows, ports = draws[0][1].shape
    limit = tolerance_v(net)
    voltage = np.tile(start_v, (rows, 1))
    good = np.zeros(rows, dtype=np.bool_)
    active = np.arange(rows)
    for _ in range(_NEWTON_STEPS):
        own = [(k, d[active]) for k, d in draws]
        at = voltage[active]
        current, square = _current(at, own), at.real**2 + at.imag**2
        residual = start_v - current @ matrix - at
        jacobian = _jacobian(matrix, at, square, own)
        usable = np.isfinite(jacobian).all(axis=(1, 2)) & np.isfinite(residual).all(axis=1)
        active, residual, jacobian = active[usable], residual[usable], jacobian[usable]
        if not len(active):
            break
        sign, _ = np.linalg.slogdet(jacobian)
        active, residual, jacobian = active[sign != 0], residual[sign != 0], jacobian[sign != 0]
        sign = sign[sign != 0]
        flat = np.concatenate([residual.real, residual.imag], axis=1)[:, :, None]
        step = np.linalg.solve(jacobian, flat)[:, :, 0]
        move = step[:, :ports] + 1j * step[:, ports:]
        voltage[active] += move
        settled = np.abs(move).max(axis=1) <= limit
        good[active[settled & (sign > 0)]] = True
        active = active[~settled]
        if not len(active):
            break
    return voltage, good


def _jacobian(
    matrix: ComplexArray,
    voltage: ComplexArray,
    square: FloatArray,
    draws: list[tuple[float, ComplexArray]],
) -> FloatArray:
    """Derivative of ``U + M I(U)`` by the real and imaginary parts of U, (K, 2 P, 2 P)."""
    along = np.zeros_like(voltage)
    across = np.zeros_like(voltage)
    for exponent, coefficient in draws:
        slope = coefficient * square ** (0.5 * exponent - 1.0)
        along += 0.5 * exponent * slope
        across += (0.5 * exponent - 1.0) * slope
    across *= voltage / np.conj(voltage)
    direct = matrix * along[:, None, :] + np.eye(len(matrix))
    mirrored = matrix * across[:, None, :]
    upper = np.concatenate([(direct + mirrored).real, -(direct - mirrored).imag], axis=2)
    lower = np.concatenate([(direct + mirrored).imag, (direct - mirrored).real], axis=2)
    return np.concatenate([upper, lower], axis=1)
