"""The lines of the supply and of every board: too much, nearly too much, uneven, idle."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from evenboard.electrics.solution import FloatArray, Flow
from evenboard.findings.action import Action
from evenboard.findings.finding import Finding, Severity
from evenboard.findings.inputs import is_cut_off
from evenboard.findings.judging import at, in_setup, in_setups, over
from evenboard.findings.plates import lines_over_by_plate
from evenboard.findings.remedy import move_words, unplug_words
from evenboard.findings.replug import MARGIN, Goal, best_moves, relief, relief_at_full, unplugging
from evenboard.findings.words import (
    amps,
    amps_beside,
    beside,
    board_name,
    line_name,
    line_of,
    listed,
    number,
)

if TYPE_CHECKING:
    from evenboard.findings.view import View

__all__ = [
    "current_unbalance",
    "idle_phase",
    "overload_at_full",
    "phase_loading",
    "phase_overload",
]

IDLE_A = 0.5
"""Below this a line counts as idle: what a clamp meter on a feeder no longer tells; estimate."""

STEPS: dict[Severity, int] = {"note": 2, "caution": 4, "fail": 8}
"""How many steps of re-plugging an unbalance is worth, by how grave it is; estimate."""

WORTH_IT = 0.8
"""Moves that leave more than this share of a spread are not worth a crew's while; estimate."""

RATING_BASIS = (
    "Current not above the rating of what carries it (IEC 60364-4-43, 433.1, from memory); true "
    "RMS current, rating per line."
)
LOADING_BASIS = (
    "Continuous load not above 80 % of the rating where the region's rules ask for it (NEC "
    "210.20 and 215.3, from memory); elsewhere common practice, no source."
)
SPREAD_BASIS = (
    "Estimate: no standard limits the current unbalance of a feeder; judged by (highest - lowest "
    "line) over the rating."
)
FULL_BASIS = (
    "Sum of full-power amps at nominal voltage: a feeder is chosen for dimmers full up; common "
    "practice, no source."
)
IDLE_BASIS = "Common practice, no source: a feeder that runs on one core for weeks deforms."


def within(lines: tuple[int, ...], limit_a: float) -> Goal:
    """The goal that no line carries more than a share of the limit."""

    def excess(flow: Flow) -> FloatArray:
        highest: FloatArray = flow.rms_a[..., list(lines)].max(axis=-1)
        return highest - limit_a * MARGIN

    return excess


def even_within(lines: tuple[int, ...], spread_a: float) -> Goal:
    """The goal that highest and lowest line lie no further apart."""

    def excess(flow: Flow) -> FloatArray:
        rms = flow.rms_a[..., list(lines)]
        spread: FloatArray = rms.max(axis=-1) - rms.min(axis=-1)
        return spread - spread_a * MARGIN

    return excess


def none_idle(view: View, lines: tuple[int, ...]) -> Goal:
    """The goal that every line carries something in at least one set-up, as evenly as may be."""

    def excess(flow: Flow) -> FloatArray:
        rms = flow.rms_a[..., list(lines)]
        highest = rms[:, view.solved].max(axis=1)
        wanting = np.clip(2.0 * IDLE_A - highest, 0.0, None).sum(axis=1)
        spread = highest.max(axis=1) - highest.min(axis=1)
        score = np.where(wanting > 0.0, wanting + 1e-4 * spread, -1.0 / (1.0 + spread))
        return np.repeat(score[:, None], rms.shape[1], axis=1)

    return excess


def phase_overload(view: View) -> Iterator[Finding]:
    """A line carries more than its rating."""
    for node in view.judged_nodes:
        lines, rating = view.lines[node], float(view.line_rating_a[node])
        if over(view, view.line_a[:, node].max(axis=1), rating) is None:
            continue
        goal = within(lines, rating)
        moves = relief(view, node, goal)
        for line in lines:
            worst = over(view, view.line_a[:, node, line], rating)
            if worst is None:
                continue
            actions: tuple[Action, ...] = moves or ()
            if moves:
                remedy = move_words(view, moves)
            else:
                actions = unplugging(view, node, goal)
                needed = _needed_a(view, node)
                what = "supply" if view.board(node) is None else "supply, feeder and board"
                remedy = (
                    f"No re-plugging mends it: it needs a {what} of at least {amps(needed)} a line"
                )
                remedy += f", or {unplug_words(view, actions)}." if actions else "."
            yield Finding(
                "phase-overload",
                "fail",
                at(view, node, line=line, setup=worst.setup),
                worst.value,
                rating,
                "A",
                f"{line_of(view.layout, node, line)} carries "
                f"{amps_beside(worst.value, rating)}{in_setups(view, worst)}; rated "
                f"{amps(rating)}.",
                remedy,
                RATING_BASIS,
                actions,
            )
    yield from lines_over_by_plate(view)


