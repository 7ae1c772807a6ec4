"""A layout as the power flow sees it: branches and the impedances that they share.

A *branch* sits between two conductors at a place in the tree, at a board or at the end of a lead: a
load has one, a three-phase load three. Branch voltages obey ``U = U0 - M I - A F``: U0 with nothing
on, M the impedances that two branches share on their ways to the source, F the potentials of
neutrals that are cut off from the source (A says whose they are).
"""

from __future__ import annotations

import cmath
import math
from dataclasses import dataclass
from functools import cache
from operator import attrgetter
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from evenboard.electrics.conductor import line_and_neutral_ohm
from evenboard.electrics.draw import draws, floor_v
from evenboard.electrics.layout import NEUTRAL, Board, Layout, Load, Run, Supply
from evenboard.electrics.pathtree import PathTree, Wiring, path_tree
from evenboard.electrics.solution import BoolArray, ComplexArray, FloatArray

__all__ = [
    "EARTHED",
    "FIFTH",
    "THIRD",
    "Branches",
    "IntArray",
    "Network",
    "line_angles_rad",
    "network",
]

IntArray = NDArray[np.intp]

EARTHED = -1
"""Mark of a branch or node whose neutral is connected to the source, or that uses none."""

THIRD = 3
"""Order of the harmonic that the triplens are reckoned at."""

FIFTH = 5
"""Harmonics that are neither fundamental nor triplen are added as if all were of this order."""
_HAS_NEUTRAL = attrgetter("type.neutral")
_CONDUCTORS = NEUTRAL + 1
_SIGNS = np.array(
    [
        [float(c == first) - float(c == second) for c in range(_CONDUCTORS)]
        for first in range(_CONDUCTORS)
        for second in range(_CONDUCTORS)
    ]
)
"""By ``first * 4 + second``: +1 on the conductor that feeds a branch, -1 where it leads back."""
_PRESENT = np.array([[bool(has >> c & 1) for c in range(_CONDUCTORS)] for has in range(16)])
"""By a bit a conductor: which are there."""
_ANGLES_RAD = {
    "three-phase": (0.0, -2.0 * math.pi / 3.0, 2.0 * math.pi / 3.0),
    "three-wire": (0.0, math.pi),
    "single-phase": (0.0,),
}


@dataclass(frozen=True, slots=True, eq=False)
class Branches:
    """What is plugged in, branch by branch; all shapes (B,).

    ``load`` indexes the layout's loads. A branch sits at ``node`` between the conductors ``first``
    (a line) and ``second`` (a line or the neutral), with ``open_circuit_v`` across it (complex)
    when nothing is on. It draws the fundamental ``coefficient * |U|**exponent / conj(U)``, times
    ``triplen`` and ``rest`` in harmonics and ``rms`` in all; ``has_harmonics`` says whether any
    branch distorts. ``third`` and ``fifth`` are unit phasors of those orders, from the angle of the
    open-circuit voltage.
    ``island`` indexes the floating neutrals, :data:`EARTHED` elsewhere; ``floor_v`` is the voltage
    below which, on a floating neutral, a branch is an impedance: there electronics starve and a
    filament is cold.
    """

    load: IntArray
    node: IntArray
    first: IntArray
    second: IntArray
    open_circuit_v: ComplexArray
    coefficient: ComplexArray
    exponent: FloatArray
    triplen: FloatArray
    rest: FloatArray
    rms: FloatArray
    has_harmonics: bool
    third: ComplexArray
    fifth: ComplexArray
    island: IntArray
    floor_v: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class Network:
    """A layout made ready to be solved. ``N`` nodes, node 0 the supply's terminals.

    ``source_v`` (4,); ``impedance_ohm`` of each node's feeder and ``present`` its conductors, both
    (N, 4); ``node_island`` (N,) and ``islands`` their number; ``triples`` (T, 3) the branches of
    three-phase loads in order of their lines; ``filament_v`` (L,) the
    voltage at which a lamp burns as rated, NaN for what is no lamp, and ``has_lamps`` if any is.
    """

    layout: Layout
    source_v: ComplexArray
    impedance_ohm: ComplexArray
    present: BoolArray
    node_island: IntArray
    islands: int
    branches: Branches
    triples: IntArray
    filament_v: FloatArray
    has_lamps: bool
    tree: PathTree


def line_angles_rad(supply: Supply) -> tuple[float, ...]:
    """Angle of each line-to-neutral voltage of a supply against its L1.

    Parameters
    ----------
    supply : Supply
        The supply.

    Returns
    -------
    tuple of float
        Angles in the order of the supply's lines: three-phase 0, -120, 120 deg, three-wire 0, 180
        deg. [rad]

    References
    ----------
    .. [1] Phase sequence L1 L2 L3; mid-point three-wire supply: legs in opposition.
    """
    return _ANGLES_RAD[supply.system][: len(supply.lines)]


