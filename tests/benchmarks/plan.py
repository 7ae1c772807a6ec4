"""The planner against a general-purpose constraint solver: python tests/benchmarks/plan.py.

The same instances, the same aim, one thread each, in one run. Printed is a table in Markdown: what
the planner reached and in how long, what the solver reached in its time, when the solver first was
as good (by 0.1 A in the highest line and 0.2 A in the largest spread), and the ratio. No pass or
fail. ``--seconds`` is the solver's time for an instance, ``--quick`` leaves out most instances.
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

from evenboard.planning import plan
from support.plan_solver import Solved, solve_levels
from support.plans import KINDS, Instance, an_instance

SIZES = (6, 12, 20, 40, 80, 300, 1000)
REPEATS = 5


def timed_plan(instance: Instance) -> tuple[object, float]:
    """A plan and the median of its times. [s]"""
    times = []
    for _ in range(REPEATS):
        start = time.perf_counter()
        found = plan(instance.layout, instance.options)
        times.append(time.perf_counter() - start)
    return found, statistics.median(times)


def as_good_at(solved: Solved, highest_a: float, spread_a: float) -> float | None:
    """When the solver had a plan no worse than ours within the steps of comparison. [s]"""
    return next(
        (
            at
            for at, highest, spread in solved.reached
            if highest <= highest_a + 0.05 and spread <= spread_a + 0.05
        ),
        None,
    )


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=60.0)
    parser.add_argument("--quick", action="store_true")
    asked = parser.parse_args()
    print("| instance | ours: highest, spread, moves | ms | solver | sooner | ahead by |")
    print("| --- | --- | ---: | --- | ---: | --- |")
    ratios, worse = [], []
    for loads in (12, 80) if asked.quick else SIZES:
        for kind in KINDS:
            for dimmed in (False, True):
                instance = an_instance(kind, loads, dimmed=dimmed)
                found, seconds = timed_plan(instance)
                moves = kind == "moves"
                solved = solve_levels(instance.layout, instance.options, asked.seconds, moves=moves)
                row = compared(instance, found, seconds, solved, asked.seconds, ratios, worse)
                print(row, flush=True)
    print()
    print(f"Sooner in the median: {statistics.median(ratios):.0f} times. Worse: {worse or 'none'}.")


def compared(instance, found, seconds, solved, limit, ratios, worse) -> str:  # type: ignore[no-untyped-def]
    """A row of the table."""
    ours = f"{found.worst_phase_a:.2f}, {found.spread_a:.2f}, {found.moves}"
    name = instance.name
    if solved is None:
        ratios.append(limit / seconds)
        return (
            f"| {name} | {ours} | {1000 * seconds:.0f} | none found | > {limit / seconds:.0f} | |"
        )
    theirs = f"{solved.highest_a:.2f}, {solved.spread_a:.2f}"
    if solved.moves is not None:
        theirs += f", {solved.moves}{' proven' if solved.proven[2] else ''}"
    highest, spread = found.worst_phase_a - solved.highest_a, found.spread_a - solved.spread_a
    at = as_good_at(solved, found.worst_phase_a, found.spread_a)
    sooner = (limit if at is None else at) / seconds
    ratios.append(sooner)
    if highest > 0.1 or (highest > -0.05 and spread > 0.2):
        worse.append(name)
    if solved.proven[2] and solved.moves is not None and found.moves > solved.moves:
        worse.append(f"{name} (moves)")
    mark = "> " if at is None else ""
    ahead = f"{-highest:.2f} A, {-spread:.2f} A"
    return f"| {name} | {ours} | {1000 * seconds:.0f} | {theirs} | {mark}{sooner:.0f} | {ahead} |"


if __name__ == "__main__":
    main()
