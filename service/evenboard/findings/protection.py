"""Breakers and outlets: more through them than they are rated for, and who trips first."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from evenboard.electrics.equipment import RcdType
from evenboard.electrics.protection import covering_rcd, guards_above, rated_diversity
from evenboard.electrics.solution import FloatArray
from evenboard.findings.action import Action, Move, Unplug
from evenboard.findings.figures import OutletFigures
from evenboard.findings.finding import Finding, Severity
from evenboard.findings.judging import ROUNDING, Worst, at, in_setup, in_setups, over
from evenboard.findings.phase import within
from evenboard.findings.plates import outlets_over_by_plate
from evenboard.findings.remedy import move_words, sentence, unplug_words
from evenboard.findings.replug import move_away, relief, unplugging
from evenboard.findings.words import (
    amps,
    amps_beside,
    beside,
    board_name,
    counted,
    listed,
    number,
    outlet_name,
)

if TYPE_CHECKING:
    from evenboard.findings.view import View

__all__ = [
    "board_diversity",
    "breaker_loading",
    "breaker_overload",
    "outlet_overload",
    "rcd_selectivity",
    "selectivity",
]

BREAKER_BASIS = (
    "Breaker not loaded beyond its rating (IEC 60364-4-43, 433.1, from memory); 1.13 x may hold "
    "for an hour, 1.45 x trips within one (IEC 60898-1)."
)
LOADING_BASIS = (
    "Continuous load not above 80 % of a breaker (NEC 210.20, from memory); elsewhere common "
    "practice, no source: closed boxes get hot."
)
OUTLET_BASIS = "Rating of the outlet, per line (IEC 60309-1, AS/NZS 3112, BS 1363 and their like)."
SELECTIVITY_BASIS = "Coordination of devices in series (IEC 60364-5-53, 535, from memory)."
RCD_BASIS = (
    "Residual-current devices in series: the upper one time-delayed and of three times the rated "
    "residual current (IEC 60364-5-53, from memory)."
)
DIVERSITY_BASIS = "Rated diversity of circuits side by side (IEC 61439-2 Table 101, from memory)."


def breaker_overload(view: View) -> Iterator[Finding]:
    """More flows through a breaker than its rating: it will trip, sooner or later."""
    for figures in view.outlets:
        breaker = figures.outlet.type.breaker
        if breaker is None or not figures.in_use or _told_at_child(view, figures, breaker.rating_a):
            continue
        worst = over(view, figures.current_a.max(axis=1), breaker.rating_a)
        if worst is not None:
            what = f"the {number(breaker.rating_a)} A breaker of {_name(view, figures)}"
            yield _outlet_finding(
                view, figures, worst, breaker.rating_a, "breaker-overload", what, BREAKER_BASIS
            )
    for index, board in enumerate(view.layout.boards):
        node = index + 1
        if board.incomer is None or board.incomer.rating_a >= view.line_rating_a[node]:
            continue
        rating = board.incomer.rating_a
        worst = over(view, view.line_a[:, node].max(axis=1), rating)
        if worst is None:
            continue
        line = int(np.argmax(view.line_a[worst.setup, node]))
        actions, remedy = _relieved(view, node, rating, f"an incomer of {amps(worst.value)}")
        yield Finding(
            "breaker-overload",
            "fail",
            at(view, node, line=line, setup=worst.setup),
            worst.value,
            rating,
            "A",
            f"The {number(rating)} A main breaker of {board.id} carries "
            f"{amps_beside(worst.value, rating)}{in_setups(view, worst)}: it will trip.",
            remedy,
            BREAKER_BASIS,
            actions,
        )


def outlet_overload(view: View) -> Iterator[Finding]:
    """More is drawn from an outlet than its contacts are rated for."""
    for figures in view.outlets:
        rating = figures.outlet.type.rating_a
        if not figures.in_use or _told_at_child(view, figures, rating):
            continue
        worst = over(view, figures.current_a.max(axis=1), rating)
        if worst is None:
            continue
        name = f"outlet {_name(view, figures)}"
        yield _outlet_finding(view, figures, worst, rating, "outlet-overload", name, OUTLET_BASIS)
    yield from outlets_over_by_plate(view)


def _told_at_child(view: View, figures: OutletFigures, rating: float) -> bool:
    """Whether the overload is already told as that of the board that the outlet feeds."""
    if figures.child is None or figures.loads:
        return False
    inlet = float(view.line_rating_a[figures.child + 1])
    current = view.line_a[:, figures.child + 1].max(axis=1)
    return inlet <= rating * (1.0 + ROUNDING) and over(view, current, inlet) is not None


def _outlet_finding(
    view: View,
    figures: OutletFigures,
    worst: Worst,
    rating: float,
    code: str,
    what: str,
    basis: str,
) -> Finding:
    actions: tuple[Action, ...] = ()
    if figures.child is not None and not figures.loads:
        actions, remedy = _relieved(view, figures.child + 1, rating, f"{amps(worst.value)}")
    else:
        actions = move_away(view, _heaviest_first(view, figures, rating)) or ()
        if actions:
            remedy = move_words(view, [a for a in actions if isinstance(a, Move)])
        else:
            remedy, actions = _off(view, figures, rating, worst.value)
    what = sentence(what)
    consequence = f"; rated {amps(rating)}: its contacts overheat"
    if code == "breaker-overload":
        consequence = ": it will trip"
    return Finding(
        code,
        "fail",
        at(
            view,
            figures.board + 1,
            outlet=figures.outlet.id,
            load=figures.loads[0] if len(figures.loads) == 1 else None,
            setup=worst.setup,
        ),
        worst.value,
        rating,
        "A",
        f"{what} carries {amps_beside(worst.value, rating)}{in_setups(view, worst)}{consequence}.",
        remedy,
        basis,
        actions,
    )


def _heaviest_first(view: View, figures: OutletFigures, rating: float) -> list[int]:
    """The fewest loads to take off an outlet so that the rest is within a rating."""
    current = view.solution.load_current_a[view.solved]
    loads = sorted(figures.loads, key=lambda i: (view.layout.loads[i].keep, -current[:, i].max()))
    gone: list[int] = []
    for load in loads:
        rest = [i for i in figures.loads if i not in gone]
        if float(current[:, rest].sum(axis=1).max(initial=0.0)) <= rating:
            break
        gone.append(load)
    return gone


def _off(
    view: View, figures: OutletFigures, rating: float, value: float
) -> tuple[str, tuple[Action, ...]]:
    """What to say where no free outlet will do: split like units, or take the load off."""
    gone = _heaviest_first(view, figures, rating)
    actions = tuple(Unplug(view.layout.loads[i].id) for i in gone)
    first = view.layout.loads[gone[0]] if gone else None
    if first is not None and first.count > 1:
        each = value / first.count
        fits = int(rating / each)
        if fits >= 1:
            return (
                f"No free outlet here carries {amps(value)}: put at most {fits} of the "
                f"{first.count} on one plug, the others on outlets of their own.",
                actions,
            )
    return (
        f"No free outlet here carries {amps(value)}: bring a board with a larger outlet, or "
        f"{unplug_words(view, actions)}.",
        actions,
    )


def _relieved(view: View, node: int, rating: float, needed: str) -> tuple[tuple[Action, ...], str]:
    goal = within(view.lines[node], rating)
    moves = relief(view, node, goal)
    if moves:
        return moves, move_words(view, moves)
    gone = unplugging(view, node, goal)
    remedy = f"No re-plugging mends it: {board_name(view.layout, node)} needs {needed}"
    return gone, f"{remedy}, or {unplug_words(view, gone)}." if gone else f"{remedy}."


def breaker_loading(view: View) -> Iterator[Finding]:
    """Breakers are loaded for hours beyond their continuous share; told once a board."""
    share = view.limits.breaker_loading_pct / 100.0
    for index, board in enumerate(view.layout.boards):
        found: list[tuple[float, OutletFigures, Worst]] = []
        for figures in view.outlets:
            breaker = figures.outlet.type.breaker
            if figures.board != index or breaker is None or not figures.in_use:
                continue
            current = figures.current_a.max(axis=1)
            worst = over(view, current, breaker.rating_a * share)
            if worst is None or over(view, current, breaker.rating_a) is not None:
                continue
            if figures.child is not None and not figures.loads and _line_told(view, figures.child):
                continue
            found.append((worst.value / breaker.rating_a, figures, worst))
        if not found:
            continue
        loading, figures, worst = max(found, key=lambda item: item[0])
        rating = worst.value / loading
        more = f" So {'is' if len(found) == 2 else 'are'} {counted(len(found) - 1, 'other')}."
        loads = [i for _, f, _ in found for i in f.loads]
        complete = all(len(f.loads) == 1 and f.child is None for _, f, _ in found)
        moves = (move_away(view, loads, breaker_share=share) if complete else None) or ()
        yield Finding(
            "breaker-loading",
            "caution",
            at(view, index + 1, outlet=figures.outlet.id, setup=worst.setup),
            worst.value,
            rating * share,
            "A",
            f"The {number(rating)} A breaker of {_name(view, figures)} carries "
            f"{amps(worst.value)}{in_setups(view, worst)}, "
            f"{beside(100.0 * loading, 100.0 * share, 0)} %; {number(100.0 * share, 0)} % is "
            f"enough for hours.{more if len(found) > 1 else ''}",
            move_words(view, moves)
            if moves
            else "No larger outlet is free for all of them: give the box air and shade, and "
            "expect a trip on a hot day.",
            LOADING_BASIS,
            moves,
        )
        del board


def _line_told(view: View, child: int) -> bool:
    """Whether the child's own phase loading says the same."""
    limit = float(view.line_rating_a[child + 1]) * view.limits.phase_loading_pct / 100.0
    return over(view, view.line_a[:, child + 1].max(axis=1), limit) is not None


