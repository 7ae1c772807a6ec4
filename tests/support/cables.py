"""Cable types for tests: those of the data files, and made-up ones with sane defaults."""

from __future__ import annotations

from functools import cache
from typing import Any

from evenboard.catalogue import load_catalogue
from evenboard.electrics.capacity import run_capacity
from evenboard.electrics.equipment import CableSize, CableTable, CableType, FactorTable
from evenboard.electrics.layout import Run
from evenboard.paths import catalogue_folder
from support.builders import ESTIMATE

__all__ = ["a_cable", "a_cable_run", "a_cable_table", "all_cables", "rated_a", "run_of"]


@cache
def all_cables() -> tuple[CableType, ...]:
    """Every cable type of the data files."""
    return tuple(load_catalogue(catalogue_folder()).cables.values())


def run_of(cable_id: str, table_id: str, csa_mm2: float, **changes: Any) -> Run:
    """A run of 20 m of a cable type of the data files, rated by one of its tables."""
    cable = next(cable for cable in all_cables() if cable.id == cable_id)
    table = next(table for table in cable.tables if table.id == table_id)
    values: dict[str, Any] = {"length_m": 20.0}
    return Run(cable=cable, table=table, csa_mm2=csa_mm2, **(values | changes))


def rated_a(
    run: Run, cores: int = 3, ambient_c: float = 30.0, third_harmonic_pct: float = 0.0
) -> float:
    """Capacity of a line core of a run that has one."""
    capacity = run_capacity(
        run, loaded_cores=cores, ambient_c=ambient_c, third_harmonic_pct=third_harmonic_pct
    )
    assert capacity is not None
    return capacity.capacity_a


def a_cable_table(*sizes: tuple[float, float], **changes: Any) -> CableTable:
    """A rating table of the sizes given, each with one rating; without factors worth the name."""
    none = FactorTable((100.0,), (1.0,), ESTIMATE, open_ended=True)
    values: dict[str, Any] = {
        "id": "test",
        "standard": "a table made for a test",
        "reference_ambient_c": 30.0,
        "sizes": tuple(CableSize(csa, rating, rating) for csa, rating in sizes),
        "ambient": none,
        "grouping_bunched": none,
        "grouping_surface": none,
        "drum_layers": none,
        "basis": ESTIMATE,
    }
    return CableTable(**(values | changes))


def a_cable(*tables: CableTable, **changes: Any) -> CableType:
    """A multicore cable of plain copper, rated 70 deg C."""
    values: dict[str, Any] = {
        "id": "test",
        "name": "Test cable",
        "construction": "multicore",
        "tinned": False,
        "rated_temperature_c": 70.0,
        "reactance_ohm_per_km": 0.08,
        "tables": tables,
        "basis": ESTIMATE,
    }
    return CableType(**(values | changes))


def a_cable_run(csa_mm2: float, table: CableTable, **changes: Any) -> Run:
    """A run of 20 m of :func:`a_cable` with that table."""
    values: dict[str, Any] = {"length_m": 20.0}
    return Run(cable=a_cable(table), table=table, csa_mm2=csa_mm2, **(values | changes))
