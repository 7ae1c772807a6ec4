"""The figures of one outlet, residual-current device or run of cable, in every set-up."""

from __future__ import annotations

from dataclasses import dataclass

from evenboard.electrics.capacity import Capacity
from evenboard.electrics.equipment import RcdType
from evenboard.electrics.layout import Outlet, Run
from evenboard.electrics.solution import FloatArray

__all__ = ["OutletFigures", "RcdFigures", "RunFigures", "WorstSwitching"]


@dataclass(frozen=True, slots=True, eq=False)
class OutletFigures:
    """One outlet: what is plugged in and what it gives.

    ``loads`` index the layout's loads, ``child`` the board it feeds. ``current_a`` is the true RMS
    current of each of its lines, ``arithmetic_a`` the sum of its loads' nominal amps, both (S, k).
    ``voltage_v`` is across it, line to neutral or line to line, the lowest of its lines, (S,).
    ``inrush_a`` is the RMS-equivalent of switching its loads on together, in the worst set-up;
    ``loop_impedance_ohm`` that of an earth fault at the end of its worst lead, None where the
    supply's own is not known.
    """

    board: int
    outlet: Outlet
    loads: tuple[int, ...]
    child: int | None
    current_a: FloatArray
    arithmetic_a: FloatArray
    voltage_v: FloatArray
    inrush_a: float
    loop_impedance_ohm: float | None

    @property
    def in_use(self) -> bool:
        """True where a load or a board is plugged in."""
        return bool(self.loads) or self.child is not None


@dataclass(frozen=True, slots=True, eq=False)
class RcdFigures:
    """One residual-current device: the loads behind it and their standing leakage, (S,)."""

    board: int
    rcd: RcdType
    is_incomer: bool
    loads: tuple[int, ...]
    leakage_ma: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class RunFigures:
    """One run of cable under load: a board's feeder, or the lead of a load.

    Exactly one of ``board`` and ``load`` is set. ``lines`` are the supply conductors it has.
    ``current_a`` is (S, 4). ``capacity`` is None where neither a table nor a capacity is known;
    so are then the temperatures, (S, 4), their spread over the lines (S,) and the expansion (S,).
    """

    board: int | None
    load: int | None
    run: Run
    lines: tuple[int, ...]
    has_neutral: bool
    current_a: FloatArray
    third_harmonic_pct: FloatArray
    loss_w: FloatArray
    capacity: Capacity | None
    core_temperature_c: FloatArray | None
    core_spread_k: FloatArray | None
    differential_expansion_mm: FloatArray | None


@dataclass(frozen=True, slots=True)
class WorstSwitching:
    """The largest neutral current that switching loads on and off can make: when, by which."""

    setup: int
    current_a: float
    loads: tuple[int, ...]