def selectivity(view: View) -> Iterator[Finding]:
    """A breaker is not smaller than the one that feeds it."""
    for index, board in enumerate(view.layout.boards):
        guards = guards_above(view.layout, index)
        own = board.incomer is not None
        above = min(guards, key=lambda guard: guard.rating_a)
        blocked = [
            f
            for f in view.outlets
            if f.board == index
            and f.in_use
            and f.outlet.type.breaker is not None
            and f.outlet.type.breaker.rating_a >= above.rating_a
        ]
        outside = guards[:-1] if own else ()
        feeding = min((g.rating_a for g in outside), default=float("inf"))
        if blocked:
            yield _unselective(view, index, blocked, above.rating_a)
        elif (
            board.incomer is not None
            and board.parent is not None
            and (board.incomer.rating_a >= feeding)
        ):
            yield Finding(
                "selectivity",
                "note",
                at(view, index + 1),
                board.incomer.rating_a,
                feeding,
                "A",
                f"The main breaker of {board.id} is {amps(board.incomer.rating_a)}, fed through "
                f"{amps(feeding)}: either may trip.",
                "Nothing to move: when this board goes dark, look at both breakers.",
                SELECTIVITY_BASIS,
            )


def _unselective(view: View, board: int, blocked: list[OutletFigures], above: float) -> Finding:
    worst = max(
        blocked, key=lambda f: f.outlet.type.breaker.rating_a if f.outlet.type.breaker else 0
    )
    rating = worst.outlet.type.breaker.rating_a if worst.outlet.type.breaker else 0.0
    loads = [i for f in blocked for i in f.loads]
    movable = all(f.child is None for f in blocked)
    moves = (move_away(view, loads, breaker_below=above) if movable else None) or ()
    names = listed([_name(view, f) for f in blocked], most=3)
    severity: Severity = "caution" if len(_in_use(view, board)) > 1 else "note"
    return Finding(
        "selectivity",
        severity,
        at(view, board + 1, outlet=worst.outlet.id),
        rating,
        above,
        "A",
        f"A fault on {names} may trip the {number(above)} A breaker ahead of "
        f"{view.layout.boards[board].id} and darken all of it: the breaker there is "
        f"{number(rating)} A.",
        move_words(view, moves)
        if moves
        else "No outlet with a smaller breaker is free for it: keep lamps that must not go out "
        "on another board.",
        SELECTIVITY_BASIS,
        moves,
    )


