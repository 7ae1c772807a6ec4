"""Where the power flow has no solution: the cable is too thin for what is asked of it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from evenboard.electrics.layout import NEUTRAL, Run
from evenboard.findings.action import Action, ConnectNeutral, Unplug
from evenboard.findings.finding import Finding
from evenboard.findings.inputs import neutral_ends_at
from evenboard.findings.judging import Worst, at, in_setups
from evenboard.findings.plates import too_many_by_plate
from evenboard.findings.remedy import sentence, unplug_words
from evenboard.findings.thicken import RunRef, feeders_to, run_of, thicken_words, thicker
from evenboard.findings.words import board_name, listed, number, run_name

if TYPE_CHECKING:
    from evenboard.findings.view import View

__all__ = ["no_solution"]

AIM_PCT = 12.0
"""Drop at nominal current at which a resized way to a load surely has a solution; estimate: a
constant-power load has none beyond a quarter of its voltage lost at that load's own current."""

COLLAPSE_PCT = 25.0
"""Drop at nominal current from which a constant-power load behind a resistance finds no voltage:
V^2/4R is the most that a resistance lets through (circuit textbooks)."""

SOLUTION_BASIS = (
    "Power flow: no voltage satisfies what the loads draw (voltage collapse); V^2/4R is the most "
    "that a resistance lets through, circuit textbooks."
)


def no_solution(view: View) -> Iterator[Finding]:
    """In a set-up the loads ask for more than the cables can bring at any voltage."""
    lost = np.flatnonzero(~view.solved)
    if not len(lost):
        return
    ends = [node for node in range(len(view.lines)) if neutral_ends_at(view, node)]
    if ends:
        yield _adrift(view, ends, Worst(int(lost[0]), 0.0, len(lost) - 1))
        return
    drops = {
        index: max(_nominal_drop_pct(view, index, int(setup), {}) for setup in lost)
        for index, load in enumerate(view.layout.loads)
        if load.board is not None and view.solution.on[lost, index].any()
    }
    if not drops:
        return
    worst = max(drops, key=lambda index: drops[index])
    load = view.layout.loads[worst]
    node = 0 if load.board is None else load.board + 1
    actions, remedy = _mended(view, [int(s) for s in lost])
    setups = Worst(int(lost[0]), drops[worst], len(lost) - 1)
    refs = [*([RunRef(load=worst)] if load.lead is not None else []), *feeders_to(view, node)]
    culprit = max(refs, key=lambda ref: _share_pct(view, worst, ref), default=None)
    where = "the supply's own impedance"
    if culprit is not None:
        where = run_name(view, board=culprit.board, load=culprit.load)
    yield Finding(
        "no-solution",
        "fail",
        at(view, node, outlet=load.outlet, load=worst, setup=setups.setup),
        drops[worst],
        COLLAPSE_PCT,
        "%",
        f"The voltage collapses{in_setups(view, setups)}: {view.load_names[worst]} would "
        f"lose {number(drops[worst], 0)} % on the way at its rated current, most of it in {where}.",
        remedy,
        SOLUTION_BASIS,
        actions,
    )


def _adrift(view: View, ends: list[int], setups: Worst) -> Finding:
    """With a neutral missing the loads stand in series, and may find no steady voltage."""
    boards = [view.board(node) for node in ends]
    names = listed([board_name(view.layout, node) for node in ends])
    return Finding(
        "no-solution",
        "fail",
        at(view, ends[0], setup=setups.setup),
        None,
        None,
        "",
        f"No steady voltages exist{in_setups(view, setups)}: without a neutral at {names} the "
        "lamps hang on each other.",
        "Bring the neutral there first; then check again.",
        SOLUTION_BASIS,
        tuple(ConnectNeutral(None if board is None else board.id) for board in boards),
    )


