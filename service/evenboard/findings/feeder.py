"""Feeders and leads: too much current, coiled cable, hot cores, cores of uneven heat."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from evenboard.electrics.layout import NEUTRAL, Run
from evenboard.electrics.solution import FloatArray, Flow
from evenboard.findings.action import Action, LayOut, Resize, SeparateRuns
from evenboard.findings.figures import RunFigures
from evenboard.findings.finding import Finding
from evenboard.findings.judging import in_setup, in_setups, over
from evenboard.findings.remedy import move_words, unplug_words
from evenboard.findings.replug import MARGIN, Goal, relief, unplugging
from evenboard.findings.runs import (
    at_run,
    capacity_of,
    carries,
    core_name,
    guard_a,
    needed_capacity_a,
    worst_core,
)
from evenboard.findings.thicken import sizes_above, thicken_words
from evenboard.findings.words import amps, counted, listed, number, run_name

if TYPE_CHECKING:
    from evenboard.findings.view import View

__all__ = [
    "core_overheating",
    "feeder_coiled",
    "feeder_overload",
    "feeder_protection",
    "uneven_core_heating",
]

COIL_SHARE = 0.10
"""A coiled run that carries less than this share of what it may is left alone: its heat is a
hundredth of the rated one; estimate."""

UNEVEN_SERIOUS = 2.0
"""Multiple of the core-spread limit from which uneven heating is a caution; estimate."""

CAPACITY_BASIS = "{table}{factors}; each core by itself, the neutral too."
COIL_BASIS = (
    "Drum factors of the cable's table, a guide for any coil (BS 7671 Table 4F1A note 2); common "
    "practice: surplus cable is laid out, never wound."
)
HEAT_BASIS = (
    "Steady state, rise with (I/Iz) squared (IEC 60287 simplified, from memory); a quarter of "
    "the rise as the core's own is an estimate."
)
UNEVEN_BASIS = (
    "Estimate, an indicator only: a quarter of the rise as the core's own; copper expands 17e-6 "
    "a K."
)
PROTECTION_BASIS = (
    "In not above Iz (IEC 60364-4-43, 433.1, from memory). US studio feeders may be protected at "
    "up to 400 % of the cable (NEC 530, from memory)."
)


def feeder_overload(view: View) -> Iterator[Finding]:
    """A core of a feeder or a lead carries more than the cable may where it lies."""
    for figures in (*view.feeders, *view.leads):
        worst = worst_core(view, figures)
        if worst is None:
            continue
        core, setup, value, limit = worst
        yield _overload(view, figures, core, setup, value, limit)


def _overload(
    view: View, figures: RunFigures, core: int, setup: int, value: float, limit: float
) -> Finding:
    capacity = figures.capacity
    if capacity is None:
        raise ValueError("an overload is measured against a known capacity")
    name = run_name(view, board=figures.board, load=figures.load)
    place = _laid(figures.run)
    message = (
        f"{name[:1].upper()}{name[1:]} carries {amps(value)} on "
        f"{core_name(view, figures, core)}{in_setup(view, setup)}; {place}it may carry "
        f"{amps(limit)}."
    )
    if figures.core_temperature_c is not None and figures.run.cable is not None:
        hottest = float(figures.core_temperature_c[setup].max())
        rated = figures.run.cable.rated_temperature_c
        if np.isfinite(hottest) and hottest > rated:
            message += f" The core reaches {number(hottest, 0)} °C, made for {number(rated, 0)} °C."
    actions, remedy = _cooler(view, figures, limit)
    factors = "".join(f" x {number(f.value, 2)} ({f.name}, {f.read_for})" for f in capacity.factors)
    reason = f" {capacity.reason}." if capacity.reason else ""
    return Finding(
        "feeder-overload",
        "fail",
        at_run(view, figures, core=core, setup=setup),
        value,
        limit,
        "A",
        message + (f" {reason.strip()[:1].upper()}{reason.strip()[1:]}" if reason else ""),
        remedy,
        CAPACITY_BASIS.format(
            table=f"{capacity.table}: {amps(capacity.table_rating_a)}", factors=factors
        ),
        actions,
    )


def _cooler(view: View, figures: RunFigures, limit: float) -> tuple[tuple[Action, ...], str]:
    """The cheapest that brings every core under what the run may carry, and its words."""
    board = view.layout.boards[figures.board].id if figures.board is not None else None
    load = view.layout.loads[figures.load].id if figures.load is not None else None
    name = run_name(view, board=figures.board, load=figures.load)
    run = figures.run
    freed: list[tuple[Run, tuple[Action, ...], str]] = []
    if is_coiled(run):
        freed.append((laid_out(run), (LayOut(board, load),), f"lay out {name}"))
    if run.grouped_circuits > 1:
        freed.append(
            (laid_apart(run), (SeparateRuns(board, load),), f"lay {name} apart from the others")
        )
        if is_coiled(run):
            freed.append(
                (
                    laid_apart(laid_out(run)),
                    (LayOut(board, load), SeparateRuns(board, load)),
                    f"lay out {name}, apart from the others",
                )
            )
    for changed, actions, words in freed:
        if carries(view, figures, changed):
            return actions, f"{words[:1].upper()}{words[1:]}."
    if figures.board is not None:
        moves = relief(view, figures.board + 1, cores_within(figures.lines, limit))
        if moves:
            return moves, move_words(view, moves)
    bases: list[tuple[Run, tuple[Action, ...], str]] = [(run, (), ""), *freed]
    for base, extra, words in bases:
        for changed, action in sizes_above(base):
            if run.conductor is None and carries(view, figures, changed):
                resize = replace(action, board=board, load=load)
                text = thicken_words(view, (resize,))
                text = f"{text} and {words}" if words else text
                return (resize, *extra), f"{text[:1].upper()}{text[1:]}."
    if run.conductor is not None:
        needed = needed_capacity_a(view, figures)
        resize = Resize(board, load, capacity_a=needed)
        text = thicken_words(view, (resize,))
        return (resize,), f"{text[:1].upper()}{text[1:]}."
    needed = needed_capacity_a(view, figures)
    remedy = (
        f"No size of this table carries {amps(needed)} here: run two feeders, or a heavier kind"
    )
    if figures.board is not None:
        gone = unplugging(view, figures.board + 1, cores_within(figures.lines, limit))
        if gone:
            return gone, f"{remedy}, or {unplug_words(view, gone)}."
    return (), f"{remedy}."


def cores_within(lines: tuple[int, ...], limit_a: float) -> Goal:
    """The goal that no core, the neutral's included, carries more than a share of the limit."""
    cores = [*lines, NEUTRAL]

    def excess(flow: Flow) -> FloatArray:
        highest: FloatArray = flow.rms_a[..., cores].max(axis=-1)
        return highest - limit_a * MARGIN

    return excess


