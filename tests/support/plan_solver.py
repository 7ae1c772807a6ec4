"""The planner's aim given to a general-purpose constraint solver, level by level.

The solver (OR-Tools CP-SAT) sees the same bins, seats and meters, in milliamps, and is asked for
the highest line of the worst set-up, then with that for the largest spread, then for the fewest
moves.
"""

from __future__ import annotations

import time
from dataclasses import dataclass

from ortools.sat.python import cp_model

from evenboard.electrics.layout import Layout
from evenboard.planning import PlanOptions
from evenboard.planning.problem import OUT, Problem
from evenboard.planning.reading import problem_of

__all__ = ["Solved", "solve_levels"]

MILLI = 1000
"""Microamps in the solver's unit."""


@dataclass(frozen=True, slots=True)
class Solved:
    """What the solver found: levels in amps, moves, which are proven, and when it found the best.

    ``reached`` holds (seconds, highest line, largest spread, moves) of each better plan in turn.
    """

    highest_a: float
    spread_a: float
    moves: int | None
    proven: tuple[bool, bool, bool]
    reached: tuple[tuple[float, float, float, int], ...]


class _Model:
    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.model = cp_model.CpModel()
        self.at = {
            (i, b): self.model.new_bool_var("")
            for i in range(problem.count)
            for b in range(len(problem.bins))
            if problem.allowed[i, b]
        }
        for i in range(problem.count):
            self.model.add_exactly_one([x for (load, _), x in self.at.items() if load == i])
        for room in problem.rooms:
            inside = [x for (i, b), x in self.at.items() if b == room.bin and room.loads[i]]
            self.model.add(sum(inside) <= room.most)
        self._meters()
        self.top = self.model.new_int_var(0, 10**9, "top")
        self.spread = self.model.new_int_var(0, 10**9, "spread")
        self.sums: list[list[cp_model.IntVar]] = []
        for setup in range(problem.setups):
            sums = []
            for line in range(problem.lines):
                amount = self.model.new_int_var(0, 10**9, "")
                self.model.add(
                    amount
                    == sum(
                        round(int(problem.amps[i, problem.width[b]]) / MILLI) * x
                        for (i, b), x in self.at.items()
                        if problem.on[i, setup] and problem.pattern[b, line]
                    )
                )
                self.model.add(amount <= self.top)
                sums.append(amount)
            self.sums.append(sums)
            for one in sums:
                for other in sums:
                    if one is not other:
                        self.model.add(one - other <= self.spread)

    def _meters(self) -> None:
        problem = self.problem
        for k in range(len(problem.meters)):
            for setup in range(problem.setups):
                terms = []
                for (i, b), x in self.at.items():
                    if not problem.covers[b, k]:
                        continue
                    weighed = (
                        int(problem.amps[i, problem.width[b]] * problem.on[i, setup]),
                        int(problem.leakage[i, setup]),
                        int(problem.watts[i, setup]),
                    )[int(problem.weighs[k])]
                    terms.append(weighed * x)
                self.model.add(sum(terms) <= int(problem.limit[k]))

    @property
    def moves(self) -> cp_model.LinearExpr | int:
        problem = self.problem
        return sum(
            x for (i, b), x in self.at.items() if problem.home[i] != OUT and problem.home[i] != b
        )


class _Watch(cp_model.CpSolverSolutionCallback):
    def __init__(self, model: _Model, start: float) -> None:
        super().__init__()
        self.sums, self.moves, self.start = model.sums, model.moves, start
        self.seen: list[tuple[float, float, float, int]] = []

    def on_solution_callback(self) -> None:
        sums = [[self.value(line) for line in setup] for setup in self.sums]
        highest = max(map(max, sums))
        spread = max(max(each) - min(each) for each in sums)
        at = time.perf_counter() - self.start
        self.seen.append((at, highest / 1000.0, spread / 1000.0, int(self.value(self.moves))))


def solve_levels(
    layout: Layout, options: PlanOptions, seconds: float, *, moves: bool = False, workers: int = 1
) -> Solved | None:
    """Highest line, then spread, then moves, a third of the time each (half without moves)."""
    start = time.perf_counter()
    made = _Model(problem_of(layout, options))
    share = seconds / (3.0 if moves else 2.0)
    proven = [False, False, False]
    values: list[int] = []
    hints: list[tuple[cp_model.IntVar, int]] = []
    watch = _Watch(made, start)
    aims = [made.top, made.spread, *([made.moves] if moves else [])]
    # A step of comparison is 0.1 A: what is found above half a step less than it counts as equal.
    for level, aim in enumerate(aims):
        solver = cp_model.CpSolver()
        solver.parameters.max_time_in_seconds = share
        solver.parameters.num_workers = workers
        made.model.clear_hints()
        for variable, value in hints:
            made.model.add_hint(variable, value)
        made.model.minimize(aim)
        status = solver.solve(made.model, watch)
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            if level == 0:
                return None
            break
        proven[level] = status == cp_model.OPTIMAL
        values.append(int(solver.objective_value))
        hints = [(x, solver.value(x)) for x in made.at.values()]
        if level == 0:
            step = (values[0] + 50) // 100
            made.model.add(made.top <= step * 100 + 49)
        elif level == 1:
            step = (values[1] + 50) // 100
            made.model.add(made.spread <= step * 100 + 49)
    spread = values[1] if len(values) > 1 else values[0]
    return Solved(
        values[0] / 1000.0,
        spread / 1000.0,
        values[2] if len(values) > 2 else None,
        (proven[0], proven[1], proven[2]),
        tuple(watch.seen),
    )