def _in_use(view: View, board: int) -> list[OutletFigures]:
    return [f for f in view.outlets if f.board == board and f.in_use]


def rcd_selectivity(view: View) -> Iterator[Finding]:
    """A residual-current device stands behind one that trips as readily; told once a board."""
    for index, board in enumerate(view.layout.boards):
        above = None
        if board.parent is not None:
            above = covering_rcd(view.layout, board.parent, board.parent_outlet)
        pairs: list[tuple[RcdType | None, RcdType | None]] = [
            (rcd, device) for rcd in board.rcds for device in (board.incomer_rcd, above)
        ]
        pairs.append((board.incomer_rcd, above))
        blind = [
            (device.rated_residual_ma / rcd.rated_residual_ma, rcd, device)
            for rcd, device in pairs
            if rcd is not None
            and device is not None
            and not device.delayed
            and rcd.rated_residual_ma * 3.0 > device.rated_residual_ma
        ]
        if not blind:
            continue
        _, rcd, device = min(blind, key=lambda item: item[0])
        yield Finding(
            "rcd-selectivity",
            "note",
            at(view, index + 1),
            rcd.rated_residual_ma,
            device.rated_residual_ma / 3.0,
            "mA",
            f"An earth fault on {board.id} may trip the {number(device.rated_residual_ma)} mA "
            f"device ahead as well as the {number(rcd.rated_residual_ma)} mA one.",
            "Nothing to move: a time-delayed device ahead, of three times the residual current, "
            "would let the circuit at fault go alone.",
            RCD_BASIS,
        )


