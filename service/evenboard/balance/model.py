"""What a balance answer holds: plain figures of the worst set-up and of each, made once.

A figure is None where the supply has no such thing (no neutral to open, no phases to even out) or
where no set-up has a solution; nothing is ever made up. Phases carry the board's own line names.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from evenboard.electrics.solution import Solution
from evenboard.findings import Finding

__all__ = [
    "Balance",
    "BoardFigures",
    "Energy",
    "FeederFigures",
    "GeneratorLoad",
    "LoadFigures",
    "NeutralFigures",
    "OutletFigures",
    "PhaseFigures",
    "RcdFigures",
    "Room",
    "SetupFigures",
    "SupplyFigures",
    "Unbalance",
    "Verdict",
]

Verdict = Literal["pass", "caution", "fail"]


@dataclass(frozen=True, slots=True)
class Room:
    """How many more of a common type still fit on a phase, and its amps there."""

    fixture: str
    name: str
    current_a: float
    count: int


@dataclass(frozen=True, slots=True)
class PhaseFigures:
    """One line of the supply or of a board.

    Overload is judged on ``current_a``, the true RMS current; room left on ``sum_a``, the
    arithmetic sum of the loads' amps at nominal voltage. ``headroom_a`` is rating less that sum: of
    this set-up in a set-up's figures, of the fullest set-up elsewhere. ``room_for`` is empty in a
    set-up's figures.
    """

    phase: str
    current_a: float | None
    fundamental_a: float | None
    power_w: float | None
    reactive_var: float | None
    apparent_va: float | None
    power_factor: float | None
    rating_a: float
    loading_pct: float | None
    sum_a: float
    headroom_a: float
    room_for: tuple[Room, ...] = ()


@dataclass(frozen=True, slots=True)
class NeutralFigures:
    """A neutral. ``worst_switching_a`` is its largest current over every on/off combination.

    ``worst_switching_on`` are the loads that make it; both None in a set-up's figures.
    """

    current_a: float | None
    fundamental_a: float | None
    triplen_a: float | None
    rating_a: float
    loading_pct: float | None
    worst_switching_a: float | None = None
    worst_switching_on: tuple[str, ...] | None = None


@dataclass(frozen=True, slots=True)
class Unbalance:
    """How uneven the phases are. The sequence figures need three lines, else they are None."""

    current_pct: float | None
    spread_a: float | None
    spread_pct: float | None
    negative_sequence_pct: float | None
    voltage_pct: float | None


@dataclass(frozen=True, slots=True)
class FeederFigures:
    """A board's feeder. Temperatures are by conductor name, ``N`` for the neutral."""

    capacity_a: float | None
    capacity_basis: str | None
    length_m: float
    loss_w: float | None
    core_temperature_c: Mapping[str, float] | None
    core_spread_k: float | None
    differential_expansion_mm: float | None


@dataclass(frozen=True, slots=True)
class OutletFigures:
    """An outlet: what is plugged in, the amps of its fullest line and the volts it gives."""

    id: str
    lines: tuple[str, ...]
    row: str | None
    rating_a: float
    breaker_a: float | None
    used_by: str | None
    current_a: float | None
    voltage_v: float | None
    inrush_a: float
    loop_impedance_ohm: float | None


@dataclass(frozen=True, slots=True)
class RcdFigures:
    """A residual-current device and the standing leakage behind it."""

    id: str
    rated_residual_ma: float
    leakage_ma: float


@dataclass(frozen=True, slots=True)
class BoardFigures:
    """A board: what it takes in, what it gives, and what feeds it."""

    id: str
    name: str
    lines: tuple[str, ...]
    supply_lines: tuple[str, ...]
    setup: str | None
    phases: tuple[PhaseFigures, ...]
    neutral: NeutralFigures | None
    unbalance: Unbalance | None
    voltage_v: Mapping[str, float] | None
    neutral_to_earth_v: float | None
    voltage_drop_pct: Mapping[str, float] | None
    feeder: FeederFigures | None
    outlets: tuple[OutletFigures, ...]
    rcds: tuple[RcdFigures, ...]


@dataclass(frozen=True, slots=True)
class SetupFigures:
    """The supply in one set-up."""

    id: str
    solved: bool
    phases: tuple[PhaseFigures, ...]
    neutral: NeutralFigures | None
    unbalance: Unbalance | None
    power_w: float | None
    apparent_va: float | None
    loss_w: float | None


@dataclass(frozen=True, slots=True)
class LoadFigures:
    """A load where it gets the lowest voltage; None where it never burns."""

    id: str
    name: str
    setup: str | None
    voltage_v: float | None
    current_a: float | None
    power_w: float | None
    light_pct: float | None
    colour_temperature_k: float | None


@dataclass(frozen=True, slots=True)
class SupplyFigures:
    """What the supply may give: per line, in all, and as apparent power."""

    rating_a: float
    total_rating_a: float
    voltage_v: float
    capacity_va: float


@dataclass(frozen=True, slots=True)
class GeneratorLoad:
    """A generator in the set-up that asks most of it, in percent of its ratings.

    ``apparent_pct`` of its kVA, ``active_pct`` of its kW, ``line_pct`` of one line's share,
    ``negative_sequence_pct`` of its rated current, ``leading_pct`` leading reactive power over kVA.
    """

    setup: str
    apparent_pct: float
    active_pct: float
    line_pct: Mapping[str, float]
    negative_sequence_pct: float | None
    leading_pct: float


@dataclass(frozen=True, slots=True)
class Energy:
    """What a day takes, and what of it is lost in the cables.

    Where the set-ups have hours, all of them together and ``setup`` is None; else the hungriest
    set-up in so many hours.
    """

    setup: str | None
    hours: float
    energy_kwh: float
    loss_kwh: float


@dataclass(frozen=True, slots=True)
class Balance:
    """The whole answer. ``solution`` and its layout are what everything else was made from.

    ``phases`` are those of the set-up with the fullest line, ``neutral`` of the one with the
    fullest neutral, ``unbalance`` of the one with the widest spread; ``worst`` names the three.
    """

    solution: Solution
    verdict: Verdict
    supply: SupplyFigures
    worst: Mapping[str, str | None]
    phases: tuple[PhaseFigures, ...]
    neutral: NeutralFigures | None
    open_neutral_v: Mapping[str, float] | None
    unbalance: Unbalance | None
    boards: tuple[BoardFigures, ...]
    setups: tuple[SetupFigures, ...]
    loads: tuple[LoadFigures, ...]
    findings: tuple[Finding, ...]
    generator: GeneratorLoad | None
    energy: Energy | None
