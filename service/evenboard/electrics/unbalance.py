"""How uneven three phases are, in the figures that standards and people use."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from evenboard.electrics.layout import NEUTRAL
from evenboard.electrics.solution import ComplexArray, FloatArray, Solution

__all__ = [
    "Sequence",
    "Unbalance",
    "cigre_unbalance_pct",
    "nema_unbalance_pct",
    "sequence_components",
    "spread",
    "unbalance",
]

_TURN = np.exp(2j * np.pi / 3.0)
_NOTHING = 1e-12
"""Share of the largest value below which a sum counts as nothing flowing."""


@dataclass(frozen=True, slots=True, eq=False)
class Sequence:
    """Symmetrical components of three phasors, each complex, of one shape."""

    zero: ComplexArray
    positive: ComplexArray
    negative: ComplexArray

    @property
    def negative_pct(self) -> FloatArray:
        """Negative over positive sequence; 0 where nothing flows. [%]"""
        positive, negative = np.abs(self.positive), np.abs(self.negative)
        share = np.zeros_like(positive)
        np.divide(100.0 * negative, positive, out=share, where=positive > _NOTHING * negative)
        return share


@dataclass(frozen=True, slots=True, eq=False)
class Unbalance:
    """Unbalance of every node, all shapes (S, N); 0 at nodes that have not three lines.

    ``current_pct`` in the NEMA form and ``spread_a`` (highest less lowest line) on true RMS
    currents; ``negative_sequence_pct`` I2/I1 of the fundamentals, ``negative_sequence_a`` their I2;
    ``voltage_pct`` V2/V1 against the node's own neutral.
    """

    current_pct: FloatArray
    spread_a: FloatArray
    negative_sequence_pct: FloatArray
    negative_sequence_a: FloatArray
    voltage_pct: FloatArray


def sequence_components(phasors: ArrayLike) -> Sequence:
    """Symmetrical components of three phasors of sequence L1 L2 L3.

    Parameters
    ----------
    phasors : array_like of complex, shape (..., 3)
        Phasors of L1 L2 L3, currents or voltages, RMS. [A or V]

    Returns
    -------
    Sequence
        Zero, positive and negative sequence, each of shape (...,), referred to L1. [A or V]

    Raises
    ------
    ValueError
        If the last axis has not three entries.

    References
    ----------
    .. [1] Fortescue's symmetrical components, any power-systems textbook.

    Examples
    --------
    >>> parts = sequence_components([100.0, 0.0, 0.0])
    >>> f"{abs(parts.positive):.1f} {abs(parts.negative):.1f}"
    '33.3 33.3'
    """
    values = np.asarray(phasors, dtype=np.complex128)
    _need_three(values.shape)
    first, second, third = values[..., 0], values[..., 1], values[..., 2]
    return Sequence(
        zero=np.asarray((first + second + third) / 3.0),
        positive=np.asarray((first + _TURN * second + _TURN**2 * third) / 3.0),
        negative=np.asarray((first + _TURN**2 * second + _TURN * third) / 3.0),
    )


def nema_unbalance_pct(magnitudes: ArrayLike) -> FloatArray:
    """Largest deviation from the mean, over the mean.

    Parameters
    ----------
    magnitudes : array_like, shape (..., 3)
        Currents, or line-to-line voltages, RMS. [A or V]

    Returns
    -------
    ndarray, shape (...,)
        Unbalance; 0 where nothing flows. [%]

    Raises
    ------
    ValueError
        If the last axis has not three entries.

    References
    ----------
    .. [1] NEMA MG 1, 14.36 (from memory): 460, 467, 450 V are 1.96 % unbalanced.

    Examples
    --------
    >>> round(float(nema_unbalance_pct([460, 467, 450])), 2)
    1.96
    """
    values = np.asarray(magnitudes, dtype=np.float64)
    _need_three(values.shape)
    mean = values.mean(axis=-1)
    deviation = np.abs(values - mean[..., None]).max(axis=-1)
    share: FloatArray = np.zeros_like(mean)
    np.divide(100.0 * deviation, mean, out=share, where=mean > 0.0)
    return share


def spread(magnitudes: ArrayLike) -> FloatArray:
    """Highest less lowest of three phases.

    Parameters
    ----------
    magnitudes : array_like, shape (..., 3)
        Currents, RMS. [A]

    Returns
    -------
    ndarray, shape (...,)
        Spread. [A]

    Raises
    ------
    ValueError
        If the last axis has not three entries.

    References
    ----------
    .. [1] Common practice, no source: what a crew reads off a clamp meter.

    Examples
    --------
    >>> float(spread([31.0, 24.0, 9.0]))
    22.0
    """
    values = np.asarray(magnitudes, dtype=np.float64)
    _need_three(values.shape)
    return np.asarray(values.max(axis=-1) - values.min(axis=-1), dtype=np.float64)


def cigre_unbalance_pct(line_to_line_v: ArrayLike) -> FloatArray:
    """Voltage unbalance V2/V1 from the three line-to-line magnitudes alone.

    Parameters
    ----------
    line_to_line_v : array_like, shape (..., 3)
        Line-to-line voltages that close a triangle, RMS. [V]

    Returns
    -------
    ndarray, shape (...,)
        Negative over positive sequence voltage. [%]

    Raises
    ------
    ValueError
        If the last axis has not three entries, or three voltages close no triangle.

    References
    ----------
    .. [1] CIGRE form, with ``beta = sum(V^4) / sum(V^2)^2`` (from memory; equal to the sequence
       ratio).

    Examples
    --------
    >>> round(float(cigre_unbalance_pct([480, 476, 472])), 3)
    0.97
    """
    values = np.asarray(line_to_line_v, dtype=np.float64)
    _need_three(values.shape)
    squares = values**2
    total = squares.sum(axis=-1)
    if not np.all(total > 0.0):
        raise ValueError("line-to-line voltages must be above 0 V")
    beta = (squares**2).sum(axis=-1) / total**2
    inside = 3.0 - 6.0 * beta
    if not np.all(inside >= -1e-9):
        raise ValueError("three line-to-line voltages must close a triangle")
    root = np.sqrt(np.clip(inside, 0.0, None))
    # (1 - root) loses all digits near balance; its product with (1 + root) does not.
    small = np.clip(6.0 * beta - 2.0, 0.0, None)
    return np.asarray(100.0 * np.sqrt(small) / (1.0 + root), dtype=np.float64)


def unbalance(solution: Solution) -> Unbalance:
    """Unbalance of every node of a solved layout.

    Parameters
    ----------
    solution : Solution
        The solved layout.

    Returns
    -------
    Unbalance
        Current and voltage unbalance, shape (S, N). [%, A]

    References
    ----------
    .. [1] NEMA MG 1, 14.36, form (from memory); EN 50160 voltage unbalance V2/V1.
    """
    layout = solution.layout
    three = [len(layout.supply.lines) == NEUTRAL]
    three += [len(board.supply_lines) == NEUTRAL for board in layout.boards]
    has_three = np.array(three)
    rms_a = solution.inflow.rms_a[:, :, :NEUTRAL]
    current = sequence_components(solution.inflow.fundamental_a[:, :, :NEUTRAL])
    own = solution.voltage_v
    voltage = sequence_components(own[:, :, :NEUTRAL] - own[:, :, NEUTRAL:])
    return Unbalance(
        current_pct=nema_unbalance_pct(rms_a) * has_three,
        spread_a=spread(rms_a) * has_three,
        negative_sequence_pct=current.negative_pct * has_three,
        negative_sequence_a=np.abs(current.negative) * has_three,
        voltage_pct=voltage.negative_pct * has_three,
    )


def _need_three(shape: tuple[int, ...]) -> None:
    if not shape or shape[-1] != NEUTRAL:
        raise ValueError(f"three phases are needed on the last axis, not shape {shape}")
