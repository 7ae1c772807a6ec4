"""How long a balance takes, from body to answer: python tests/benchmarks/balance.py.

Forty loads on a tree of three boards, in one set-up and in six; a large stage; and as many loads as
intake lets through. Printed are medians in milliseconds, stage by stage, and the ratio to the power
flow alone, which is the part that cannot be left out; no pass or fail.
"""

from __future__ import annotations

import json
import statistics
import time
from collections.abc import Callable
from typing import Any

from evenboard.balance import balance, balance_document, common_types
from evenboard.balance.boards import boards
from evenboard.catalogue import Catalogue, load_catalogue
from evenboard.electrics.layout import Layout
from evenboard.electrics.powerflow import solve
from evenboard.findings import View, find
from evenboard.intake import resolve
from evenboard.paths import catalogue_folder

REPEATS = 31
FIXTURES = (
    "tungsten-open-face-2000",
    "discharge-par-1200-electronic-pfc",
    "led-panel-200",
    "led-soft-600",
    "tungsten-fresnel-650",
    "village-monitor-60",
    "unit-base-kettle-2200",
)
SMALL = ("led-panel-100", "led-panel-200", "led-tube-48", "village-monitor-60")


def body(boards: int, loads: int, setups: int, fixtures: tuple[str, ...]) -> dict[str, Any]:
    """A tree of boards, each feeding three, with loads on short leads in changing set-ups."""
    names = [f"s{i}" for i in range(setups)]
    per_board = -(-loads // boards)
    return {
        "region": "uk",
        "supply": {"rating_a": 400, "loop_impedance_ohm": 0.05},
        "boards": [board(b, per_board) for b in range(boards)],
        "loads": [
            {
                "id": f"l{i}",
                "fixture": fixtures[i % len(fixtures)],
                "board": f"b{i // per_board}",
                "outlet": f"o{i % per_board}",
                "lead": {"cable": "h07rn-f", "csa_mm2": 2.5, "length_m": 15},
                "setups": [n for j, n in enumerate(names) if (i + j) % 3] or names,
            }
            for i in range(loads)
        ],
        "setups": [{"id": name} for name in names],
    }


def board(place: int, outlets: int) -> dict[str, Any]:
    """A board with its outlets, three of them for further boards, and the feeder to it."""
    content: dict[str, Any] = {
        "id": f"b{place}",
        "outlets": [
            {
                "id": f"o{i}",
                "lines": [f"L{i % 3 + 1}"],
                "rating_a": 16,
                "breaker": {"rating_a": 16, "curve": "C"},
                "rcd": f"r{i % 3}",
            }
            for i in range(outlets + 3)
        ]
        + [{"id": f"sub{i}", "lines": ["L1", "L2", "L3"], "rating_a": 125} for i in range(3)],
        "rcds": [{"id": f"r{i}", "rated_residual_ma": 30} for i in range(3)],
        "feeder": {"cable": "h07rn-f", "csa_mm2": 35, "length_m": 20, "laid": "surface"},
    }
    if place:
        content["fed_from"] = {"board": f"b{(place - 1) // 3}", "outlet": f"sub{(place - 1) % 3}"}
    return content


def median_ms(task: Callable[[], object], repeats: int = REPEATS) -> float:
    """Median time of a task, after one run to warm up. [ms]"""
    task()
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        task()
        times.append(time.perf_counter() - start)
    return statistics.median(times) * 1e3


def report(title: str, content: dict[str, Any], catalogue: Catalogue, repeats: int) -> None:
    """Measure one body and print its line."""
    layout: Layout = resolve(content, catalogue)
    solution = solve(layout)
    common = common_types(catalogue, layout)
    result = balance(layout, common=common)
    seen = View(solution)
    find(seen)
    stages = {
        "intake": median_ms(lambda: resolve(content, catalogue), repeats),
        "power flow": median_ms(lambda: solve(layout), repeats),
        "findings": median_ms(lambda: find(View(solution)), repeats),
        "boards": median_ms(lambda: boards(seen), repeats),
        "balance": median_ms(lambda: balance(layout, common=common), repeats),
        "document": median_ms(lambda: balance_document(result), repeats),
        "bytes": median_ms(lambda: json.dumps(balance_document(result)), repeats),
    }
    whole = median_ms(
        lambda: json.dumps(balance_document(balance(resolve(content, catalogue), common=common))),
        repeats,
    )
    parts = ", ".join(f"{name} {ms:.2f}" for name, ms in stages.items())
    print(f"{title}: {whole:.2f} ms, {whole / stages['power flow']:.1f} x the power flow ({parts})")


def main() -> None:
    """Measure and print."""
    catalogue = load_catalogue(catalogue_folder())
    report("40 loads, 3 boards, 1 set-up", body(3, 40, 1, FIXTURES), catalogue, REPEATS)
    report("40 loads, 3 boards, 6 set-ups", body(3, 40, 6, FIXTURES), catalogue, REPEATS)
    report("600 loads, 20 boards, 10 set-ups", body(20, 600, 10, SMALL), catalogue, 3)
    report("1,000 loads, 50 boards, 10 set-ups", body(50, 1000, 10, SMALL), catalogue, 1)


if __name__ == "__main__":
    main()
