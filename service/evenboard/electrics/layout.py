"""What is plugged where: the resolved layout that every computation starts from.

``intake`` makes a :class:`Layout` from a request and the catalogue; tests and benchmarks build one
directly. It is frozen and complete: no names left to look up, no defaults left to fill.

Conductor indices are 0, 1, 2 for the supply's lines and 3 for its neutral, in every array of the
house. A board has line names of its own (``L1`` of a board on a one-line outlet may be the supply's
``L3``); ``supply_lines`` maps them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from evenboard.electrics.equipment import (
    Breaker,
    CableTable,
    CableType,
    Conductor,
    Connection,
    Displacement,
    FixtureType,
    Generator,
    Limits,
    LoadModel,
    OutletType,
    RcdType,
    Region,
    SizeClass,
    System,
)

__all__ = [
    "NEUTRAL",
    "Board",
    "Dimmer",
    "Laid",
    "Layout",
    "Load",
    "Outlet",
    "Run",
    "SourceImpedance",
    "Supply",
]

NEUTRAL = 3
"""Index of the neutral on every conductor axis."""

Laid = Literal["free-air", "surface", "grouped", "coiled"]
Dimmer = Literal["none", "built-in", "phase-cut", "variable-transformer"]


@dataclass(frozen=True, slots=True)
class SourceImpedance:
    """Impedance of the supply up to its terminals, per conductor."""

    r_ohm: float
    x_ohm: float
    neutral_r_ohm: float
    neutral_x_ohm: float


@dataclass(frozen=True, slots=True)
class Supply:
    """What the boards hang on. ``rating_a`` is per line; ``voltage_v`` is line to neutral."""

    kind: Literal["outlet", "generator", "service"]
    system: System
    rating_a: float
    voltage_v: float
    frequency_hz: float
    lines: tuple[str, ...]
    loop_impedance_ohm: float | None = None
    source_impedance: SourceImpedance | None = None
    generator: Generator | None = None
    neutral: bool = True


@dataclass(frozen=True, slots=True)
class Run:
    """A length of cable: a board's feeder or a load's lead.

    Either ``cable``, ``table`` and ``csa_mm2`` are given, or ``conductor`` is (taken as it is).
    Where both are, the conductor's impedance goes before the cable's, and its capacity if it has
    one.
    ``neutral_csa_mm2`` is None where the neutral has the lines' size; ``neutral_connected`` False
    says that the neutral is absent or open in this run.
    """

    length_m: float
    cable: CableType | None = None
    table: CableTable | None = None
    csa_mm2: float | None = None
    neutral_csa_mm2: float | None = None
    conductor: Conductor | None = None
    laid: Laid = "free-air"
    coil_layers: int = 0
    grouped_circuits: int = 1
    neutral_connected: bool = True
    tag: str | None = None


@dataclass(frozen=True, slots=True)
class Outlet:
    """An outlet in place: its type and the supply conductors (0, 1, 2) behind its lines."""

    type: OutletType
    supply_lines: tuple[int, ...]

    @property
    def id(self) -> str:
        """The outlet's name on its board."""
        return self.type.id


@dataclass(frozen=True, slots=True)
class Board:
    """A board in the tree. ``parent`` indexes :attr:`Layout.boards`, None on the supply itself.

    ``lines`` are the board's own line names and ``supply_lines`` the supply conductors behind them,
    in the same order. ``inlet_rating_a`` is per line: the smaller of the inlet and the outlet that
    feeds it.
    """

    id: str
    type_id: str | None
    name: str
    parent: int | None
    parent_outlet: str | None
    feeder: Run | None
    lines: tuple[str, ...]
    supply_lines: tuple[int, ...]
    neutral: bool
    inlet_rating_a: float
    outlets: tuple[Outlet, ...]
    rcds: tuple[RcdType, ...] = ()
    incomer: Breaker | None = None
    incomer_rcd: RcdType | None = None
    tag: str | None = None

    def outlet(self, outlet_id: str) -> Outlet | None:
        """The outlet of that id, or None."""
        return next((o for o in self.outlets if o.id == outlet_id), None)

    def line_name(self, supply_line: int) -> str:
        """This board's own name for a supply conductor (0, 1, 2); ``N`` for the neutral."""
        if supply_line == NEUTRAL:
            return "N"
        return self.lines[self.supply_lines.index(supply_line)]


@dataclass(frozen=True, slots=True)
class Load:
    """A lamp or appliance, or ``count`` like ones on one plug.

    ``power_w`` is one unit's power at ``rated_voltage_v`` across one branch, undimmed, over all its
    branches. ``supply_lines`` is empty for a loose load; else one conductor (line to neutral), two
    (line to line) or three (``connection`` star or delta). ``dimmed_to`` is the share of full
    power, 0 to 1. ``on`` has a truth value per set-up. ``connector`` is the plug's standard, where
    it is known.
    """

    id: str
    name: str
    fixture: FixtureType | None
    count: int
    power_w: float
    power_factor: float
    displacement_factor: float
    displacement: Displacement
    third_harmonic_pct: float
    load_model: LoadModel
    rated_voltage_v: float
    input_range_v: tuple[float, float] | None
    inrush_multiple: float
    inrush_ms: float
    leakage_ma: float
    size_class: SizeClass
    connection: Connection
    dimmed_to: float
    dimmer: Dimmer
    board: int | None
    outlet: str | None
    supply_lines: tuple[int, ...]
    lead: Run | None
    on: tuple[bool, ...]
    keep: bool = False
    connector: str | None = None
    tag: str | None = None


@dataclass(frozen=True, slots=True)
class Layout:
    """A whole layout, resolved. Boards stand parents first. ``setups`` has at least one name.

    ``start_order`` names the loads that are switched on together, group after group; what is in no
    group comes last, one by one. Empty, everything of a set-up goes on at once. ``setup_hours_h``
    has the hours a day that each set-up burns; empty where nobody said.
    """

    name: str
    region: Region
    supply: Supply
    ambient_c: float
    boards: tuple[Board, ...]
    loads: tuple[Load, ...]
    setups: tuple[str, ...]
    limits: Limits
    start_order: tuple[tuple[str, ...], ...] = ()
    setup_hours_h: tuple[float, ...] = ()

    def board_index(self, board_id: str) -> int:
        """Index of a board by id.

        Raises
        ------
        KeyError
            If there is no such board.
        """
        for index, board in enumerate(self.boards):
            if board.id == board_id:
                return index
        raise KeyError(board_id)

    def loads_on(self, board: int, outlet: str | None = None) -> tuple[int, ...]:
        """Indices of the loads plugged into a board, or into one outlet of it."""
        return tuple(
            i
            for i, load in enumerate(self.loads)
            if load.board == board and (outlet is None or load.outlet == outlet)
        )

    def children(self, board: int) -> tuple[int, ...]:
        """Indices of the boards that a board feeds."""
        return tuple(i for i, b in enumerate(self.boards) if b.parent == board)