def _mended(view: View, lost: list[int]) -> tuple[tuple[Action, ...], str]:
    """What to take off and which runs to thicken so that no load loses too much, and its words.

    What overloads an outlet or a line by its plate goes first: no cable mends that.
    """
    loads = view.layout.loads
    gone = frozenset(too_many_by_plate(view))
    unplugged = tuple(Unplug(loads[index].id) for index in sorted(gone))
    off = unplug_words(view, unplugged) if unplugged else ""

    def drop_pct(index: int, setup: int, changed: dict[RunRef, Run]) -> float:
        return _nominal_drop_pct(view, index, setup, changed, gone)

    far = [
        index
        for index, load in enumerate(loads)
        if load.board is not None
        and index not in gone
        and any(drop_pct(index, setup, {}) > AIM_PCT for setup in lost)
    ]
    if not far and unplugged:
        return unplugged, f"{sentence(off)}: no thicker cable mends that."
    refs: dict[RunRef, float] = {}
    for index in far:
        for ref in (RunRef(load=index), *feeders_to(view, (loads[index].board or 0) + 1)):
            if run_of(view, ref) is not None:
                refs[ref] = max(refs.get(ref, 0.0), _share_pct(view, index, ref))

    def enough(changed: dict[RunRef, Run]) -> bool:
        return all(drop_pct(index, s, changed) <= AIM_PCT for index in far for s in lost)

    resized = thicker(view, sorted(refs, key=lambda ref: -refs[ref]), enough)
    if resized:
        words = thicken_words(view, resized)
        return (*unplugged, *resized), f"{sentence(f'{off} and {words}' if off else words)}."
    also = tuple(Unplug(loads[index].id) for index in far if not loads[index].keep)
    if not also:
        return unplugged, "Bring the supply nearer, or feed far fewer lamps this way."
    every = (*unplugged, *also)
    return every, f"No cable size here will do: {unplug_words(view, every)}."


def _nominal_drop_pct(
    view: View,
    index: int,
    setup: int,
    changed: dict[RunRef, Run],
    gone: frozenset[int] = frozenset(),
) -> float:
    """Drop on the way to a load if everything drew its nominal current, in one direction. [%]

    Some loads may be gone from the layout.
    """
    if not view.solution.on[setup, index]:
        return 0.0
    load = view.layout.loads[index]
    node = 0 if load.board is None else load.board + 1
    source = view.layout.supply.source_impedance
    line = load.supply_lines[0] if load.supply_lines else 0
    drop = 0.0
    if source is not None:
        ohm = abs(complex(source.r_ohm + source.neutral_r_ohm, source.x_ohm + source.neutral_x_ohm))
        drop += ohm * _line_a(view, setup, 0, line, gone)
    for ref in (RunRef(load=index), *feeders_to(view, node)):
        run = changed.get(ref, run_of(view, ref))
        if run is not None:
            drop += _ohm(view, index, run) * _nominal_a(view, index, setup, ref, line, gone)
    return 100.0 * drop / float(view.load_nominal_v[index])


def _nominal_a(
    view: View,
    index: int,
    setup: int,
    ref: RunRef,
    line: int,
    gone: frozenset[int] = frozenset(),
) -> float:
    if ref.board is None:
        return float(view.nominal_a[setup, index])
    return _line_a(view, setup, ref.board + 1, line, gone)


def _line_a(view: View, setup: int, node: int, line: int, gone: frozenset[int]) -> float:
    """Plate amps of a line at a node, without some loads. [A]"""
    away = [i for i in gone if view.is_below[i, node]]
    less = view.nominal_a[setup, away] @ view.on_line[away, line]
    return float(view.arithmetic_a[setup, node, line] - less)


def _ohm(view: View, index: int, run: Run) -> float:
    impedance = view.impedance_ohm(run)
    lines = len(view.layout.loads[index].supply_lines)
    alone = lines == 1 and run.neutral_connected
    back = impedance[NEUTRAL] if alone else impedance[0] * (lines < 3)
    return float(abs(impedance[0] + back))


def _share_pct(view: View, index: int, ref: RunRef) -> float:
    """What one run costs a load, in the set-up where most is drawn. [%]"""
    run = run_of(view, ref)
    if run is None:
        return 0.0
    line = view.layout.loads[index].supply_lines[0]
    current = max(
        _nominal_a(view, index, setup, ref, line) for setup in range(len(view.layout.setups))
    )
    return 100.0 * _ohm(view, index, run) * current / float(view.load_nominal_v[index])
