"""The impedances that branches share on their ways to the source, as a linear map.

Two forms of one map: a small layout multiplies by a dense matrix, a large one sweeps the tree by
running sums, so that the cost grows no faster than the layout. Both give the same numbers.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from evenboard.electrics.layout import NEUTRAL
from evenboard.electrics.solution import ComplexArray, FloatArray

__all__ = ["DENSE_LIMIT", "DenseTree", "PathTree", "SweptTree", "Wiring", "path_tree"]

DENSE_LIMIT = 160
"""Branches and nodes up to which the dense matrix is the faster form (measured, not critical)."""

_RETURNS = np.array([1.0, 1.0, 1.0, -1.0])
"""A neutral's current is counted as it returns."""


@dataclass(frozen=True, slots=True, eq=False)
class Wiring:
    """What a path tree is made from.

    ``parent`` per node, -1 for node 0, parents first; ``is_root`` marks nodes at which a floating
    neutral begins; ``impedance_ohm`` (N, 4). Per branch: ``node``; ``sign`` (B, 4) is +1 on the
    conductor that feeds it, -1 on the one that leads back, 0 on a neutral that it has for itself.
    Leads: ``lead_ohm`` (B,) is what a branch has to itself, if any does; ``blocks`` and their
    ``block_ohm`` (3, 3) are what the three branches behind a three-phase lead have in common.
    """

    parent: Sequence[int]
    is_root: Sequence[bool]
    impedance_ohm: ComplexArray
    node: NDArray[np.intp]
    sign: FloatArray
    lead_ohm: ComplexArray | None
    blocks: Sequence[tuple[int, ...]]
    block_ohm: Sequence[ComplexArray]


class DenseTree:
    """The map as a matrix over branches."""

    def __init__(self, wiring: Wiring) -> None:
        count = len(wiring.node)
        node, sign, impedance = wiring.node, wiring.sign, wiring.impedance_ohm
        path = _paths(wiring.parent)
        neutral_path = _paths(wiring.parent, wiring.is_root) if any(wiring.is_root) else path
        # Line conductors of a run are alike, so that two tables of shared impedance do for all.
        both = node[:, None] * len(path) + node
        line_ohm = (path * impedance[:, 0]) @ path.T
        neutral_ohm = (neutral_path * impedance[:, NEUTRAL]) @ neutral_path.T
        lines, neutral = sign[:, :NEUTRAL], sign[:, NEUTRAL]
        matrix: ComplexArray = line_ohm.take(both) * (lines @ lines.T)
        matrix += neutral_ohm.take(both) * np.outer(neutral, neutral)
        if wiring.lead_ohm is not None:
            matrix.ravel()[:: count + 1] += wiring.lead_ohm
        for own, block_ohm in zip(wiring.blocks, wiring.block_ohm, strict=True):
            matrix[np.ix_(own, own)] += block_ohm
        self.matrix = matrix
        self._path = path
        self._neutral_path = neutral_path
        self._impedance_ohm = impedance
        self._below = path[node].T
        self._neutral_below = self._below if neutral_path is path else neutral_path[node].T
        self._feeds = sign * _RETURNS

    def drop_v(self, current_a: ComplexArray) -> ComplexArray:
        """Drop that branch currents cause in every branch, both (K, B). [V]"""
        drop: ComplexArray = current_a @ self.matrix
        return drop

    def inflow_a(self, current_a: ComplexArray) -> ComplexArray:
        """Currents in each node's feeder, (K, B) to (K, N, 4); the neutral's is what returns."""
        each = current_a[:, :, None] * self._feeds
        inflow: ComplexArray = np.matmul(self._below, each)
        if self._neutral_below is not self._below:
            inflow[:, :, NEUTRAL] = each[:, :, NEUTRAL] @ self._neutral_below.T
        return inflow

    def path_drop_v(self, inflow_a: ComplexArray) -> ComplexArray:
        """Drop from the source to each node and conductor, (K, N, 4) to (K, N, 4). [V]

        The neutral's is its rise, counted from where it begins.
        """
        own = inflow_a * self._impedance_ohm
        total: ComplexArray = np.matmul(self._path, own)
        if self._neutral_path is not self._path:
            total[:, :, NEUTRAL] = own[:, :, NEUTRAL] @ self._neutral_path.T
        return total


def _paths(parent: Sequence[int], is_root: Sequence[bool] | None = None) -> ComplexArray:
    """Row by node: 1 for every node whose feeder is on its way to the source, or to its root."""
    rows: list[int] = []
    for node, above in enumerate(parent):
        if is_root is not None and is_root[node]:
            rows.append(0)
        else:
            rows.append((rows[above] if above >= 0 else 0) | 1 << node)
    size = len(parent) // 8 + 1
    packed = np.frombuffer(b"".join([row.to_bytes(size, "little") for row in rows]), dtype=np.uint8)
    bits = np.unpackbits(packed.reshape(-1, size), axis=1, count=len(parent), bitorder="little")
    return bits.astype(np.complex128)


