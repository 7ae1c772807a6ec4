"""Which plugs to move so that a finding goes away: a small search on linear estimates.

A moved load is taken to draw the same current on its new lines, turned by the angle between them;
what the changed voltages do to it is left to the margin of the goal. Nothing is solved again here:
all candidates of a step are weighed in one array, and only the best is checked against the ratings
on its way to the supply. Evening a whole layout out is the planning room's work, not this file's.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from evenboard.electrics.layout import NEUTRAL, Outlet
from evenboard.electrics.protection import breaker_band_a
from evenboard.electrics.solution import ComplexArray, FloatArray, Flow
from evenboard.findings.action import Move, Unplug
from evenboard.findings.loadflow import flow_of, rms_of
from evenboard.findings.plugs import Place, accepts, behind, leakage_allows

if TYPE_CHECKING:
    from evenboard.findings.view import View

__all__ = [
    "MARGIN",
    "MOST_STEPS",
    "ROW_OF_SIZE",
    "Goal",
    "Replugging",
    "best_moves",
    "move_away",
    "relief",
    "relief_at_full",
    "split_leakage",
    "unplugging",
]

MARGIN = 0.98
"""Share of a limit that a remedy aims at, for what the linear estimate leaves out; estimate."""

MOST_WEIGHED = 30
"""How many loads of a board are weighed in a step, so that a huge layout is still answered soon."""

MOST_GONE = 12
"""Where more loads than this would have to go, a larger supply is the only remedy; estimate."""

MOST_STEPS = 8
"""A remedy of more moves than this is a new plan, not a remedy; estimate."""

ALIKE_A = 0.5
"""Steps that help alike to within this are chosen by the smaller plug to move; estimate."""

TRIED = 6
"""How many of the best candidates of a step are checked against every rating before giving up."""

ROW_OF_SIZE = {"large": "bottom", "medium": "middle", "small": "top"}

Goal = Callable[[Flow], FloatArray]
"""From a node's currents, shape (K, S, 4), to the excess in each candidate and set-up, (K, S)."""

Filter = Callable[[Place], bool]
"""Whether a load may go to a place, beyond what its plug says."""


@dataclass(frozen=True, slots=True)
class Step:
    """One step of a search: loads and where they go; a swap moves two at once."""

    moves: tuple[tuple[int, Place], ...]


