"""Which search is used when: outright where there are few ways, else downhill, and what is proven.

The evenest plan first, then the fewest moves that make it; or the fewest moves that reach a target;
or the evenest that so many moves allow.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenboard.planning.anneal import annealed
from evenboard.planning.bound import Bound, bound_of
from evenboard.planning.construct import first_state
from evenboard.planning.exact import FEW_WAYS, MANY_WAYS, Solved, is_small, solve
from evenboard.planning.fewest import fewest
from evenboard.planning.measure import STEP, IntArray, Levels, Work
from evenboard.planning.problem import OUT, BoolArray, Problem
from evenboard.planning.refine import Chance, refine
from evenboard.planning.regroup import Request, near_bins, regroup
from evenboard.planning.result import tied_by_setups
from evenboard.planning.seating import Seater
from evenboard.planning.state import State
from evenboard.planning.stepping import by_one_step
from evenboard.planning.target import ANYTHING, Goal, goal_of, met, window_for

__all__ = ["Found", "even_out"]

TOGETHER = 10
"""Loads that are plugged anew at once where moves are limited or to be saved."""

IDLE_ROUNDS = 40
"""Choices of loads that are tried in vain before moves are left as they are (tried)."""

MANY_STARTS_FROM = 85_000_000
"""Work units from which on a search that set-ups tie starts from many plans."""

OWN, EACH = 4, 25
"""Shares of what annealing leaves: the first plan a fourth, each start a 25th (tried)."""

FOR_A_STEP = 12_000_000
"""Work units that a last step may cost: a few choices of loads."""

AGAIN = 4
"""Share of the work that is spent on the spread once more after a step of the highest line."""

SHORT_LOOK, FIRST_LOOK = 300_000, 3_000_000
"""Work units of a search downhill before all ways are looked at, few or many."""


@dataclass(slots=True)
class Found:
    """The best state so far and what is proven of it, level by level."""

    state: State
    bound: Bound
    seater: Seater
    worst: bool = False
    spread: bool = False
    total: bool = False
    moves: bool = False
    settled: bool = False
    """No plan is better in any level, those below the amps included."""

    def outright(self, solved: Solved) -> None:
        """Take a state that was found by looking at every way."""
        self.state = State(self.state.problem, solved.bins)
        self.settled = solved.complete
        self.worst = self.spread = self.total = True
        # Which seats of a bin are taken may cost moves that its sums do not show.
        self.moves = solved.complete or not bool((self.state.problem.home != OUT).any())

    def compare(self) -> None:
        """Prove what reaches its bound."""
        levels, floor = self.state.levels(), self.bound.levels
        self.worst = levels[0] <= floor[0]
        self.spread = self.worst and levels[1] <= floor[1]
        self.total = self.spread and levels[2] <= floor[2]


@dataclass(frozen=True, slots=True, eq=False)
class _Task:
    """What may be moved: ``choice`` the placed loads with another bin, ``plugged`` those in one.

    ``constant`` tells whether the totals of the set-ups stay as they are, whatever goes where.
    """

    problem: Problem
    choice: IntArray
    plugged: IntArray
    constant: bool

    @property
    def all_plugged(self) -> bool:
        return len(self.plugged) == len(self.choice)


def even_out(state: State, work: Work) -> Found:
    """Plug what is placed as the options ask.

    Parameters
    ----------
    state : State
        Sound, as many loads placed as can be.
    work : Work
        Counts what is done, and ends the search when it runs out.

    Returns
    -------
    Found
        The state and what is proven of it.

    References
    ----------
    .. [1] README.md of this room.
    """
    problem = state.problem
    placed = np.flatnonzero(state.bin != OUT).astype(np.int64)
    choice = placed[(problem.allowed[placed].sum(axis=1) > 1) & ~problem.pinned[placed]]
    task = _Task(
        problem,
        choice,
        choice[problem.home[choice] != OUT],
        bool((problem.sole_width(placed) > 0).all()),
    )
    found = Found(state, bound_of(problem, placed, work), Seater(problem))
    goal = goal_of(problem)
    if goal is not None and problem.lines > 1:
        _fewest(found, task, goal, work)
    elif problem.move_limit is not None:
        _within_limit(found, task, problem.move_limit, work)
    else:
        _evenest(found, task, work)
    return found


def _evenest(found: Found, task: _Task, work: Work) -> None:
    """The evenest plan, then the fewest moves for it."""
    problem, floor = task.problem, found.bound.levels
    few = is_small(problem, task.choice, FEW_WAYS)
    many = not few and is_small(problem, task.choice, MANY_WAYS)
    if few or many:
        _refine(found, Work(SHORT_LOOK if few else FIRST_LOOK), work)
        if few or found.state.levels() > floor:
            solved = solve(
                *(found.state, task.choice, floor, found.seater, work), constant=task.constant
            )
            if solved is not None:
                found.outright(solved)
                return
    # What is left at the end is for saving moves, or else for the levels below the amps.
    search = Work(work.left // 3 if len(task.plugged) else work.left * 9 // 10)
    if tied_by_setups(problem.count, problem.setups) and search.left > MANY_STARTS_FROM:
        _from_many(found, search)
    else:
        _refine(found, Work(search.left * (4 if problem.setups > 1 else 2) // 5), search)
    stepped = _step_down(found, task, search, work)
    if found.state.levels() > floor:
        # A lower line has its price in the spread of other set-ups, which is to be won back.
        again = search.budget // AGAIN if stepped and problem.setups > 1 else 0
        _refine(found, Work(max(search.left, again)), search)
    work.spend(search.spent)
    if found.state.levels() > floor and len(task.plugged):
        # From how it is plugged the search may end in a corner: start afresh as well.
        afresh = first_state(problem, work, stay=False)
        if _same_out(afresh, found.state):
            other = Found(afresh, found.bound, found.seater)
            _refine(other, Work(work.left // 3), work)
            if other.state.levels() < found.state.levels():
                found.state = other.state
    found.compare()
    _save_moves(found, task, work)


def _refine(found: Found, spare: Work, work: Work) -> None:
    found.state = refine(found.state, found.bound.levels, spare)
    work.spend(spare.spent)


def _from_many(found: Found, work: Work) -> None:
    """The best of many starts, each gone on with a little."""
    floor = found.bound.levels
    starts = annealed(found.state, floor, work)
    whole = work.left

    def further(state: State, share: int) -> State:
        spare = Work(whole // share)
        state = refine(state, floor, spare)
        work.spend(spare.spent)
        return state

    plans = [further(found.state, OWN), *(further(each, EACH) for each in starts)]
    found.state = min(plans, key=State.levels)


def _step_down(found: Found, task: _Task, search: Work, work: Work) -> bool:
    """A step lower with what is left of the search, or at least so much; whether there was one.

    Where set-ups tie the loads half is left for their spread, which a step costs: none is taken
    for less than a meter shows.
    """
    if task.problem.setups > 1 and int(found.state.sums.max()) - found.bound.highest <= STEP:
        return False
    share = max(search.left // 2 if task.problem.setups > 1 else search.left, 0)
    spare = Work(max(share, FOR_A_STEP))
    floor = found.bound.levels
    done = by_one_step(found.state, task.choice, floor, spare, constant=task.constant)
    search.spend(min(spare.spent, share))
    work.spend(max(spare.spent - share, 0))
    return done


def _same_out(one: State, other: State) -> bool:
    return bool(((one.bin == OUT) == (other.bin == OUT)).all())


def _save_moves(found: Found, task: _Task, work: Work) -> None:
    """As even with fewer moves."""
    if not len(task.plugged):
        found.moves = True
        return
    home = _at_home(found.state)
    levels, most = found.state.levels(), found.state.moves
    if home is not None and task.all_plugged:
        window = window_for(home, levels, constant=task.constant)
        best = fewest(home, task.plugged, window, levels, None, most, work)
        if best.state is not None:
            found.state, found.moves = best.state, best.below >= best.state.moves
            found.compare()
            return
        found.moves = best.below >= most
    _regroup(found, task, levels, None, 3, work)


def _regroup(
    found: Found, task: _Task, levels: Levels, goal: Goal | None, seed: int, work: Work
) -> None:
    """Fewer moves that still keep to levels and target, some loads plugged anew at a time."""
    chance = Chance(seed)
    idle = 0
    while work.left > 0 and idle < IDLE_ROUNDS and found.state.moves > 0:
        loads = _some(found.state, task, TOGETHER - 3, chance)
        before = found.state.moves
        window = window_for(found.state, levels, constant=task.constant, goal=goal)
        bins = near_bins(found.state, loads)
        request = Request(loads, bins, window, levels, goal, before)
        turn = chance.below(1 << 30)
        regroup(found.state, request, work, moves_first=True, turn=turn)
        idle = 0 if found.state.moves < before else idle + 1


def _some(state: State, task: _Task, away: int, chance: Chance) -> list[int]:
    """Some loads that are away from home, and others."""
    moved = task.plugged[_away(state, task.plugged)]
    few = chance.sample(moved, away)
    rest = np.setdiff1d(task.choice, few)
    return [*few.tolist(), *chance.sample(rest, TOGETHER - len(few)).tolist()]


def _away(state: State, loads: IntArray) -> BoolArray:
    return np.asarray(state.bin[loads] != state.problem.home[loads])


def _at_home(state: State) -> State | None:
    """Plugged loads as they are, loose ones as planned; None where that is not sound."""
    problem = state.problem
    home = State(problem)
    for load in range(problem.count):
        bin_ = int(problem.home[load]) if problem.home[load] != OUT else int(state.bin[load])
        if bin_ != OUT and state.bin[load] != OUT:
            if not problem.allowed[load, bin_]:
                return None
            home.put(load, bin_)
    return home


def _within_limit(found: Found, task: _Task, limit: int, work: Work) -> None:
    """As even as so many moves allow."""
    problem = task.problem
    if found.state.moves <= limit and is_small(problem, task.choice, MANY_WAYS):
        solved = solve(
            *(found.state, task.choice, found.bound.levels, found.seater, work),
            constant=task.constant,
            moves=limit,
        )
        if solved is not None:
            found.outright(solved)
            return
    home = _at_home(found.state)
    if home is not None and home.is_sound and found.state.moves > limit:
        found.state = home
    chance = Chance(5)
    idle = 0
    end = work.left // 2
    while work.left > end and idle < IDLE_ROUNDS and len(task.choice):
        loads = _some(found.state, task, TOGETHER // 2, chance)
        levels = found.state.levels()
        window = window_for(found.state, levels, constant=task.constant)
        most = max(limit, found.state.moves)
        request = Request(loads, near_bins(found.state, loads), window, levels, None, most)
        regroup(found.state, request, work, turn=chance.below(1 << 30))
        idle = 0 if found.state.levels() < levels else idle + 1
    found.compare()
    if home is None or not task.all_plugged:
        return
    levels = found.state.levels()
    window = window_for(home, levels, constant=task.constant)
    best = fewest(home, task.plugged, window, levels, None, limit, work, floor=found.bound.levels)
    if best.state is not None:
        found.state = best.state
    if best.below > limit and best.state is not None:
        found.worst = found.spread = found.total = found.moves = True


def _fewest(found: Found, task: _Task, goal: Goal, work: Work) -> None:
    """The fewest moves that meet the target; where it cannot be met, the evenest plan."""
    problem = task.problem
    limit = problem.move_limit
    most = int((problem.home != OUT).sum()) if limit is None else limit
    if is_small(problem, task.choice, MANY_WAYS):
        solved = solve(
            *(found.state, task.choice, found.bound.levels, found.seater, work),
            constant=task.constant,
            goal=goal,
            moves=most,
        )
        if solved is not None:
            found.outright(solved)
            return
    home = _at_home(found.state)
    if home is not None:
        window = window_for(home, ANYTHING, constant=task.constant, goal=goal)
        best = fewest(home, task.plugged, window, ANYTHING, goal, most, work)
        if best.state is not None:
            found.state = best.state
            found.moves = task.all_plugged and best.below >= best.state.moves
            found.compare()
            return
    trial = Found(found.state, found.bound, found.seater)
    _refine(trial, Work(work.left // 2), work)
    state = trial.state
    unmet = not bool(met(goal, state.sums[None])[0])
    if limit is not None and (unmet or state.moves > limit):
        _within_limit(found, task, limit, work)
    elif unmet:
        _evenest(found, task, work)
    else:
        found.state = state
        _regroup(found, task, ANYTHING, goal, 9, work)
        found.compare()
