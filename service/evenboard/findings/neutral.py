"""The neutral: too much in it, none there, and what happens if it opens."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from evenboard.electrics.layout import NEUTRAL
from evenboard.electrics.solution import FloatArray, Flow
from evenboard.findings.action import Action, ConnectNeutral, Resize, Unplug
from evenboard.findings.finding import Finding
from evenboard.findings.inputs import neutral_ends_at, survived_v
from evenboard.findings.judging import at, in_setup, in_setups, over
from evenboard.findings.plugs import needs_neutral
from evenboard.findings.remedy import move_words, unplug_words
from evenboard.findings.replug import MARGIN, Goal, move_away, relief, unplugging
from evenboard.findings.words import (
    amps,
    amps_beside,
    board_name,
    line_name,
    line_of,
    listed,
    number,
)

if TYPE_CHECKING:
    from evenboard.findings.view import View

__all__ = ["neutral_overload", "no_neutral", "open_neutral_overvoltage", "third_harmonic"]

NOTEWORTHY_TRIPLEN_PCT = 15.0
"""Third harmonic in the lines above which the neutral must not be thinner than they are: the first
step of IEC 60364-5-52 Annex E."""

GOVERNING_TRIPLEN_PCT = 33.0
"""Third harmonic above which the neutral, not the line, sizes the cable: the same table."""

LOADED_SHARE = 0.5
"""Harmonics in a feeder loaded to less than this share of its rating are not worth a word;
estimate."""

NEUTRAL_BASIS = (
    "No breaker guards a neutral: its current not above the rating of a line (IEC 60364-5-52, "
    "524.2 and Annex E, from memory)."
)
SWITCHING_BASIS = (
    "Largest neutral current over every on/off combination of the loads; triplens as with all "
    "on, an upper bound."
)
NO_NEUTRAL_BASIS = "Without a neutral, lamps on different lines stand in series between the lines."
OPEN_BASIS = (
    "Voltages of a floating star point with the loads' own models; limit: what a load is marked "
    "for and 10 % (IEC 60038, from memory)."
)
ANNEX_E_BASIS = "IEC 60364-5-52:2009 Annex E (as reproduced in BS 7671 Appendix 4)."


def neutral_within(limit_a: float) -> Goal:
    """The goal that the neutral carries no more than a share of the limit."""

    def excess(flow: Flow) -> FloatArray:
        neutral: FloatArray = flow.rms_a[..., NEUTRAL]
        return neutral - limit_a * MARGIN

    return excess


def neutral_overload(view: View) -> Iterator[Finding]:
    """The neutral carries, or by switching lamps could carry, more than its rating."""
    for node in view.judged_nodes:
        if len(view.lines[node]) < 2 or not view.has_neutral[node]:
            continue
        rating = float(view.neutral_rating_a[node])
        where = line_of(view.layout, node, NEUTRAL)
        worst = over(view, view.neutral_a[:, node], rating)
        if worst is not None:
            highest_line = float(view.line_a[worst.setup, node].max())
            if highest_line > view.line_rating_a[node] and worst.value <= highest_line:
                continue
            yield _overloaded(view, node, worst.setup, worst.value, rating, in_setups(view, worst))
            continue
        switching = view.worst_switching[node]
        if switching is None or switching.current_a <= rating * (1.0 + 1e-9):
            continue
        names = listed([view.load_names[i] for i in switching.loads])
        yield Finding(
            "neutral-overload",
            "caution",
            at(view, node, line=NEUTRAL, setup=switching.setup),
            switching.current_a,
            rating,
            "A",
            f"{where} stays within {amps(rating)} as planned, but with only {names} on it could "
            f"reach {amps(switching.current_a)}.",
            "Switch lamps on and off in step over the phases, or use a supply and feeder whose "
            f"neutral carries {amps(switching.current_a)}.",
            SWITCHING_BASIS,
        )


def _overloaded(
    view: View, node: int, setup: int, value: float, rating: float, in_setups: str
) -> Finding:
    goal = neutral_within(rating)
    moves = relief(view, node, goal)
    actions: tuple[Action, ...] = moves or ()
    triplen = float(view.neutral_triplen_a[setup, node])
    fundamental = float(view.neutral_fundamental_a[setup, node])
    cause = "harmonics of the loads" if triplen > fundamental else "uneven phases"
    if moves:
        remedy = move_words(view, moves)
    else:
        actions = unplugging(view, node, neutral_within(_all_on_limit_a(view, node, rating)))
        remedy = f"No re-plugging mends it: it needs a neutral of {amps(value)}"
        remedy += f", or {unplug_words(view, actions)}." if actions else "."
    return Finding(
        "neutral-overload",
        "fail",
        at(view, node, line=NEUTRAL, setup=setup),
        value,
        rating,
        "A",
        f"{line_of(view.layout, node, NEUTRAL)} carries {amps_beside(value, rating)}{in_setups}, "
        f"mostly from {cause}; rated {amps(rating)}, and no breaker guards it.",
        remedy,
        NEUTRAL_BASIS,
        actions,
    )


def _all_on_limit_a(view: View, node: int, rating: float) -> float:
    """What the neutral may carry with all on so that switching makes no more than the rating. [A]

    Triplens are there with all on already; the fundamental that switching adds is in quadrature.
    """
    switching = view.worst_switching[node]
    if switching is None:
        return rating
    triplen = float(view.neutral_triplen_a[switching.setup, node])
    added = max(switching.current_a**2 - triplen**2, 0.0)
    return float(np.sqrt(rating**2 - added)) if added < rating**2 else rating


def no_neutral(view: View) -> Iterator[Finding]:
    """Loads that need a neutral are fed by something that has none."""
    for node in range(len(view.lines)):
        if not neutral_ends_at(view, node):
            continue
        below = [
            i
            for i in np.flatnonzero(view.is_below[:, node])
            if needs_neutral(view.layout.loads[int(i)])
        ]
        if not below:
            continue
        names = listed([view.load_names[int(i)] for i in below])
        board = view.board(node)
        what = "a feeder and an inlet" if board is not None else "a supply outlet"
        yield Finding(
            "no-neutral",
            "fail",
            at(view, node, line=NEUTRAL),
            None,
            None,
            "",
            f"{board_name(view.layout, node, first=True)} has no neutral, and {names} "
            f"need{'s' if len(below) == 1 else ''} one: lamps can get up to the line-to-line "
            "voltage.",
            f"Do not switch on. Use {what} with a neutral, and check it before the lamps.",
            NO_NEUTRAL_BASIS,
            (ConnectNeutral(board.id if board is not None else None),),
        )
    for index, load in enumerate(view.layout.loads):
        if load.board is None or load.outlet is None or not needs_neutral(load):
            continue
        has = view.outlet_at[load.board, load.outlet].type.neutral
        if has and (load.lead is None or load.lead.neutral_connected):
            continue
        moves = None if has else move_away(view, [index])
        name = view.load_names[index]
        what = "its lead" if has else "its outlet"
        remedy = f"Use a lead with a neutral for {name}."
        actions: tuple[Action, ...] = (ConnectNeutral(load=load.id),)
        if not has:
            actions = moves or (Unplug(load.id),)
            remedy = f"Unplug {name}: no outlet with a neutral is free."
        yield Finding(
            "no-neutral",
            "fail",
            at(view, load.board + 1, outlet=load.outlet, load=index),
            None,
            None,
            "",
            f"{name} needs a neutral and {what} has none.",
            move_words(view, moves) if moves else remedy,
            NO_NEUTRAL_BASIS,
            actions,
        )


def open_neutral_overvoltage(view: View) -> Iterator[Finding]:
    """If the supply's neutral opened, some lamps would get more than they are made for."""
    if not view.has_neutral[0] or len(view.lines[0]) < 2:
        return
    worst: tuple[float, int, int, float, float] | None = None
    hit: set[int] = set()
    for index, load in enumerate(view.layout.loads):
        if load.connection != "single" or len(load.supply_lines) != 1:
            continue
        line = load.supply_lines[0]
        high = survived_v(load)
        for setup in np.flatnonzero(view.solved & view.solution.on[:, index]).tolist():
            voltage = float(view.open_neutral_v[setup, line])
            if voltage <= high:
                continue
            hit.add(index)
            if worst is None or voltage / high > worst[0]:
                worst = (voltage / high, setup, index, voltage, high)
    if worst is None:
        return
    _, setup, index, voltage, high = worst
    line = view.layout.loads[index].supply_lines[0]
    lines = view.lines[0]
    volts = " / ".join(number(float(view.open_neutral_v[setup, i]), 0) for i in lines)
    names = "/".join(line_name(view.layout, 0, i) for i in lines)
    more = f" and {len(hit) - 1} more" if len(hit) > 1 else ""
    yield Finding(
        "open-neutral-overvoltage",
        "note",
        at(view, 0, line=line, load=index, setup=setup),
        voltage,
        high,
        "V",
        f"If the neutral opened{in_setup(view, setup)}: {volts} V on {names}. "
        f"{view.load_names[index]}{more} would be hurt; they bear {number(high, 0)} V.",
        "Neutral in first and out last, latched and checked; never part it under load. Isolate "
        "at once if lamps on one phase glare while others fade.",
        OPEN_BASIS,
    )


