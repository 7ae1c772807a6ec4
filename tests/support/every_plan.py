"""Every plug plan there is, one by one: what a small plan is held against.

Written from the aim alone and from nothing of the planner: loads go onto outlets in every possible
way, what breaks a rating is struck out, and the rest is compared level by level.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations

from evenboard.electrics.layout import Board, Layout, Load, Outlet
from evenboard.electrics.load import load_split
from evenboard.planning import Plan

__all__ = ["Judge", "Judged", "Way"]

Place = tuple[int, str]
Way = list[Place | None]
STEP = 100_000
ROWS = {"bottom": 0, "middle": 1, "top": 2}
SIZES = {"large": 0, "medium": 1, "small": 2}
WIDTH = {"single": 1, "line-to-line": 2, "star": 3, "delta": 3}


@dataclass(frozen=True)
class Judged:
    """The levels of one plan; amps in steps of 0.1 A."""

    highest: int
    spread: int
    sum_of_spreads: int
    moves: int
    boards: int
    groups: int
    rows: int

    @property
    def levels(self) -> tuple[int, ...]:
        """In the order of the aim."""
        return (
            *(self.highest, self.spread, self.sum_of_spreads, self.moves),
            *(self.boards, self.groups, self.rows),
        )


def step(microamps: int) -> int:
    """Steps of 0.1 A, halves upward."""
    return (microamps + STEP // 2) // STEP


class Judge:
    """Judges plans of one layout, in which every load keeps its kind of connection."""

    def __init__(self, layout: Layout) -> None:
        self.layout = layout
        fed = {(b.parent, b.parent_outlet) for b in layout.boards}
        self.outlets: dict[Place, tuple[Board, Outlet]] = {
            (index, outlet.id): (board, outlet)
            for index, board in enumerate(layout.boards)
            for outlet in board.outlets
            if (index, outlet.id) not in fed
        }
        self.microamps = [self._microamps(load) for load in layout.loads]
        self.paths = [self._path(index) for index in range(len(layout.boards))]
        self.choices = self._choices()

    def _microamps(self, load: Load) -> int:
        volts = self.layout.supply.voltage_v
        volts *= 3**0.5 if load.connection == "line-to-line" else 1.0
        return round(load_split(load, volts).rms_a * 1_000_000)

    def _path(self, board: int) -> list[int]:
        path = [board]
        while (parent := self.layout.boards[path[-1]].parent) is not None:
            path.append(parent)
        return path

    def _choices(self) -> list[list[Place]]:
        """Where each load could go, looked at alone; a pinned load's outlet is for no other."""
        kept = {(load.board, load.outlet) for load in self.layout.loads if load.keep}
        found: list[list[Place]] = []
        for load, amps in zip(self.layout.loads, self.microamps, strict=True):
            if load.keep and load.board is not None and load.outlet is not None:
                found.append([(load.board, load.outlet)])
                continue
            mine = []
            for place, (_, outlet) in self.outlets.items():
                kind = outlet.type
                ratings = [kind.rating_a, kind.breaker.rating_a if kind.breaker else kind.rating_a]
                if (
                    place not in kept
                    and len(outlet.supply_lines) == WIDTH[load.connection]
                    and amps <= min(ratings) * 1e6 + 1
                    and (
                        None in (load.connector, kind.connector) or load.connector == kind.connector
                    )
                ):
                    mine.append(place)
            found.append(mine)
        return found

    def ways(self, most_out: int = 0) -> Iterator[Way]:
        """Every way to plug the loads, each outlet once, so many of them out at most."""
        way: Way = [None] * len(self.choices)
        used: set[Place] = set()

        def go(index: int, out: int) -> Iterator[Way]:
            if index == len(way):
                yield list(way)
                return
            for place in self.choices[index]:
                if place not in used:
                    used.add(place)
                    way[index] = place
                    yield from go(index + 1, out)
                    used.remove(place)
            if out < most_out:
                way[index] = None
                yield from go(index + 1, out + 1)

        yield from go(0, 0)

    def sums(self, way: Way, board: int | None = None) -> list[list[int]]:
        """Sum of each line in each set-up, of the supply or of a board. [uA]"""
        sums = [[0] * len(self.layout.supply.lines) for _ in self.layout.setups]
        for load, amps, place in zip(self.layout.loads, self.microamps, way, strict=True):
            if place is None or (board is not None and board not in self.paths[place[0]]):
                continue
            for setup, lit in enumerate(load.on):
                if lit:
                    for line in self.outlets[place][1].supply_lines:
                        sums[setup][line] += amps
        return sums

    def is_sound(self, way: Way) -> bool:
        """Whether a plan overloads no line and trips no device."""
        layout = self.layout
        ratings = [(None, layout.supply.rating_a)]
        ratings += [(index, board.inlet_rating_a) for index, board in enumerate(layout.boards)]
        for board, rating in ratings:
            if any(amps > rating * 1e6 + 500 for each in self.sums(way, board) for amps in each):
                return False
        return all(
            self._leakage(way, index, rcd.id, setup) <= 0.5 * rcd.rated_residual_ma + 1e-9
            for index, board in enumerate(layout.boards)
            for rcd in board.rcds
            for setup in range(len(layout.setups))
        )

    def _leakage(self, way: Way, board: int, rcd: str, setup: int) -> float:
        return sum(
            load.leakage_ma * load.count
            for load, place in zip(self.layout.loads, way, strict=True)
            if place is not None
            and place[0] == board
            and load.on[setup]
            and self.outlets[place][1].type.rcd == rcd
        )

    def judged(self, way: Way) -> Judged:
        """The levels of a plan."""
        sums = self.sums(way)
        spreads = [max(each) - min(each) for each in sums]
        moves = sum(
            load.board is not None and place is not None and place != (load.board, load.outlet)
            for load, place in zip(self.layout.loads, way, strict=True)
        )
        return Judged(
            highest=step(max(max(each) for each in sums)),
            spread=step(max(spreads)),
            sum_of_spreads=step(sum(spreads)),
            moves=moves,
            boards=self._boards(way),
            groups=self._groups(way),
            rows=self._rows(way),
        )

    def _boards(self, way: Way) -> int:
        """Largest spread of each board that has lines to even out and is not all there is."""
        total = 0
        for index, board in enumerate(self.layout.boards):
            below = [p for p in self.outlets if index in self.paths[p[0]]]
            if len(board.supply_lines) > 1 and below and len(below) < len(self.outlets):
                own = [[s[line] for line in board.supply_lines] for s in self.sums(way, index)]
                total += max(max(each) - min(each) for each in own)
        return step(total)

    def _groups(self, way: Way) -> int:
        counts: dict[object, list[int]] = {}
        for load, place in zip(self.layout.loads, way, strict=True):
            group = load.fixture.slug if load.fixture else (load.name, load.power_w)
            each = counts.setdefault(group, [0] * len(self.layout.supply.lines))
            if place is not None:
                for line in self.outlets[place][1].supply_lines:
                    each[line] += 1
        return sum(max(each) - min(each) for each in counts.values())

    def _rows(self, way: Way) -> int:
        rows = [None if p is None else self.outlets[p][1].type.row for p in way]
        return sum(
            abs(ROWS[row] - SIZES[load.size_class])
            for load, row in zip(self.layout.loads, rows, strict=True)
            if row is not None
        )

    def best(self) -> dict[frozenset[int], tuple[int, ...]]:
        """The best levels for each of the smallest sets of loads that may stay out.

        Pins are given up only where they are too much by themselves, and then as few as can be.
        """
        best: dict[frozenset[int], tuple[int, ...]] = {}
        pins = {i for i, load in enumerate(self.layout.loads) if load.keep}
        given_up = self._pins_given_up(sorted(pins))
        for fewest in range(len(self.choices) + 1):
            for way in self.ways(fewest):
                out = frozenset(i for i, place in enumerate(way) if place is None)
                if len(out & pins) == given_up and self.is_sound(way):
                    levels = self.judged(way).levels
                    best[out] = min(best.get(out, levels), levels)
            if best:
                return best
        raise AssertionError("with everything out nothing is broken")

    def _pins_given_up(self, pins: list[int]) -> int:
        for count in range(len(pins) + 1):
            for gone in combinations(pins, count):
                way: Way = [
                    self.choices[i][0] if i in pins and i not in gone else None
                    for i in range(len(self.choices))
                ]
                if self.is_sound(way):
                    return count
        raise AssertionError("with everything out nothing is broken")

    def way_of(self, plan: Plan) -> Way:
        """Where a plan puts each load."""
        by_load = {
            a.load: (self.layout.board_index(a.place.board), a.place.outlet)
            for a in plan.assignments
        }
        return [by_load.get(load.id) for load in self.layout.loads]
