"""What is asked of a plan and what a plan says: options, assignments, steps, proofs.

Everything is frozen. Amps are RMS amps at nominal voltage, added arithmetically per line of the
supply, in the worst set-up where nothing else is said.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

__all__ = [
    "BASE_BUDGET",
    "BUDGET_FOR_MOVES",
    "BUDGET_PER_LOAD",
    "Assignment",
    "Place",
    "Plan",
    "PlanOptions",
    "Proven",
    "Step",
    "Unplaced",
    "tied_by_setups",
]

BASE_BUDGET, BUDGET_PER_LOAD, BUDGET_FOR_MOVES = 15_000_000, 80_000, 30_000_000
"""Work units of one plan: array elements touched by the search, about a nanosecond each."""

FEW_LOADS, BUDGET_PER_MISSING_LOAD = 60, 2_000_000
"""Few loads make few sums, far apart: the best of them are harder to come upon."""

BUDGET_FOR_SETUPS, TIED_LOADS, MOST_TIED = 23_000_000, (20, 64), 10
"""Set-ups tie the loads to each other. Fewer are looked at outright, more are even of themselves;
between is where the search is long: so much for each load from there to the nearer end, up to ten.
"""

Objective = Literal["even", "fewest-moves"]


def tied_by_setups(loads: int, setups: int) -> int:
    """How much set-ups tie loads to each other.

    Parameters
    ----------
    loads, setups : int
        How many there are.

    Returns
    -------
    int
        Loads from here to the nearer end of where the search is long, up to ten; 0 beyond.

    References
    ----------
    .. [1] None; tried, as the benchmark shows.
    """
    if setups < 2:
        return 0
    return max(min(loads - TIED_LOADS[0], TIED_LOADS[1] - loads, MOST_TIED), 0)


@dataclass(frozen=True, slots=True)
class PlanOptions:
    """What a plan is to reach.

    Attributes
    ----------
    objective : {"even", "fewest-moves"}
        ``even``: the evenest plan, and of those the one with the fewest moves. ``fewest-moves``:
        the fewest moves that reach the target, and of those the evenest.
    max_moves : int or None
        At most so many plugged loads change their outlet. Loose loads are no moves.
    target_current_unbalance_pct : float or None
        For ``fewest-moves``: the largest deviation of a line from the mean, over the mean, in every
        set-up (the NEMA MG 1 form). None: a spread within the layout's ``spread_note_pct`` of the
        supply's rating, where the findings fall silent. [%]
    spare_a : float
        Kept free on every line of the supply, in every set-up. [A]
    budget : int or None
        Work units the search may spend; counted, never timed, so that every machine gives the same
        plan. None: by the number of loads.
    """

    objective: Objective = "even"
    max_moves: int | None = None
    target_current_unbalance_pct: float | None = None
    spare_a: float = 0.0
    budget: int | None = None

    def __post_init__(self) -> None:
        if self.objective not in ("even", "fewest-moves"):
            raise ValueError(f"objective is {self.objective!r}: give 'even' or 'fewest-moves'")
        if self.max_moves is not None and self.max_moves < 0:
            raise ValueError(f"max_moves is {self.max_moves}: give 0 or more")
        target = self.target_current_unbalance_pct
        if target is not None and not (math.isfinite(target) and target >= 0.0):
            raise ValueError(f"target_current_unbalance_pct is {target}: give 0 or more")
        if not (math.isfinite(self.spare_a) and self.spare_a >= 0.0):
            raise ValueError(f"spare_a is {self.spare_a} A: give 0 A or more")
        if self.budget is not None and self.budget < 0:
            raise ValueError(f"budget is {self.budget} work units: give 0 or more")

    def work_for(self, loads: int, *, plugged: bool, setups: int = 1) -> int:
        """The budget for so many loads, some of them plugged or all loose, in so many set-ups."""
        if self.budget is not None:
            return self.budget
        few = BUDGET_PER_MISSING_LOAD * max(FEW_LOADS - loads, 0)
        moves = BUDGET_FOR_MOVES if plugged else 0
        tied = tied_by_setups(loads, setups)
        return BASE_BUDGET + BUDGET_PER_LOAD * loads + few + moves + BUDGET_FOR_SETUPS * tied


@dataclass(frozen=True, slots=True)
class Place:
    """An outlet of a board, by their ids."""

    board: str
    outlet: str


@dataclass(frozen=True, slots=True)
class Assignment:
    """Where one load is plugged in the plan; ``moved_from`` where it was, if it moves."""

    load: str
    place: Place
    action: Literal["stay", "move", "plug-in"]
    moved_from: Place | None = None


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to do with one plug, in an order that breaks no rating on the way.

    ``move`` goes from ``origin`` to ``target``; ``unplug`` leaves ``origin`` free for another and
    waits; ``plug-in`` puts a loose load, or one that waits, into ``target``.
    """

    number: int
    action: Literal["unplug", "move", "plug-in"]
    load: str
    origin: Place | None
    target: Place | None
    text: str


@dataclass(frozen=True, slots=True)
class Unplaced:
    """A load of the smallest set that has to stay out, and why."""

    load: str
    why: str


@dataclass(frozen=True, slots=True)
class Proven:
    """Which levels of the aim are proven to be the best there is, each given the ones before.

    ``placed``: no plan takes more loads. The others in the order of :class:`Plan`.
    """

    placed: bool
    worst_phase: bool
    largest_spread: bool
    sum_of_spreads: bool
    moves: bool

    @property
    def all(self) -> bool:
        """Whether no plan is better in any of them."""
        return (
            self.placed
            and self.worst_phase
            and self.largest_spread
            and self.sum_of_spreads
            and self.moves
        )


@dataclass(frozen=True, slots=True)
class Plan:
    """A plug plan.

    Attributes
    ----------
    assignments : tuple of Assignment
        Every load that has a place, in the layout's order.
    steps : tuple of Step
        What to do, one after another, from how it is plugged now.
    moves : int
        Plugged loads that change their outlet.
    phases_a : tuple of tuple of float
        Sum per set-up and line of the supply. [A]
    worst_phase_a, worst_phase, worst_setup : float, str, str
        The highest line, its name and the set-up it is in. [A]
    spread_a, sum_of_spreads_a : float
        Highest less lowest line: the largest over the set-ups, and the sum over them. [A]
    lower_bound_a : float
        No plan has a lower highest line than this. [A]
    proven : Proven
        What is proven, level by level.
    target_met : bool or None
        Whether the target of ``fewest-moves`` is met; None where there was none to meet.
    unplaced : tuple of Unplaced
        The smallest set of loads that has to stay out; empty where all fit.
    why : tuple of str
        What keeps the plan from being better, in words.
    work : int
        Work units spent.
    """

    assignments: tuple[Assignment, ...]
    steps: tuple[Step, ...]
    moves: int
    phases_a: tuple[tuple[float, ...], ...]
    worst_phase_a: float
    worst_phase: str
    worst_setup: str
    spread_a: float
    sum_of_spreads_a: float
    lower_bound_a: float
    proven: Proven
    target_met: bool | None
    unplaced: tuple[Unplaced, ...]
    why: tuple[str, ...]
    work: int

    @property
    def proven_optimal(self) -> bool:
        """True only where every measured level is proven, from the ratings to the moves."""
        return self.proven.all