def third_harmonic(view: View) -> Iterator[Finding]:
    """Third harmonics in a loaded three-phase feeder ask for a full neutral, or size the cable."""
    for node in view.judged_nodes:
        if len(view.lines[node]) < 3 or not view.has_neutral[node]:
            continue
        rating = float(view.line_rating_a[node])
        highest = view.line_a[:, node].max(axis=1)
        share = np.where(highest > LOADED_SHARE * rating, view.third_harmonic_pct[:, node], 0.0)
        worst = over(view, share, NOTEWORTHY_TRIPLEN_PCT)
        if worst is None:
            continue
        board = view.board(node)
        run = board.feeder if board is not None else None
        thin = (
            run is not None
            and run.neutral_csa_mm2 is not None
            and run.csa_mm2 is not None
            and run.neutral_csa_mm2 < run.csa_mm2
        )
        governs = worst.value > GOVERNING_TRIPLEN_PCT
        message = (
            f"{number(worst.value, 0)} % third harmonic in the lines of "
            f"{board_name(view.layout, node)}{in_setups(view, worst)}: "
        )
        message += "the neutral sizes the cable." if governs else "the neutral must be full size."
        actions: tuple[Action, ...] = ()
        if thin and run is not None and board is not None:
            actions = (Resize(board=board.id, csa_mm2=run.csa_mm2),)
            remedy = "Its neutral is thinner than the lines: use a feeder with a full neutral."
        elif governs:
            remedy = (
                "Clamp the neutral too, with a true-RMS meter; feeders are judged here with the "
                "neutral as a loaded core."
            )
        else:
            remedy = "No thinner neutral anywhere on the way to the supply; clamp it with true RMS."
        yield Finding(
            "third-harmonic",
            "caution" if thin else "note",
            at(view, node, line=NEUTRAL, setup=worst.setup),
            worst.value,
            GOVERNING_TRIPLEN_PCT if governs else NOTEWORTHY_TRIPLEN_PCT,
            "%",
            message,
            remedy,
            ANNEX_E_BASIS,
            actions,
        )
