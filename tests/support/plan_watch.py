"""When the planner first held a plan of some quality: its assignments, noted as they change."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

import pytest

from evenboard.planning import Plan, plan
from evenboard.planning.measure import UNIT
from evenboard.planning.problem import OUT
from evenboard.planning.reading import problem_of
from evenboard.planning.state import State
from support.plans import Instance

__all__ = ["Quality", "reached_at"]

Quality = tuple[float, float, int | None]
"""Highest line and largest spread in amps, and moves or None."""

CHANGES = ("put", "fill", "exchange", "take_from")


@contextmanager
def noted() -> Iterator[list[tuple[float, Any]]]:
    """Every assignment that the planner has held meanwhile, and when."""
    seen: list[tuple[float, Any]] = []
    with pytest.MonkeyPatch.context() as patch:
        for name in CHANGES:
            patch.setattr(State, name, _noting(getattr(State, name), seen))
        yield seen


def _noting(change: Callable[..., Any], seen: list[tuple[float, Any]]) -> Callable[..., Any]:
    def noting(self: State, *args: Any) -> Any:
        result = change(self, *args)
        seen.append((time.perf_counter(), self.bin.copy()))
        return result

    return noting


def reached_at(instance: Instance, wanted: Quality) -> tuple[Plan, float | None]:
    """A plan, and when the planner first held one so good, from the layout on. [s]"""
    start = time.perf_counter()
    with noted() as seen:
        found = plan(instance.layout, instance.options)
    problem = problem_of(instance.layout, instance.options)
    out = len(found.unplaced)
    for at, bins in seen:
        if int((bins == OUT).sum()) <= out and is_as_good(State(problem, bins), wanted):
            return found, at - start
    return found, None


def is_as_good(state: State, wanted: Quality) -> bool:
    """Whether a state is sound and no worse."""
    highest, spread, moves = wanted
    lines = state.sums / UNIT
    return (
        bool(lines.max() <= highest)
        and bool((lines.max(axis=1) - lines.min(axis=1)).max() <= spread)
        and (moves is None or state.moves <= moves)
        and state.is_sound
    )
