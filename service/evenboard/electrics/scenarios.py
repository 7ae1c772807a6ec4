"""Many scenarios of one layout: thousands of on/off or dimming patterns in one call.

The same fixed point as the power flow, arranged for throughput: loads at one place and of one model
are summed, scenarios run along the fast axis in blocks that stay in the cache, real and imaginary
parts are rows of one real matrix, and the first steps are taken in single precision. The last are
in double precision until the error left is below that of the power flow. Rows that this does not
settle, and layouts with floating neutrals or of great size, go through the power flow itself.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from evenboard.electrics.branchflow import branch_state
from evenboard.electrics.layout import NEUTRAL, Layout
from evenboard.electrics.network import IntArray, Network, network
from evenboard.electrics.pathtree import DenseTree
from evenboard.electrics.solution import BoolArray, ComplexArray, FloatArray

__all__ = ["Scenarios", "scenarios"]

Real = NDArray[Any]

_BLOCK = 256
_COARSE_STEPS = 8
_FINE_STEPS = 12
_COARSE_ENOUGH = 4e-9
"""Step (RMS, over the supply voltage) below which single precision has no more to give."""
_ERROR = 8e-10
"""Largest error left over the supply voltage, by the rate at which the steps shrink."""
_HARDLY_GAINS = 0.5
_RATE_STEPS = 2
_SAFETY = 1.5
_SMALLEST_RATE = 1e-3
_IMPEDANCE = 2.0


@dataclass(frozen=True, slots=True, eq=False)
class Scenarios:
    """Solved scenarios, ``K`` of them, of ``B`` branches (one a load, three a three-phase load).

    ``load`` (B,) indexes the layout's loads; ``voltage_v`` (K, B) is complex, referred to the
    source's L1; ``supply_a`` (K, 4) is the fundamental that the supply's lines bring and that its
    neutral takes back. Rows that have no solution are not ``converged`` (K,) and hold
    zeros.
    """

    load: IntArray
    voltage_v: ComplexArray
    supply_a: ComplexArray
    converged: BoolArray


def scenarios(layout: Layout, scale: ArrayLike) -> Scenarios:
    """Solve many scenarios of which load is on, and how far.

    Parameters
    ----------
    layout : Layout
        The layout; its own set-ups are not looked at.
    scale : array_like, shape (K, L)
        Power of each load over what it draws as plugged: 1 or True is on, 0 or False off. [-]

    Returns
    -------
    Scenarios
        Voltages of every branch and fundamental currents of the supply. [V, A]

    Raises
    ------
    ValueError
        If the shape is not (K, L), if a scale is negative or not finite, or as
        :func:`evenboard.electrics.powerflow.solve`.

    References
    ----------
    .. [1] Implicit Z-bus fixed point (power-systems literature, from memory) in mixed precision.
    """
    given = np.asarray(scale)
    if given.ndim != 2 or given.shape[1] != len(layout.loads):
        raise ValueError(f"scale has shape {given.shape}, not (scenarios, {len(layout.loads)})")
    if given.dtype != np.bool_ and not np.all(np.isfinite(given) & (given >= 0.0)):
        raise ValueError("a scale must be a finite number of 0 or more")
    net = network(layout)
    rows, count = len(given), len(net.branches.load)
    voltage = np.empty((rows, count), dtype=np.complex128)
    supply = np.zeros((rows, NEUTRAL + 1), dtype=np.complex128)
    done = np.zeros(rows, dtype=np.bool_)
    if isinstance(net.tree, DenseTree) and not net.islands and count:
        kernel = _Kernel(net, net.tree)
        with np.errstate(all="ignore"):
            for block in _blocks(rows):
                done[block] = kernel.solve(given[block], voltage[block], supply[block])
    late = np.flatnonzero(~done)
    for block in _blocks(len(late)):
        own = late[block]
        state = branch_state(net, given[own][:, net.branches.load].astype(np.float64))
        voltage[own], done[own] = state.voltage_v, state.converged
        supply[own] = net.tree.inflow_a(state.current_a)[:, 0]
    return Scenarios(net.branches.load, voltage, supply, done)


def _blocks(rows: int) -> Iterator[slice]:
    return (slice(start, min(start + _BLOCK, rows)) for start in range(0, rows, _BLOCK))


class _Model(NamedTuple):
    """Groups of one exponent: their rows among the real parts, and whether all are resistive."""

    exponent: float
    rows: slice
    is_resistive: bool


class _Kernel:
    """What is the same for all blocks: groups of branches, their coefficients and impedances.

    A group is one place and one exponent. Arrays have the groups' real parts in their upper rows
    and the imaginary parts in their lower ones, and a column for each scenario.
    """

    def __init__(self, net: Network, tree: DenseTree) -> None:
        branches = net.branches
        has_lead = np.array([net.layout.loads[i].lead is not None for i in branches.load])
        alone = np.where(has_lead, np.arange(1, len(has_lead) + 1), 0)
        places = (alone, branches.second, branches.first, branches.node, branches.exponent)
        order = np.lexsort(places)
        key = np.stack(places)[:, order]
        begins = np.ones(len(order), dtype=np.bool_)
        begins[1:] = (key[:, 1:] != key[:, :-1]).any(axis=0)
        self.load = branches.load[order]
        self.starts = np.flatnonzero(begins)
        self.merges = len(self.starts) < len(order)
        self.group_of = np.empty(len(order), dtype=np.intp)
        self.group_of[order] = np.cumsum(begins) - 1
        self.coefficient = branches.coefficient[order][:, None]
        member = order[self.starts]
        self.size = len(member)
        matrix = tree.matrix[np.ix_(member, member)]
        start_v = branches.open_circuit_v[member]
        self.start = np.concatenate([start_v.real, start_v.imag])[:, None]
        self.back = -np.block([[matrix.real, -matrix.imag], [matrix.imag, matrix.real]])
        self.coarse = (self.back.astype(np.float32), self.start.astype(np.float32))
        unit = np.eye(len(order), dtype=np.complex128)[member]
        feeds = tree.inflow_a(unit)[:, 0].real.T
        self.feeds = np.block([[feeds, np.zeros_like(feeds)], [np.zeros_like(feeds), feeds]])
        self.models = self._models(branches.exponent[member], branches.coefficient.imag[order])
        self.limit = _ERROR * net.layout.supply.voltage_v
        self.coarse_limit = _COARSE_ENOUGH * net.layout.supply.voltage_v

    def _models(self, exponent: FloatArray, imag: FloatArray) -> list[_Model]:
        """Runs of groups of one exponent, in which they are sorted."""
        reactive = np.add.reduceat(np.abs(imag), self.starts)
        models = []
        for value in np.unique(exponent).tolist():
            low, high = np.searchsorted(exponent, [value, np.nextafter(value, np.inf)]).tolist()
            models.append(_Model(value, slice(low, high), not reactive[low:high].any()))
        return models

    def solve(
        self, scale: NDArray[Any], voltage_v: ComplexArray, supply_a: ComplexArray
    ) -> BoolArray:
        """Fill in voltages (K, B) and supply currents (K, 4) of a block; which rows are settled."""
        columns = scale.T[self.load].astype(np.float64)
        drawn = np.empty((2, *columns.shape))
        np.multiply(columns, self.coefficient.real, out=drawn[0])
        np.multiply(columns, self.coefficient.imag, out=drawn[1])
        if self.merges:
            drawn = np.add.reduceat(drawn, self.starts, axis=1)
        rough, rate = self._coarse(drawn.astype(np.float32))
        fine, settled = self._fine(drawn, rough, rate)
        flow = np.empty_like(fine)
        self._draw(fine, drawn, flow)
        supply = self.feeds @ flow
        supply_a.real, supply_a.imag = supply[: NEUTRAL + 1].T, supply[NEUTRAL + 1 :].T
        voltage_v.real = fine[self.group_of].T
        voltage_v.imag = fine[self.size + self.group_of].T
        if not settled.all():
            voltage_v[~settled] = 0.0
            supply_a[~settled] = 0.0
        return settled

    def _coarse(self, drawn: Real) -> tuple[Real, float]:
        """Drop of every group in single precision, and the factor that a step gains.

        It is the drop that is carried, not the voltage: single precision of a few percent of the
        voltage is nearly good enough.
        """
        back, start = self.coarse
        at = np.repeat(start, drawn.shape[2], axis=1)
        flow, drop, after = np.empty_like(at), np.zeros_like(at), np.empty_like(at)
        enough = self.coarse_limit**2 * at.size
        last, rate = np.inf, 0.0
        for step in range(_COARSE_STEPS):
            self._draw(at, drawn, flow)
            np.matmul(back, flow, out=after)
            drop -= after
            change = float(np.vdot(drop, drop))
            drop, after = after, drop
            if 1 <= step <= _RATE_STEPS:
                rate = max(rate, np.sqrt(change / last))
            if not enough < change < _HARDLY_GAINS * last:
                break
            last = change
            np.add(drop, start, out=at)
        return drop, float(rate)

    def _fine(self, drawn: FloatArray, drop: Real, rate: float) -> tuple[FloatArray, BoolArray]:
        """Voltages in double precision, until the error left is below the limit."""
        at = self.start + drop
        flow, after = np.empty_like(at), np.empty_like(at)
        # A step gains the factor that the last ones did: what is left is a geometric series.
        share = _SAFETY * rate
        limit = self.limit * max(1.0 - share, 0.0) / max(share, _SMALLEST_RATE)
        for _ in range(_FINE_STEPS):
            self._draw(at, drawn, flow)
            np.matmul(self.back, flow, out=after)
            after += self.start
            at -= after
            change = max(at.max(), -at.min())
            at, after = after, at
            if change <= limit:
                return at, np.ones(at.shape[1], dtype=np.bool_)
        return at, np.abs(after).max(axis=0) <= self.limit

    def _draw(self, at: Real, drawn: Real, flow: Real) -> None:
        """Currents of all groups at their voltages, real parts above imaginary ones."""
        for exponent, rows, is_resistive in self.models:
            below = slice(self.size + rows.start, self.size + rows.stop)
            real, imag = at[rows], at[below]
            along, across = drawn[0, rows], drawn[1, rows]
            if exponent != _IMPEDANCE:
                law = real * real
                law += imag * imag
                if exponent == 0.0:
                    np.reciprocal(law, out=law)
                elif exponent == 1.0:
                    np.reciprocal(np.sqrt(law, out=law), out=law)
                else:
                    np.power(law, law.dtype.type(0.5 * exponent - 1.0), out=law)
                along = along * law
                across = across if is_resistive else across * law
            np.multiply(along, real, out=flow[rows])
            np.multiply(along, imag, out=flow[below])
            if not is_resistive:
                flow[rows] -= across * imag
                flow[below] += across * real
