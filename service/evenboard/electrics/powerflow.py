"""The unbalanced power flow of a layout, with an explicit neutral, all set-ups at once."""

from __future__ import annotations

from itertools import chain
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from evenboard.electrics.branchflow import branch_state
from evenboard.electrics.branchstate import BranchState
from evenboard.electrics.layout import NEUTRAL, Layout
from evenboard.electrics.network import Network, network
from evenboard.electrics.solution import BoolArray, ComplexArray, FloatArray, Flow, Solution
from evenboard.electrics.tungsten import (
    COLOUR_EXPONENT,
    LIGHT_EXPONENT,
    RATED_COLOUR_TEMPERATURE,
)

__all__ = ["scale_of", "solution_of", "solve"]

_Number = TypeVar("_Number", np.float64, np.complex128)


def solve(layout: Layout) -> Solution:
    """Solve the power flow of a layout in every set-up.

    Parameters
    ----------
    layout : Layout
        The layout. Loose loads count as off, and so do loads between one line and a neutral that
        ends nowhere.

    Returns
    -------
    Solution
        Voltages, currents, powers and losses. A set-up that has no solution (voltage collapse) is
        not ``converged`` and holds zeros.

    Raises
    ------
    ValueError
        If a load's figures contradict each other, or a run has no impedance to be known.

    References
    ----------
    .. [1] Implicit Z-bus method for unbalanced radial networks with explicit neutral
       (power-systems literature, from memory). Checked in the tests against a general-purpose
       distribution simulator.
    """
    net = network(layout)
    shape = len(layout.loads), len(layout.setups)
    switches = chain.from_iterable([load.on for load in layout.loads])
    on = np.fromiter(switches, np.bool_, shape[0] * shape[1]).reshape(shape).T
    return solution_of(net, on, branch_state(net, scale_of(net, on)))


def scale_of(net: Network, on: BoolArray) -> FloatArray:
    """Power of every branch, 0 or 1, from which loads are on.

    Parameters
    ----------
    net : Network
        The layout made ready.
    on : ndarray of bool, shape (S, L)
        Which load is on in which row.

    Returns
    -------
    ndarray, shape (S, B)
        Power of each branch over what its load draws as plugged. [-]

    References
    ----------
    .. [1] A switch is open or closed.
    """
    return on[:, net.branches.load].astype(np.float64)


def solution_of(net: Network, on: BoolArray, state: BranchState) -> Solution:
    """Work out everything that follows from solved branches.

    Parameters
    ----------
    net : Network
        The layout made ready.
    on : ndarray of bool, shape (S, L)
        Which load is on in which row.
    state : BranchState
        The branches, solved for those rows.

    Returns
    -------
    Solution
        Voltages, currents, powers and losses.

    References
    ----------
    .. [1] Fundamentals add as phasors, triplens arithmetically, the rest as phasors of the fifth;
       see ``electrics/README.md``.
    """
    branches = net.branches
    fundamental = state.current_a
    power = state.voltage_v * np.conj(fundamental)
    size = np.abs(state.voltage_v) * on[:, branches.load]
    strength = np.abs(fundamental)
    triplen, rest = strength * branches.triplen, strength * branches.rest
    rms = strength * branches.rms
    inflow = _inflow(net, fundamental, triplen, rest)

    into_neutral = fundamental * (branches.second == NEUTRAL)
    real = [size, rms, triplen, rest, power.real, power.imag]
    phasor = [fundamental, into_neutral]
    if on.shape != size.shape or len(net.triples):  # not every load is one branch
        real = [_by_load(net, on, each) for each in real]
        phasor = [_by_load(net, on, each) for each in phasor]
    if len(net.triples):
        _three_phase(net, real, phasor, (size, fundamental, triplen, rest, power))
    light_pct, colour_k = _tungsten(net, real[0])
    return Solution(
        layout=net.layout,
        on=on,
        converged=state.converged,
        voltage_v=_node_voltage(net, state, inflow),
        inflow=inflow,
        loss_w=_loss_w(net, inflow),
        load_voltage_v=real[0],
        load_current_a=real[1],
        load_fundamental_a=phasor[0],
        load_triplen_a=real[2],
        load_rest_a=real[3],
        load_power_w=real[4],
        load_reactive_var=real[5],
        light_pct=light_pct,
        colour_temperature_k=colour_k,
        load_neutral_a=phasor[1],
    )


def _by_load(net: Network, on: BoolArray, each: NDArray[_Number]) -> NDArray[_Number]:
    """Values of branches, (S, B), at their loads, (S, L); of a three-phase load the last."""
    values = np.zeros(on.shape, dtype=each.dtype)
    values[:, net.branches.load] = each
    return values


