"""Feeders and leads: too much current, coiled cable, hot cores, cores of uneven heat."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from evenboard.electrics.layout import NEUTRAL, Run
from evenboard.electrics.solution import FloatArray, Flow
from evenboard.findings.action import Action, LayOut, Resize, SeparateRuns
from evenboard.findings.figures import RunFigures
from evenboard.findings.finding import Finding
from evenboard.findings.guards import guard_a
from evenboard.findings.judging import in_setup
from evenboard.findings.leads import unguarded_leads
from evenboard.findings.remedy import move_words, sentence, unplug_words
from evenboard.findings.replug import MARGIN, Goal, relief, unplugging
from evenboard.findings.runs import (
    at_run,
    capacity_of,
    carries,
    core_name,
    needed_capacity_a,
    worst_core,
)
from evenboard.findings.thicken import sizes_above, thicken_words
from evenboard.findings.words import (
    amps,
    amps_beside,
    counted,
    listed,
    number,
    run_name,
)

if TYPE_CHECKING:
    from evenboard.findings.view import View

__all__ = [
    "cooler",
    "feeder_coiled",
    "feeder_overload",
    "feeder_protection",
    "laid_apart",
    "laid_out",
]

COIL_SHARE = 0.10
"""A coiled run that carries less than this share of what it may is left alone: its heat is a
hundredth of the rated one; estimate."""

COIL_A = 0.5
"""The same where the capacity is not known."""

CAPACITY_BASIS = "{table}{factors}; each core by itself, the neutral too."
COIL_BASIS = (
    "Drum factors of the cable's table, a guide for any coil (BS 7671 Table 4F1A note 2); common "
    "practice: surplus cable is laid out, never wound."
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
        f"{sentence(name)} carries {amps_beside(value, limit)} on "
        f"{core_name(view, figures, core)}{in_setup(view, setup)}; {place}it may carry "
        f"{amps(limit)}."
    )
    if figures.core_temperature_c is not None and figures.run.cable is not None:
        hottest = float(figures.core_temperature_c[setup].max())
        rated = figures.run.cable.rated_temperature_c
        if np.isfinite(hottest) and hottest > rated:
            message += f" The core reaches {number(hottest, 0)} °C, made for {number(rated, 0)} °C."
    actions, remedy = cooler(view, figures, limit)
    factors = "".join(
        f" x {number(f.value, 2)} ({f.name}, {f.read_for})"
        for f in capacity.factors
        if f.value != 1.0
    )
    if capacity.reason:
        message += f" {sentence(capacity.reason)}."
    return Finding(
        "feeder-overload",
        "fail",
        at_run(view, figures, core=core, setup=setup),
        value,
        limit,
        "A",
        message,
        remedy,
        CAPACITY_BASIS.format(
            table=f"{sentence(capacity.table)}: {amps(capacity.table_rating_a)}", factors=factors
        ),
        actions,
    )


def cooler(view: View, figures: RunFigures, limit: float) -> tuple[tuple[Action, ...], str]:
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
            return actions, f"{sentence(words)}."
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
                return (resize, *extra), f"{sentence(text)}."
    if run.conductor is not None:
        needed = needed_capacity_a(view, figures)
        resize = Resize(board, load, capacity_a=needed)
        text = thicken_words(view, (resize,))
        return (resize,), f"{sentence(text)}."
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
    """Cable is left on its drum or in a coil under load; leads are told once a board."""
    for figures in view.feeders:
        if _is_hot_coil(view, figures):
            yield _coiled(view, [figures])
    leads = [figures for figures in view.leads if _is_hot_coil(view, figures)]
    boards = {f.load: view.layout.loads[f.load].board for f in leads if f.load is not None}
    for board in sorted({b for b in boards.values() if b is not None}):
        yield _coiled(view, [f for f in leads if f.load is not None and boards[f.load] == board])


def _is_hot_coil(view: View, figures: RunFigures) -> bool:
    """Whether a run lies wound with a current in it that is worth a word."""
    if not is_coiled(figures.run) or not view.solved.any():
        return False
    limit = 0.0 if figures.capacity is None else figures.capacity.capacity_a
    return _highest_a(view, figures) > (COIL_SHARE * limit if limit > 0.0 else COIL_A)


def _highest_a(view: View, figures: RunFigures) -> float:
    return float(figures.current_a[view.solved].max(initial=0.0))


def _coiled(view: View, found: Sequence[RunFigures]) -> Finding:
    figures = max(found, key=lambda f: _highest_a(view, f) / (_limit_a(f) or _highest_a(view, f)))
    run, value, limit = figures.run, _highest_a(view, figures), _limit_a(figures)
    setup = int(np.argmax(np.where(view.solved, figures.current_a.max(axis=1), -1.0)))
    names = [run_name(view, board=f.board, load=f.load) for f in found]
    name = run_name(view, board=figures.board, load=figures.load)
    layers = counted(run.coil_layers, "layer") if run.coil_layers else "a coil"
    laid = capacity_of(view, figures, laid_out(run))
    told = ""
    if limit is not None and laid is not None:
        told = f": wound it may carry {amps(limit)}, laid out {amps(laid)}"
    more = f" So {'does' if len(found) == 2 else 'do'} {counted(len(found) - 1, 'other')} there."
    boards, loads = view.layout.boards, view.layout.loads
    return Finding(
        "feeder-coiled",
        "caution",
        at_run(view, figures, setup=setup),
        value,
        limit,
        "A",
        f"{sentence(name)} lies wound in {layers} with {amps(value)} in it{told}."
        f"{more if len(found) > 1 else ''}",
        f"Lay out {listed(names)} in full before the lamps go on.",
        COIL_BASIS,
        tuple(
            LayOut(
                None if f.board is None else boards[f.board].id,
                None if f.load is None else loads[f.load].id,
            )
            for f in found
        ),
    )


def _limit_a(figures: RunFigures) -> float | None:
    return None if figures.capacity is None else figures.capacity.capacity_a


def feeder_protection(view: View) -> Iterator[Finding]:
    """The breaker ahead of a feeder or a lead is larger than the cable may carry."""
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
            f"{sentence(name)} may carry {amps(limit)} {_laid(figures.run)}and is "
            f"guarded by {amps(guard)}: an overload would heat it for long before anything trips.",
            remedy,
            PROTECTION_BASIS,
            actions,
        )
    yield from unguarded_leads(view)


def _guarded(view: View, figures: RunFigures, guard: float) -> tuple[tuple[Action, ...], str]:
    run = figures.run
    board = view.layout.boards[figures.board].id if figures.board is not None else None
    name = run_name(view, board=figures.board)
    freed: list[tuple[Run, tuple[Action, ...], str]] = [(run, (), "")]
    if is_coiled(run):
        freed.append((laid_out(run), (LayOut(board),), f"lay out {name}"))
    for base, extra, words in freed:
        if extra and (capacity_of(view, figures, base) or 0.0) >= guard:
            return extra, f"{sentence(words)}."
        for changed, action in sizes_above(base):
            if run.conductor is None and (capacity_of(view, figures, changed) or 0.0) >= guard:
                resize = replace(action, board=board)
                text = thicken_words(view, (resize,))
                text = f"{text} and {words}" if words else text
                return (resize, *extra), f"{sentence(text)}."
    if run.conductor is not None:
        resize = Resize(board, capacity_a=guard)
        text = thicken_words(view, (resize,))
        return (resize,), f"{sentence(text)}, or feed it from a smaller breaker."
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