def _needed_a(view: View, node: int) -> float:
    """The least rating per line that the loads below a node could do with, in whole amps. [A]"""
    count = len(view.lines[node])
    total = float(view.arithmetic_a[:, node].sum(axis=1).max()) / count
    largest = float((view.nominal_a * view.is_below[:, node]).max(initial=0.0))
    return float(np.ceil(max(total, largest)))


def phase_loading(view: View) -> Iterator[Finding]:
    """A line is loaded for hours beyond the share of its rating that practice allows."""
    for node in view.judged_nodes:
        lines, rating = view.lines[node], float(view.line_rating_a[node])
        limit = rating * view.limits.phase_loading_pct / 100.0
        if over(view, view.line_a[:, node].max(axis=1), limit) is None:
            continue
        moves = relief(view, node, within(lines, limit))
        for line in lines:
            current = view.line_a[:, node, line]
            worst = over(view, current, limit)
            if worst is None or over(view, current, rating) is not None:
                continue
            share = 100.0 * worst.value / rating
            yield Finding(
                "phase-loading",
                "caution",
                at(view, node, line=line, setup=worst.setup),
                worst.value,
                limit,
                "A",
                f"{line_of(view.layout, node, line)} carries "
                f"{amps(worst.value)}{in_setups(view, worst)}: {number(share)} % of "
                f"{amps(rating)}; {number(view.limits.phase_loading_pct, 0)} % is enough for "
                "hours.",
                move_words(view, moves)
                if moves
                else "No re-plugging brings it down: keep other plugs off this phase and feel "
                "the plugs and the breaker for heat.",
                LOADING_BASIS,
                moves or (),
            )


def overload_at_full(view: View) -> Iterator[Finding]:
    """With every dimmer full up a line would carry more than its rating."""
    extra = np.where(view.nominal_a > 0.0, view.full_nominal_a, 0.0)
    for node in view.judged_nodes:
        lines, rating = view.lines[node], float(view.line_rating_a[node])
        full = (extra * view.is_below[:, node]) @ view.on_line
        for line in lines:
            worst = over(view, full[:, line], rating)
            if (
                worst is None
                or over(view, view.line_a[:, node, line], rating) is not None
                or over(view, view.arithmetic_a[:, node, line], rating) is not None
            ):
                continue
            moves = relief_at_full(view, node, rating)
            share = 100.0 * rating / worst.value
            yield Finding(
                "overload-at-full",
                "caution",
                at(view, node, line=line, setup=worst.setup),
                worst.value,
                rating,
                "A",
                f"With all dimmers up {line_of(view.layout, node, line)} would carry "
                f"{amps_beside(worst.value, rating)}{in_setups(view, worst)}; rated "
                f"{amps(rating)}.",
                move_words(view, moves)
                if moves
                else "No re-plugging mends it: hold the dimmers of that phase to "
                f"{number(share, 0)} % of its amps together, and lock the desk there.",
                FULL_BASIS,
                moves or (),
            )


def current_unbalance(view: View) -> Iterator[Finding]:
    """The lines of a three-phase supply or board are far apart, measured by its rating."""
    mended: dict[int, float] = {}
    for node in reversed(view.judged_nodes):
        rating = float(view.line_rating_a[node])
        limit = rating * view.limits.spread_note_pct / 100.0
        if len(view.lines[node]) < 3 or is_cut_off(view, node):
            continue
        if mended and over(view, _spread_without(view, node, tuple(mended)), limit) is None:
            continue
        worst = over(view, view.spread_a[:, node], limit)
        if worst is None:
            continue
        mended[node] = worst.value
        yield _unbalance(view, node, worst.setup, worst.value)


