"""A layout as the power flow sees it: ports, branches and the impedances that they share.

A *port* is a pair of conductors at a place in the tree, as seen by what is plugged in there: line
to neutral or line to line, at a board or at the end of a lead. Loads at one port see one voltage
and are summed. A *branch* is one load at one port; a three-phase load has three. Port voltages obey
``U = U0 - M I - A F``: U0 with nothing on, M the impedances that two ports share on their ways to
the source, F the potentials of neutrals that are cut off from the source (A says whose they are).
"""

from __future__ import annotations

import cmath
import math
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from evenboard.electrics.conductor import line_and_neutral_ohm
from evenboard.electrics.draw import draws, floor_v
from evenboard.electrics.layout import NEUTRAL, Layout, Load, Run, Supply
from evenboard.electrics.pathtree import PathTree, Wiring, path_tree
from evenboard.electrics.solution import BoolArray, ComplexArray, FloatArray

__all__ = ["EARTHED", "Branches", "IntArray", "Network", "Ports", "line_angles_rad", "network"]

IntArray = NDArray[np.intp]

EARTHED = -1
"""Mark of a port or node whose neutral is connected to the source, or that uses none."""

_CONDUCTORS = NEUTRAL + 1
_NO_IMPEDANCE = (0j, 0j, 0j, 0j)
_ANGLES_RAD = {
    "three-phase": (0.0, -2.0 * math.pi / 3.0, 2.0 * math.pi / 3.0),
    "three-wire": (0.0, math.pi),
    "single-phase": (0.0,),
}


@dataclass(frozen=True, slots=True, eq=False)
class Ports:
    """Every pair of conductors that loads are plugged into, ``P`` of them.

    ``node``, ``first`` and ``second`` (a line, then a line or the neutral) have shape (P,);
    ``open_circuit_v`` complex (P,); ``island`` indexes the floating neutrals, :data:`EARTHED`
    elsewhere.
    """

    node: IntArray
    first: IntArray
    second: IntArray
    open_circuit_v: ComplexArray
    island: IntArray


@dataclass(frozen=True, slots=True, eq=False)
class Branches:
    """One load at one port, ``B`` of them, sorted by exponent and port; all shapes (B,).

    ``load`` indexes the layout's loads, ``port`` the ports. A branch draws the fundamental
    ``coefficient * |U|**exponent / conj(U)``, times ``triplen`` and ``rest`` in harmonics.
    ``floor_v`` is the voltage below which, on a floating neutral, a branch is an impedance: there
    electronics starve and a filament is cold. It is 0 where the neutral is earthed.
    ``starts`` are where runs of equal exponent and port begin, ``keys`` what each run stands for:
    index of the exponent times P plus port. ``has_harmonics`` says whether any of them distorts.
    """

    load: IntArray
    port: IntArray
    exponent: FloatArray
    coefficient: ComplexArray
    triplen: FloatArray
    rest: FloatArray
    floor_v: FloatArray
    starts: IntArray
    keys: IntArray
    has_harmonics: bool


