"""Reading a layout as a problem: who draws what, which plug fits which outlet, what limits it."""

from __future__ import annotations

from collections.abc import Sequence, Set

import numpy as np

from evenboard.electrics.layout import Layout, Load
from evenboard.planning.draws import Draw, draws
from evenboard.planning.measure import UNIT, IntArray
from evenboard.planning.meters import AMPS, Meter, meters_of
from evenboard.planning.problem import OUT, Bin, BoolArray, Problem, Room, Seat
from evenboard.planning.result import PlanOptions

__all__ = ["problem_of"]

KINDS_AT_MOST = 5
"""Kinds of seats in a bin before each kind gets a bin of its own."""

SLACK_A = 1e-6
"""Rounding that a rating is given. [A]"""

SIZE_RANK = {"large": 0, "medium": 1, "small": 2}


def problem_of(layout: Layout, options: PlanOptions) -> Problem:
    """Read a layout as a problem.

    Parameters
    ----------
    layout : Layout
        Loads loose or plugged.
    options : PlanOptions
        The spare that is to be left counts as a limit.

    Returns
    -------
    Problem
        Its arrays.

    References
    ----------
    .. [1] Assignment with bounds on subsets of seats: P. Hall, "On representatives of subsets",
       J. London Math. Soc. 10 (1935).
    """
    seats = _seats(layout)
    ways = _all_draws(layout, {len(seat.lines) for seat in seats})
    origin = _origins(layout, seats)
    fits = _fits(layout, ways, seats, origin)
    bins, bin_of = _bins(layout, seats, fits)
    n, lines = len(layout.loads), len(layout.supply.lines)
    pattern = np.zeros((len(bins), lines), dtype=np.int64)
    for index, bin_ in enumerate(bins):
        pattern[index, list(bin_.lines)] = 1
    rows = [tuple(row) for row in pattern.tolist()]
    columns = sorted(set(rows))
    allowed = np.zeros((n, len(bins)), dtype=np.bool_)
    for index, bin_ in enumerate(bins):
        allowed[:, index] = fits[:, list(bin_.seats)].any(axis=1)
    on = np.array([load.on for load in layout.loads], dtype=np.int64).reshape(n, len(layout.setups))
    amps = np.full((n, 4), -1, dtype=np.int64)
    watts = np.zeros(n, dtype=np.int64)
    for index, draw in ((i, d) for i, each in enumerate(ways) for d in each):
        # What a lamp would draw on a voltage that it is not made for, and never gets, is no load.
        if draw.suits or draw.lines == len(layout.loads[index].supply_lines):
            amps[index, draw.lines] = round(draw.current_a * UNIT)
            watts[index] = max(watts[index], round(draw.power_w))
    leakage = np.array([round(x.leakage_ma * x.count * 1000) for x in layout.loads], dtype=np.int64)
    rooms = _rooms(bins, fits, allowed)
    home = np.array([bin_of[o] if o >= 0 else OUT for o in origin.tolist()], dtype=np.int64)
    everything = meters_of(layout, options)
    weights = (np.where(amps > 0, amps, 0).max(axis=1, initial=0), leakage, watts)
    meters, covers = _binding(everything, bins, allowed, on, weights, lines)
    pinned = np.array([x.keep and x.board is not None for x in layout.loads], dtype=np.bool_)
    most, plugged = options.max_moves, int(((home != OUT) & ~pinned).sum())
    return Problem(
        layout=layout,
        options=options,
        lines=lines,
        setups=len(layout.setups),
        amps=amps,
        on=on,
        fits=fits,
        origin=origin,
        home=home,
        pinned=pinned,
        seats=seats,
        bins=bins,
        pattern=pattern,
        width=pattern.sum(axis=1),
        column=np.array([columns.index(row) for row in rows], dtype=np.int64),
        columns=np.array(columns, dtype=np.int64).reshape(len(columns), lines),
        allowed=allowed,
        rooms=rooms,
        rooms_of=tuple(
            tuple(r for r, room in enumerate(rooms) if room.bin == b) for b in range(len(bins))
        ),
        meters=meters,
        covers=covers,
        limit=np.array([meter.limit for meter in meters], dtype=np.int64),
        weighs=np.array([meter.weighs for meter in meters], dtype=np.int64),
        leakage=leakage[:, None] * on,
        watts=watts[:, None] * on,
        kind=_kinds(layout, amps, on, allowed, fits, home, leakage, watts),
        group=_numbered([_group(load) for load in layout.loads]),
        size=np.array([SIZE_RANK[load.size_class] for load in layout.loads], dtype=np.int64),
        all_meters=everything,
        move_limit=None if most is None or most >= plugged else most,
        only_amps=all(meter.weighs == AMPS for meter in meters),
        plain=not meters and all(bool((r.loads == allowed[:, r.bin]).all()) for r in rooms),
    )