def feeder_coiled(view: View) -> Iterator[Finding]:
    """Cable is left on its drum or in a coil under load."""
    for figures in (*view.feeders, *view.leads):
        run = figures.run
        if not is_coiled(run) or not view.solved.any():
            continue
        currents = figures.current_a[view.solved]
        value = float(currents.max())
        capacity = figures.capacity
        limit = capacity.capacity_a if capacity is not None else None
        if value <= (COIL_SHARE * limit if limit else 0.5):
            continue
        setup = int(np.argmax(np.where(view.solved, figures.current_a.max(axis=1), -1.0)))
        name = run_name(view, board=figures.board, load=figures.load)
        layers = counted(run.coil_layers, "layer") if run.coil_layers else "a coil"
        laid = capacity_of(view, figures, laid_out(run))
        told = ""
        if limit is not None and laid is not None:
            told = f": wound it may carry {amps(limit)}, laid out {amps(laid)}"
        board = view.layout.boards[figures.board].id if figures.board is not None else None
        load = view.layout.loads[figures.load].id if figures.load is not None else None
        yield Finding(
            "feeder-coiled",
            "caution",
            at_run(view, figures, setup=setup),
            value,
            limit,
            "A",
            f"{name[:1].upper()}{name[1:]} lies wound in {layers} with {amps(value)} in it{told}.",
            f"Lay out {name}, all of it, before the lamps go on.",
            COIL_BASIS,
            (LayOut(board, load),),
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
        actions, remedy = _cooler(view, figures, limit)
        name = run_name(view, board=figures.board, load=figures.load)
        yield Finding(
            "core-overheating",
            "fail",
            at_run(view, figures, core=core, setup=worst.setup),
            worst.value,
            cable.rated_temperature_c,
            "°C",
            f"{core_name(view, figures, core)} of {name} reaches {number(worst.value, 0)} "
            f"°C{in_setups(view, worst)}, made for {number(cable.rated_temperature_c, 0)} °C: all "
            "its cores are loaded at once.",
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
            f"The cores of {name} differ by {number(worst.value, 0)} K{in_setups(view, worst)}: "
            f"the hot one grows {number(millimetres)} mm longer, and over weeks the cable deforms.",
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


def feeder_protection(view: View) -> Iterator[Finding]:
    """The breaker ahead of a board's feeder is larger than the cable may carry."""
    for figures in view.feeders:
        if figures.board is None or figures.capacity is None:
            continue
        guard = guard_a(view, figures.board)
        limit = figures.capacity.capacity_a
        if guard <= limit * (1.0 + 1e-9) or worst_core(view, figures) is not None:
            continue
        name = run_name(view, board=figures.board)
        actions, remedy = _guarded(view, figures, guard)
        yield Finding(
            "feeder-protection",
            "caution",
            at_run(view, figures),
            guard,
            limit,
            "A",
            f"{name[:1].upper()}{name[1:]} may carry {amps(limit)} {_laid(figures.run)}and is "
            f"guarded by {amps(guard)}: nothing trips before it burns.",
            remedy,
            PROTECTION_BASIS,
            actions,
        )


def _guarded(view: View, figures: RunFigures, guard: float) -> tuple[tuple[Action, ...], str]:
    run = figures.run
    board = view.layout.boards[figures.board].id if figures.board is not None else None
    name = run_name(view, board=figures.board)
    freed: list[tuple[Run, tuple[Action, ...], str]] = [(run, (), "")]
    if is_coiled(run):
        freed.append((laid_out(run), (LayOut(board),), f"lay out {name}"))
    for base, extra, words in freed:
        if extra and (capacity_of(view, figures, base) or 0.0) >= guard:
            return extra, f"{words[:1].upper()}{words[1:]}."
        for changed, action in sizes_above(base):
            if run.conductor is None and (capacity_of(view, figures, changed) or 0.0) >= guard:
                resize = replace(action, board=board)
                text = thicken_words(view, (resize,))
                text = f"{text} and {words}" if words else text
                return (resize, *extra), f"{text[:1].upper()}{text[1:]}."
    if run.conductor is not None:
        resize = Resize(board, capacity_a=guard)
        text = thicken_words(view, (resize,))
        return (resize,), f"{text[:1].upper()}{text[1:]}, or feed it from a smaller breaker."
    return (), "No size of this table will do: feed it from a smaller breaker."


def is_coiled(run: Run) -> bool:
    """Whether a run lies on a drum or in a coil."""
    return run.laid == "coiled" or run.coil_layers > 0


def laid_out(run: Run) -> Run:
    """The run off its drum, on the ground."""
    return replace(run, laid="surface", coil_layers=0)


def laid_apart(run: Run) -> Run:
    """The run by itself."""
    laid = "surface" if run.laid == "grouped" else run.laid
    return replace(run, laid=laid, grouped_circuits=1)


def _laid(run: Run) -> str:
    words = []
    if is_coiled(run):
        words.append(
            f"wound in {counted(run.coil_layers, 'layer')}" if run.coil_layers else "wound"
        )
    if run.grouped_circuits > 1:
        words.append(f"beside {run.grouped_circuits - 1} more")
    return f"{listed(words)} " if words else ""