def board_diversity(view: View) -> Iterator[Finding]:
    """All breakers of a box are loaded so well that they heat each other."""
    for index, board in enumerate(view.layout.boards):
        loaded = [
            f
            for f in _in_use(view, index)
            if f.outlet.type.breaker is not None and f.current_a.max(initial=0.0) > 0.0
        ]
        circuits = sum(len(f.outlet.supply_lines) for f in loaded)
        if circuits < 2:
            continue
        ratings = [
            f.outlet.type.breaker.rating_a * len(f.outlet.supply_lines)
            for f in loaded
            if f.outlet.type.breaker is not None
        ]
        currents: FloatArray = np.sum([f.current_a.sum(axis=1) for f in loaded], axis=0)
        share = 100.0 * currents / sum(ratings)
        limit = 100.0 * rated_diversity(circuits)
        worst = over(view, share, limit)
        if worst is None:
            continue
        yield Finding(
            "board-diversity",
            "note",
            at(view, index + 1, setup=worst.setup),
            worst.value,
            limit,
            "%",
            f"{counted(circuits, 'circuit')} of {board.id} run at {beside(worst.value, limit, 0)} "
            f"% of their breakers on average{in_setup(view, worst.setup)}; {number(limit, 0)} % "
            "for so many side by side.",
            "Give the box air and shade, and spread the load over a second board for a long day.",
            DIVERSITY_BASIS,
        )


def _name(view: View, figures: OutletFigures) -> str:
    return outlet_name(view.layout, figures.board, figures.outlet.id)