def network(layout: Layout, *, opened_at: int | None = None) -> Network:
    """Make a layout ready to be solved.

    Parameters
    ----------
    layout : Layout
        The layout. Loose loads are left out, and so are loads between one line and a neutral that
        ends nowhere: nothing can flow in them.
    opened_at : int, optional
        Node in whose feeder the neutral is taken as open (0: in the supply's), for what-if.

    Returns
    -------
    Network
        Tree and branches.

    Raises
    ------
    ValueError
        If a load's figures contradict each other, if it sits on a line that the supply does not
        have, or if a run has no impedance to be known.

    References
    ----------
    .. [1] Direct method for radial distribution power flow (bus injection to branch current
       matrices), as in power-systems literature (from memory), with explicit neutral.
    """
    return _Assembly(layout, opened_at).network()


class _Assembly:
    """Collects a layout's nodes and branches in plain lists, then makes the arrays.

    Plain lists, and the common load (one line, no lead) first: this is most of a solution's cost.
    """

    def __init__(self, layout: Layout, opened_at: int | None) -> None:
        self.layout = layout
        self.opened_at = opened_at
        supply = layout.supply
        self.frequency_hz = supply.frequency_hz
        self.turns = _turns(line_angles_rad(supply))
        self.islands = 0
        self.load: list[int] = []
        self.place: list[int] = []
        self.private: dict[int, int] = {}
        self.lead_ohm: dict[int, complex] = {}
        self.triples: list[tuple[int, ...]] = []
        self.block_branches: list[tuple[int, ...]] = []
        self.block_ohm: list[ComplexArray] = []
        self._nodes()
        self._plug()

    def _nodes(self) -> None:
        supply = self.layout.supply
        source = supply.source_impedance
        earthed = supply.neutral and self.opened_at != 0
        self.parent = [-1]
        self.has_neutral = [True]
        self.island = [EARTHED if earthed else self._new_island()]
        self.is_root = [not earthed]
        line, neutral = 0j, 0j
        if source is not None:
            line = complex(source.r_ohm, source.x_ohm)
            neutral = complex(source.neutral_r_ohm, source.neutral_x_ohm)
        line_ohm, neutral_ohm = [line], [neutral]
        present = [_conductors(tuple(range(len(supply.lines))), True)]
        for board in self.layout.boards:
            parent = 0 if board.parent is None else board.parent + 1
            feeder = board.feeder
            connected = self.has_neutral[parent] and len(self.parent) != self.opened_at
            line, neutral = 0j, 0j
            if feeder is not None:
                line, neutral = self._run(feeder)
                connected = connected and feeder.neutral_connected
            line_ohm.append(line)
            neutral_ohm.append(neutral)
            begins = board.neutral and not connected
            self.parent.append(parent)
            self.has_neutral.append(board.neutral)
            self.is_root.append(begins)
            self.island.append(self._new_island() if begins else self.island[parent])
            present.append(_conductors(board.supply_lines, board.neutral))
        self.impedance_ohm = np.empty((len(line_ohm), _CONDUCTORS), dtype=np.complex128)
        self.impedance_ohm[:, :NEUTRAL] = np.array(line_ohm)[:, None]
        self.impedance_ohm[:, NEUTRAL] = neutral_ohm
        self.present = _PRESENT[present]

    def _new_island(self) -> int:
        self.islands += 1
        return self.islands - 1

    def _run(self, run: Run) -> tuple[complex, complex]:
        """Impedance of a line and of the neutral, 0 where that is not connected."""
        line, neutral = line_and_neutral_ohm(run, self.frequency_hz)
        return line, neutral if run.neutral_connected else 0j

    def _plug(self) -> None:
        """Give every load that can draw current its branches."""
        boards = self.layout.boards
        is_plain = [b.neutral and all(map(_HAS_NEUTRAL, b.outlets)) for b in boards]
        load_of, place_of = self.load, self.place
        for index, load in enumerate(self.layout.loads):
            board, lines = load.board, load.supply_lines
            if board is None or not lines:
                continue
            if load.lead is None and len(lines) == 1 and is_plain[board]:
                load_of.append(index)
                place_of.append(_place(board + 1, lines[0], NEUTRAL))
            else:
                self._connect(index, load, boards[board], board + 1)

    def _connect(self, index: int, load: Load, board: Board, node: int) -> None:
        """Branches of a load with a lead, on several lines, or where a neutral may be missing."""
        pairs, lead = _pairs(load), load.lead
        outlet = None if load.outlet is None else board.outlet(load.outlet)
        lacks = not board.neutral or (outlet is not None and not outlet.type.neutral)
        lacks = lacks or (lead is not None and not lead.neutral_connected)
        private = lacks and pairs[0][1] == NEUTRAL
        if private and len(pairs) == 1:
            return  # between a line and nothing
        own = tuple(range(len(self.load), len(self.load) + len(pairs)))
        self.load += [index] * len(pairs)
        self.place += [_place(node, first, second) for first, second in pairs]
        if private:
            self.private |= dict.fromkeys(own, self._new_island())
        if len(pairs) > 1:
            self.triples.append(own)
        if lead is None:
            return
        line, neutral = self._run(lead)
        lead_ohm = (line, line, line, neutral)
        if len(pairs) == 1:
            self.lead_ohm[own[0]] = lead_ohm[pairs[0][0]] + lead_ohm[pairs[0][1]]
        else:
            self.block_branches.append(own)
            self.block_ohm.append(_block(pairs, lead_ohm, private))

    def network(self) -> Network:
        """The arrays of what was collected."""
        loads = self.layout.loads
        load = np.array(self.load, dtype=np.intp)
        place = np.array(self.place, dtype=np.intp)
        node, pair = place >> 4, place & 15
        first, second = pair >> 2, pair & 3
        open_circuit_v = self.turns.first[pair] * self.layout.supply.voltage_v
        if not open_circuit_v.all():
            raise ValueError("a load sits on a line that the supply does not have")
        drawn = draws(loads, has_three_phase=bool(self.triples))
        own = drawn if len(load) == len(loads) and not self.triples else drawn.of(load)
        node_island = np.array(self.island, dtype=np.intp)
        island, floors = np.full(len(load), EARTHED, dtype=np.intp), np.zeros(len(load))
        if self.islands:
            island = np.where(second == NEUTRAL, node_island[node], EARTHED)
            island[list(self.private)] = list(self.private.values())
            floors = np.where(island == EARTHED, 0.0, floor_v(loads)[load])
        sign = _SIGNS[pair]
        if self.private:
            sign[list(self.private), NEUTRAL] = 0.0
        return Network(
            layout=self.layout,
            source_v=self.turns.source * self.layout.supply.voltage_v,
            impedance_ohm=self.impedance_ohm,
            present=self.present,
            node_island=node_island,
            islands=self.islands,
            branches=Branches(
                load=load,
                node=node,
                first=first,
                second=second,
                open_circuit_v=open_circuit_v,
                coefficient=own.coefficient,
                exponent=own.exponent,
                triplen=own.triplen,
                rest=own.rest,
                rms=own.rms,
                has_harmonics=bool(own.rest.any() or own.triplen.any()),
                third=self.turns.third[pair],
                fifth=self.turns.fifth[pair],
                island=island,
                floor_v=floors,
            ),
            triples=np.array(self.triples, dtype=np.intp).reshape(-1, 3),
            filament_v=drawn.filament_v,
            has_lamps=drawn.has_lamps,
            tree=path_tree(self._wiring(node, sign)),
        )

    def _wiring(self, node: IntArray, sign: FloatArray) -> Wiring:
        lead_ohm = None
        if self.lead_ohm:
            lead_ohm = np.zeros(len(node), dtype=np.complex128)
            lead_ohm[list(self.lead_ohm)] = list(self.lead_ohm.values())
        return Wiring(
            parent=self.parent,
            is_root=self.is_root,
            impedance_ohm=self.impedance_ohm,
            node=node,
            sign=sign,
            lead_ohm=lead_ohm,
            blocks=self.block_branches,
            block_ohm=self.block_ohm,
        )


