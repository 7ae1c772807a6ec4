"""How fast the power flow is beside two others: python tests/benchmarks/powerflow.py.

One thread, processor time, the best of many interleaved rounds, all in one run, so that the ratios
hold on a busy machine too. Before anything is timed the three are shown to agree.

- OpenDSS: a general-purpose simulator with the neutral as a conductor, as here. It is told the
  layout by its script, solves, and its voltages and currents are read. Some three quarters of its
  time is what it takes to make any new circuit at all.
- power-grid-model: a fast distribution power flow, three lines and no neutral of its own; loads
  line to neutral only, so the tree for the comparison has no others.

Each starts from the same Layout. There is no pass or fail.
"""

from __future__ import annotations

import gc
import os
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

os.environ |= {"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"}
sys.path.insert(0, str(Path(__file__).parents[1]))

import numpy as np
import opendssdirect

from evenboard.electrics.layout import Layout
from evenboard.electrics.powerflow import solve
from evenboard.electrics.scenarios import scenarios
from support.gridmodel import MODELS, grid_model, line_a, switched
from support.simulator import commands, simulated
from support.trees import a_tree

TOLERANCE = 1e-9
ROUNDS = 15
SCENARIOS = 10_000
SEQUENTIAL = -1


def main() -> None:
    """Print the three tables."""
    layout = comparable(boards=12, loads=40)
    agree(layout)
    one_solution(layout)
    many_scenarios(layout)
    growth()


def comparable(boards: int, loads: int, **changes: Any) -> Layout:
    """A tree that all three can be told: loads line to neutral, of three models."""
    return a_tree(
        4, boards=boards, loads=loads, setups=1, models=tuple(MODELS), three_phase=0.0, **changes
    )


def agree(layout: Layout) -> None:
    """Stop unless the three agree to a millionth."""
    ours = np.abs(solve(layout).inflow.fundamental_a[0, :, :3])
    is_solved, _, theirs = simulated(opendssdirect, layout, 0)
    grid = line_a(grid_model(layout).calculate_power_flow(symmetric=False, error_tolerance=1e-10))
    miss = max(np.abs(ours - np.abs(theirs[:, :3])).max(), np.abs(ours - grid).max()) / ours.max()
    if not is_solved or not miss < 1e-6:
        raise SystemExit(f"the three disagree by {miss:.1e} of the largest current")
    print(f"13 nodes, 40 loads: the three agree to {miss:.0e} of the largest current\n")


def best_us(
    deeds: dict[str, Callable[[], Any]], repeat: int, rounds: int = ROUNDS
) -> dict[str, float]:
    """Processor time of each deed, the best of interleaved rounds. [us]"""
    best = dict.fromkeys(deeds, float("inf"))
    for deed in deeds.values():
        deed()
    gc.collect()
    for _ in range(rounds):
        for name, deed in deeds.items():
            start = time.process_time()
            for _ in range(repeat):
                deed()
            best[name] = min(best[name], (time.process_time() - start) / repeat * 1e6)
    return best


def simulator_run(layout: Layout) -> None:
    for command in commands(layout, 0, TOLERANCE):
        opendssdirect.Text.Command(command)


def grid_run(layout: Layout, method: str) -> None:
    grid_model(layout).calculate_power_flow(
        symmetric=False,
        error_tolerance=TOLERANCE,
        max_iterations=100,
        calculation_method=method,
    )


def one_solution(layout: Layout) -> None:
    deeds: dict[str, Callable[[], Any]] = {
        "evenboard, solve(layout)": lambda: solve(layout),
        "OpenDSS, script and solution": lambda: simulator_run(layout),
        "OpenDSS, results read as well": lambda: simulated(opendssdirect, layout, 0),
        "power-grid-model, Newton": lambda: grid_run(layout, "newton_raphson"),
        "power-grid-model, iterative current": lambda: grid_run(layout, "iterative_current"),
    }
    table("One solution from the layout, building included", best_us(deeds, repeat=50), "us")


def many_scenarios(layout: Layout) -> None:
    on = np.random.default_rng(1).random((SCENARIOS, len(layout.loads))) < 0.6
    model = grid_model(layout)
    batch = {"symmetric": False, "error_tolerance": TOLERANCE, "max_iterations": 100}

    def grid(method: str, update: dict[str, Any]) -> Any:
        return model.calculate_power_flow(
            **batch,
            update_data=update,
            threading=SEQUENTIAL,
            calculation_method=method,
            output_component_types=["node", "line"],
        )

    update = switched(layout, on)
    ours, theirs = scenarios(layout, on), line_a(grid("iterative_current", update))
    miss = np.abs(np.abs(ours.supply_a[:, :3]) - theirs[:, 0]).max() / theirs.max()
    print(f"all {SCENARIOS} scenarios agree to {miss:.0e} of the largest current")
    deeds: dict[str, Callable[[], Any]] = {
        "evenboard, scenarios(layout, on)": lambda: scenarios(layout, on),
        "power-grid-model, iterative current": lambda: grid("iterative_current", update),
        "power-grid-model, Newton": lambda: grid("newton_raphson", update),
    }
    times = {name: us / SCENARIOS for name, us in best_us(deeds, repeat=1, rounds=5).items()}
    table(f"{SCENARIOS} scenarios of on and off, each", times, "us")


def growth() -> None:
    print("Growth of solve(layout): one set-up, twelve loads a board, all kinds of loads, leads")
    print(f"{'loads':>8} {'ms':>9} {'us a load':>10}")
    for loads in (10, 30, 100, 300, 1000, 3000, 10_000):
        boards = max(1, loads // 12)
        layout = a_tree(1, boards=boards, loads=loads, setups=1, leads=0.3, reach=boards + 1)
        layout = smaller(layout, min(400.0 / loads, 1.0))
        solution = solve(layout)
        if not solution.converged.all():
            raise SystemExit(f"{loads} loads have no solution")
        us = best_us({"": lambda own=layout: solve(own)}, repeat=3, rounds=5)[""]
        print(f"{loads:>8} {us / 1000.0:>9.2f} {us / loads:>10.2f}")


def smaller(layout: Layout, share: float) -> Layout:
    """The same layout with less power in each load, so that any number has a solution."""
    loads = tuple(replace(load, power_w=load.power_w * share) for load in layout.loads)
    return replace(layout, loads=loads)


def table(title: str, times: dict[str, float], unit: str) -> None:
    own = next(iter(times.values()))
    print(title)
    for name, value in times.items():
        print(f"  {name:<38} {value:>9.1f} {unit} {value / own:>7.2f} x")
    print()


if __name__ == "__main__":
    main()