class Replugging:
    """Where every load stands while a remedy is looked for."""

    def __init__(self, view: View) -> None:
        self.view = view
        self.layout = view.layout
        self.places: dict[int, Place] = dict(view.places)
        self._taken: Collection[Place] = view.taken
        self._parts = list(view.node_parts)

    def outlet(self, place: Place) -> Outlet:
        """The outlet at a place."""
        return self.view.outlet_at[place]

    def targets(self, load: int, boards: Iterable[int]) -> Iterator[Place]:
        """Free outlets that take a load's plug, one of each electrical kind, best row first."""
        row = ROW_OF_SIZE[self.layout.loads[load].size_class]
        here = self.places[load]
        goes_in: dict[tuple[object, ...], bool] = {}
        for board in boards:
            # By position, so that the order is that of the board whatever the kinds are.
            best: dict[tuple[object, ...], tuple[int, bool, int, Place]] = {}
            for kind, members in self.view.alike[board].items():
                if kind.plug not in goes_in:
                    goes_in[kind.plug] = accepts(self.view, load, members[0][1], here)
                if not goes_in[kind.plug]:
                    continue
                free = [each for each in members if each[1] not in self._taken]
                if not free:
                    continue
                fits = [each for each in free if self.outlet(each[1]).type.row == row]
                position, place = (fits or free)[0]
                found = free[0][0], not fits, position, place
                if kind.electrical in best:
                    other = best[kind.electrical]
                    chosen = min(found, other, key=lambda each: each[1:3])
                    found = min(found[0], other[0]), *chosen[1:]
                best[kind.electrical] = found
            yield from (place for _, _, _, place in sorted(best.values()))

    def parts_at(self, node: int) -> ComplexArray:
        """Currents into a node as things stand, parts of shape (3, S, 4)."""
        return self._parts[node]

    def change(self, step: Step, node: int) -> ComplexArray | float:
        """What a step adds to a node's currents, parts of shape (3, S, 4)."""
        more: ComplexArray | float = 0.0
        for load, place in step.moves:
            here = self.places[load]
            old, new = self.outlet(here).supply_lines, self.outlet(place).supply_lines
            loses, gains = node in self.view.path(here[0]), node in self.view.path(place[0])
            if loses and gains:
                more = more + self.view.shift(load, old, new)
            elif loses:
                more = more - self.view.parts(load, old)
            elif gains:
                more = more + self.view.parts(load, new)
        return more

    def after(self, step: Step, node: int) -> ComplexArray:
        """Currents into a node after a step, parts of shape (3, S, 4)."""
        parts: ComplexArray = self._parts[node] + self.change(step, node)
        return parts

    def _touched(self, step: Step) -> set[int]:
        return {
            node
            for load, place in step.moves
            for board in (place[0], self.places[load][0])
            for node in self.view.path(board)
        }

    def take(self, step: Step) -> None:
        """Carry a step out."""
        changed = {node: self.after(step, node) for node in self._touched(step)}
        for node, parts in changed.items():
            self._parts[node] = parts
        self.places.update(dict(step.moves))
        self._taken = {*self.places.values(), *self.view.fed}

    def is_sound(self, step: Step) -> bool:
        """True where a step breaks no rating that is whole, and makes no broken one worse."""
        solved = self.view.solved
        for node in self._touched(step):
            before = rms_of(self._parts[node])[solved].max(axis=0, initial=0.0)
            after = rms_of(self.after(step, node))[solved].max(axis=0, initial=0.0)
            allowed = np.maximum(self.view.core_limit_a[node] * MARGIN, before + 1e-6)
            if bool((after > allowed).any()):
                return False
        return leakage_allows(self.view, dict(step.moves), self.places)

    def spread_out(self, loads: Sequence[int]) -> bool:
        """Bring each of some loads to a free outlet; False where one finds none."""
        for load in loads:
            place = self.best_place(load, lambda _: True)
            if place is None:
                return False
            self.take(Step(((load, place),)))
        return True

    def moves(self) -> tuple[Move, ...]:
        """All that has been moved, in the order of the layout's loads."""
        return tuple(
            Move(load.id, self.layout.boards[self.places[i][0]].id, self.places[i][1])
            for i, load in enumerate(self.layout.loads)
            if i in self.places and self.places[i] != (load.board, load.outlet)
        )

    def best_place(self, load: int, allowed: Filter) -> Place | None:
        """Where a load goes best: on its own board if it can, on the least loaded line there."""
        own = self.places[load][0]
        for boards in ((own,), tuple(b for b in range(len(self.layout.boards)) if b != own)):
            ranked: list[tuple[float, int, Place]] = []
            for place in self.targets(load, boards):
                step = Step(((load, place),))
                if allowed(place) and self.is_sound(step):
                    node = self.view.judged_nodes[0]
                    highest = rms_of(self.after(step, node))[:, :NEUTRAL].max()
                    ranked.append((float(highest), len(ranked), place))
            if ranked:
                return min(ranked)[2]
        return None


def relief(view: View, node: int, goal: Goal) -> tuple[Move, ...] | None:
    """The few moves after which a node meets a goal in every set-up; None where none are found."""
    moves, left = best_moves(view, node, goal)
    return moves if left <= 0.0 else None


def best_moves(
    view: View, node: int, goal: Goal, most: int = MOST_STEPS
) -> tuple[tuple[Move, ...], float]:
    """The few moves that bring a node to a goal or nearest to it, and the excess that is left."""
    search = Replugging(view)
    left = _search(search, node, goal, most)
    return search.moves(), left


