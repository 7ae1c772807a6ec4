"""What a scenario is, and the layouts that several subjects build on.

The boards are those of ``support.builders``: three one-line outlets a phase and one of three lines.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace

from evenboard.catalogue import load_catalogue
from evenboard.electrics.equipment import (
    Breaker,
    FixtureType,
    Region,
    SupplySystem,
)
from evenboard.electrics.layout import Board, Layout, Load, Run
from evenboard.findings import EquipmentStatus, Severity
from evenboard.paths import catalogue_folder
from support.builders import a_board, a_load, a_region, an_outlet

__all__ = [
    "CATALOGUE",
    "Scenario",
    "Scenarios",
    "a_us_region",
    "even",
    "even_top",
    "fixture",
    "lamp",
    "rubber",
    "with_breakers",
]

CATALOGUE = load_catalogue(catalogue_folder())
RUBBER = CATALOGUE.cables["h07rn-f"]
BS7671 = next(table for table in RUBBER.tables if table.id == "bs7671-4f1a")
VOLTS = 230.0


@dataclass(frozen=True)
class Scenario:
    """One way to come by a finding: where it fires, where it just does not, and how grave it is.

    ``mends`` is False where nothing on the layout can mend it and the remedy has to say so;
    ``leaves`` is what the remedy makes of it where it does not go away for good.
    """

    code: str
    name: str
    fires: Layout
    quiet: Layout
    severity: Severity
    mends: bool = True
    leaves: Severity | None = None
    equipment: dict[str, EquipmentStatus] = field(default_factory=dict)
    quiet_equipment: dict[str, EquipmentStatus] | None = None

    @property
    def id(self) -> str:
        return f"{self.code}: {self.name}"


def rubber(csa_mm2: float, length_m: float = 1.0, **changes: object) -> Run:
    """H07RN-F rated by BS 7671 Table 4F1A: 4 mm2 26 A, 6 mm2 34 A, 10 mm2 47 A, 16 mm2 63 A."""
    run = Run(length_m, cable=RUBBER, table=BS7671, csa_mm2=csa_mm2)
    return replace(run, **changes)  # type: ignore[arg-type]


def lamp(name: str, line: int, amps: float, row: str = "bottom", **changes: object) -> Load:
    """A resistive load of so many amps at 230 V in the outlet of a line and row."""
    values = {"power_w": amps * VOLTS, "outlet": f"l{line + 1}-{row}", "size_class": "medium"}
    return a_load(name, line, **(values | changes))


def fixture(slug: str) -> FixtureType:
    return CATALOGUE.fixtures[slug]


def with_breakers(rating_a: float, curve: str = "C", **changes: object) -> Board:
    """A board whose one-line outlets have breakers, 32 A outlets all."""
    outlets = tuple(
        an_outlet(f"l{line + 1}-{row}", line, row=row, breaker=Breaker(rating_a, curve))  # type: ignore[arg-type]
        for row in ("bottom", "middle", "top")
        for line in range(3)
    )
    return a_board(outlets=outlets, **changes)


def even(amps: float, **changes: object) -> tuple[Load, ...]:
    """One load of so many amps on every line."""
    return tuple(lamp(f"even-{line + 1}", line, amps, **changes) for line in range(3))


def a_us_region() -> Region:
    """120/208 V."""
    return a_region(systems=(SupplySystem("three-phase", ("L1", "L2", "L3"), 120.0, 208.0),))


def even_top(amps: float, **changes: object) -> tuple[Load, ...]:
    """The same in the top row."""
    return tuple(lamp(f"top-{line + 1}", line, amps, "top", **changes) for line in range(3))


class Scenarios(list[Scenario]):
    """The scenarios of one subject; used as a decorator it takes in what a function makes."""

    def __call__(self, make: Callable[[], Scenario]) -> Callable[[], Scenario]:
        self.append(make())
        return make
