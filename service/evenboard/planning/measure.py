"""How amps are counted and compared, and how work is counted.

Sums are exact whole numbers of microamps, so that no order of adding and no machine changes them.
They are compared in steps of 0.1 A, what a clamp meter shows; finer is noise.
"""

from __future__ import annotations

from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

__all__ = [
    "CALL",
    "STEP",
    "UNIT",
    "FloatArray",
    "IntArray",
    "Levels",
    "ShortArray",
    "Work",
    "evenness",
    "extremes",
    "spread_at_most",
    "step_of",
]

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]
ShortArray = NDArray[np.int16]
Amounts = TypeVar("Amounts", IntArray, FloatArray, ShortArray)
Levels = tuple[int, int, int]
"""Highest line, largest spread, sum of spreads, each in steps of 0.1 A."""

UNIT = 1_000_000
"""Microamps in an ampere."""

STEP = 100_000
"""Microamps in a step of comparison."""


def step_of(microamps: int) -> int:
    """The step that an amount is shown as: 0.1 A each, halves upward.

    Parameters
    ----------
    microamps : int
        An amount, 0 or more. [uA]

    Returns
    -------
    int
        Its step. [0.1 A]

    References
    ----------
    .. [1] A clamp meter's display of one decimal; common practice, no source.

    Examples
    --------
    >>> step_of(8_695_652), step_of(8_649_999)
    (87, 86)
    """
    return (microamps + STEP // 2) // STEP


def spread_at_most(step: int) -> int:
    """The largest amount that is shown as no more than a step.

    Parameters
    ----------
    step : int
        A step. [0.1 A]

    Returns
    -------
    int
        The amount. [uA]

    References
    ----------
    .. [1] The inverse of :func:`step_of`.

    Examples
    --------
    >>> step_of(spread_at_most(86)), step_of(spread_at_most(86) + 1)
    (86, 87)
    """
    return step * STEP + STEP // 2 - 1


def evenness(sums: IntArray) -> tuple[IntArray, IntArray, IntArray]:
    """Highest line, largest spread and sum of spreads of many candidates.

    Parameters
    ----------
    sums : ndarray of int64, shape (..., setups, lines)
        Sum of each line in each set-up. [uA]

    Returns
    -------
    tuple of ndarray of int64, each shape (...)
        In steps. [0.1 A]

    References
    ----------
    .. [1] Minimising the largest machine's load: R. L. Graham, "Bounds on multiprocessing timing
       anomalies", SIAM J. Appl. Math. 17 (1969); here in every set-up at once.

    Examples
    --------
    >>> [int(x) for x in evenness(np.array([[8_695_652, 8_695_652, 0]]))]
    [87, 87, 87]
    """
    highest = sums.max(axis=-1)
    spread = highest - sums.min(axis=-1)
    half = STEP // 2
    return (
        (highest.max(axis=-1) + half) // STEP,
        (spread.max(axis=-1) + half) // STEP,
        (spread.sum(axis=-1) + half) // STEP,
    )


def extremes(lines: Amounts) -> tuple[Amounts, Amounts]:
    """Highest and lowest line of many candidates that stand side by side.

    Parameters
    ----------
    lines : ndarray, shape (lines, ...)
        Sums, one candidate beside the other in the last axis: a few long rows are compared far
        faster than many short ones. [any unit]

    Returns
    -------
    tuple of ndarray, each of the shape of a line
        In the same unit.

    References
    ----------
    .. [1] None; bookkeeping.
    """
    highest, lowest = lines[0], lines[0]
    for other in lines[1:]:
        highest, lowest = np.maximum(highest, other), np.minimum(lowest, other)
    return highest, lowest


CALL = 2_000
"""Array elements that the calling of an array operation costs as much as."""


class Work:
    """A budget of work units: array elements touched, the same count on every machine."""

    __slots__ = ("budget", "spent")

    def __init__(self, budget: int) -> None:
        self.budget = budget
        self.spent = 0

    def spend(self, units: int, calls: int = 0) -> None:
        """Count work that has been done: array elements, and calls that each cost as many."""
        self.spent += units + calls * CALL

    @property
    def left(self) -> int:
        """Units that may still be spent; negative once the budget is overdrawn."""
        return self.budget - self.spent
