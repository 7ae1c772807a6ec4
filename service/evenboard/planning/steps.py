"""A plan as things to do one after another, none of which breaks a rating on the way.

A load goes to its place once that is free and everything on its way carries it. Where loads wait
for each other's outlets, one is unplugged first and put in last; that is also what is done where
only the ratings stand in the way. Unplugging never breaks anything, so there is always a way.
"""

from __future__ import annotations

from typing import Literal

import numpy as np

from evenboard.planning.measure import IntArray
from evenboard.planning.problem import OUT, Problem
from evenboard.planning.result import Place, Step
from evenboard.planning.state import State
from evenboard.planning.words import listed, load_named, outlet_names

__all__ = ["place_of", "steps_of"]

Action = Literal["unplug", "move", "plug-in"]


def place_of(problem: Problem, seat: int) -> Place:
    """A seat by the ids of board and outlet.

    Parameters
    ----------
    problem : Problem
        What is planned.
    seat : int
        A seat.

    Returns
    -------
    Place
        Its board and outlet.

    References
    ----------
    .. [1] None; bookkeeping.
    """
    found = problem.seats[seat]
    return Place(problem.layout.boards[found.board].id, found.outlet.id)


class _Hall:
    """Who is where while the steps are carried out."""

    def __init__(self, problem: Problem, seat: IntArray) -> None:
        self.problem, self.goal = problem, seat
        self.where = problem.origin.copy()
        self.bin_of = {o: b for b, bin_ in enumerate(problem.bins) for o in bin_.seats}
        self.state = State(problem)
        for load in np.flatnonzero(self.where >= 0).tolist():
            self.state.put(load, self.bin_of[int(self.where[load])])
        self.steps: list[Step] = []
        self.names: dict[int, dict[str, str]] = {}

    def is_free(self, seat: int) -> bool:
        return not bool((self.where == seat).any())

    def can_enter(self, load: int) -> bool:
        """Whether a load's place is free and all on its way to the supply carries it."""
        seat = int(self.goal[load])
        if not self.is_free(seat):
            return False
        bin_ = self.bin_of[seat]
        before = self.state.take(load)
        over = self.state.use > self.problem.limit[:, None]
        self.state.put(load, bin_)
        now = self.state.use > self.problem.limit[:, None]
        sound = not bool((now & ~over & self.problem.covers[bin_][:, None]).any())
        sound = sound and not bool((now & self.problem.covers[bin_][:, None]).any())
        self.state.take(load)
        if before != OUT:
            self.state.put(load, before)
        return sound

    def enter(self, load: int) -> None:
        origin, seat = int(self.where[load]), int(self.goal[load])
        self.state.take(load)
        self.state.put(load, self.bin_of[seat])
        self.where[load] = seat
        name, to = load_named(self.problem.layout.loads[load]), self._named(seat)
        if origin >= 0:
            self._say(
                "move", load, origin, seat, f"Move {name} from {self._named(origin)} to {to}."
            )
        else:
            self._say("plug-in", load, None, seat, f"Plug {name}, which was set aside, into {to}.")

    def plug(self, load: int) -> None:
        """A loose load goes in, after all moves: nothing has to be made sure of any more."""
        seat = int(self.goal[load])
        name = load_named(self.problem.layout.loads[load])
        self._say("plug-in", load, None, seat, f"Plug {name} into {self._named(seat)}.")

    def leave(self, load: int, why: str) -> None:
        origin = int(self.where[load])
        self.state.take(load)
        self.where[load] = -1
        name = load_named(self.problem.layout.loads[load])
        text = f"Switch {name} off and unplug it from {self._named(origin)}{why}."
        self._say("unplug", load, origin, None, text)

    def waits_for(self, load: int) -> list[int]:
        """The loads that have the place of a load."""
        return np.flatnonzero(self.where == self.goal[load]).tolist()

    def _named(self, seat: int) -> str:
        found = self.problem.seats[seat]
        layout = self.problem.layout
        if found.board not in self.names:
            self.names[found.board] = outlet_names(layout, layout.boards[found.board])
        return self.names[found.board][found.outlet.id]

    def _say(
        self, action: Action, load: int, origin: int | None, seat: int | None, text: str
    ) -> None:
        self.steps.append(
            Step(
                len(self.steps) + 1,
                action,
                self.problem.layout.loads[load].id,
                None if origin is None else place_of(self.problem, origin),
                None if seat is None else place_of(self.problem, seat),
                text,
            )
        )


def steps_of(problem: Problem, seat: IntArray) -> tuple[Step, ...]:
    """The steps from how it is plugged to how it is planned.

    Parameters
    ----------
    problem : Problem
        What was planned.
    seat : ndarray of int64, shape (n,)
        The seat of every load, -1 for one that stays out.

    Returns
    -------
    tuple of Step
        Plugged loads that stay out first, then moves, then loose loads.

    References
    ----------
    .. [1] Moves form chains and rings of outlets; each ring costs one load set aside.
    """
    hall = _Hall(problem, seat)
    layout = problem.layout
    for load in np.flatnonzero((problem.origin >= 0) & (seat < 0)).tolist():
        hall.leave(load, " and leave it out: it does not fit")
    moving = np.flatnonzero((problem.origin >= 0) & (seat >= 0) & (seat != problem.origin)).tolist()
    loose = np.flatnonzero((problem.origin < 0) & (seat >= 0)).tolist()
    aside: list[int] = []
    while moving or aside:
        ready = next((i for i in moving if hall.can_enter(i)), None)
        if ready is not None:
            hall.enter(ready)
            moving.remove(ready)
            continue
        ready = next((i for i in aside if hall.can_enter(i)), None)
        if ready is not None:
            hall.enter(ready)
            aside.remove(ready)
            continue
        out = _set_aside(hall, moving)
        others = [i for i in moving if i != out and int(seat[i]) == int(hall.where[out])]
        names = listed([load_named(layout.loads[i]) for i in others])
        why = f" to free it for {names}" if names else " to make room on its line"
        hall.leave(out, f"{why}; it goes back in later")
        moving.remove(out)
        aside.append(out)
    for load in loose:
        hall.plug(load)
    return tuple(hall.steps)


def _set_aside(hall: _Hall, moving: list[int]) -> int:
    """The load to unplug when nothing can move: in a ring, the smallest; else the largest."""
    problem = hall.problem

    def largest(load: int) -> int:
        return int(problem.amps[load].max())

    ringed = [i for i in moving if any(other in moving for other in hall.waits_for(i))]
    blocking = {other for i in ringed for other in hall.waits_for(i) if other in moving}
    if blocking:
        return min(blocking, key=lambda i: (largest(i), i))
    return max(moving, key=lambda i: (largest(i), -i))
