"""The heat of a cable's cores: too much of it, or too unevenly shared."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from evenboard.electrics.solution import FloatArray, Flow
from evenboard.findings.feeder import cooler
from evenboard.findings.figures import RunFigures
from evenboard.findings.finding import Finding
from evenboard.findings.judging import in_setups, over
from evenboard.findings.remedy import move_words
from evenboard.findings.replug import MARGIN, Goal, relief
from evenboard.findings.runs import at_run, core_name, worst_core
from evenboard.findings.words import (
    beside,
    number,
    run_name,
)

if TYPE_CHECKING:
    from evenboard.findings.view import View

__all__ = ["core_overheating", "uneven_core_heating"]

UNEVEN_SERIOUS = 2.0
"""Multiple of the core-spread limit from which uneven heating is a caution; estimate."""

HEAT_BASIS = (
    "Steady state, rise with (I/Iz) squared (IEC 60287 simplified, from memory); a quarter of "
    "the rise as the core's own is an estimate."
)
UNEVEN_BASIS = (
    "Estimate, an indicator only: a quarter of the rise as the core's own; copper expands 17e-6 "
    "a K."
)


def core_overheating(view: View) -> Iterator[Finding]:
    """A core gets hotter than its cable is made for although no core is over its amps."""
    for figures in (*view.feeders, *view.leads):
        cable, temperature = figures.run.cable, figures.core_temperature_c
        if cable is None or temperature is None or worst_core(view, figures) is not None:
            continue
        hottest = np.where(np.isfinite(temperature), temperature, -np.inf).max(axis=1)
        loaded = figures.current_a.max(axis=1) > 0.0
        worst = over(view, np.where(loaded, hottest, -np.inf), cable.rated_temperature_c)
        if worst is None:
            continue
        core = int(np.nanargmax(temperature[worst.setup]))
        share = float(np.sqrt(_rise_share(view, cable.rated_temperature_c, worst.value)))
        limit = float(figures.current_a[worst.setup].max()) * share
        actions, remedy = cooler(view, figures, limit)
        name = run_name(view, board=figures.board, load=figures.load)
        yield Finding(
            "core-overheating",
            "fail",
            at_run(view, figures, core=core, setup=worst.setup),
            worst.value,
            cable.rated_temperature_c,
            "°C",
            f"{core_name(view, figures, core)} of {name} reaches "
            f"{beside(worst.value, cable.rated_temperature_c, 0)} °C{in_setups(view, worst)}, "
            f"made for {number(cable.rated_temperature_c, 0)} °C: all its cores are loaded at "
            "once.",
            remedy,
            HEAT_BASIS,
            actions,
        )


def _rise_share(view: View, rated_c: float, hottest_c: float) -> float:
    """The rise that is allowed over the rise that is."""
    allowed, rise = rated_c - view.layout.ambient_c, hottest_c - view.layout.ambient_c
    return allowed / rise if 0.0 < allowed < rise else 0.0


def uneven_core_heating(view: View) -> Iterator[Finding]:
    """The line cores of a feeder differ in heat, which in time pulls the cable out of shape."""
    limit = view.limits.core_spread_k
    for figures in view.feeders:
        if figures.core_spread_k is None or figures.board is None or len(figures.lines) < 2:
            continue
        worst = over(view, figures.core_spread_k, limit)
        if worst is None:
            continue
        millimetres = 0.0
        if figures.differential_expansion_mm is not None:
            millimetres = float(figures.differential_expansion_mm[worst.setup])
        moves = relief(
            view, figures.board + 1, alike_in_heat(view, figures, worst.setup, limit / worst.value)
        )
        name = run_name(view, board=figures.board)
        yield Finding(
            "uneven-core-heating",
            "caution" if worst.value > UNEVEN_SERIOUS * limit else "note",
            at_run(view, figures, setup=worst.setup),
            worst.value,
            limit,
            "K",
            f"The cores of {name} differ by {beside(worst.value, limit, 0)} "
            f"K{in_setups(view, worst)}: the hot one grows {number(millimetres)} mm longer, and "
            "over weeks the cable deforms.",
            move_words(view, moves)
            if moves
            else "No re-plugging evens it: change phases from day to day, and feel the cable for "
            "ripples before it goes out again.",
            UNEVEN_BASIS,
            moves or (),
        )


def alike_in_heat(view: View, figures: RunFigures, setup: int, share: float) -> Goal:
    """The goal that the cores' own heat, by the current squared, lies no further apart."""
    lines = list(figures.lines)
    squares = figures.current_a[setup, lines] ** 2
    limit = float(squares.max() - squares.min()) * share * MARGIN

    def excess(flow: Flow) -> FloatArray:
        heat = flow.rms_a[..., lines] ** 2
        apart: FloatArray = heat.max(axis=-1) - heat.min(axis=-1)
        return apart - limit

    return excess
