"""A layout as the planner sees it: loads, seats, bins of like seats, and what limits them.

A *seat* is an outlet that a load may be plugged into. Seats of one board, the same lines and the
same residual-current device make a *bin*: which of them a load takes changes no sum. What can be
plugged where is a set of linear limits: *places* (how many of some loads a bin has seats for) and
*meters* (what a line, a board, a cable, a device may carry). Amounts are whole microamps.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from evenboard.electrics.layout import Layout, Outlet
from evenboard.planning.measure import IntArray
from evenboard.planning.meters import Meter
from evenboard.planning.result import PlanOptions

__all__ = ["OUT", "Bin", "BoolArray", "Problem", "Room", "Seat"]

BoolArray = NDArray[np.bool_]

OUT = -1
"""The bin of a load that is not plugged in."""

ROW_RANK = {"bottom": 0, "middle": 1, "top": 2}


@dataclass(frozen=True, slots=True)
class Seat:
    """An outlet of a board; ``owner`` is the only load that may use it, or None."""

    board: int
    outlet: Outlet
    lines: tuple[int, ...]
    owner: int | None = None

    @property
    def row(self) -> int | None:
        """Rank of the row it is in, 0 the bottom; None where the board has no rows."""
        return None if self.outlet.type.row is None else ROW_RANK[self.outlet.type.row]


@dataclass(frozen=True, slots=True)
class Bin:
    """Seats that differ in nothing a sum would show."""

    board: int
    lines: tuple[int, ...]
    seats: tuple[int, ...]
    device: str | None = None
    fixed: bool = False


@dataclass(frozen=True, slots=True)
class Room:
    """No more than ``most`` of some loads (a mask over all) find a seat in a bin."""

    bin: int
    loads: BoolArray
    most: int


@dataclass(frozen=True, slots=True, eq=False)
class Problem:
    """Arrays over ``n`` loads, ``O`` seats, ``B`` bins, ``K`` meters, ``S`` set-ups, ``m`` lines.

    ``amps`` (n, 4) is indexed by the number of lines, -1 where a load cannot go on so many. ``on``
    (n, S); ``fits`` (n, O); ``allowed`` (n, B); ``origin`` (n,) the seat a load is in, -1 where
    loose; ``home`` (n,) its bin. ``pattern`` (B, m) marks the lines of a bin, ``width`` (B,) counts
    them, ``column`` (B,) numbers the distinct patterns. ``covers`` (B, K) says which meters a bin
    is behind, ``limit`` (K,) what each carries, ``weighs`` (K,) what it counts: 0 amps, 1 leakage,
    2 watts. ``leakage`` and ``watts`` are (n, S). ``kind`` (n,) numbers loads that are alike in
    everything that matters here, ``group`` (n,) those of one type.
    """

    layout: Layout
    options: PlanOptions
    lines: int
    setups: int
    amps: IntArray
    on: IntArray
    fits: BoolArray
    origin: IntArray
    home: IntArray
    pinned: BoolArray
    seats: tuple[Seat, ...]
    bins: tuple[Bin, ...]
    pattern: IntArray
    width: IntArray
    column: IntArray
    columns: IntArray
    allowed: BoolArray
    rooms: tuple[Room, ...]
    rooms_of: tuple[tuple[int, ...], ...]
    meters: tuple[Meter, ...]
    covers: BoolArray
    limit: IntArray
    weighs: IntArray
    leakage: IntArray
    watts: IntArray
    kind: IntArray
    group: IntArray
    size: IntArray
    all_meters: tuple[Meter, ...] = field(default=())

    move_limit: int | None = None
    """Plugged loads that may move, None where the options set no limit or one that cannot bind."""

    only_amps: bool = False
    """No meter weighs anything else."""

    plain: bool = False
    """No meter can be overrun, and a bin's seats are alike for all loads that may go there."""

    @property
    def count(self) -> int:
        """Number of loads."""
        return len(self.on)

    @property
    def total(self) -> IntArray:
        """What each load draws on a line, added over the set-ups, shape (n,). [uA]"""
        drawn: IntArray = self.amps.max(axis=1, initial=0) * self.on.sum(axis=1)
        return drawn

    def sole_width(self, loads: IntArray) -> IntArray:
        """On how many lines each of some loads goes wherever it goes, 0 where that can differ."""
        allowed, far = self.allowed[loads], len(self.pattern.T) + 1
        widest = np.where(allowed, self.width, 0).max(axis=1, initial=0)
        narrowest = np.where(allowed, self.width, far).min(axis=1, initial=far)
        width: IntArray = np.where(widest == narrowest, widest, 0)
        return width

    def current(self, load: int, bin_: int) -> IntArray:
        """What a load adds to each line of a bin, shape (S,). [uA]"""
        amount: IntArray = self.amps[load, self.width[bin_]] * self.on[load]
        return amount
