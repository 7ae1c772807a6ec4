"""Port voltages: the fixed point of ``U = U0 - M I(U)``, and what to do where it is slow.

Most layouts lose a few percent on the way, and the fixed point gains that factor in each step. Near
voltage collapse it is slow: Newton's method then decides, and a row (a set-up, a scenario) that has
no solution is marked as such. With floating neutrals their potentials F join the unknowns; see
:func:`floating_state`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenboard.electrics.network import EARTHED, Network
from evenboard.electrics.pathtree import DenseTree
from evenboard.electrics.solution import BoolArray, ComplexArray, FloatArray

__all__ = ["TOLERANCE", "PortState", "branch_admittance_s", "port_state"]

TOLERANCE = 1e-11
"""Largest last step over the supply voltage; the error left is below 1e-9 wherever this is met."""

_FIXED_POINT_STEPS = 40
_SWEEP_STEPS = 400
_NEWTON_STEPS = 30
_FLOATING_STEPS = 400
_FIRST_PACE = 0.5
_LARGEST_GROWTH = 4.0
_LONGEST_MOVE = 0.2


@dataclass(frozen=True, slots=True, eq=False)
class PortState:
    """Solved ports of ``K`` rows: voltages and currents (K, P), floating neutrals (K, F).

    Rows that have no solution are not ``converged`` (K,) and hold zeros.
    """

    voltage_v: ComplexArray
    current_a: ComplexArray
    floating_v: ComplexArray
    converged: BoolArray


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
            return _floating(net, scale)
        return _earthed(net, scale)


def _earthed(net: Network, scale: FloatArray) -> PortState:
    start_v = net.ports.open_circuit_v
    rows, ports = len(scale), len(start_v)
    no_floating = np.zeros((rows, 0), dtype=np.complex128)
    if ports == 0:
        empty = np.zeros((rows, 0), dtype=np.complex128)
        return PortState(empty, empty, no_floating, np.ones(rows, dtype=np.bool_))
    draws = _draws_by_port(net, scale)
    voltage = np.broadcast_to(start_v, (rows, ports))
    limit = TOLERANCE * net.layout.supply.voltage_v
    is_dense = isinstance(net.tree, DenseTree)
    current, _ = _current(voltage, draws)
    done = np.zeros(rows, dtype=np.bool_)
    for step in range(_FIXED_POINT_STEPS if is_dense else _SWEEP_STEPS):
        before = voltage
        voltage = start_v - net.tree.drop_v(current)
        current, _ = _current(voltage, draws)
        if step >= 3:
            change = np.abs(voltage - before).max(axis=1)
            done = change <= limit
            if done.all():
                break
    if not done.all() and is_dense:
        late = np.flatnonzero(~done)
        voltage[late], done[late] = _newton(net, [(k, d[late]) for k, d in draws])
        current, _ = _current(voltage, draws)
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


def _current(
    voltage: ComplexArray, draws: list[tuple[float, ComplexArray]]
) -> tuple[ComplexArray, FloatArray]:
    """Fundamental that each port draws at a voltage, and the voltage's square, both (K, P)."""
    square = voltage.real**2 + voltage.imag**2
    total: ComplexArray | None = None
    for exponent, coefficient in draws:
        if exponent == 0.0:
            part = coefficient
        elif exponent == 1.0:
            part = coefficient * np.sqrt(square)
        elif exponent == 2.0:
            part = coefficient * square
        else:
            part = coefficient * square ** (0.5 * exponent)
        total = part if total is None else total + part
    assert total is not None
    return total * (voltage / square), square


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
    limit = TOLERANCE * net.layout.supply.voltage_v
    voltage = np.tile(start_v, (rows, 1))
    good = np.zeros(rows, dtype=np.bool_)
    active = np.arange(rows)
    for _ in range(_NEWTON_STEPS):
        own = [(k, d[active]) for k, d in draws]
        at = voltage[active]
        current, square = _current(at, own)
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


def _floating(net: Network, scale: FloatArray) -> PortState:
    """As :func:`port_state` where some neutrals float.

    A floating neutral settles where its currents cancel. Lamps alone have one such point. With
    electronics several may exist, and which one comes is decided by what happens after the neutral
    opens: its potential moves with the current that has nowhere to go. The steps follow that
    motion (implicit, and longer as it comes to rest), so that only a stable point is found.
    Electronics below their input range starve like an impedance; that they would draw constant
    power down to nothing is what no supply does.
    """
    ports, branches = net.ports, net.branches
    start_v = ports.open_circuit_v
    rows, port_count = len(scale), len(start_v)
    limit = TOLERANCE * net.layout.supply.voltage_v
    floats = np.flatnonzero(ports.island != EARTHED)
    member = np.zeros((len(floats), net.islands))
    member[np.arange(len(floats)), ports.island[floats]] = 1.0
    by_port = np.argsort(branches.port, kind="stable")
    starts = np.flatnonzero(np.diff(branches.port[by_port], prepend=-1))

    def summed(values: ComplexArray) -> ComplexArray:
        total: ComplexArray = np.add.reduceat(values[:, by_port], starts, axis=1)
        return total

    voltage = np.tile(start_v, (rows, 1))
    current = np.zeros((rows, port_count), dtype=np.complex128)
    floating_v = np.zeros((rows, net.islands), dtype=np.complex128)
    done = np.full(rows, port_count == 0)
    pace = np.full((rows, net.islands), _FIRST_PACE)
    last_miss_a = np.zeros((rows, net.islands))
    longest_v = _LONGEST_MOVE * net.layout.supply.voltage_v
    for _ in range(_FLOATING_STEPS if port_count else 0):
        at = voltage[:, branches.port]
        size = np.abs(at)
        admittance = branch_admittance_s(net, scale, size)
        half_order = 0.5 * np.where(size < branches.floor_v, 2.0, branches.exponent)
        turn = np.where(size > 0.0, at / np.conj(at), 0.0)
        current = summed(admittance * at)
        along = summed(admittance * half_order)[:, floats]
        across = summed(admittance * (half_order - 1.0) * turn)[:, floats]
        miss = current[:, floats] @ member
        weight = np.abs(along) @ member + np.abs(across) @ member
        miss_a = np.abs(miss)
        longer = pace * np.clip(last_miss_a / miss_a, 1.0, _LARGEST_GROWTH)
        pace = np.where(miss_a < last_miss_a, longer, _FIRST_PACE)
        last_miss_a = miss_a
        # Complex form of the two real equations (a + weight / pace) move + b conj(move) = miss.
        a = along @ member + weight / pace
        b = across @ member
        move = (np.conj(a) * miss - b * np.conj(miss)) / (np.abs(a) ** 2 - np.abs(b) ** 2)
        move *= np.minimum(longest_v / np.abs(move), 1.0)
        move = np.where(weight * np.abs(miss) > 0.0, move, 0.0)
        floating_v = floating_v + move
        shift = move @ member.T
        ahead = current.copy()
        ahead[:, floats] -= along * shift + across * np.conj(shift)
        before = voltage
        voltage = start_v - net.tree.drop_v(ahead)
        voltage[:, floats] -= floating_v @ member.T
        done = np.abs(voltage - before).max(axis=1) <= limit
        done &= (miss_a <= limit * weight).all(axis=1)
        if done.all():
            break
    voltage[~done] = 0.0
    current[~done] = 0.0
    floating_v[~done] = 0.0
    return PortState(voltage, current, floating_v, done)
