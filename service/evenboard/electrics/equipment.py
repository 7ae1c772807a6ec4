"""What is known of equipment before it is plugged in: fixtures, cables, boards, regions.

Everything here is frozen and made once, by ``catalogue`` from the data files or by ``intake`` from
a request. Units end the name. Nothing here computes more than what follows from one object alone.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

__all__ = [
    "FOUR_LOADED_FACTOR",
    "Basis",
    "BoardType",
    "Breaker",
    "CableSize",
    "CableTable",
    "CableType",
    "Conductor",
    "ConductorColours",
    "FactorTable",
    "FixtureType",
    "Generator",
    "Limits",
    "OutletStandard",
    "OutletType",
    "RcdType",
    "Region",
    "SupplySystem",
]

FOUR_LOADED_FACTOR = 0.86
"""On the three-loaded rating where the neutral is loaded too: IEC 60364-5-52:2009 annex E."""

Displacement = Literal["lagging", "leading", "none"]
LoadModel = Literal["tungsten", "constant-power", "constant-impedance", "constant-current"]
Connection = Literal["single", "line-to-line", "star", "delta"]
SizeClass = Literal["large", "medium", "small"]
Row = Literal["bottom", "middle", "top"]
Curve = Literal["B", "C", "D"]
System = Literal["three-phase", "three-wire", "single-phase"]
BasisKind = Literal["standard", "handbook", "memory", "common-practice", "estimate"]


@dataclass(frozen=True, slots=True)
class Basis:
    """Where a figure comes from, said plainly.

    ``standard`` and ``handbook``: seen in the source named. ``memory``: recalled from the source
    named, not seen. ``common-practice``: the trade does so, no source. ``estimate``: reasoned here.
    """

    kind: BasisKind
    text: str


@dataclass(frozen=True, slots=True)
class FixtureType:
    """A generic type of lamp or appliance, as its plug sees the mains.

    ``power_w`` is the power at the plug with ballast and driver losses, the total over all lines;
    ``lamp_power_w`` the lamp's own where it differs, else None. ``third_harmonic_pct`` and
    ``current_thd_pct`` are in percent of the fundamental. ``inrush_multiple`` is first peak over
    rated peak from a stiff supply. ``input_ranges_v`` lists the voltage versions, each [low, high]
    across one branch: ``((220, 240), (110, 120))`` is a type that is made, or re-lamped, for both.
    ``connection`` is how the branches sit on the lines: ``single`` is one branch that may go
    line-to-neutral or line-to-line as its range allows, ``star`` and ``delta`` are three-phase.
    """

    slug: str
    name: str
    family: str
    size_class: SizeClass
    power_w: float
    lamp_power_w: float | None
    power_factor: float
    displacement_factor: float
    displacement: Displacement
    third_harmonic_pct: float
    current_thd_pct: float
    load_model: LoadModel
    inrush_multiple: float
    inrush_ms: float
    leakage_ma: float
    input_ranges_v: tuple[tuple[float, float], ...]
    connection: Connection
    also_known_as: tuple[str, ...]
    basis: Basis
    smooth_dc_leakage: bool = False


@dataclass(frozen=True, slots=True)
class Conductor:
    """A cable run spelled out: series impedance per kilometre and capacity, taken as given."""

    r_ohm_per_km: float
    x_ohm_per_km: float
    neutral_r_ohm_per_km: float
    neutral_x_ohm_per_km: float
    capacity_a: float | None = None


@dataclass(frozen=True, slots=True)
class FactorTable:
    """A published factor by argument: sorted ``arguments`` and the ``factors`` beside them.

    Between two arguments the higher is read. ``open_ended`` says that the source lets the last
    factor hold for every larger argument; else nothing is published beyond it.
    """

    arguments: tuple[float, ...]
    factors: tuple[float, ...]
    basis: Basis
    open_ended: bool = False


@dataclass(frozen=True, slots=True)
class CableSize:
    """One row of a rating table. A rating that the table does not have is None."""

    csa_mm2: float
    two_loaded_a: float | None
    three_loaded_a: float | None
    label: str = ""


@dataclass(frozen=True, slots=True)
class CableTable:
    """The current ratings of one cable type in one standard, with that standard's factors.

    ``reference_ambient_c`` is the ambient for which the ratings hold. ``ambient`` is by ambient in
    deg C, ``grouping_*`` by number of circuits, ``drum_layers`` by layers on a drum or in a coil.
    ``four_loaded_factor`` applies to ``three_loaded_a`` where the neutral is loaded as well.
    """

    id: str
    standard: str
    reference_ambient_c: float
    sizes: tuple[CableSize, ...]
    ambient: FactorTable
    grouping_bunched: FactorTable
    grouping_surface: FactorTable
    drum_layers: FactorTable
    basis: Basis
    four_loaded_factor: float = FOUR_LOADED_FACTOR


@dataclass(frozen=True, slots=True)
class CableType:
    """A kind of flexible cable: construction, rated conductor temperature and its rating tables."""

    id: str
    name: str
    construction: Literal["multicore", "single-core"]
    tinned: bool
    rated_temperature_c: float
    reactance_ohm_per_km: float
    tables: tuple[CableTable, ...]
    basis: Basis


@dataclass(frozen=True, slots=True)
class Breaker:
    """A circuit breaker: rated current and the curve of its instantaneous band."""

    rating_a: float
    curve: Curve = "C"


@dataclass(frozen=True, slots=True)
class RcdType:
    """A residual-current device that one or more outlets share."""

    id: str
    rated_residual_ma: float
    delayed: bool = False


@dataclass(frozen=True, slots=True)
class OutletType:
    """An outlet of a board. ``lines`` are the board's own line names; ``rating_a`` is per line."""

    id: str
    lines: tuple[str, ...]
    rating_a: float
    row: Row | None = None
    breaker: Breaker | None = None
    rcd: str | None = None
    connector: str | None = None
    neutral: bool = True


