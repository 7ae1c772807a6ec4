"""What the lines of a supply, the boards, their cables and their devices may carry."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from evenboard.electrics.capacity import loaded_core_count, run_capacity
from evenboard.electrics.generator import line_rating_a
from evenboard.electrics.layout import Board, Layout
from evenboard.electrics.load import load_split
from evenboard.electrics.protection import RCD_NO_TRIP_SHARE
from evenboard.planning.draws import branch_v
from evenboard.planning.measure import UNIT
from evenboard.planning.result import PlanOptions

__all__ = ["AMPS", "LEAKAGE", "WATTS", "Meter", "meters_of"]

AMPS, LEAKAGE, WATTS = 0, 1, 2

Part = Literal["supply", "inlet", "breaker", "cable", "residual-current device", "generator"]


@dataclass(frozen=True, slots=True)
class Meter:
    """A limit on what hangs behind some part: amps on one line, leakage, or watts.

    ``behind`` are the boards wholly behind it; ``beside`` a board and a device of it, for what is
    plugged into that device's outlets. ``limit`` is in uA, uA or W by ``weighs``.
    """

    part: Part
    limit: int
    weighs: int
    behind: frozenset[int]
    line: int | None = None
    board: int | None = None
    name: str = ""
    beside: tuple[int, str] | None = None

    def sees(self, board: int, lines: tuple[int, ...], device: str | None) -> bool:
        """Whether seats of a board, on some lines, are behind it."""
        if self.line is not None and self.line not in lines:
            return False
        return board in self.behind or (device is not None and self.beside == (board, device))


def meters_of(layout: Layout, options: PlanOptions) -> tuple[Meter, ...]:
    """Every limit on more than one outlet.

    Parameters
    ----------
    layout : Layout
        The layout. A cable's capacity is taken with the third harmonic of all loads together.
    options : PlanOptions
        ``spare_a`` is taken off the supply's rating.

    Returns
    -------
    tuple of Meter
        The supply's lines, each board's lines, residual-current devices, the generator.

    References
    ----------
    .. [1] Capacity of a cable: :func:`evenboard.electrics.capacity.run_capacity`.
    .. [2] IEC 61008-1, rated residual non-operating current, half the rating (from memory).
    """
    boards = layout.boards
    below: list[set[int]] = [{b} for b in range(len(boards))]
    for b in range(len(boards) - 1, -1, -1):
        parent = boards[b].parent
        if parent is not None:
            below[parent] |= below[b]
    everything = frozenset(range(len(boards)))
    supply = layout.supply
    rating = max(line_rating_a(supply) - options.spare_a, 0.0)
    meters = [
        Meter("supply", _micro(rating), AMPS, everything, line=line)
        for line in range(len(supply.lines))
    ]
    if supply.generator is not None:
        plate = supply.generator
        watts = plate.rating_kva * 1000.0 * plate.rated_power_factor
        meters.append(Meter("generator", math.floor(watts + 1e-6), WATTS, everything))
    with_cable = any(board.feeder is not None for board in boards)
    harmonic = _third_harmonic_pct(layout) if with_cable else 0.0
    for b, board in enumerate(boards):
        part, amps = _board_limit(layout, board, harmonic)
        meters += [
            Meter(part, _micro(amps), AMPS, frozenset(below[b]), line=line, board=b)
            for line in board.supply_lines
        ]
        if board.incomer_rcd is not None:
            rcd = board.incomer_rcd
            most = _leakage(rcd.rated_residual_ma)
            meters.append(_device(most, frozenset(below[b]), b, rcd.id, None))
        for rcd in board.rcds:
            fed = {
                child
                for child, other in enumerate(boards)
                if other.parent == b and _guarded_by(board, other.parent_outlet) == rcd.id
            }
            behind = frozenset(i for child in fed for i in below[child])
            most = _leakage(rcd.rated_residual_ma)
            meters.append(_device(most, behind, b, rcd.id, (b, rcd.id)))
    return tuple(meters)


def _device(
    most: int, behind: frozenset[int], board: int, name: str, beside: tuple[int, str] | None
) -> Meter:
    return Meter(
        "residual-current device", most, LEAKAGE, behind, board=board, name=name, beside=beside
    )


def _micro(amps: float) -> int:
    """Amps as whole microamps; half of one is given for each of a thousand roundings."""
    return math.floor(min(amps, 1e6) * UNIT + 500)


def _leakage(rated_ma: float) -> int:
    return math.floor(rated_ma * 1000.0 * RCD_NO_TRIP_SHARE.value + 1e-6)


def _guarded_by(board: Board, outlet_id: str | None) -> str | None:
    outlet = None if outlet_id is None else board.outlet(outlet_id)
    return None if outlet is None else outlet.type.rcd


def _board_limit(layout: Layout, board: Board, harmonic_pct: float) -> tuple[Part, float]:
    """The least of what a board's inlet, breakers and feeder let through on a line."""
    found: list[tuple[float, Part]] = [(board.inlet_rating_a, "inlet")]
    if board.incomer is not None:
        found.append((board.incomer.rating_a, "breaker"))
    if board.parent is not None and board.parent_outlet is not None:
        outlet = layout.boards[board.parent].outlet(board.parent_outlet)
        if outlet is not None:
            found.append((outlet.type.rating_a, "inlet"))
            if outlet.type.breaker is not None:
                found.append((outlet.type.breaker.rating_a, "breaker"))
    if board.feeder is not None:
        cores = loaded_core_count(len(board.supply_lines), neutral=board.neutral)
        capacity = run_capacity(
            board.feeder,
            loaded_cores=cores,
            ambient_c=layout.ambient_c,
            third_harmonic_pct=harmonic_pct,
        )
        if capacity is not None:
            found.append((capacity.capacity_a, "cable"))
    amps, part = min(found, key=lambda each: each[0])
    return part, amps


def _third_harmonic_pct(layout: Layout) -> float:
    """Third harmonic over the fundamental, of all loads added arithmetically."""
    fundamental = triplen = 0.0
    for load in layout.loads:
        delta = load.connection == "delta"
        lines = {"line-to-line": 2, "star": 3, "delta": 3}.get(load.connection, 1)
        volts = branch_v(layout, min(lines, len(layout.supply.lines)), delta=delta)
        split = load_split(load, volts)
        fundamental += abs(split.fundamental_a)
        triplen += split.triplen_a
    return 100.0 * triplen / fundamental if fundamental > 0.0 else 0.0
