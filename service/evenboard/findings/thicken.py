"""Which run of cable to make thicker, and how thick, so that a voltage or a core's load is right.

Estimates are linear: the currents stay as solved, only the impedances change. Constant-power loads
then take less and filaments a little more; the margin covers that.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from evenboard.electrics.layout import NEUTRAL, Run
from evenboard.electrics.solution import ComplexArray, FloatArray
from evenboard.findings.action import Resize
from evenboard.findings.words import listed, number, run_name, size_name

if TYPE_CHECKING:
    from evenboard.findings.view import View

__all__ = [
    "RunRef",
    "feeders_to",
    "load_voltage_with",
    "resized",
    "run_of",
    "sizes_above",
    "thicken_words",
    "thicker",
    "thickness",
    "voltages_with",
]

RESISTANCE_STEPS = (0.8, 0.63, 0.5, 0.4, 0.32, 0.25, 0.2, 0.16, 0.12, 0.1, 0.06, 0.03, 0.01)
"""Shares of a spelled-out resistance that are tried: about one cable size a step."""


@dataclass(frozen=True, slots=True)
class RunRef:
    """A run by what it belongs to: the board it feeds, or the load whose lead it is."""

    board: int | None = None
    load: int | None = None


def resized(run: Run, csa_mm2: float | None, r_ohm_per_km: float | None = None) -> Run:
    """The run with all its conductors of another size, or of another resistance per kilometre."""
    if csa_mm2 is not None:
        return replace(run, csa_mm2=csa_mm2, neutral_csa_mm2=None)
    if run.conductor is None or r_ohm_per_km is None:
        raise ValueError("a run is resized by size, or by resistance where it is spelled out")
    neutral = min(r_ohm_per_km, run.conductor.neutral_r_ohm_per_km)
    conductor = replace(run.conductor, r_ohm_per_km=r_ohm_per_km, neutral_r_ohm_per_km=neutral)
    return replace(run, conductor=conductor)


def sizes_above(run: Run) -> Iterator[tuple[Run, Resize]]:
    """Thicker and thicker runs of the same make, with the action that asks for each."""
    if run.conductor is not None:
        for share in RESISTANCE_STEPS:
            r = float(f"{run.conductor.r_ohm_per_km * share:.3g}")
            yield resized(run, None, r), Resize(r_ohm_per_km=r)
    elif run.table is not None and run.csa_mm2 is not None:
        for size in sorted(run.table.sizes, key=lambda s: s.csa_mm2):
            if size.csa_mm2 > run.csa_mm2:
                yield resized(run, size.csa_mm2), Resize(csa_mm2=size.csa_mm2)


def run_of(view: View, ref: RunRef) -> Run | None:
    """The run that a reference names, None where none is entered."""
    if ref.board is not None:
        return view.layout.boards[ref.board].feeder
    return None if ref.load is None else view.layout.loads[ref.load].lead


def feeders_to(view: View, node: int) -> list[RunRef]:
    """The feeders on a node's way that are entered, from the node up."""
    refs = [RunRef(board=above - 1) for above in view.path(node - 1) if above > 0]
    return [ref for ref in refs if run_of(view, ref) is not None]


def voltages_with(view: View, node: int, changed: dict[RunRef, Run]) -> FloatArray:
    """Line-to-neutral voltages of a node, (S, 3), with some feeders on its way exchanged. [V]"""
    voltages: FloatArray = np.abs(_phasors_with(view, node, changed))
    return voltages


def load_voltage_with(view: View, index: int, changed: dict[RunRef, Run]) -> FloatArray:
    """Voltage across one branch of a load, (S,), with some runs on its way exchanged. [V]"""
    load, solution = view.layout.loads[index], view.solution
    before = solution.load_voltage_v[:, index]
    if load.board is None:
        return before
    node, lines = load.board + 1, list(load.supply_lines)
    if load.connection == "line-to-line":
        old = view.line_to_neutral_v[:, node]
        new = _phasors_with(view, node, changed)
        gain = np.abs(new[:, lines[0]] - new[:, lines[1]]) - np.abs(
            old[:, lines[0]] - old[:, lines[1]]
        )
    else:
        gain = (voltages_with(view, node, changed) - view.voltage_v[:, node])[:, lines].min(axis=1)
    lead = changed.get(RunRef(load=index))
    if lead is not None and load.lead is not None:
        less = _less_ohm(view, load.lead, lead)
        loop = less[0] + (less[NEUTRAL] if len(lines) == 1 else less[0] * (len(lines) == 2))
        share = 3.0 if len(lines) == 3 else 1.0
        with np.errstate(divide="ignore", invalid="ignore"):
            drop = loop.real * solution.load_power_w[:, index]
            drop = drop + loop.imag * solution.load_reactive_var[:, index]
            gain = gain + np.where(before > 0.0, drop / (share * before), 0.0)
    after: FloatArray = before + gain
    return after