@dataclass(frozen=True, slots=True)
class BoardType:
    """A generic distribution board: what feeds it and the outlets on its face.

    ``incomer`` is the board's own main breaker, ``incomer_rcd`` a residual device in front of all.
    """

    id: str
    name: str
    regions: tuple[str, ...]
    system: System
    inlet: str | None
    inlet_rating_a: float
    outlets: tuple[OutletType, ...]
    rcds: tuple[RcdType, ...]
    incomer: Breaker | None
    incomer_rcd: RcdType | None
    basis: Basis


@dataclass(frozen=True, slots=True)
class OutletStandard:
    """A plug and outlet by open standard. ``accepts`` are the plugs that go in, itself included."""

    id: str
    name: str
    standard: str
    lines: int
    neutral: bool
    rating_a: float
    voltage_v: tuple[float, float]
    accepts: tuple[str, ...]
    basis: Basis


@dataclass(frozen=True, slots=True)
class SupplySystem:
    """One way a region feeds a set: ``lines`` names, nominal voltages, angle of each line."""

    system: System
    lines: tuple[str, ...]
    line_to_neutral_v: float
    line_to_line_v: float | None
    neutral: bool = True


@dataclass(frozen=True, slots=True)
class ConductorColours:
    """A colour code, conductor to colour name; shown with the letter always, never alone."""

    code: str
    colours: dict[str, str]
    in_force: bool
    basis: Basis


@dataclass(frozen=True, slots=True)
class Limits:
    """The limits that findings judge by. A region sets them, a layout may override each.

    Percentages are 0 to 100. ``breaker_loading_pct`` is the continuous share of a breaker;
    ``spread_*_pct`` are steps of (highest - lowest line) / rating.
    """

    phase_loading_pct: float = 80.0
    breaker_loading_pct: float = 80.0
    spread_note_pct: float = 10.0
    spread_pct: float = 25.0
    spread_fail_pct: float = 50.0
    voltage_drop_pct: float = 5.0
    low_voltage_pct: float = 10.0
    voltage_unbalance_pct: float = 2.0
    leakage_share_pct: float = 30.0
    neutral_loading_pct: float = 100.0
    core_spread_k: float = 10.0
    negative_sequence_pct: float = 8.0
    leading_share_pct: float = 20.0
    generator_high_load_pct: float = 80.0
    generator_low_load_pct: float = 30.0
    generator_step_pct: float = 50.0
    insignificant_w: float = 100.0


@dataclass(frozen=True, slots=True)
class Generator:
    """A generating set: apparent and active rating, and the steps it takes."""

    rating_kva: float
    rated_power_factor: float = 0.8
    subtransient_reactance_pct: float | None = None
    max_step_pct: float | None = None


@dataclass(frozen=True, slots=True)
class Region:
    """A region's practice: supplies, colours, outlets and the limits used there.

    ``test_interval_months`` is how often hired equipment is tested there; None where nothing says.
    """

    id: str
    name: str
    frequency_hz: tuple[float, ...]
    systems: tuple[SupplySystem, ...]
    colours: tuple[ConductorColours, ...]
    outlets: tuple[OutletStandard, ...]
    limits: Limits
    advisory: tuple[str, ...]
    loop_voltage_factor: float
    cable_tables: dict[str, str]
    default_ambient_c: float
    test_interval_months: int | None = None
    bases: dict[str, Basis] = field(default_factory=dict)

    def system(self, system: str) -> SupplySystem | None:
        """The supply system of that name, or None where the region has none."""
        return next((s for s in self.systems if s.system == system), None)
