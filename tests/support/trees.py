"""Random trees of boards with loads, for comparison with simulators, properties and benchmarks."""

from __future__ import annotations

import random
from typing import Any

from evenboard.electrics.equipment import Conductor
from evenboard.electrics.layout import Board, Layout, Load, SourceImpedance
from support.builders import a_board, a_layout, a_load, a_run, a_supply

__all__ = ["MODELS", "a_tree"]

MODELS = ("constant-power", "constant-impedance", "constant-current", "tungsten")


def a_tree(
    seed: int,
    *,
    boards: int | None = None,
    loads: int | None = None,
    setups: int = 2,
    models: tuple[str, ...] = MODELS,
    leads: float = 0.0,
    three_phase: float = 0.15,
    open_neutral: bool = False,
    reach: int = 6,
    **changes: Any,
) -> Layout:
    """A layout drawn from a seed: 1 to 12 boards, thin and thick neutrals, all kinds of plugs."""
    draw = random.Random(seed)
    boards = draw.randint(1, 12) if boards is None else boards
    loads = draw.randint(1, 40) if loads is None else loads
    opened = draw.randrange(boards) if open_neutral else -1
    values: dict[str, Any] = {
        "supply": a_supply(
            rating_a=200.0,
            source_impedance=SourceImpedance(0.01, 0.02, 0.01, 0.02),
        ),
        "boards": tuple(_board(draw, i, reach, i != opened) for i in range(boards)),
        "loads": tuple(
            _load(draw, i, boards, setups, models, leads, three_phase) for i in range(loads)
        ),
        "setups": tuple(f"setup-{i}" for i in range(setups)),
    }
    return a_layout(**(values | changes))


def _board(draw: random.Random, index: int, reach: int, neutral_connected: bool) -> Board:
    line_r, line_x = draw.uniform(0.2, 4.0), draw.uniform(0.0, 0.3)
    conductor = Conductor(line_r, line_x, line_r * draw.choice((1.0, 1.0, 2.0)), line_x)
    return a_board(
        f"board-{index}",
        parent=None if index == 0 else draw.randrange(max(0, index - reach), index),
        feeder=a_run(
            length_m=draw.uniform(3.0, 40.0),
            conductor=conductor,
            neutral_connected=neutral_connected,
        ),
    )


def _load(
    draw: random.Random,
    index: int,
    boards: int,
    setups: int,
    models: tuple[str, ...],
    leads: float,
    three_phase: float,
) -> Load:
    model = draw.choice(models)
    kind = draw.random()
    if kind < three_phase:
        lines: tuple[int, ...] = (0, 1, 2)
        connection = draw.choice(("star", "delta"))
    elif kind < 2.0 * three_phase:
        first = draw.randrange(3)
        lines, connection = (first, (first + 1) % 3), "line-to-line"
    else:
        lines, connection = (draw.randrange(3),), "single"
    values: dict[str, Any] = {
        "power_w": draw.uniform(50.0, 1500.0),
        "load_model": model,
        "connection": connection,
        "rated_voltage_v": 230.0 if connection in ("single", "star") else 400.0,
        "board": draw.randrange(boards),
        "on": tuple(draw.random() < 0.8 for _ in range(setups)),
        "lead": a_run(length_m=draw.uniform(1.0, 30.0)) if draw.random() < leads else None,
        "outlet": None,
    }
    if model in ("constant-power", "constant-current"):
        factor = draw.uniform(0.8, 0.99)
        values |= {
            "displacement": draw.choice(("lagging", "leading")),
            "displacement_factor": factor,
            "power_factor": factor * 0.9,
            "third_harmonic_pct": draw.uniform(0.0, 30.0),
        }
    return a_load(f"load-{index}", *lines, **values)