def _spread_without(view: View, node: int, nodes: tuple[int, ...]) -> FloatArray:
    """Spread of a node if the uneven boards below it took the mean of their lines. [A]"""
    currents = view.line_a[:, node].copy()
    for below in nodes:
        if node != below and node in view.path(below - 1):
            own = view.line_a[:, below]
            currents += own.mean(axis=1, keepdims=True) - own
    spread: FloatArray = currents.max(axis=1) - currents.min(axis=1)
    return spread


def _unbalance(view: View, node: int, setup: int, spread: float) -> Finding:
    limits, rating = view.limits, float(view.line_rating_a[node])
    share = 100.0 * spread / rating
    severity: Severity = "note"
    limit_pct = limits.spread_note_pct
    if share > limits.spread_fail_pct:
        severity, limit_pct = "fail", limits.spread_fail_pct
    elif share > limits.spread_pct:
        severity, limit_pct = "caution", limits.spread_pct
    lines = view.lines[node]
    aim = rating * limits.spread_note_pct / 100.0
    moves, left = best_moves(view, node, even_within(lines, aim), STEPS[severity])
    leaves = aim * MARGIN + left
    if left > 0.0 and leaves > WORTH_IT * spread:
        moves = ()
    currents = view.line_a[setup, node]
    shown = " / ".join(number(float(currents[line])) for line in lines)
    names = "/".join(line_name(view.layout, node, line) for line in lines)
    lowest = line_name(view.layout, node, lines[int(np.argmin(currents[list(lines)]))])
    return Finding(
        "current-unbalance",
        severity,
        at(view, node, setup=setup),
        share,
        limit_pct,
        "%",
        f"{board_name(view.layout, node, first=True)} runs {shown} A on "
        f"{names}{in_setup(view, setup)}: {amps(spread)} apart, {beside(share, limit_pct, 0)} % "
        f"of {amps(rating)}.",
        move_words(view, moves)
        if moves and left <= 0.0
        else f"{move_words(view, moves)} That leaves them about {amps(leaves)} apart, as the "
        "lamps are too big to share out evenly."
        if moves
        else f"No re-plugging evens it: the next lamp goes on {lowest}; a lamp too big to share "
        "out belongs on a single-phase feeder or over two lines.",
        SPREAD_BASIS,
        moves,
    )


def idle_phase(view: View) -> Iterator[Finding]:
    """A line stays empty in every set-up while another carries a real load.

    Told at the topmost board that it is empty on, not again for the boards behind it.
    """
    told: dict[int, set[int]] = {}

    def told_above(node: int, idle: list[int]) -> bool:
        return any(set(idle) <= told[n] for n in view.path(node - 1)[1:] if n in told)

    for node in view.judged_nodes:
        lines = view.lines[node]
        if len(lines) < 2 or not view.solved.any():
            continue
        highest = view.line_a[view.solved, node].max(axis=0)
        idle = [line for line in lines if highest[line] < IDLE_A]
        busiest = max(lines, key=lambda line: highest[line])
        limit = float(view.line_rating_a[node]) * view.limits.spread_note_pct / 100.0
        if not idle or highest[busiest] <= limit or told_above(node, idle):
            continue
        told[node] = set(idle)
        names = [line_name(view.layout, node, line) for line in idle]
        setup = int(np.argmax(np.where(view.solved, view.line_a[:, node, busiest], -1.0)))
        moves = relief(view, node, none_idle(view, lines))
        yield Finding(
            "idle-phase",
            "note",
            at(view, node, line=idle[0], setup=setup),
            float(highest[idle].max()),
            IDLE_A,
            "A",
            f"{listed(names)} of {board_name(view.layout, node)} "
            f"carr{'ies' if len(idle) == 1 else 'y'} nothing in any set-up, "
            f"{line_name(view.layout, node, busiest)} up to {amps(float(highest[busiest]))}.",
            move_words(view, moves)
            if moves
            else f"Nothing can be moved there as it stands: use {listed(names)} for what comes.",
            IDLE_BASIS,
            moves or (),
        )