def _all_draws(layout: Layout, counts: Set[int]) -> tuple[tuple[Draw, ...], ...]:
    known: dict[tuple[object, ...], tuple[Draw, ...]] = {}
    full_up: dict[tuple[object, ...], dict[int, float]] = {}
    found = []
    for load in layout.loads:
        key = (
            *(load.fixture.slug if load.fixture else None, load.count, load.power_w),
            *(load.power_factor, load.displacement_factor, load.displacement),
            *(load.third_harmonic_pct, load.load_model, load.rated_voltage_v, load.input_range_v),
            *(load.connection, load.dimmer),
        )
        dimmed = *key, load.dimmed_to
        if dimmed not in known:
            known[dimmed] = draws(layout, load, counts, full_up.setdefault(key, {}))
        found.append(known[dimmed])
    return tuple(found)


def _seats(layout: Layout) -> tuple[Seat, ...]:
    """Outlets that feed no board. A load on some of an outlet's lines keeps that outlet to it."""
    taken = {(b.parent, b.parent_outlet) for b in layout.boards if b.parent is not None}
    outlets = {(b, o.id): o for b, board in enumerate(layout.boards) for o in board.outlets}
    partial = {}
    for index, load in enumerate(layout.loads):
        if load.board is None or load.outlet is None:
            continue
        place = load.board, load.outlet
        outlet = outlets.get(place)
        apart = outlet is not None and outlet.supply_lines != load.supply_lines
        if load.keep or apart or place in taken:
            partial[index] = place
    reserved = set(partial.values())
    seats = [
        Seat(place[0], outlet, outlet.supply_lines)
        for place, outlet in outlets.items()
        if place not in taken and place not in reserved
    ]
    for index, place in partial.items():
        outlet = outlets.get(place)
        if outlet is not None:
            seats.append(Seat(place[0], outlet, layout.loads[index].supply_lines, owner=index))
    return tuple(seats)


def _origins(layout: Layout, seats: Sequence[Seat]) -> IntArray:
    owned = {seat.owner: index for index, seat in enumerate(seats) if seat.owner is not None}
    shared = {(s.board, s.outlet.id): i for i, s in enumerate(seats) if s.owner is None}
    origin = np.full(len(layout.loads), -1, dtype=np.int64)
    for index, load in enumerate(layout.loads):
        if load.board is not None and load.outlet is not None:
            origin[index] = owned.get(index, shared.get((load.board, load.outlet), -1))
    return origin


def _fits(
    layout: Layout,
    ways: Sequence[tuple[Draw, ...]],
    seats: Sequence[Seat],
    origin: IntArray,
) -> BoolArray:
    """Which plug goes into which outlet and is carried by it, dimmers full up."""
    standards = {standard.id: standard for standard in layout.region.outlets}
    neutral = _neutral_at(layout)
    faces: dict[tuple[int, float, bool, str | None], list[int]] = {}
    for index, seat in enumerate(seats):
        if seat.owner is None:
            returns = seat.outlet.type.neutral and neutral[seat.board]
            face = len(seat.lines), _carries(seat), returns, seat.outlet.type.connector
            faces.setdefault(face, []).append(index)
    masks = {face: _mask(len(seats), members) for face, members in faces.items()}
    alike: dict[tuple[object, ...], BoolArray] = {}
    fits = np.zeros((len(layout.loads), len(seats)), dtype=np.bool_)
    for i, load in enumerate(layout.loads):
        if load.keep and origin[i] >= 0:
            fits[i, origin[i]] = True
            continue
        plug = load.connector
        if plug is None and origin[i] >= 0:
            plug = seats[int(origin[i])].outlet.type.connector
        by_lines = {way.lines: way for way in ways[i]}
        own = len(load.supply_lines)
        key = plug, own, *((w.lines, w.full_a, w.suits, w.neutral) for w in ways[i])
        if key not in alike:
            alike[key] = np.zeros(len(seats), dtype=np.bool_)
            for (lines, carries, returns, connector), mask in masks.items():
                way = by_lines.get(lines)
                if way is None or not (way.suits or own == lines):
                    continue
                if way.neutral and not returns:
                    continue
                standard = standards.get(connector or "")
                goes_in = plug is None or connector in (None, plug)
                goes_in = goes_in or (standard is not None and plug in standard.accepts)
                if goes_in and way.full_a <= carries + SLACK_A:
                    alike[key] |= mask
        fits[i] = alike[key]
        if origin[i] >= 0:
            seat = seats[int(origin[i])]
            there = by_lines.get(len(seat.lines))
            if there is not None and there.current_a <= _carries(seat) + SLACK_A:
                fits[i, origin[i]] = True
    return fits


def _mask(count: int, members: Sequence[int]) -> BoolArray:
    mask = np.zeros(count, dtype=np.bool_)
    mask[list(members)] = True
    return mask