def _inflow(net: Network, fundamental: ComplexArray, triplen: FloatArray, rest: FloatArray) -> Flow:
    """Currents into every node, harmonics added each in its own way."""
    branches, tree = net.branches, net.tree
    if not branches.has_harmonics:
        flow = tree.inflow_a(fundamental)
        return Flow(flow, np.zeros(flow.shape), np.zeros_like(flow))
    rows = len(fundamental)
    to_neutral = branches.second == NEUTRAL
    parts = (fundamental, rest * branches.fifth, triplen * (branches.third * to_neutral))
    flow = tree.inflow_a(np.concatenate(parts))
    # Triplens of line-to-neutral loads are in phase on three lines and opposed on two legs. Those
    # of line-to-line loads are added to both their lines in full, which is the safe side.
    triplen_flow = np.abs(flow[2 * rows :])
    if not to_neutral.all():
        pairs = set(zip(branches.first.tolist(), branches.second.tolist(), strict=True))
        for first, second in sorted(pairs):
            if second != NEUTRAL:
                own = triplen * ((branches.first == first) & (branches.second == second))
                triplen_flow += np.abs(tree.inflow_a(own.astype(np.complex128)))
    return Flow(flow[:rows], triplen_flow, flow[rows : 2 * rows])


def _loss_w(net: Network, inflow: Flow) -> FloatArray:
    """What all parts of the currents lose in each node's feeder, (S, N)."""
    fundamental, rest = inflow.fundamental_a, inflow.rest_a
    square = fundamental.real**2 + fundamental.imag**2
    if net.branches.has_harmonics:
        square += inflow.triplen_a**2 + rest.real**2 + rest.imag**2
    loss: FloatArray = (square * net.impedance_ohm.real).sum(axis=2)
    return loss


def _node_voltage(net: Network, state: BranchState, inflow: Flow) -> ComplexArray:
    """Voltage of every conductor of every node against the earthed star point, (S, N, 4)."""
    path = net.tree.path_drop_v(inflow.fundamental_a)
    voltage: ComplexArray = net.source_v - path
    voltage[:, :, NEUTRAL] = path[:, :, NEUTRAL]
    if net.islands:
        floating = net.node_island >= 0
        voltage[:, floating, NEUTRAL] += state.floating_v[:, net.node_island[floating]]
    voltage *= net.present
    voltage *= state.converged[:, None, None]
    return voltage


def _three_phase(
    net: Network,
    real: list[FloatArray],
    phasor: list[ComplexArray],
    branch: tuple[FloatArray, ComplexArray, FloatArray, FloatArray, ComplexArray],
) -> None:
    """Put the three branches of each three-phase load together: worst line, whole power."""
    at = net.triples
    branches = net.branches
    loads = branches.load[at[:, 0]]
    size, fundamental, triplen, rest, power = (values[:, at] for values in branch)
    rest = rest * branches.fifth[at]
    is_delta = (branches.second[at] != NEUTRAL).all(axis=1)
    line = np.where(is_delta[:, None], fundamental - np.roll(fundamental, 1, axis=2), fundamental)
    rest = np.abs(np.where(is_delta[:, None], rest - np.roll(rest, 1, axis=2), rest))
    rms = np.sqrt(np.abs(line) ** 2 + triplen**2 + rest**2)
    real[0][:, loads] = size.min(axis=2)
    real[1][:, loads] = rms.max(axis=2)
    real[2][:, loads] = triplen.max(axis=2)
    real[3][:, loads] = rest.max(axis=2)
    real[4][:, loads] = power.real.sum(axis=2)
    real[5][:, loads] = power.imag.sum(axis=2)
    phasor[0][:, loads] = fundamental[:, :, 0]
    phasor[1][:, loads] = np.where(is_delta, 0.0, fundamental.sum(axis=2))


def _tungsten(net: Network, voltage_v: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Light in percent of full and colour temperature, NaN where no filament burns, (S, L)."""
    light_pct = np.full(voltage_v.shape, np.nan)
    colour_k = light_pct.copy()
    if net.has_lamps:
        burns = (voltage_v > 0.0) & (net.filament_v > 0.0)
        ratio = (voltage_v / net.filament_v)[burns]
        light_pct[burns] = 100.0 * ratio**LIGHT_EXPONENT.value
        colour_k[burns] = RATED_COLOUR_TEMPERATURE.value * ratio**COLOUR_EXPONENT.value
    return light_pct, colour_k
