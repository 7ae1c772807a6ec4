"""What a plan has to keep to: windows on the lines, levels, a target, a number of moves."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from evenboard.electrics.generator import line_rating_a
from evenboard.planning.measure import STEP, UNIT, IntArray, Levels, evenness, spread_at_most
from evenboard.planning.problem import Problem
from evenboard.planning.state import State

__all__ = ["ANYTHING", "NO_LIMIT", "Goal", "Window", "goal_of", "met", "window_for"]

NO_LIMIT = 1 << 40
"""A level that nothing exceeds."""

ANYTHING: Levels = (NO_LIMIT, NO_LIMIT, NO_LIMIT)


@dataclass(frozen=True, slots=True, eq=False)
class Window:
    """Where each line may end up, shape (S, m) each. [uA]"""

    low: IntArray
    high: IntArray


@dataclass(frozen=True, slots=True)
class Goal:
    """The target of a plan with the fewest moves: deviation from the mean, or spread.

    ``unbalance_pct`` is the largest deviation from the mean over the mean; ``spread`` is in uA.
    Exactly one is given.
    """

    unbalance_pct: float | None = None
    spread: int | None = None


def goal_of(problem: Problem) -> Goal | None:
    """The target that the options set, None where evenness alone counts.

    Parameters
    ----------
    problem : Problem
        What is planned.

    Returns
    -------
    Goal or None
        Without a figure of its own: the spread at which the findings fall silent.

    References
    ----------
    .. [1] NEMA MG 1 (from memory): largest deviation from the mean, over the mean.
    """
    options, layout = problem.options, problem.layout
    if options.objective != "fewest-moves":
        return None
    if options.target_current_unbalance_pct is not None:
        return Goal(unbalance_pct=options.target_current_unbalance_pct)
    share = layout.limits.spread_note_pct / 100.0
    return Goal(spread=int(line_rating_a(layout.supply) * share * UNIT))


def met(goal: Goal, sums: IntArray) -> NDArray[np.bool_]:
    """Whether sums meet a target in every set-up.

    Parameters
    ----------
    goal : Goal
        The target.
    sums : ndarray of int64, shape (..., S, m)
        Lines of the supply. [uA]

    Returns
    -------
    ndarray of bool, shape (...)
        True where they do. A set-up with nothing on meets every target.

    References
    ----------
    .. [1] As :func:`goal_of`.
    """
    highest, lowest = sums.max(axis=-1), sums.min(axis=-1)
    if goal.spread is not None:
        return np.asarray((highest - lowest <= goal.spread).all(axis=-1))
    lines, total = sums.shape[-1], sums.sum(axis=-1)
    apart = np.maximum(lines * highest - total, total - lines * lowest)
    pct = 0.0 if goal.unbalance_pct is None else goal.unbalance_pct
    return np.asarray((apart * 100.0 <= pct * total + 1e-6 * STEP).all(axis=-1))


def window_for(state: State, levels: Levels, *, constant: bool, goal: Goal | None = None) -> Window:
    """Where each line may end up so that levels and target can be kept.

    Parameters
    ----------
    state : State
        Its totals are those of every assignment.
    levels : tuple of int
        Steps that may be reached; of the third level nothing follows for a single line. [0.1 A]
    constant : bool
        Whether the totals stay as they are, whatever goes where.
    goal : Goal, optional
        A target to be met as well.

    Returns
    -------
    Window
        Every assignment within the levels is inside; not all inside are within the levels.

    References
    ----------
    .. [1] With sum ``t`` of ``m`` lines and spread ``d``, a line is within ``(t -+ (m-1) d) / m``.
    """
    lines = state.sums.shape[1]
    top, spread = spread_at_most(levels[0]), spread_at_most(levels[1])
    high = np.full_like(state.sums, top)
    low = np.zeros_like(state.sums)
    if not constant or lines < 2:
        return Window(low, high)
    total = state.sums.sum(axis=1)[:, None]
    if goal is not None and goal.spread is not None:
        spread = min(spread, goal.spread)
    low = np.maximum(low, -((-(total - (lines - 1) * spread)) // lines))
    low = np.maximum(low, total - (lines - 1) * top)
    high = np.minimum(high, (total + (lines - 1) * spread) // lines)
    if goal is not None and goal.unbalance_pct is not None:
        play = np.floor(total * (goal.unbalance_pct / 100.0) / lines).astype(np.int64) + 2
        low = np.maximum(low, total // lines - play)
        high = np.minimum(high, -(-total // lines) + play)
    return Window(low, high)


def within(sums: IntArray, levels: Levels, goal: Goal | None) -> NDArray[np.bool_]:
    """Whether sums of shape (..., S, m) keep to levels and target."""
    highest, spread, total = evenness(sums)
    keep = (highest <= levels[0]) & (spread <= levels[1])
    keep &= (highest < levels[0]) | (spread < levels[1]) | (total <= levels[2])
    return keep if goal is None else keep & met(goal, sums)