class _Turns(NamedTuple):
    """Phasors at a source of one volt: of each conductor, (4,), and by pair ``first * 4 + second``,
    the voltage between the two and unit phasors of its third and fifth harmonic, (16,) each."""

    source: ComplexArray
    first: ComplexArray
    third: ComplexArray
    fifth: ComplexArray


@cache
def _turns(angles_rad: tuple[float, ...]) -> _Turns:
    source = np.zeros(_CONDUCTORS, dtype=np.complex128)
    source[: len(angles_rad)] = [cmath.rect(1.0, angle) for angle in angles_rad]
    between = (source[:, None] - source).ravel()
    size = np.abs(between)
    unit = np.divide(between, size, out=np.zeros_like(between), where=size > 0.0)
    return _Turns(source, between, unit**THIRD, unit**FIFTH)


def _place(node: int, first: int, second: int) -> int:
    """A node and two of its conductors in one number."""
    return (node << 4) | (first << 2) | second


def _conductors(lines: tuple[int, ...], neutral: bool) -> int:
    """Which of the four conductors a node has, a bit each."""
    has = 1 << NEUTRAL if neutral else 0
    for line in lines:
        has |= 1 << line
    return has


def _pairs(load: Load) -> tuple[tuple[int, int], ...]:
    """The conductors that each branch of a load sits on."""
    lines = load.supply_lines
    if len(lines) == 1:
        return ((lines[0], NEUTRAL),)
    if len(lines) == 2:
        return ((lines[0], lines[1]),)
    if load.connection == "delta":
        return tuple(zip(lines, (*lines[1:], lines[0]), strict=True))
    return tuple((line, NEUTRAL) for line in lines)


def _block(
    pairs: tuple[tuple[int, int], ...], lead_ohm: tuple[complex, ...], private: bool
) -> ComplexArray:
    """What the branches behind a three-phase lead have in common, (3, 3)."""
    sign = np.zeros((len(pairs), _CONDUCTORS))
    for row, (first, second) in enumerate(pairs):
        sign[row, first] = 1.0
        sign[row, second] = 0.0 if private else -1.0
    block: ComplexArray = (sign * np.array(lead_ohm)) @ sign.T
    return block
