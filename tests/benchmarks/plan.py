"""The planner against a general-purpose constraint solver: python tests/benchmarks/plan.py.

The same instances, the same aim, one thread each, in one run. Printed is a table in Markdown: what
the planner reached and how long its whole answer took, from the layout to steps and reasons; what
the solver reached in its time; and when both first had a plan of that quality, which is no more
than 0.1 A above the solver's best in the highest line, 0.2 A in the largest spread, and as few
moves where it proved the number. Both clocks start with the layout. ``--seconds`` is the solver's
time for an instance, ``--quick`` leaves out most instances, ``--kinds`` and
``--sizes`` take some only.
"""

from __future__ import annotations

import argparse
import os
import statistics
import sys
import time
from pathlib import Path

os.environ.setdefault("OMP_NUM_THREADS", "1")
sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from evenboard.planning import Plan, plan
from support.plan_solver import Solved, solve_levels
from support.plan_watch import Quality, reached_at
from support.plans import KINDS, Instance, an_instance

SIZES = (6, 12, 20, 40, 80, 300, 1000)
REPEATS = 3


def timed_plan(instance: Instance) -> tuple[Plan, float]:
    """A plan and the median time of its whole answer. [s]"""
    times = []
    for _ in range(REPEATS):
        start = time.perf_counter()
        found = plan(instance.layout, instance.options)
        times.append(time.perf_counter() - start)
    return found, statistics.median(times)


def ours_at(instance: Instance, wanted: Quality) -> float | None:
    """When the planner first had a plan so good, the median, None where it has none. [s]"""
    times = [reached_at(instance, wanted)[1] for _ in range(REPEATS)]
    return None if None in times else statistics.median(t for t in times if t is not None)


def solver_at(solved: Solved, wanted: Quality) -> float:
    """When the solver first had a plan so good. [s]"""
    highest, spread, moves = wanted
    return next(
        at
        for at, top, apart, moved in solved.reached
        if top <= highest and apart <= spread and (moves is None or moved <= moves)
    )


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=60.0)
    parser.add_argument("--quick", action="store_true")
    parser.add_argument("--kinds", nargs="*", default=KINDS)
    parser.add_argument("--sizes", nargs="*", type=int, default=SIZES)
    asked = parser.parse_args()
    print(
        "| instance | ours: highest, spread, moves | ms | solver | ours at | solver at | sooner |"
    )
    print("| --- | --- | ---: | --- | ---: | ---: | ---: |")
    sooner, whole, worse = [], [], []
    for loads in (12, 80) if asked.quick else asked.sizes:
        for kind in asked.kinds:
            for dimmed in (False, True):
                instance = an_instance(kind, loads, dimmed=dimmed)
                found, seconds = timed_plan(instance)
                moves = kind == "moves"
                solved = solve_levels(instance.layout, instance.options, asked.seconds, moves=moves)
                if solved is None:
                    row = without(instance, found, seconds, asked.seconds, sooner, whole)
                else:
                    row = compared(instance, found, seconds, solved, sooner, whole, worse)
                print(row, flush=True)
    print()
    print(
        f"Sooner to that quality in the median: {statistics.median(sooner):.1f} times"
        f" ({sum(x >= 10 for x in sooner)} of {len(sooner)} ten times and more);"
        f" with the whole answer {statistics.median(whole):.1f} times. Worse: {worse or 'none'}."
    )


def without(
    instance: Instance,
    found: Plan,
    seconds: float,
    limit: float,
    sooner: list[float],
    whole: list[float],
) -> str:
    """A row of the table where the solver found nothing in its time."""
    at = ours_at(instance, (found.worst_phase_a + 1e-6, found.spread_a + 1e-6, None)) or seconds
    sooner.append(limit / at)
    whole.append(limit / seconds)
    ours = f"{found.worst_phase_a:.2f}, {found.spread_a:.2f}, {found.moves}"
    return (
        f"| {instance.name} | {ours} | {1000 * seconds:.0f} | none found |"
        f" {1000 * at:.1f} | > {1000 * limit:.0f} | > {limit / at:.0f} |"
    )


def compared(
    instance: Instance,
    found: Plan,
    seconds: float,
    solved: Solved,
    sooner: list[float],
    whole: list[float],
    worse: list[str],
) -> str:
    """A row of the table."""
    theirs = f"{solved.highest_a:.2f}, {solved.spread_a:.2f}"
    moves = solved.moves if solved.proven[2] else None
    if solved.moves is not None:
        theirs += f", {solved.moves}{' proven' if solved.proven[2] else ''}"
    wanted = solved.highest_a + 0.1, solved.spread_a + 0.2, moves
    at, late = ours_at(instance, wanted), solver_at(solved, wanted)
    if at is None:
        # An evener highest line has its price in the spread.
        lower = found.worst_phase_a < solved.highest_a - 0.05
        at = ours_at(instance, (solved.highest_a, 1e9, moves)) if lower else None
    sooner.append(0.0 if at is None else late / at)
    whole.append(0.0 if at is None else late / seconds)
    if at is None:
        worse.append(instance.name)
    ours = f"{found.worst_phase_a:.2f}, {found.spread_a:.2f}, {found.moves}"
    times = f"{'-' if at is None else f'{1000 * at:.1f}'} | {1000 * late:.0f}"
    ratio = f"{late / at:.1f}" if at else "0"
    return f"| {instance.name} | {ours} | {1000 * seconds:.0f} | {theirs} | {times} | {ratio} |"


if __name__ == "__main__":
    main()
