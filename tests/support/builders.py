"""Layouts for tests with sane defaults: only what matters to a test is written in it."""

from __future__ import annotations

from typing import Any

from evenboard.electrics.equipment import Basis, Limits, OutletType, Region, SupplySystem
from evenboard.electrics.layout import Board, Layout, Load, Outlet, Run, Supply

__all__ = ["a_board", "a_layout", "a_load", "a_region", "a_run", "a_supply", "an_outlet"]

ESTIMATE = Basis("estimate", "made for a test")
LINES = ("L1", "L2", "L3")


def a_region(**changes: Any) -> Region:
    """A plain 230/400 V region."""
    values: dict[str, Any] = {
        "id": "test",
        "name": "Test region",
        "frequency_hz": (50.0,),
        "systems": (
            SupplySystem("three-phase", LINES, 230.0, 400.0),
            SupplySystem("single-phase", ("L1",), 230.0, None),
        ),
        "colours": (),
        "outlets": (),
        "limits": Limits(),
        "advisory": (),
        "loop_voltage_factor": 1.0,
        "cable_tables": {},
        "default_ambient_c": 30.0,
    }
    return Region(**(values | changes))


def a_supply(**changes: Any) -> Supply:
    """A stiff three-phase 32 A outlet at 230 V."""
    values: dict[str, Any] = {
        "kind": "outlet",
        "system": "three-phase",
        "rating_a": 32.0,
        "voltage_v": 230.0,
        "frequency_hz": 50.0,
        "lines": LINES,
    }
    return Supply(**(values | changes))


def a_run(**changes: Any) -> Run:
    """Ten metres of a spelled-out conductor, 1 ohm per km, no reactance."""
    from evenboard.electrics.equipment import Conductor

    values: dict[str, Any] = {"length_m": 10.0, "conductor": Conductor(1.0, 0.0, 1.0, 0.0, None)}
    return Run(**(values | changes))


def an_outlet(outlet_id: str, *lines: int, **changes: Any) -> Outlet:
    """A 32 A outlet on the given supply conductors (0, 1, 2)."""
    values: dict[str, Any] = {"rating_a": 32.0}
    kind = OutletType(id=outlet_id, lines=tuple(LINES[i] for i in lines), **(values | changes))
    return Outlet(kind, tuple(lines))


def a_board(board_id: str = "main", **changes: Any) -> Board:
    """A three-phase board on the supply with three one-line outlets a phase and one of three."""
    rows = ("bottom", "middle", "top")
    one_line = [an_outlet(f"l{i + 1}-{row}", i, row=row) for row in rows for i in range(3)]
    outlets = (*one_line, an_outlet("sub-1", 0, 1, 2))
    values: dict[str, Any] = {
        "id": board_id,
        "type_id": None,
        "name": board_id,
        "parent": None,
        "parent_outlet": None,
        "feeder": None,
        "lines": LINES,
        "supply_lines": (0, 1, 2),
        "neutral": True,
        "inlet_rating_a": 32.0,
        "outlets": outlets,
    }
    return Board(**(values | changes))


def a_load(load_id: str = "key", *lines: int, **changes: Any) -> Load:
    """A 2 kW resistive lamp at 230 V, in the bottom row of the line given; loose without a line."""
    values: dict[str, Any] = {
        "id": load_id,
        "name": load_id,
        "fixture": None,
        "count": 1,
        "power_w": 2000.0,
        "power_factor": 1.0,
        "displacement_factor": 1.0,
        "displacement": "none",
        "third_harmonic_pct": 0.0,
        "load_model": "constant-power",
        "rated_voltage_v": 230.0,
        "input_range_v": None,
        "inrush_multiple": 1.0,
        "inrush_ms": 0.0,
        "leakage_ma": 0.0,
        "size_class": "medium",
        "connection": {0: "single", 1: "single", 2: "line-to-line", 3: "star"}[len(lines)],
        "dimmed_to": 1.0,
        "dimmer": "none",
        "board": 0 if lines else None,
        "outlet": f"l{lines[0] + 1}-bottom" if len(lines) == 1 else ("sub-1" if lines else None),
        "supply_lines": tuple(lines),
        "lead": None,
        "on": (True,),
        "keep": False,
    }
    return Load(**(values | changes))


def a_layout(**changes: Any) -> Layout:
    """One board on a stiff supply, no loads, one set-up."""
    values: dict[str, Any] = {
        "name": "test",
        "region": a_region(),
        "supply": a_supply(),
        "ambient_c": 30.0,
        "boards": (a_board(),),
        "loads": (),
        "setups": ("all",),
        "limits": Limits(),
    }
    return Layout(**(values | changes))
