"""Which set-up is the worst for a figure, and reading one figure out of an array."""

from __future__ import annotations

import math

import numpy as np

from evenboard.electrics.solution import BoolArray, FloatArray

__all__ = ["figure", "highest", "lowest", "worst_setup"]


def worst_setup(figures: FloatArray, solved: BoolArray) -> int | None:
    """The solved set-up with the highest figure, the first of equals; None where none is solved.

    ``figures`` has the set-ups on its first axis; a set-up counts by its highest figure.
    """
    if not solved.any():
        return None
    by_setup = figures.reshape(len(figures), -1)
    if by_setup.shape[1] == 0:
        return int(np.argmax(solved))
    peaks = np.where(solved, np.nan_to_num(by_setup, nan=0.0).max(axis=1), -math.inf)
    return int(np.argmax(peaks))


def highest(figures: FloatArray, solved: BoolArray) -> float | None:
    """The highest figure over the solved set-ups; None where none is solved."""
    if figures.size == 0 or not solved.any():
        return None
    return figure(figures[solved].max())


def lowest(figures: FloatArray, solved: BoolArray) -> float | None:
    """The lowest figure over the solved set-ups; None where none is solved."""
    if figures.size == 0 or not solved.any():
        return None
    return figure(figures[solved].min())


def figure(value: float | np.float64 | FloatArray) -> float | None:
    """A plain number from a scalar of an array; None for one that is not finite."""
    number = float(value)
    return number if math.isfinite(number) else None
