"""Neutrals that are cut off from the source: where their potential comes to rest.

A floating neutral settles where the currents into it cancel. Lamps alone have one such point. With
electronics several may exist, and which one comes is decided by what happens after the neutral
opens: its potential moves with the current that has nowhere to go. The steps follow that motion
while it runs away from an unstable point and are Newton's where it is stable, so that only a stable
point is found. Electronics below their input range are taken as impedances: that they would draw
constant power down to nothing is what no supply does.
"""

from __future__ import annotations

import numpy as np

from evenboard.electrics.branchstate import BranchState, admittance_s, tolerance_v
from evenboard.electrics.network import EARTHED, Network
from evenboard.electrics.solution import BoolArray, ComplexArray, FloatArray

__all__ = ["floating_state"]

_STEPS = 400
_CAREFUL_AFTER = 60
_LONGEST_MOVE = 0.2
_MARGIN = 0.05
_OVERSHOOT = 2.0


def floating_state(net: Network, scale: FloatArray) -> BranchState:
    """Solve the branches of a layout in which some neutrals float.

    Parameters
    ----------
    net : Network
        The layout made ready, with at least one island.
    scale : ndarray, shape (K, B)
        Power of each branch over what its load draws as plugged; 0 is off. [-]

    Returns
    -------
    BranchState
        Voltages and currents of every branch, potentials of the floating neutrals.

    References
    ----------
    .. [1] Sum of currents zero at a floating star point (circuit textbooks); pseudo-transient
       continuation (numerical analysis, from memory).
    """
    rows, count = len(scale), len(net.branches.load)
    state = BranchState(
        voltage_v=np.zeros((rows, count), dtype=np.complex128),
        current_a=np.zeros((rows, count), dtype=np.complex128),
        floating_v=np.zeros((rows, net.islands), dtype=np.complex128),
        converged=np.full(rows, count == 0),
    )
    if count == 0:
        return state
    step = _Step(net)
    active = np.arange(rows)
    voltage = np.tile(net.branches.open_circuit_v, (rows, 1))
    floating = np.zeros((rows, net.islands), dtype=np.complex128)
    for taken in range(_STEPS):
        current, after, floating, is_done = step(
            scale[active], voltage, floating, is_careful=taken > _CAREFUL_AFTER
        )
        if is_done.any():
            done = active[is_done]
            state.voltage_v[done] = after[is_done]
            state.current_a[done] = current[is_done]
            state.floating_v[done] = floating[is_done]
            state.converged[done] = True
        active, voltage, floating = active[~is_done], after[~is_done], floating[~is_done]
        if not len(active):
            break
    return state


class _Step:
    """One step of all rows; holds what is the same in every step."""

    def __init__(self, net: Network) -> None:
        self.net = net
        island = net.branches.island
        self.floats = np.flatnonzero(island != EARTHED)
        self.member = np.zeros((len(self.floats), net.islands))
        self.member[np.arange(len(self.floats)), island[self.floats]] = 1.0
        self.limit_v = tolerance_v(net)
        self.longest_v = _LONGEST_MOVE * net.layout.supply.voltage_v

    def __call__(
        self, scale: FloatArray, voltage: ComplexArray, floating: ComplexArray, *, is_careful: bool
    ) -> tuple[ComplexArray, ComplexArray, ComplexArray, BoolArray]:
        """Currents at these voltages; the next voltages and potentials; rows that are at rest."""
        net, floats, member = self.net, self.floats, self.member
        size = np.abs(voltage)
        admittance = admittance_s(net, scale, size)
        half_order = 0.5 * np.where(size < net.branches.floor_v, 2.0, net.branches.exponent)
        turn = np.where(size > 0.0, voltage / np.conj(voltage), 0.0)
        current = admittance * voltage
        along = (admittance * half_order)[:, floats]
        across = (admittance * (half_order - 1.0) * turn)[:, floats]
        miss = current[:, floats] @ member
        weight = (np.abs(along) + np.abs(across)) @ member
        move = self._move(miss, along @ member, across @ member, weight, is_careful)
        shift = move @ member.T
        ahead = current.copy()
        ahead[:, floats] -= along * shift + across * np.conj(shift)
        after = net.branches.open_circuit_v - net.tree.drop_v(ahead)
        floating = floating + move
        after[:, floats] -= floating @ member.T
        is_done = np.abs(after - voltage).max(axis=1) <= self.limit_v
        is_done &= (np.abs(miss) <= self.limit_v * weight).all(axis=1)
        return current, after, floating, is_done

    def _move(
        self,
        miss: ComplexArray,
        a: ComplexArray,
        b: ComplexArray,
        weight: FloatArray,
        is_careful: bool,
    ) -> ComplexArray:
        """How the floating potentials move: solves ``(a + brake) move + b conj(move) = miss``.

        The lower eigenvalue of that real system says whether the point ahead is stable. Where it is
        not, the brake keeps the move in the direction of the current that is left over.
        """
        lowest = a.real - np.sqrt(np.maximum(np.abs(b) ** 2 - a.imag**2, 0.0))
        brake = np.maximum(_MARGIN * weight - _OVERSHOOT * lowest, 0.0)
        braked = a + (brake + weight if is_careful else brake)
        move = (np.conj(braked) * miss - b * np.conj(miss)) / (np.abs(braked) ** 2 - np.abs(b) ** 2)
        move = move * np.minimum(self.longest_v / np.abs(move), 1.0)
        return np.where(weight * np.abs(miss) > 0.0, move, 0.0)