def _search(search: Replugging, node: int, goal: Goal, most: int) -> float:
    """Move plugs until a goal is met or nothing helps; the excess that is left."""
    if not search.view.solved.any():
        return np.inf
    left = float(_score(goal(flow_of(search.parts_at(node)[None])), search.view)[0])
    for _ in range(most):
        if left <= 0.0:
            break
        step = _best_step(search, node, goal, left)
        if step is None:
            break
        search.take(step)
        left = float(_score(goal(flow_of(search.parts_at(node)[None])), search.view)[0])
    return left


def relief_at_full(view: View, node: int, rating_a: float) -> tuple[Move, ...] | None:
    """The few moves after which no line of a node is over a rating with all dimmers full up."""
    search = Replugging(view)
    amps = np.where(view.nominal_a > 0.0, view.full_nominal_a, 0.0) * view.is_below[:, node]
    sums = amps @ view.on_line
    for _ in range(MOST_STEPS):
        highest = float(sums.max())
        if highest <= rating_a * MARGIN:
            return search.moves()
        best: tuple[float, Step, FloatArray] | None = None
        for step in _single_moves(search, node):
            ((load, place),) = step.moves
            here, there = search.outlet(search.places[load]), search.outlet(place)
            after = sums.copy()
            after[:, list(here.supply_lines)] -= amps[:, load, None]
            after[:, list(there.supply_lines)] += amps[:, load, None]
            if float(after.max()) < (best[0] if best else highest) and search.is_sound(step):
                best = float(after.max()), step, after
        if best is None:
            return None
        search.take(best[1])
        sums = best[2]
    return None


def unplugging(view: View, node: int, goal: Goal) -> tuple[Unplug, ...]:
    """The loads to take off so that a node meets a goal: one if one will do, the smallest such.

    Loads that are to be kept where they are go last. Empty where a solution is wanting, or where
    very many would have to go. What stays may draw more, as the voltage comes up.
    """
    if not view.solved.any():
        return ()
    left = [int(i) for i in np.flatnonzero(view.is_below[:, node]) if view.solution.on[:, i].any()]
    left.sort(key=lambda i: (view.layout.loads[i].keep, float(view.nominal_a[:, i].max())))
    parts = view.node_parts[node] * view.growth[node]
    gone: list[int] = []
    while left and _score(goal(flow_of(parts[None])), view)[0] > 0.0:
        if len(gone) == MOST_GONE:
            return ()
        drawn = [view.parts(i, view.layout.loads[i].supply_lines) for i in left]
        without = parts - np.stack(drawn) * view.growth[node]
        scores = _score(goal(flow_of(without)), view)
        enough = np.flatnonzero(scores <= 0.0)
        movable = [k for k, i in enumerate(left) if not view.layout.loads[i].keep]
        choice = int(enough[0]) if len(enough) else min(movable or [0], key=lambda k: scores[k])
        parts = without[choice]
        gone.append(left.pop(choice))
    return tuple(Unplug(view.layout.loads[i].id) for i in sorted(gone))


def move_away(
    view: View,
    loads: Sequence[int],
    *,
    breaker_share: float | None = None,
    breaker_below: float | None = None,
    edge_above: Mapping[int, float] | None = None,
) -> tuple[Move, ...] | None:
    """Moves that bring every one of some loads to a free outlet that suits it; None if one stays.

    ``breaker_share`` asks for a breaker loaded to no more than that, ``breaker_below`` for one that
    is smaller, ``edge_above`` for one whose band begins above a load's inrush.
    """
    if not loads or any(view.layout.loads[i].keep or i not in view.places for i in loads):
        return None

    def allowed(load: int, place: Place) -> bool:
        breaker = view.outlet_at[place].type.breaker
        if breaker is None:
            return breaker_below is None
        current = float(view.solution.load_current_a[:, load].max())
        if breaker_share is not None and current > breaker.rating_a * breaker_share * MARGIN:
            return False
        if breaker_below is not None and breaker.rating_a >= breaker_below:
            return False
        return edge_above is None or breaker_band_a(breaker).lower_a * MARGIN >= edge_above[load]

    search = Replugging(view)
    for load in loads:
        place = search.best_place(load, partial(allowed, load))
        if place is None:
            return None
        search.take(Step(((load, place),)))
    return search.moves()


