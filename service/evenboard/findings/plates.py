"""Overloads by the plates of what is plugged in, in set-ups for which no voltage is found.

There nothing is known of the currents as they would flow; yet a lamp that asks for three times what
its outlet carries is on the wrong outlet, and no thicker cable mends that.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from evenboard.electrics.layout import NEUTRAL
from evenboard.electrics.solution import FloatArray
from evenboard.findings.action import Unplug
from evenboard.findings.finding import Finding
from evenboard.findings.judging import ROUNDING, Worst, at, in_setups, over
from evenboard.findings.remedy import sentence, unplug_words
from evenboard.findings.words import amps, amps_beside, line_of, outlet_name

if TYPE_CHECKING:
    from evenboard.findings.figures import OutletFigures
    from evenboard.findings.view import View

__all__ = ["lines_over_by_plate", "outlets_over_by_plate", "too_many_by_plate"]

PLATE_BASIS = (
    "Sum of the plates' amps at nominal voltage over the rating (IEC 60364-4-43, 433.1, from "
    "memory); no voltage satisfies this set-up."
)


@dataclass(frozen=True, slots=True)
class _Excess:
    """By how much a place would be overloaded, and the loads to take off it."""

    worst: Worst
    rating_a: float
    gone: tuple[int, ...]


def lines_over_by_plate(view: View) -> Iterator[Finding]:
    """Lines that would be overloaded in set-ups without a solution, unless told of a solved one."""
    if view.solved.all():
        return
    for node in view.judged_nodes:
        for line in view.lines[node]:
            excess = _line_excess(view, node, line)
            rating = float(view.line_rating_a[node])
            if excess is None or over(view, view.line_a[:, node, line], rating) is not None:
                continue
            actions = _unplugged(view, excess.gone)
            yield Finding(
                "phase-overload",
                "fail",
                at(view, node, line=line, setup=excess.worst.setup),
                excess.worst.value,
                excess.rating_a,
                "A",
                _message(view, line_of(view.layout, node, line), excess),
                f"{sentence(unplug_words(view, actions))}.",
                PLATE_BASIS,
                actions,
            )


def outlets_over_by_plate(view: View) -> Iterator[Finding]:
    """Outlets that would be overloaded there, unless told of a solved set-up."""
    if view.solved.all():
        return
    for figures in view.outlets:
        excess = _outlet_excess(view, figures)
        rating = figures.outlet.type.rating_a
        if excess is None or over(view, figures.current_a.max(axis=1), rating) is not None:
            continue
        actions = _unplugged(view, excess.gone)
        load = figures.loads[0] if len(figures.loads) == 1 else None
        outlet, setup = figures.outlet.id, excess.worst.setup
        name = f"outlet {outlet_name(view.layout, figures.board, outlet)}"
        needed = amps(excess.worst.value)
        yield Finding(
            "outlet-overload",
            "fail",
            at(view, figures.board + 1, outlet=outlet, load=load, setup=setup),
            excess.worst.value,
            rating,
            "A",
            _message(view, name, excess),
            f"{sentence(unplug_words(view, actions))}, or bring it an outlet of {needed}.",
            PLATE_BASIS,
            actions,
        )


def too_many_by_plate(view: View) -> tuple[int, ...]:
    """The loads to take off so that no outlet and no line is overloaded in unsolved set-ups."""
    gone: set[int] = set()
    for figures in view.outlets:
        excess = _outlet_excess(view, figures)
        gone.update(() if excess is None else excess.gone)
    for node in reversed(view.judged_nodes):
        for line in view.lines[node]:
            excess = _line_excess(view, node, line, gone)
            gone.update(() if excess is None else excess.gone)
    return tuple(sorted(gone))


def _line_excess(view: View, node: int, line: int, without: Collection[int] = ()) -> _Excess | None:
    there = np.flatnonzero(view.is_below[:, node] & (view.on_line[:, line] > 0.0))
    loads = [int(i) for i in there if i not in without]
    return _excess(view, loads, float(view.line_rating_a[node]))


def _outlet_excess(view: View, figures: OutletFigures) -> _Excess | None:
    """None also where the board that the outlet feeds is judged by no higher a rating."""
    rating = figures.outlet.type.rating_a
    if figures.child is None or figures.loads:
        return _excess(view, figures.loads, rating)
    node = figures.child + 1
    if float(view.line_rating_a[node]) <= rating * (1.0 + ROUNDING):
        return None
    sums = view.arithmetic_a[~view.solved, node].max(axis=0, initial=0.0)
    line = int(np.argmax(sums[:NEUTRAL]))
    loads = np.flatnonzero(view.is_below[:, node] & (view.on_line[:, line] > 0.0))
    return _excess(view, [int(i) for i in loads], rating)


def _excess(view: View, loads: Sequence[int], rating: float) -> _Excess | None:
    """By how much the plates of some loads on one line pass a rating in the unsolved set-ups."""
    lost = np.flatnonzero(~view.solved)
    each: FloatArray = view.nominal_a[lost][:, list(loads)]
    before: FloatArray = each.sum(axis=1)
    limit = rating * (1.0 + ROUNDING)
    if not float(before.max(initial=0.0)) > limit:
        return None
    largest = each.max(axis=0)
    stays = np.array([view.layout.loads[i].keep for i in loads], dtype=np.float64)
    total, is_left = before.copy(), np.ones(len(loads), dtype=np.bool_)
    while float(total.max()) > limit:
        # The smallest that is enough by itself, else the largest; what is to stay goes last.
        without = (total[:, None] - each).max(axis=0)
        enough = is_left & (without <= limit)
        open_to, rank = (enough, largest) if enough.any() else (is_left, -largest)
        choice = np.lexsort((rank, stays, ~open_to))[0]
        total = total - each[:, choice]
        is_left[choice] = False
    worst = int(np.argmax(before))
    found = Worst(int(lost[worst]), float(before[worst]), int((before > limit).sum()) - 1)
    gone = [load for load, left in zip(loads, is_left.tolist(), strict=True) if not left]
    return _Excess(found, rating, tuple(sorted(gone)))


def _message(view: View, name: str, excess: _Excess) -> str:
    value = amps_beside(excess.worst.value, excess.rating_a)
    return (
        f"By the plates {name} would carry {value}{in_setups(view, excess.worst)}; rated "
        f"{amps(excess.rating_a)}."
    )


def _unplugged(view: View, loads: Sequence[int]) -> tuple[Unplug, ...]:
    return tuple(Unplug(view.layout.loads[i].id) for i in loads)
