"""The neutral: what it carries, the most it can carry, and what happens when it opens."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from evenboard.electrics.branchflow import branch_state
from evenboard.electrics.layout import NEUTRAL, Layout
from evenboard.electrics.network import FIFTH, line_angles_rad, network
from evenboard.electrics.powerflow import scale_of, solution_of
from evenboard.electrics.solution import BoolArray, FloatArray, Solution

__all__ = [
    "OpenNeutral",
    "WorstSwitching",
    "largest_subset_sum",
    "neutral_current_a",
    "open_neutral",
    "worst_switching",
]


@dataclass(frozen=True, slots=True, eq=False)
class WorstSwitching:
    """The largest neutral current that any on/off combination of the loads can make.

    ``current_a`` is RMS, with its parts: ``fundamental_a`` exact, ``triplen_a`` and ``rest_a`` safe
    bounds, each of shape (S,). ``on`` (S, L) are the loads that make the fundamental largest.
    """

    current_a: FloatArray
    fundamental_a: FloatArray
    triplen_a: FloatArray
    rest_a: FloatArray
    on: BoolArray


@dataclass(frozen=True, slots=True, eq=False)
class OpenNeutral:
    """What the lamps get when a neutral opens.

    ``voltage_v`` (S, 3) is each line against the floating star point at the node whose feeder is
    open, ``star_point_v`` (S,) that point against earth, ``load_voltage_v`` (S, L) across each
    load, 0 where it is off. Rows that find no rest are not ``converged`` (S,) and hold zeros.
    """

    node: int
    voltage_v: FloatArray
    star_point_v: FloatArray
    load_voltage_v: FloatArray
    converged: BoolArray


def neutral_current_a(
    fundamental_a: ArrayLike, triplen_a: ArrayLike = 0.0, rest_a: ArrayLike = 0.0
) -> FloatArray:
    """True RMS current in the neutral of a four-wire, three-phase board.

    Parameters
    ----------
    fundamental_a : array_like of complex, shape (..., 3)
        Fundamental phasors of L1 L2 L3, referred to one angle. [A]
    triplen_a : array_like, shape (..., 3)
        Harmonics of order 3, 9, 15 ... of each line; they are in phase and add arithmetically. [A]
    rest_a : array_like of complex, shape (..., 3)
        The other harmonics, lumped as phasors. [A]

    Returns
    -------
    ndarray, shape (...,)
        Current in the neutral, RMS. [A]

    References
    ----------
    .. [1] ``I_N^2 = |sum I1|^2 + (sum I3)^2 + ...``, power-quality practice (from memory).

    Examples
    --------
    >>> float(neutral_current_a([10.0, 10.0, 0.0] * np.exp([0, -2j * np.pi / 3, 0])).round(3))
    10.0
    """
    fundamental = np.asarray(fundamental_a, dtype=np.complex128).sum(axis=-1)
    triplen = np.asarray(triplen_a, dtype=np.float64)
    rest = np.asarray(rest_a, dtype=np.complex128)
    triplen_sum = triplen.sum(axis=-1) if triplen.ndim else triplen
    rest_sum = rest.sum(axis=-1) if rest.ndim else rest
    square = np.abs(fundamental) ** 2 + triplen_sum**2 + np.abs(rest_sum) ** 2
    return np.asarray(np.sqrt(square), dtype=np.float64)


def largest_subset_sum(phasors: ArrayLike) -> tuple[FloatArray, BoolArray]:
    """Largest magnitude that the sum of any subset of phasors can have.

    Parameters
    ----------
    phasors : array_like of complex, shape (S, n)
        Phasors, a row at a time. [A]

    Returns
    -------
    magnitude : ndarray, shape (S,)
        Largest sum over all 2^n subsets, exact. [A]
    member : ndarray of bool, shape (S, n)
        A subset that makes it, without phasors that are zero.

    Notes
    -----
    The subset sums lie in a zonotope, whose corners are sums over half planes. Turning the half
    plane once around meets every corner: a phasor enters a quarter turn before its own angle and
    leaves a quarter turn after. Sorting those events costs O(n log n).

    References
    ----------
    .. [1] Support of a zonotope in the plane, computational-geometry textbooks (from memory);
       brute force over all subsets in the tests.

    Examples
    --------
    >>> magnitude, member = largest_subset_sum([[3.0, 4.0j, -1.0]])
    >>> float(magnitude[0]), member[0].tolist()
    (5.0, [True, True, False])
    """
    values = np.asarray(phasors, dtype=np.complex128)
    rows, count = values.shape
    if count == 0:
        return np.zeros(rows), np.zeros((rows, 0), dtype=np.bool_)
    angle = np.angle(values)
    enter = _wrapped(angle - 0.5 * np.pi)
    leave = _wrapped(angle + 0.5 * np.pi)
    starts_inside = enter > leave
    order = np.argsort(np.concatenate([enter, leave], axis=1), axis=1, kind="stable")
    change = np.take_along_axis(np.concatenate([values, -values], axis=1), order, axis=1)
    sums = np.zeros((rows, 2 * count + 1), dtype=np.complex128)
    sums[:, 0] = (values * starts_inside).sum(axis=1)
    np.cumsum(change, axis=1, out=sums[:, 1:])
    sums[:, 1:] += sums[:, :1]
    best = np.abs(sums).argmax(axis=1)
    rank = np.empty_like(order)
    np.put_along_axis(rank, order, np.arange(2 * count)[None, :], axis=1)
    has_entered = rank[:, :count] < best[:, None]
    has_left = rank[:, count:] < best[:, None]
    member = np.where(starts_inside, ~has_left | has_entered, has_entered & ~has_left)
    member &= values != 0.0
    return np.abs((values * member).sum(axis=1)), member


def worst_switching(solution: Solution, node: int = 0) -> WorstSwitching:
    """Largest neutral current at a node over every on/off combination of each set-up's loads.

    Parameters
    ----------
    solution : Solution
        The solved layout.
    node : int
        Node whose neutral is meant: 0 the supply, ``b + 1`` board ``b``.

    Returns
    -------
    WorstSwitching
        Currents of shape (S,) and the loads that make them. [A]

    Notes
    -----
    Each load keeps the current that it draws with all of the set-up on. The fundamental is then
    exact. The triplens are taken with all on, which bounds every combination (on a three-wire
    supply, where two legs oppose each other, the larger leg), and the rest by its own worst
    combination.

    References
    ----------
    .. [1] :func:`largest_subset_sum`.
    """
    layout = solution.layout
    below = loads_below(layout, node)
    fundamental, on = largest_subset_sum(np.where(below, solution.load_neutral_a, 0.0))
    angles = np.array(line_angles_rad(layout.supply))
    line = np.array([load.supply_lines[0] if load.supply_lines else 0 for load in layout.loads])
    single = np.array([len(load.supply_lines) == 1 for load in layout.loads], dtype=np.bool_)
    star = np.array([load.connection == "star" for load in layout.loads], dtype=np.bool_)
    if not len(layout.loads):
        nothing = np.zeros(len(solution.on))
        return WorstSwitching(nothing, nothing, nothing, nothing, on)
    triplen = solution.load_triplen_a * below * (single + 3.0 * star)
    opposed = np.cos(3.0 * angles)[line] < 0.0
    legs = (triplen * ~opposed).sum(axis=1), (triplen * opposed).sum(axis=1)
    triplen_a = np.maximum(*legs)
    rest = solution.load_rest_a * (below & single) * np.exp(1j * FIFTH * angles[line])
    rest_a, _ = largest_subset_sum(rest)
    current_a = np.sqrt(fundamental**2 + triplen_a**2 + rest_a**2)
    return WorstSwitching(current_a, fundamental, triplen_a, rest_a, on)


def open_neutral(solution: Solution, node: int = 0) -> OpenNeutral:
    """Voltages when the neutral opens in a node's feeder while everything burns.

    Parameters
    ----------
    solution : Solution
        The solved layout.
    node : int
        Node whose feeder loses its neutral: 0 the supply's, ``b + 1`` that of board ``b``.

    Returns
    -------
    OpenNeutral
        Voltages of lines and loads with the star point floating. [V]

    References
    ----------
    .. [1] Floating star point from the sum of currents being zero (circuit textbooks), with each
       load's own model; electronics below their input range are taken as impedances (estimate).
    """
    layout = solution.layout
    net = network(layout, opened_at=node)
    after = solution_of(net, solution.on, branch_state(net, scale_of(net, solution.on)))
    own = after.voltage_v[:, node]
    lines = range(len(layout.supply.lines)) if node == 0 else layout.boards[node - 1].supply_lines
    has_line = np.isin(np.arange(NEUTRAL), list(lines))
    voltage = np.abs(own[:, :NEUTRAL] - own[:, NEUTRAL:]) * has_line
    return OpenNeutral(
        node=node,
        voltage_v=voltage,
        star_point_v=np.abs(own[:, NEUTRAL]),
        load_voltage_v=after.load_voltage_v,
        converged=after.converged,
    )


def loads_below(layout: Layout, node: int) -> BoolArray:
    """Which loads hang at or below a node.

    Parameters
    ----------
    layout : Layout
        The layout.
    node : int
        The node: 0 the supply, ``b + 1`` board ``b``.

    Returns
    -------
    ndarray of bool, shape (L,)
        True for plugged loads at or below it.

    References
    ----------
    .. [1] The layout's own tree.
    """
    inside = [node == 0]
    for index, board in enumerate(layout.boards):
        parent = 0 if board.parent is None else board.parent + 1
        inside.append(inside[parent] or index + 1 == node)
    return np.array(
        [load.board is not None and inside[load.board + 1] for load in layout.loads],
        dtype=np.bool_,
    )


def _wrapped(angle: FloatArray) -> FloatArray:
    """The same angle within half a turn of zero."""
    wrapped: FloatArray = np.where(angle > np.pi, angle - 2.0 * np.pi, angle)
    return np.where(wrapped <= -np.pi, wrapped + 2.0 * np.pi, wrapped)
