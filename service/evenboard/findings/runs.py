"""Feeders and leads as solved: what each core carries, may carry, and how warm it gets."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from evenboard.electrics.capacity import Capacity, loaded_core_count, run_capacity
from evenboard.electrics.layout import NEUTRAL, Run
from evenboard.electrics.solution import FloatArray
from evenboard.electrics.thermal import (
    core_spread_k,
    differential_expansion_mm,
    run_temperature_c,
)
from evenboard.findings.figures import RunFigures
from evenboard.findings.finding import Where
from evenboard.findings.judging import ROUNDING, at
from evenboard.findings.words import line_name

if TYPE_CHECKING:
    from evenboard.findings.view import View

__all__ = [
    "at_run",
    "capacity_of",
    "carries",
    "core_name",
    "feeder_figures",
    "lead_figures",
    "needed_capacity_a",
    "worst_core",
]

SIZING_MARGIN = 0.97
"""Share of its capacity to which a newly chosen run is loaded at most, for what the currents change
by it; estimate."""


def feeder_figures(view: View) -> tuple[RunFigures, ...]:
    """The figures of every feeder that is entered."""
    return tuple(
        _figures(view, run, view.rms_a[:, index + 1], board=index)
        for index, run in enumerate(board.feeder for board in view.layout.boards)
        if run is not None
    )


def lead_figures(view: View) -> tuple[RunFigures, ...]:
    """The figures of every lead that is entered, of loads that are plugged."""
    return tuple(
        _figures(view, load.lead, view.own_a(index), load=index)
        for index, load in enumerate(view.layout.loads)
        if load.lead is not None and load.supply_lines
    )


def _figures(
    view: View,
    run: Run,
    current_a: FloatArray,
    *,
    board: int | None = None,
    load: int | None = None,
) -> RunFigures:
    if board is not None:
        lines = view.layout.boards[board].supply_lines
        third = view.third_harmonic_pct[:, board + 1]
        loss = view.solution.loss_w[:, board + 1]
        has_neutral = view.layout.boards[board].neutral
    else:
        plug = view.layout.loads[load or 0]
        lines = plug.supply_lines
        third = view.load_third_pct[:, load or 0]
        resistance = view.impedance_ohm(run).real
        # An open neutral carries nothing, so that its endless resistance loses nothing.
        loss = (current_a**2 * np.where(np.isfinite(resistance), resistance, 0.0)).sum(axis=1)
        has_neutral = plug.connection in ("single", "star") and len(lines) != 2
    highest = np.where(view.solved, current_a.max(axis=1), -1.0)
    worst = int(np.argmax(highest))
    capacity = _capacity(view, run, lines, has_neutral, float(third[worst]))
    figures = RunFigures(
        board, load, run, lines, has_neutral, current_a, third, loss, capacity, None, None, None
    )
    if capacity is None:
        return figures
    # Two equal cores within their capacity are within their temperature: only more are worth it.
    if run.cable is None or (load is not None and len(lines) < 3):
        return figures
    cores = [*lines, *([NEUTRAL] if has_neutral else [])]
    temperature = np.full(current_a.shape, np.nan)
    temperature[:, cores] = run_temperature_c(
        run,
        capacity,
        current_a,
        ambient_c=view.layout.ambient_c,
        loaded_cores=loaded_core_count(len(lines), neutral=has_neutral),
    )[:, cores]
    spread = core_spread_k(temperature[:, list(lines)])
    return replace(
        figures,
        core_temperature_c=temperature,
        core_spread_k=spread,
        differential_expansion_mm=differential_expansion_mm(run.length_m, spread),
    )


def _capacity(
    view: View, run: Run, lines: tuple[int, ...], has_neutral: bool, third_pct: float
) -> Capacity | None:
    return run_capacity(
        run,
        loaded_cores=loaded_core_count(len(lines), neutral=has_neutral),
        ambient_c=view.layout.ambient_c,
        third_harmonic_pct=third_pct,
    )


def _capacity_as(view: View, figures: RunFigures, run: Run) -> Capacity | None:
    """What another run would carry in place of this one, with what flows now."""
    highest = np.where(view.solved, figures.current_a.max(axis=1), -1.0)
    third = float(figures.third_harmonic_pct[int(np.argmax(highest))])
    return _capacity(view, run, figures.lines, figures.has_neutral, third)


def capacity_of(view: View, figures: RunFigures, run: Run) -> float | None:
    """What a line of the run could carry if it were this one instead. [A]"""
    capacity = _capacity_as(view, figures, run)
    return None if capacity is None else capacity.capacity_a


def carries(view: View, figures: RunFigures, run: Run) -> bool:
    """Whether another run would carry what this one does, every core within its capacity."""
    capacity = _capacity_as(view, figures, run)
    if capacity is None:
        return False
    currents = figures.current_a[view.solved].max(axis=0, initial=0.0) * _growth(view, figures)
    lines = float(currents[list(figures.lines)].max())
    return (
        lines <= capacity.capacity_a * SIZING_MARGIN
        and float(currents[NEUTRAL]) <= capacity.neutral_capacity_a * SIZING_MARGIN
    )


def needed_capacity_a(view: View, figures: RunFigures) -> float:
    """The capacity that the most loaded core asks for, rounded up to a whole amp. [A]"""
    highest = float(figures.current_a[view.solved].max(initial=0.0)) * _growth(view, figures)
    return float(np.ceil(highest / SIZING_MARGIN))


def _growth(view: View, figures: RunFigures) -> float:
    """What a run may come to carry more than now where a thicker one brings the voltage up."""
    if figures.board is not None:
        return float(view.growth[figures.board + 1])
    nominal = view.nominal_a[view.solved, figures.load or 0].max(initial=0.0)
    solved = view.solution.load_current_a[view.solved, figures.load or 0].max(initial=0.0)
    return max(1.0, float(nominal / solved)) if solved > 0.0 else 1.0


def worst_core(view: View, figures: RunFigures) -> tuple[int, int, float, float] | None:
    """The core furthest over its capacity: core, set-up, current and capacity; None if none is."""
    capacity = figures.capacity
    if capacity is None or not view.solved.any():
        return None
    worst: tuple[float, tuple[int, int, float, float]] | None = None
    for core in (*figures.lines, NEUTRAL):
        limit = capacity.neutral_capacity_a if core == NEUTRAL else capacity.capacity_a
        currents = np.where(view.solved, figures.current_a[:, core], 0.0)
        setup = int(np.argmax(currents))
        value = float(currents[setup])
        if value <= limit * (1.0 + ROUNDING) or value <= 0.0:
            continue
        share = value / limit if limit > 0.0 else float("inf")
        if worst is None or share > worst[0]:
            worst = (share, (core, setup, value, limit))
    return None if worst is None else worst[1]


def at_run(
    view: View, figures: RunFigures, *, core: int | None = None, setup: int | None = None
) -> Where:
    """The place of a run: the board it feeds, or the load whose lead it is."""
    if figures.board is not None:
        return at(view, figures.board + 1, line=core, setup=setup)
    load = view.layout.loads[figures.load or 0]
    node = 0 if load.board is None else load.board + 1
    return at(view, node, line=core, outlet=load.outlet, load=figures.load, setup=setup)


def core_name(view: View, figures: RunFigures, core: int) -> str:
    """A core of a run by the name that its board has for it."""
    board = figures.board
    if board is None:
        board = view.layout.loads[figures.load or 0].board
    return line_name(view.layout, 0 if board is None else board + 1, core)
