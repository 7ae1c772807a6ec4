"""Switching on: the inrush that breakers see, and one order of switching on that suits them all."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from evenboard.electrics.earth_fault import supply_loop_ohm
from evenboard.electrics.equipment import Breaker
from evenboard.electrics.generator import load_step_pct
from evenboard.electrics.inrush import Start, prospective_a, start_order
from evenboard.electrics.layout import NEUTRAL, Load, Run
from evenboard.electrics.load import is_phase_cut
from evenboard.electrics.protection import breaker_band_a
from evenboard.electrics.solution import FloatArray
from evenboard.findings.action import Move, StartInOrder
from evenboard.findings.finding import Finding
from evenboard.findings.judging import ROUNDING, at, in_setup
from evenboard.findings.remedy import move_words
from evenboard.findings.replug import move_away
from evenboard.findings.words import (
    amps,
    amps_beside,
    counted,
    listed,
    number,
    outlet_name,
)

if TYPE_CHECKING:
    from evenboard.findings.view import View

__all__ = ["EdgeGuard", "groups", "inrush_a", "inrush_trip", "order_words", "whole_order"]

SOFT_START = 1.5
"""Inrush of a filament that a phase-cut dimmer brings up, over its rated current; estimate."""

MOST_ORDERED = 120
"""Up to so many loads are gathered in groups that go on together."""

INRUSH_BASIS = (
    "Instantaneous band B 3 to 5, C 5 to 10, D 10 to 20 x In (IEC 60898-1); inrush multiples of "
    "the types are estimates for a stiff supply, less what known cable impedance takes."
)


@dataclass(frozen=True, slots=True)
class EdgeGuard:
    """A breaker and everything that it sees: its place, curve and loads.

    Up to ``edge_a`` it surely does not trip at once, from ``sure_a`` on it surely does.
    """

    board: int
    outlet: str | None
    breaker: Breaker
    loads: tuple[int, ...]
    edge_a: float
    sure_a: float


def inrush_a(view: View) -> FloatArray:
    """Inrush per line of each plug, all its units at once, (L,). [A]

    The multiple of the type on the full current from a stiff supply. A resistance in the way adds
    to that of a cold filament; of any other load it only bounds the current.
    """
    layout = view.layout
    inrush = np.zeros(len(layout.loads))
    ways: dict[tuple[int, bool], complex] = {}
    for index, load in enumerate(layout.loads):
        multiple = SOFT_START if is_phase_cut(load) else max(load.inrush_multiple, 1.0)
        stiff = float(view.full_nominal_a[index]) * multiple
        if load.board is None or stiff <= 0.0:
            continue
        way_ohm = abs(_way_ohm(view, load, load.board, ways) + _lead_ohm(view, load))
        limit = prospective_a(float(view.load_nominal_v[index]), way_ohm)
        resistive = load.load_model in ("tungsten", "constant-impedance")
        inrush[index] = 1.0 / (1.0 / stiff + 1.0 / limit) if resistive else min(stiff, limit)
        inrush[index] = max(inrush[index], float(view.full_nominal_a[index]))
    return inrush


def _way_ohm(view: View, load: Load, board: int, known: dict[tuple[int, bool], complex]) -> complex:
    """Impedance there and back from the supply to a load's board, as far as it is known. [ohm]"""
    alone = len(load.supply_lines) == 1
    if (board, alone) not in known:
        total = complex(supply_loop_ohm(view.layout) or 0.0)
        for node in view.path(board):
            feeder = view.layout.boards[node - 1].feeder if node else None
            if feeder is not None:
                total += _loop(view, feeder, alone)
        known[board, alone] = total
    return known[board, alone]


def _lead_ohm(view: View, load: Load) -> complex:
    """What a load's own lead adds. [ohm]"""
    if load.lead is None:
        return 0j
    return _loop(view, load.lead, len(load.supply_lines) == 1)


def _loop(view: View, run: Run, alone: bool) -> complex:
    impedance = view.impedance_ohm(run)
    # Where the neutral is open the current comes back in another line.
    back = impedance[NEUTRAL] if alone and run.neutral_connected else impedance[0]
    return complex(impedance[0] + back)