@dataclass(frozen=True, slots=True, eq=False)
class Network:
    """A layout made ready to be solved. ``N`` nodes, node 0 the supply's terminals.

    ``source_v`` (4,); ``impedance_ohm`` of each node's feeder and ``present`` its conductors, both
    (N, 4); ``node_island`` (N,) and ``islands`` their number; ``exponents`` those in use;
    ``triples`` positions of the branches of three-phase loads, (T, 3), in order of their lines;
    ``filament_v`` (L,) the voltage at which a lamp burns as rated, NaN for what is no lamp.
    """

    layout: Layout
    source_v: ComplexArray
    impedance_ohm: ComplexArray
    present: BoolArray
    node_island: IntArray
    islands: int
    ports: Ports
    branches: Branches
    exponents: tuple[float, ...]
    triples: IntArray
    filament_v: FloatArray
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
        Tree, ports and branches.

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
    """Collects a layout's nodes, ports and branches in plain lists, then makes the arrays.

    Plain lists, and the common load (one line, no lead) first: this is most of a solution's cost.
    """

    def __init__(self, layout: Layout, opened_at: int | None) -> None:
        self.layout = layout
        self.opened_at = opened_at
        supply = layout.supply
        self.frequency_hz = supply.frequency_hz
        source_v = [cmath.rect(supply.voltage_v, angle) for angle in line_angles_rad(supply)]
        source_v += [0j] * (_CONDUCTORS - len(source_v))
        self.source_v = np.array(source_v)
        self.islands = 0
        self.port_of: dict[int, int] = {}
        self.port_key: list[int] = []
        self.private: dict[int, int] = {}
        self.lead_ohm: dict[int, complex] = {}
        self.block_ports: list[list[int]] = []
        self.block_ohm: list[ComplexArray] = []
        self.load: list[int] = []
        self.port: list[int] = []
        self.triples: list[list[int]] = []
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
        impedance = [(line, line, line, neutral)]
        present = [_conductors(tuple(range(len(supply.lines))), True)]
        for board in self.layout.boards:
            parent = 0 if board.parent is None else board.parent + 1
            feeder = board.feeder
            connected = self.has_neutral[parent] and len(self.parent) != self.opened_at
            if feeder is None:
                impedance.append(_NO_IMPEDANCE)
            else:
                impedance.append(self._run(feeder))
                connected = connected and feeder.neutral_connected
            begins = board.neutral and not connected
            self.parent.append(parent)
            self.has_neutral.append(board.neutral)
            self.is_root.append(begins)
            self.island.append(self._new_island() if begins else self.island[parent])
            present.append(_conductors(board.supply_lines, board.neutral))
        self.impedance_ohm = np.array(impedance)
        self.present = np.array(present)

    def _new_island(self) -> int:
        self.islands += 1
        return self.islands - 1

    def _run(self, run: Run) -> tuple[complex, complex, complex, complex]:
        line, neutral = line_and_neutral_ohm(run, self.frequency_hz)
        return line, line, line, neutral if run.neutral_connected else 0j

    def _plug(self) -> None:
        """Give every load that can draw current its ports."""
        boards = self.layout.boards
        without = [
            frozenset([o.type.id for o in board.outlets if not o.type.neutral]) for board in boards
        ]
        is_plain = [
            board.neutral and not outlets for board, outlets in zip(boards, without, strict=True)
        ]
        port_of, load_of, port_list = self.port_of, self.load, self.port
        for index, load in enumerate(self.layout.loads):
            board, lines = load.board, load.supply_lines
            if board is None or not lines:
                continue
            if load.lead is None and len(lines) == 1 and is_plain[board]:
                key = ((board + 1) * _CONDUCTORS + lines[0]) * _CONDUCTORS + NEUTRAL
                port = port_of.get(key)
                if port is None:
                    port = port_of[key] = self._new_port(key)
                load_of.append(index)
                port_list.append(port)
            else:
                self._connect(index, load, board + 1, load.outlet in without[board])

    def _new_port(self, key: int) -> int:
        self.port_key.append(key)
        return len(self.port_key) - 1

    def _connect(self, index: int, load: Load, node: int, outlet_without: bool) -> None:
        """Ports of a load with a lead, on several lines, or where a neutral may be missing."""
        pairs, lead = _pairs(load), load.lead
        lead_ohm = _NO_IMPEDANCE if lead is None else self._run(lead)
        lacks = not self.has_neutral[node] or outlet_without
        lacks = lacks or (lead is not None and not lead.neutral_connected)
        private = lacks and pairs[0][1] == NEUTRAL
        if private and len(pairs) == 1:
            return  # between a line and nothing
        island = self._new_island() if private else EARTHED
        ports = []
        for first, second in pairs:
            key = (node * _CONDUCTORS + first) * _CONDUCTORS + second
            if private or lead is not None:
                port = self._new_port(key)
            elif key in self.port_of:
                port = self.port_of[key]
            else:
                port = self.port_of[key] = self._new_port(key)
            if private:
                self.private[port] = island
            ports.append(port)
        if len(pairs) > 1:
            self.triples.append(list(range(len(self.load), len(self.load) + len(pairs))))
        if lead is not None and len(pairs) == 1:
            self.lead_ohm[ports[0]] = lead_ohm[pairs[0][0]] + lead_ohm[pairs[0][1]]
        elif lead is not None:
            self.block_ports.append(ports)
            self.block_ohm.append(_block(pairs, lead_ohm, private))
        self.load += [index] * len(pairs)
        self.port += ports

    def network(self) -> Network:
        """The arrays of what was collected."""
        key = np.array(self.port_key, dtype=np.intp)
        pair, second = np.divmod(key, _CONDUCTORS)
        node, first = np.divmod(pair, _CONDUCTORS)
        open_circuit_v = self.source_v[first] - self.source_v[second]
        if not open_circuit_v.all():
            raise ValueError("a load sits on a line that the supply does not have")
        rows = np.arange(len(key))
        sign = np.zeros((len(key), _CONDUCTORS))
        sign[rows, first] = 1.0
        sign[rows, second] = -1.0
        node_island = np.array(self.island, dtype=np.intp)
        island = node_island[node]
        if self.islands:
            island[second != NEUTRAL] = EARTHED
            for port, own in self.private.items():
                island[port] = own
                sign[port, NEUTRAL] = 0.0
        lead_ohm = None
        if self.lead_ohm:
            lead_ohm = np.zeros(len(key), dtype=np.complex128)
            lead_ohm[list(self.lead_ohm)] = list(self.lead_ohm.values())
        wiring = Wiring(
            parent=self.parent,
            is_root=self.is_root,
            impedance_ohm=self.impedance_ohm,
            node=node,
            sign=sign,
            lead_ohm=lead_ohm,
            block_ports=np.array(self.block_ports, dtype=np.intp).reshape(-1, 3),
            block_ohm=np.array(self.block_ohm, dtype=np.complex128).reshape(-1, 3, 3),
        )
        ports = Ports(node, first, second, open_circuit_v, island)
        exponents, branches, triples, filament_v = self._branches(ports)
        return Network(
            layout=self.layout,
            source_v=self.source_v,
            impedance_ohm=self.impedance_ohm,
            present=self.present,
            node_island=node_island,
            islands=self.islands,
            ports=ports,
            branches=branches,
            exponents=exponents,
            triples=triples,
            filament_v=filament_v,
            tree=path_tree(wiring),
        )

    def _branches(self, ports: Ports) -> tuple[tuple[float, ...], Branches, IntArray, FloatArray]:
        """Branches sorted by exponent and port; exponents, triples and filaments with them."""
        loads, port_count = self.layout.loads, len(ports.node)
        own = draws(loads)
        load, port = np.array(self.load, dtype=np.intp), np.array(self.port, dtype=np.intp)
        exponents = tuple(sorted(set(own.exponent[load].tolist())))
        key = np.searchsorted(exponents, own.exponent[load]) * port_count + port
        order = key.argsort(kind="stable")
        key, load, port = key[order], load[order], port[order]
        starts = np.concatenate(([0], np.flatnonzero(key[1:] != key[:-1]) + 1))[: len(key)]
        floors = np.zeros(len(load))
        if self.islands:
            floors = np.where(ports.island[port] == EARTHED, 0.0, floor_v(loads)[load])
        triples = np.array(self.triples, dtype=np.intp).reshape(-1, 3)
        if len(triples):
            position = np.empty(len(order), dtype=np.intp)
            position[order] = np.arange(len(order))
            triples = position[triples]
        triplen, rest = own.triplen[load], own.rest[load]
        branches = Branches(
            load=load,
            port=port,
            exponent=own.exponent[load],
            coefficient=own.coefficient[load],
            triplen=triplen,
            rest=rest,
            floor_v=floors,
            starts=starts,
            keys=key[starts],
            has_harmonics=bool(triplen.any() or rest.any()),
        )
        return exponents, branches, triples, own.filament_v


@cache
def _conductors(lines: tuple[int, ...], neutral: bool) -> tuple[bool, ...]:
    """Which of the four conductors a node has."""
    return (*(line in lines for line in range(NEUTRAL)), neutral)


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
