"""How a figure is held against a limit over all set-ups, and the place and words of the outcome."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from evenboard.electrics.solution import FloatArray
from evenboard.findings.finding import Where
from evenboard.findings.words import counted, line_name

if TYPE_CHECKING:
    from evenboard.findings.view import View

__all__ = ["ROUNDING", "Worst", "at", "in_setup", "in_setups", "over"]

ROUNDING = 1e-9
"""Relative: a figure equal to its limit but for the rounding of binary numbers is not over it."""


@dataclass(frozen=True, slots=True)
class Worst:
    """The highest figure of a place: in which set-up, how much, and how many more are over."""

    setup: int
    value: float
    others: int


def over(view: View, values: FloatArray, limit: float) -> Worst | None:
    """The worst of the solved set-ups, (S,), where it is above a limit; None where none is."""
    limit_up = limit + ROUNDING * max(abs(limit), 1.0)
    # Most figures are below their limit in all set-ups, solved or not.
    if values.max(initial=-np.inf) <= limit_up:
        return None
    judged = np.where(view.solved, values, -np.inf)
    above = judged > limit_up
    if not above.any():
        return None
    setup = int(np.argmax(judged))
    return Worst(setup, float(judged[setup]), int(above.sum()) - 1)


def at(
    view: View,
    node: int,
    *,
    line: int | None = None,
    outlet: str | None = None,
    load: int | None = None,
    setup: int | None = None,
) -> Where:
    """A place by the layout's own ids; a line by the node's own name for it."""
    layout = view.layout
    return Where(
        board=None if node == 0 else layout.boards[node - 1].id,
        phase=None if line is None else line_name(layout, node, line),
        outlet=outlet,
        load=None if load is None else layout.loads[load].id,
        setup=None if setup is None else layout.setups[setup],
    )


def in_setup(view: View, setup: int) -> str:
    """`` in close``; nothing where there is only one set-up."""
    setups = view.layout.setups
    return f" in {setups[setup]}" if len(setups) > 1 else ""


def in_setups(view: View, worst: Worst) -> str:
    """`` in close and 2 other set-ups``; nothing where there is only one set-up."""
    words = in_setup(view, worst.setup)
    if words and worst.others:
        words += f" and {counted(worst.others, 'other set-up')}"
    return words