def edge_guards(view: View) -> tuple[EdgeGuard, ...]:
    """Every breaker whose curve is known, with the loads that it sees."""
    guards = []
    for figures in view.outlets:
        breaker = figures.outlet.type.breaker
        if breaker is None or not figures.in_use:
            continue
        loads = list(figures.loads)
        if figures.child is not None:
            loads += [int(i) for i in np.flatnonzero(view.is_below[:, figures.child + 1])]
        if loads:
            guards.append(_guard(figures.board, figures.outlet.id, breaker, tuple(loads)))
    for index, board in enumerate(view.layout.boards):
        below = tuple(int(i) for i in np.flatnonzero(view.is_below[:, index + 1]))
        if board.incomer is not None and below:
            guards.append(_guard(index, None, board.incomer, below))
    return tuple(guards)


def _guard(board: int, outlet: str | None, breaker: Breaker, loads: tuple[int, ...]) -> EdgeGuard:
    band = breaker_band_a(breaker)
    return EdgeGuard(board, outlet, breaker, loads, band.lower_a, band.upper_a)


def groups(
    view: View, setup: int, order: tuple[tuple[str, ...], ...]
) -> tuple[tuple[int, ...], ...]:
    """The loads of a set-up in the groups in which they go on; all at once without an order."""
    on = [int(i) for i in np.flatnonzero(view.solution.on[setup]) if i in view.places]
    if not order:
        return (tuple(on),) if on else ()
    index = {view.layout.loads[i].id: i for i in on}
    named = [tuple(index[name] for name in group if name in index) for group in order]
    known = {i for group in named for i in group}
    return tuple(group for group in (*named, *((i,) for i in on if i not in known)) if group)


def peak_a(view: View, guard: EdgeGuard, setup: int, order: Sequence[Sequence[int]]) -> float:
    """The highest current that a breaker sees while a set-up is switched on in groups. [A]"""
    running = np.zeros(NEUTRAL)
    highest = 0.0
    seen = set(guard.loads)
    for group in order:
        own = [i for i in group if i in seen]
        if not own:
            continue
        rush = view.inrush_a[own] @ view.on_line[own]
        highest = max(highest, float((running + rush).max()))
        running = running + view.nominal_a[setup, own] @ view.on_line[own]
    return highest


def whole_order(view: View) -> StartInOrder:
    """One order of switching on in which no breaker's band is reached and no step is too large.

    Largest first; what alone is too much for a breaker comes last, one by one. Of very many loads
    each goes on by itself.
    """
    loads = sorted(view.places)
    if len(loads) > MOST_ORDERED:
        loads.sort(key=lambda i: (-float(view.inrush_a[i]), i))
        return StartInOrder(tuple((view.layout.loads[i].id,) for i in loads))
    shared = [guard for guard in view.edge_guards if len(guard.loads) > 1]
    seen = np.zeros((len(view.layout.loads), len(shared)))
    for column, guard in enumerate(shared):
        seen[list(guard.loads), column] = 1.0 / guard.edge_a
    # Every line of every shared breaker is one current to keep under its edge, taken as 1.
    share = (seen[:, :, None] * view.on_line[:, None, :]).reshape(len(seen), -1)
    rush = share * view.inrush_a[:, None]
    steady = share * view.nominal_a.max(axis=0, initial=0.0)[:, None]
    generator = view.layout.supply.generator
    if generator is not None:
        power = view.solution.load_power_w.max(axis=0, initial=0.0)
        step = [load_step_pct(generator, float(watts)) / view.step_limit_pct for watts in power]
        rush = np.column_stack([rush, step])
        steady = np.column_stack([steady, np.zeros(len(steady))])
    starts = [
        Start(view.layout.loads[i].id, tuple(steady[i].tolist()), tuple(rush[i].tolist()))
        for i in loads
    ]
    order = start_order(starts, 1.0)
    named = [step.names for step in order.steps]
    return StartInOrder((*named, *((name,) for name in order.refused)))


def order_words(view: View, order: StartInOrder) -> str:
    """``Switch on in this order: key; fill, back; rim.``"""
    index = view.load_index
    words = [listed([view.load_names[index[name]] for name in group]) for group in order.groups]
    shown = words if len(words) <= 6 else [*words[:5], f"then {len(words) - 5} more steps"]
    return f"Switch on in this order, a few seconds apart: {'; '.join(shown)}."


