"""Layouts to be planned, of any size and kind, made from a number: the same on every machine."""

from __future__ import annotations

import random
from dataclasses import dataclass, replace

from evenboard.electrics.equipment import Breaker
from evenboard.electrics.layout import Layout, Load, Outlet
from evenboard.planning import PlanOptions
from support.builders import a_board, a_layout, a_load, a_supply, an_outlet

__all__ = ["COARSE_W", "KINDS", "Instance", "an_instance"]

COARSE_W = (200.0, 300.0, 575.0, 650.0, 800.0, 1000.0, 1200.0, 1800.0, 2000.0, 2000.0)
"""Mains watts of common lamps. Invented mix."""

KINDS = ("plain", "pins", "capacities", "outlets", "set-ups", "moves", "everything")
ROWS = ("bottom", "middle", "top")


@dataclass(frozen=True, slots=True)
class Instance:
    """A layout and what is asked of its plan."""

    name: str
    layout: Layout
    options: PlanOptions


def an_instance(kind: str, loads: int, *, dimmed: bool, seed: int = 1, setups: int = 0) -> Instance:
    """A lighting list on enough boards.

    ``plain``: every outlet takes every lamp, all on at once. ``pins``: a fifth stays where it is,
    most of that on one line. ``capacities``: sub-boards whose feeders and breakers bind, a supply
    with little to spare. ``outlets``: hardly more outlets than lamps, two connectors, uneven over
    the lines. ``set-ups``: each lamp is on in about half of seven. ``moves``: all plugged, by
    chance, to be evened out by moving as few as can be. ``everything``: all of these at once.
    """
    chance = random.Random(f"{kind} {loads} {dimmed} {seed}")
    number = setups or (7 if kind in ("set-ups", "everything") else 1)
    names = tuple(f"s{i}" for i in range(number))
    lamps: list[Load] = []
    for index in range(loads):
        watts = chance.choice(COARSE_W)
        level = chance.randint(10, 100) / 100.0 if dimmed else 1.0
        on = tuple(chance.random() < 0.5 for _ in names) if number > 1 else (True,)
        if not any(on):
            on = (True, *on[1:])
        size = "small" if watts < 600 else "medium" if watts < 1500 else "large"
        lamps.append(
            a_load(
                f"x{index}",
                name=f"{watts:.0f} W",
                power_w=watts,
                dimmed_to=level,
                on=on,
                size_class=size,
            )
        )
    total_a = sum(lamp.power_w * lamp.dimmed_to for lamp in lamps) / 230.0
    tight = kind in ("capacities", "everything")
    rating = max(32.0, round(total_a / 3.0 * (1.15 if tight else 2.0), 1))
    boards = _boards(kind, loads, rating, chance)
    lamps = _plugged(kind, lamps, boards, chance)
    layout = a_layout(
        supply=a_supply(rating_a=rating),
        boards=boards,
        loads=tuple(lamps),
        setups=names,
    )
    name = f"{kind}-{'dimmed' if dimmed else 'coarse'}-{loads}" + (f"x{number}" if setups else "")
    return Instance(name, layout, PlanOptions())


def _boards(kind: str, loads: int, rating_a: float, chance: random.Random):  # type: ignore[no-untyped-def]
    scarce = kind in ("outlets", "everything")
    per_line = loads // 3 + (2 if scarce else max(4, loads // 3))
    counts = [per_line, per_line, per_line]
    if scarce:
        counts = [per_line + per_line // 4, per_line, per_line - per_line // 4]
    split = 1 + loads // 30 if kind in ("capacities", "everything", "set-ups") else 1
    boards = []
    outlets: list[list[Outlet]] = [[] for _ in range(split)]
    for line, count in enumerate(counts):
        for number in range(count):
            connector = None
            if scarce:
                connector = chance.choice(["a", "a", "b"])
            outlets[number % split].append(
                an_outlet(
                    f"l{line + 1}-{number}",
                    line,
                    row=ROWS[number % 3],
                    rating_a=16.0,
                    breaker=Breaker(16.0),
                    connector=connector,
                )
            )
    if split == 1:
        return (a_board(outlets=tuple(outlets[0]), inlet_rating_a=max(rating_a, 32.0)),)
    feeds = tuple(an_outlet(f"feed-{i}", 0, 1, 2, rating_a=rating_a) for i in range(split))
    boards.append(a_board(outlets=feeds, inlet_rating_a=rating_a))
    own = rating_a * (1.3 / split if kind != "set-ups" else 1.0)
    for index, part in enumerate(outlets):
        boards.append(
            replace(
                a_board(f"b{index}", outlets=tuple(part), inlet_rating_a=max(own, 16.0)),
                parent=0,
                parent_outlet=f"feed-{index}",
            )
        )
    return tuple(boards)


def _plugged(kind: str, lamps: list[Load], boards, chance: random.Random) -> list[Load]:  # type: ignore[no-untyped-def]
    places = [
        (b, outlet)
        for b, board in enumerate(boards)
        for outlet in board.outlets
        if len(outlet.supply_lines) == 1
    ]
    chance.shuffle(places)
    if kind in ("outlets", "everything"):
        lamps = [replace(x, connector=chance.choice(["a", None, None])) for x in lamps]
    if kind in ("pins", "everything"):
        places.sort(key=lambda place: place[1].supply_lines[0])
    plugged = []
    for index, lamp in enumerate(lamps):
        pin = kind in ("pins", "everything") and index % 5 == 0
        if pin or kind == "moves":
            at = next(
                (
                    p
                    for p in places
                    if lamp.connector is None or p[1].type.connector == lamp.connector
                ),
                None,
            )
            if at is not None:
                places.remove(at)
                lamp = replace(
                    lamp,
                    board=at[0],
                    outlet=at[1].id,
                    supply_lines=at[1].supply_lines,
                    connector=lamp.connector or at[1].type.connector,
                    keep=pin,
                )
        plugged.append(lamp)
    return plugged