def _less_ohm(view: View, old: Run, new: Run) -> ComplexArray:
    """What an exchange saves on each conductor, (4,); nothing on one that is open. [ohm]"""
    before, after = view.impedance_ohm(old), view.impedance_ohm(new)
    known = np.isfinite(before) & np.isfinite(after)
    less: ComplexArray = np.where(
        known, np.where(known, before, 0.0) - np.where(known, after, 0.0), 0.0
    )
    return less


def _phasors_with(view: View, node: int, changed: dict[RunRef, Run]) -> ComplexArray:
    phasors = view.line_to_neutral_v[:, node].copy()
    for ref, run in changed.items():
        if ref.board is None or ref.board + 1 not in view.path(node - 1):
            continue
        old = view.layout.boards[ref.board].feeder
        if old is None:
            continue
        less = _less_ohm(view, old, run)
        current = view.solution.inflow.fundamental_a[:, ref.board + 1]
        phasors += less[:NEUTRAL] * current[:, :NEUTRAL] + less[NEUTRAL] * current[:, NEUTRAL:]
    return phasors


def thicker(
    view: View, refs: Sequence[RunRef], enough: Callable[[dict[RunRef, Run]], bool]
) -> tuple[Resize, ...] | None:
    """The smallest resizing that is enough: of one run, the earlier in ``refs`` first, else of all.

    None where no size of the tables at hand will do.
    """
    runs = {ref: run_of(view, ref) for ref in refs}
    ladders = {ref: list(sizes_above(run)) for ref, run in runs.items() if run is not None}
    for ref, ladder in ladders.items():
        for run, action in ladder:
            if enough({ref: run}):
                return (_named(view, ref, action),)
    for step in range(max((len(ladder) for ladder in ladders.values()), default=0)):
        chosen = {r: ladder[min(step, len(ladder) - 1)] for r, ladder in ladders.items() if ladder}
        if len(chosen) > 1 and enough({ref: run for ref, (run, _) in chosen.items()}):
            return tuple(_named(view, ref, action) for ref, (_, action) in chosen.items())
    return None


def thickness(action: Resize) -> float:
    """A figure that grows with the size that a resizing asks for."""
    if action.csa_mm2 is not None:
        return action.csa_mm2
    return 1.0 / action.r_ohm_per_km if action.r_ohm_per_km else 0.0


def thicken_words(view: View, actions: Sequence[Resize]) -> str:
    """``use 10 mm² for the feeder of main``."""
    parts = []
    for action in actions:
        ref = _ref_of(view, action)
        run = run_of(view, ref)
        name = run_name(view, board=ref.board, load=ref.load)
        if action.csa_mm2 is not None and run is not None:
            parts.append(f"{size_name(run, action.csa_mm2)} for {name}")
        elif action.r_ohm_per_km is not None:
            parts.append(f"at most {number(action.r_ohm_per_km, 3)} ohm/km for {name}")
        else:
            parts.append(f"one that carries {number(action.capacity_a or 0.0)} A for {name}")
    return f"use {listed(parts)}"


def _ref_of(view: View, action: Resize) -> RunRef:
    if action.board is not None:
        return RunRef(board=view.layout.board_index(action.board))
    loads = [load.id for load in view.layout.loads]
    return RunRef(load=None if action.load is None else loads.index(action.load))


def _named(view: View, ref: RunRef, action: Resize) -> Resize:
    if ref.board is not None:
        return replace(action, board=view.layout.boards[ref.board].id)
    if ref.load is None:
        raise ValueError("a run belongs to a board or to a load")
    return replace(action, load=view.layout.loads[ref.load].id)