def inrush_trip(view: View) -> Iterator[Finding]:
    """Switching on may trip a breaker: one lamp on its own, or many at once.

    Told once a board for lamps that are too much by themselves, once in all for those together.
    """
    alone: dict[int, _Alone] = {}
    together: list[tuple[float, EdgeGuard, int, float]] = []
    for guard in view.edge_guards:
        single = max(guard.loads, key=lambda i: float(view.inrush_a[i]))
        peak = float(view.inrush_a[single])
        if peak > guard.edge_a * (1.0 + ROUNDING):
            # Of the breakers on its way the one that is most likely to trip.
            if single not in alone or peak / guard.edge_a > alone[single].ratio:
                alone[single] = _Alone(peak / guard.edge_a, guard, single, peak)
            continue
        if len(guard.loads) == 1:
            continue
        worst = max(
            (
                (peak_a(view, guard, s, view.groups[s]), -s)
                for s in np.flatnonzero(view.solved).tolist()
            ),
            default=(0.0, 0),
        )
        if worst[0] > guard.edge_a * (1.0 + ROUNDING):
            together.append((worst[0] / guard.edge_a, guard, -int(worst[1]), worst[0]))
    for board in sorted({item.guard.board for item in alone.values()}):
        yield _alone(view, board, [a for a in alone.values() if a.guard.board == board])
    if together:
        yield _together(view, together)


@dataclass(frozen=True, slots=True)
class _Alone:
    """A load whose inrush alone reaches a breaker's band, and how far."""

    ratio: float
    guard: EdgeGuard
    load: int
    peak_a: float


def _alone(view: View, board: int, found: Sequence[_Alone]) -> Finding:
    worst = max(found, key=lambda item: item.ratio)
    guard, load, peak = worst.guard, worst.load, worst.peak_a
    edges = {item.load: item.peak_a for item in found}
    # Past a main breaker, or one that feeds another board, no outlet of this board is better.
    own = all(set(item.guard.loads) <= set(_plugged_at(view, item.guard)) for item in found)
    moves: tuple[Move, ...] = ()
    if own:
        moves = move_away(view, sorted(edges), edge_above=edges) or ()
    place = outlet_name(view.layout, board, guard.outlet) if guard.outlet else "the main breaker"
    curve = f"{guard.breaker.curve}{number(guard.breaker.rating_a)}"
    more = f" {counted(len(found) - 1, 'other load')} there too." if len(found) > 1 else ""
    sure = peak > guard.sure_a
    edge = guard.sure_a if sure else guard.edge_a
    return Finding(
        "inrush-trip",
        "caution" if sure else "note",
        at(view, board + 1, outlet=guard.outlet, load=load),
        peak,
        guard.edge_a,
        "A",
        f"{view.load_names[load]} draws about {amps_beside(peak, edge)} at switch-on; the {curve} "
        f"breaker of {place} {'trips' if sure else 'may trip'} at once from {amps(edge)}.{more}",
        move_words(view, moves)
        if moves
        else "No outlet with a slower breaker is free: bring it up by a dimmer, or have the desk "
        "send a board with D-curve breakers.",
        INRUSH_BASIS,
        moves,
    )


def _plugged_at(view: View, guard: EdgeGuard) -> list[int]:
    """The loads in a breaker's own outlet."""
    return [i for i, place in view.places.items() if place == (guard.board, guard.outlet)]


def _together(view: View, found: Sequence[tuple[float, EdgeGuard, int, float]]) -> Finding:
    _, guard, setup, peak = max(found, key=lambda item: item[0])
    order = view.whole_order
    # Where even one by one is too much, the last to come on find the breaker well loaded.
    then = groups(view, setup, order.groups)
    mends = all(
        peak_a(view, g, s, groups(view, s, order.groups)) <= g.edge_a * (1.0 + ROUNDING)
        for _, g, s, _ in found
    )
    name = (
        f"the breaker of {outlet_name(view.layout, guard.board, guard.outlet)}"
        if guard.outlet
        else f"the main breaker of {view.layout.boards[guard.board].id}"
    )
    curve = f"{guard.breaker.curve}{number(guard.breaker.rating_a)}"
    return Finding(
        "inrush-trip",
        "note",
        at(view, guard.board + 1, outlet=guard.outlet, setup=setup),
        peak,
        guard.edge_a,
        "A",
        f"All on at once{in_setup(view, setup)} draw about {amps_beside(peak, guard.edge_a)} "
        f"through {name} ({curve}), which may trip from {amps(guard.edge_a)}.",
        order_words(view, order)
        if mends
        else f"{order_words(view, order)} The last may still trip it, at "
        f"{amps(peak_a(view, guard, setup, then))}: spread the load over more breakers.",
        INRUSH_BASIS,
        (order,) if mends else (),
    )
