"""What one lamp's dropping out does to the supply: a discharge lamp restrikes for minutes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenboard.electrics.branchflow import branch_state
from evenboard.electrics.layout import NEUTRAL
from evenboard.electrics.network import network
from evenboard.electrics.powerflow import scale_of, solution_of
from evenboard.electrics.solution import BoolArray, FloatArray, Solution
from evenboard.electrics.unbalance import sequence_components, spread

__all__ = ["EXACT_LIMIT", "DropOut", "drop_out"]

EXACT_LIMIT = 128
"""Loads of a set-up up to which every one's dropping out is solved. Of more, the largest of each
line are: spread and neutral are convex in the current that goes missing on a line, so that the
worst is among them."""


@dataclass(frozen=True, slots=True, eq=False)
class DropOut:
    """The supply with any one load off, row ``[s, l]`` with load ``l`` of set-up ``s`` off.

    ``line_a`` (S, L, 3) and ``neutral_a`` (S, L) are true RMS; ``spread_a`` and
    ``negative_sequence_a`` (S, L), 0 on a supply that has not three lines. ``is_solved`` (S, L) is
    False where the load was off anyway, where there is no solution, or where larger ones of its
    line stand for it (see :data:`EXACT_LIMIT`); the row then has the figures with all on.
    """

    line_a: FloatArray
    neutral_a: FloatArray
    spread_a: FloatArray
    negative_sequence_a: FloatArray
    is_solved: BoolArray


def drop_out(solution: Solution) -> DropOut:
    """Currents at the supply with any single load off, in every set-up.

    Parameters
    ----------
    solution : Solution
        The solved layout.

    Returns
    -------
    DropOut
        Currents of shape (S, L) and (S, L, 3). [A]

    References
    ----------
    .. [1] The power flow itself, once for each load that is on.
    """
    layout = solution.layout
    setups, loads = solution.on.shape
    net = network(layout)
    is_live = np.zeros(loads, dtype=np.bool_)
    is_live[net.branches.load] = True
    burning = solution.on & is_live & solution.converged[:, None]
    chosen = burning & _shortlist(solution, burning)
    setup, load = np.nonzero(chosen)

    line_a = np.repeat(solution.inflow.rms_a[:, None, 0, :], loads, axis=1)
    fundamental = np.repeat(solution.inflow.fundamental_a[:, None, 0, :NEUTRAL], loads, axis=1)
    solved = np.zeros((setups, loads), dtype=np.bool_)
    if len(setup):
        on = solution.on[setup]
        on[np.arange(len(load)), load] = False
        after = solution_of(net, on, branch_state(net, scale_of(net, on)))
        line_a[setup, load] = after.inflow.rms_a[:, 0]
        fundamental[setup, load] = after.inflow.fundamental_a[:, 0, :NEUTRAL]
        solved[setup, load] = after.converged
    has_three = len(layout.supply.lines) == NEUTRAL
    return DropOut(
        line_a=line_a[:, :, :NEUTRAL],
        neutral_a=line_a[:, :, NEUTRAL],
        spread_a=spread(line_a[:, :, :NEUTRAL]) * has_three,
        negative_sequence_a=np.abs(sequence_components(fundamental).negative) * has_three,
        is_solved=solved,
    )


def _shortlist(solution: Solution, burning: BoolArray) -> BoolArray:
    """The loads worth a solution of their own, (S, L)."""
    if burning.sum(axis=1).max(initial=0) <= EXACT_LIMIT:
        return burning
    kind = np.array(
        [
            load.supply_lines[0] if len(load.supply_lines) == 1 else NEUTRAL
            for load in solution.layout.loads
        ]
    )
    listed = np.zeros_like(burning)
    share = EXACT_LIMIT // (NEUTRAL + 1)
    for group in range(NEUTRAL + 1):
        size = np.where(burning & (kind == group), solution.load_current_a, 0.0)
        largest = np.argsort(-size, axis=1, kind="stable")[:, :share]
        np.put_along_axis(listed, largest, True, axis=1)
    return listed