def _carries(seat: Seat) -> float:
    """What an outlet and its breaker carry. [A]"""
    kind = seat.outlet.type
    return kind.rating_a if kind.breaker is None else min(kind.rating_a, kind.breaker.rating_a)


def _neutral_at(layout: Layout) -> list[bool]:
    """Whether each board has a neutral that is connected through to the supply's."""
    has: list[bool] = []
    for board in layout.boards:
        above = layout.supply.neutral if board.parent is None else has[board.parent]
        through = board.feeder is None or board.feeder.neutral_connected
        has.append(above and through and board.neutral)
    return has


def _bins(
    layout: Layout, seats: Sequence[Seat], fits: BoolArray
) -> tuple[tuple[Bin, ...], dict[int, int]]:
    members: dict[tuple[int, tuple[int, ...], str | None, int | None], list[int]] = {}
    for index, seat in enumerate(seats):
        device = seat.outlet.type.rcd
        key = (seat.board, seat.lines, device, seat.owner)
        members.setdefault(key, []).append(index)
    bins: list[Bin] = []
    takes = np.ascontiguousarray(fits.T)
    for key, found in members.items():
        fixed = key[3] is not None
        kinds: dict[bytes, list[int]] = {}
        for o in found:
            kinds.setdefault(takes[o].tobytes(), []).append(o)
        parts = [found] if len(kinds) <= KINDS_AT_MOST else list(kinds.values())
        for part in parts:
            seat = seats[part[0]]
            device = seat.outlet.type.rcd
            bins.append(Bin(seat.board, seat.lines, tuple(part), device, fixed))
    return tuple(bins), {o: b for b, bin_ in enumerate(bins) for o in bin_.seats}


def _rooms(bins: Sequence[Bin], fits: BoolArray, allowed: BoolArray) -> tuple[Room, ...]:
    """Hall's condition for each bin: loads that find seats only among some are no more than those.

    Only unions of what single loads fit into need be looked at.
    """
    rooms = []
    alike: dict[bytes, list[int]] = {}
    for load, row in enumerate(fits):
        alike.setdefault(row.tobytes(), []).append(load)
    firsts = [members[0] for members in alike.values()]
    for index, bin_ in enumerate(bins):
        if bin_.fixed:
            continue
        inside = fits[:, list(bin_.seats)]
        mine = [load for load in firsts if allowed[load, index]]
        unions = {row.tobytes(): row for row in inside[mine]}
        for row in list(unions.values()):
            for other in list(unions.values()):
                both = row | other
                unions.setdefault(both.tobytes(), both)
        for union in unions.values():
            within = allowed[:, index] & ~(inside & ~union).any(axis=1)
            most = int(union.sum())
            if int(within.sum()) > most:
                rooms.append(Room(index, within, most))
    return tuple(rooms)


def _binding(
    meters: Sequence[Meter],
    bins: Sequence[Bin],
    allowed: BoolArray,
    on: IntArray,
    weights: tuple[IntArray, IntArray, IntArray],
    lines: int,
) -> tuple[tuple[Meter, ...], BoolArray]:
    """The meters that can be overrun at all, and which bins are behind each."""
    tightest: dict[tuple[int, bytes], tuple[Meter, BoolArray]] = {}
    faces: dict[tuple[int, tuple[int, ...], str | None], int] = {}
    face = [faces.setdefault((b.board, b.lines, b.device), len(faces)) for b in bins]
    for meter in meters:
        behind = np.array([meter.sees(*each) for each in faces], dtype=np.bool_)[face]
        loads = allowed[:, behind].any(axis=1)
        most = (weights[meter.weighs][:, None] * on)[loads].sum(axis=0).max(initial=0)
        if most > meter.limit:
            key = meter.weighs, behind.tobytes()
            if key not in tightest or meter.limit < tightest[key][0].limit:
                tightest[key] = meter, behind
    kept = tuple(meter for meter, _ in tightest.values())
    table = np.array([behind for _, behind in tightest.values()], dtype=np.bool_)
    return kept, np.ascontiguousarray(table.reshape(len(kept), len(bins)).T)


def _group(load: Load) -> object:
    return load.fixture.slug if load.fixture is not None else (load.name, load.power_w)


def _numbered(keys: Sequence[object]) -> IntArray:
    numbers: dict[object, int] = {}
    return np.array([numbers.setdefault(key, len(numbers)) for key in keys], dtype=np.int64)


def _kinds(
    layout: Layout,
    amps: IntArray,
    on: IntArray,
    allowed: BoolArray,
    fits: BoolArray,
    home: IntArray,
    leakage: IntArray,
    watts: IntArray,
) -> IntArray:
    return _numbered(
        [
            (
                *(amps[i].tobytes(), on[i].tobytes(), allowed[i].tobytes(), int(home[i])),
                *(leakage[i], watts[i], _group(load), load.size_class),
                fits[i].tobytes(),
            )
            for i, load in enumerate(layout.loads)
        ]
    )