class SweptTree:
    """The map as running sums along the tree: down for currents, back out for voltages."""

    def __init__(self, wiring: Wiring) -> None:
        nodes = len(wiring.parent)
        children: list[list[int]] = [[] for _ in range(nodes)]
        for node, parent in enumerate(wiring.parent[1:], start=1):
            children[parent].append(node)
        enter, leave, clock = [0] * nodes, [0] * nodes, 0
        ahead = [(0, False)]
        while ahead:
            node, is_done = ahead.pop()
            if is_done:
                leave[node] = clock
            else:
                enter[node] = clock
                ahead.append((node, True))
                ahead.extend((child, False) for child in reversed(children[node]))
            clock += 1
        self._enter = np.array(enter)
        self._leave = np.array(leave)
        self._impedance_ohm = wiring.impedance_ohm
        self._neutral_ohm = wiring.impedance_ohm[:, NEUTRAL]
        self._roots = np.flatnonzero(np.asarray(wiring.is_root))
        order = np.argsort(self._enter[wiring.node], kind="stable")
        at = self._enter[wiring.node][order]
        self._order = order
        self._first_branch = np.searchsorted(at, self._enter, side="left")
        self._end_branch = np.searchsorted(at, self._leave, side="right")
        self._node = wiring.node
        self._feeds = wiring.sign * _RETURNS
        self._root_of = self._neutral_root(wiring)
        self._lead_ohm = wiring.lead_ohm
        self._blocks = np.array(wiring.blocks, dtype=np.intp).reshape(-1, 3)
        self._block_ohm = np.array(wiring.block_ohm).reshape(-1, 3, 3)

    @staticmethod
    def _neutral_root(wiring: Wiring) -> NDArray[np.intp]:
        """Per node, the root of its own neutral; -1 where that is the source."""
        root: list[int] = []
        for node, parent in enumerate(wiring.parent):
            above = root[parent] if parent >= 0 else -1
            root.append(node if wiring.is_root[node] else above)
        return np.array(root)

    def drop_v(self, current_a: ComplexArray) -> ComplexArray:
        """Drop that branch currents cause in every branch, both (K, B). [V]"""
        path = self.path_drop_v(self.inflow_a(current_a))
        # Of the neutral it is the rise that counts, so that the way out and back reads the same.
        drop: ComplexArray = (path[:, self._node] * self._feeds).sum(axis=2)
        if self._lead_ohm is not None:
            drop += current_a * self._lead_ohm
        if len(self._blocks):
            shared = np.einsum("kti,tij->ktj", current_a[:, self._blocks], self._block_ohm)
            drop[:, self._blocks] += shared
        return drop

    def inflow_a(self, current_a: ComplexArray) -> ComplexArray:
        """Currents in each node's feeder, (K, B) to (K, N, 4); the neutral's is what returns."""
        rows, branches = current_a.shape
        running = np.zeros((rows, branches + 1, NEUTRAL + 1), dtype=np.complex128)
        spread = current_a[:, self._order, None] * self._feeds[self._order]
        np.cumsum(spread, axis=1, out=running[:, 1:])
        inflow: ComplexArray = running[:, self._end_branch] - running[:, self._first_branch]
        if len(self._roots):
            self._cut(inflow)
        return inflow

    def path_drop_v(self, inflow_a: ComplexArray) -> ComplexArray:
        """Drop from the source to each node and conductor, (K, N, 4) to (K, N, 4). [V]

        The neutral's is its rise, counted from where it begins.
        """
        own = inflow_a * self._impedance_ohm
        steps = np.zeros((len(own), 2 * own.shape[1], NEUTRAL + 1), dtype=np.complex128)
        steps[:, self._enter] = own
        steps[:, self._leave] = -own
        total: ComplexArray = np.cumsum(steps, axis=1, out=steps)[:, self._enter]
        if len(self._roots):
            floating = self._root_of >= 0
            roots = self._root_of[floating]
            total[:, floating, NEUTRAL] -= total[:, roots, NEUTRAL]
        return total

    def _cut(self, inflow_a: ComplexArray) -> None:
        """Nothing returns across the open end of a floating neutral."""
        for root in self._roots[::-1]:
            crossing = inflow_a[:, root, NEUTRAL].copy()
            is_above = (self._enter <= self._enter[root]) & (self._leave >= self._leave[root])
            inflow_a[:, is_above, NEUTRAL] -= crossing[:, None]


PathTree = DenseTree | SweptTree


def path_tree(wiring: Wiring) -> PathTree:
    """The map in the form that suits the size of the layout.

    Parameters
    ----------
    wiring : Wiring
        Tree, impedances and branches.

    Returns
    -------
    DenseTree or SweptTree
        The map from branch currents to branch voltages, feeder currents and node voltages.

    References
    ----------
    .. [1] Backward-forward sweep for radial networks (power-systems literature, from memory).
    """
    is_small = len(wiring.parent) <= DENSE_LIMIT and len(wiring.node) <= DENSE_LIMIT
    return DenseTree(wiring) if is_small else SweptTree(wiring)