def split_leakage(view: View, device: int, limit_ma: float) -> tuple[Move, ...] | None:
    """Moves that bring a device's standing leakage within a limit, the leakiest load first.

    ``device`` is its position in the view's ``rcds``. None where it cannot be done.
    """
    search = Replugging(view)
    for _ in range(MOST_STEPS):
        loads = behind(view, device, search.places)
        total = view.leakage_ma[:, list(loads)].sum(axis=1).max(initial=0.0)
        if total <= limit_ma * (1.0 + 1e-9):
            return search.moves()
        for load in sorted(loads, key=lambda i: (-float(view.leakage_ma[:, i].max()), i)):
            if view.layout.loads[load].keep or view.leakage_ma[:, load].max() <= 0.0:
                continue
            place = search.best_place(load, lambda place: device not in view.guarding[place])
            if place is not None:
                search.take(Step(((load, place),)))
                break
        else:
            return None
    return None


def _best_step(search: Replugging, node: int, goal: Goal, now: float) -> Step | None:
    """The step that lowers the score most: a move to a free outlet, else a swap."""
    for steps in (_single_moves(search, node), _swaps(search, node)):
        candidates = list(steps)
        if not candidates:
            continue
        changed = search.parts_at(node) + np.stack([search.change(s, node) for s in candidates])
        scores = _score(goal(flow_of(changed)), search.view)
        moved = [max(search.view.largest_a[load] for load, _ in s.moves) for s in candidates]
        for index in np.lexsort((np.array(moved), np.round(scores / ALIKE_A)))[:TRIED].tolist():
            if scores[index] < now - 1e-6 and search.is_sound(candidates[index]):
                return candidates[int(index)]
    return None


def _movable(search: Replugging, node: int) -> list[int]:
    below, on = search.view.is_below, search.view.solution.on
    loads = [
        i
        for i, load in enumerate(search.layout.loads)
        if i in search.places and not load.keep and below[i, node] and on[:, i].any()
    ]
    if len(loads) > MOST_WEIGHED:
        # Of very many a sample of every size will do.
        loads.sort(key=lambda i: (-search.view.largest_a[i], i))
        loads = sorted(loads[:: -(-len(loads) // MOST_WEIGHED)])
    return loads


def _single_moves(search: Replugging, node: int) -> Iterator[Step]:
    for load in _movable(search, node):
        here = search.outlet(search.places[load]).supply_lines
        for place in search.targets(load, (search.places[load][0],)):
            if search.outlet(place).supply_lines != here:
                yield Step(((load, place),))


def _swaps(search: Replugging, node: int) -> Iterator[Step]:
    movable = _movable(search, node)
    for position, first in enumerate(movable):
        for second in movable[position + 1 :]:
            one, other = search.places[first], search.places[second]
            if one[0] != other[0] or (
                search.outlet(one).supply_lines == search.outlet(other).supply_lines
            ):
                continue
            if accepts(search.view, first, other, one) and accepts(search.view, second, one, other):
                yield Step(((first, other), (second, one)))


def _score(excess: FloatArray, view: View) -> FloatArray:
    """The worst set-up's excess, and a little of all others so that a step can help a tie."""
    judged = excess[:, view.solved]
    worst = judged.max(axis=1)
    rest = np.clip(judged, 0.0, None).mean(axis=1)
    score: FloatArray = np.where(worst > 0.0, worst + 1e-3 * rest, worst)
    return score
