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
from operator import attrgetter

import numpy as np
from numpy.typing import NDArray

from evenboard.electrics.conductor import run_impedance_ohm
from evenboard.electrics.dimming import firing_angle_rad, phase_cut
from evenboard.electrics.layout import NEUTRAL, Layout, Load, Run, Supply
from evenboard.electrics.load import (
    INPUT_TOLERANCE,
    VOLTAGE_EXPONENT,
    contradiction,
    is_phase_cut,
)
from evenboard.electrics.pathtree import PathTree, Wiring, path_tree
from evenboard.electrics.solution import BoolArray, ComplexArray, FloatArray

__all__ = ["EARTHED", "Branches", "IntArray", "Network", "Ports", "line_angles_rad", "network"]

IntArray = NDArray[np.intp]

EARTHED = -1
"""Mark of a port or node whose neutral is connected to the source, or that uses none."""

_ANGLES_RAD = {
    "three-phase": (0.0, -2.0 * math.pi / 3.0, 2.0 * math.pi / 3.0),
    "three-wire": (0.0, math.pi),
    "single-phase": (0.0,),
}
_SIGN = {"lagging": -1.0, "leading": 1.0, "none": 0.0}
_THREE_BRANCHES = ("star", "delta")
_COLD = (1.0 / 14.0) ** (1.0 / 0.45)
"""Share of its voltage at which a filament's R by V^0.45 is down to its cold fourteenth."""
_SLACK = 1e-9
_TINY = 1e-300


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
    index of the exponent times P plus port.
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


@dataclass(frozen=True, slots=True, eq=False)
class Network:
    """A layout made ready to be solved. ``N`` nodes, node 0 the supply's terminals.

    ``source_v`` (4,); ``impedance_ohm`` of each node's feeder and ``present`` its conductors, both
    (N, 4); ``node_island`` (N,) and ``islands`` their number; ``exponents`` those in use;
    ``triples`` positions of the branches of three-phase loads, (T, 3), in order of their lines.
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
    tree: PathTree

    @property
    def has_harmonics(self) -> bool:
        """Whether any load distorts."""
        return bool(self.branches.triplen.any() or self.branches.rest.any())


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
    """Collects a layout's nodes, ports and branches in plain lists, then makes the arrays."""

    def __init__(self, layout: Layout, opened_at: int | None) -> None:
        self.layout = layout
        self.opened_at = opened_at
        supply = layout.supply
        self.frequency_hz = supply.frequency_hz
        self.source_v = [cmath.rect(supply.voltage_v, a) for a in line_angles_rad(supply)]
        self.source_v += [0j] * (NEUTRAL + 1 - len(self.source_v))
        self.islands = 0
        self.block_ports: list[list[int]] = []
        self.block_ohm: list[ComplexArray] = []
        self.port_of: dict[tuple[int, int, int], int] = {}
        self.ports: list[tuple[int, int, int, int]] = []
        self.branches: list[tuple[float, int, int]] = []
        self.three_phase: list[int] = []
        self.is_private: list[bool] = []
        self.lead_ohm: list[complex] = []
        self._nodes()
        self._plug()

    def _nodes(self) -> None:
        layout, supply = self.layout, self.layout.supply
        source = supply.source_impedance
        if source is None:
            impedance = [(0j, 0j, 0j, 0j)]
        else:
            line = complex(source.r_ohm, source.x_ohm)
            neutral = complex(source.neutral_r_ohm, source.neutral_x_ohm)
            impedance = [(line, line, line, neutral)]
        self.parent = [-1]
        self.neutral = [True]
        earthed = supply.neutral and self.opened_at != 0
        self.island = [EARTHED if earthed else self._new_island()]
        self.is_root = [not earthed]
        lines = range(len(supply.lines))
        present = [[c in lines or c == NEUTRAL for c in range(NEUTRAL + 1)]]
        for board in layout.boards:
            parent = 0 if board.parent is None else board.parent + 1
            feeder = board.feeder
            connected = self.neutral[parent]
            row = (0j, 0j, 0j, 0j)
            if feeder is not None:
                row = self._run(feeder)
                connected = connected and feeder.neutral_connected
            connected = connected and len(self.parent) != self.opened_at
            root = board.neutral and not connected
            self.parent.append(parent)
            self.neutral.append(board.neutral)
            self.is_root.append(root)
            self.island.append(self._new_island() if root else self.island[parent])
            impedance.append(row)
            present.append(
                [c in board.supply_lines or (c == NEUTRAL and board.neutral) for c in range(4)]
            )
        self.impedance_ohm = np.array(impedance, dtype=np.complex128)
        self.present = np.array(present, dtype=np.bool_)

    def _new_island(self) -> int:
        self.islands += 1
        return self.islands - 1

    def _run(self, run: Run) -> tuple[complex, complex, complex, complex]:
        line1, line2, line3, neutral = run_impedance_ohm(run, self.frequency_hz).tolist()
        return line1, line2, line3, neutral if run.neutral_connected else 0j

    def _plug(self) -> None:
        """Give every load that can draw current its ports."""
        without = [
            {o.type.id for o in board.outlets if not o.type.neutral} for board in self.layout.boards
        ]
        for index, load in enumerate(self.layout.loads):
            board = load.board
            if board is None or not load.supply_lines:
                continue
            node = board + 1
            pairs = _pairs(load)
            lead = load.lead
            lead_ohm = (0j, 0j, 0j, 0j) if lead is None else self._run(lead)
            island, is_private = self.island[node], False
            if pairs[0][1] == NEUTRAL and (
                not self.neutral[node]
                or (lead is not None and not lead.neutral_connected)
                or load.outlet in without[board]
            ):
                if len(pairs) == 1:
                    continue
                island, is_private = self._new_island(), True
            self._connect(index, load, node, pairs, lead_ohm, island, is_private)

    def _connect(
        self,
        index: int,
        load: Load,
        node: int,
        pairs: tuple[tuple[int, int], ...],
        lead_ohm: tuple[complex, ...],
        island: int,
        is_private: bool,
    ) -> None:
        exponent = VOLTAGE_EXPONENT[load.load_model]
        has_own = load.lead is not None or is_private
        ports = []
        for first, second in pairs:
            key = (node, first, second)
            port = None if has_own else self.port_of.get(key)
            if port is None:
                port = len(self.ports)
                if not has_own:
                    self.port_of[key] = port
                floats = island if second == NEUTRAL else EARTHED
                own = lead_ohm[first] + (0j if is_private else lead_ohm[second])
                self.ports.append((node, first, second, floats))
                self.is_private.append(is_private)
                self.lead_ohm.append(own if len(pairs) == 1 else 0j)
            ports.append(port)
            self.branches.append((exponent, port, index))
        if len(pairs) > 1:
            self.three_phase.append(index)
            if load.lead is not None:
                self.block_ports.append(ports)
                self.block_ohm.append(_block(pairs, lead_ohm, is_private))

    def network(self) -> Network:
        """The arrays of what was collected."""
        exponents, branches, triples = self._branches()
        table = np.array(self.ports, dtype=np.intp).reshape(-1, 4)
        node, first, second, island = table.T
        source_v = np.array(self.source_v, dtype=np.complex128)
        open_circuit_v = source_v[first] - source_v[second]
        if not open_circuit_v.all():
            raise ValueError("a load sits on a line that the supply does not have")
        rows = np.arange(len(table))
        sign = np.zeros((len(table), NEUTRAL + 1))
        sign[rows, first] = 1.0
        sign[rows, second] = -1.0
        sign[self.is_private, NEUTRAL] = 0.0
        wiring = Wiring(
            parent=self.parent,
            is_root=self.is_root,
            impedance_ohm=self.impedance_ohm,
            node=node,
            sign=sign,
            lead_ohm=np.array(self.lead_ohm, dtype=np.complex128),
            block_ports=np.array(self.block_ports, dtype=np.intp).reshape(-1, 3),
            block_ohm=np.array(self.block_ohm, dtype=np.complex128).reshape(-1, 3, 3),
        )
        return Network(
            layout=self.layout,
            source_v=source_v,
            impedance_ohm=self.impedance_ohm,
            present=self.present,
            node_island=np.array(self.island, dtype=np.intp),
            islands=self.islands,
            ports=Ports(node, first, second, open_circuit_v, island),
            branches=branches,
            exponents=exponents,
            triples=triples,
            tree=path_tree(wiring),
        )

    def _branches(self) -> tuple[tuple[float, ...], Branches, IntArray]:
        """Branches sorted by exponent and port, with what a load of full power draws in each."""
        order = sorted(range(len(self.branches)), key=self.branches.__getitem__)
        columns = np.array([self.branches[i] for i in order]).reshape(-1, 3)
        exponent = columns[:, 0].copy()
        port, load = columns[:, 1].astype(np.intp), columns[:, 2].astype(np.intp)
        coefficient, triplen, rest, lowest_v = _draws([self.layout.loads[i] for i in load])
        floats = np.array([island != EARTHED for _, _, _, island in self.ports], dtype=np.bool_)
        floor_v = np.where(floats[port], lowest_v, 0.0)
        exponents = tuple(sorted(set(exponent.tolist())))
        keys = np.searchsorted(exponents, exponent) * len(self.ports) + port
        starts = np.flatnonzero(np.diff(keys, prepend=-1))
        position = np.empty(len(order), dtype=np.intp)
        position[order] = np.arange(len(order))
        own: dict[int, list[int]] = {index: [] for index in self.three_phase}
        if own:
            for raw, (_, _, index) in enumerate(self.branches):
                if index in own:
                    own[index].append(int(position[raw]))
        triples = np.array(list(own.values()), dtype=np.intp).reshape(-1, 3)
        branches = Branches(
            load, port, exponent, coefficient, triplen, rest, floor_v, starts, keys[starts]
        )
        return exponents, branches, triples


_FIGURES = attrgetter(
    "power_w",
    "count",
    "dimmed_to",
    "power_factor",
    "displacement_factor",
    "third_harmonic_pct",
    "rated_voltage_v",
)


def _draws(
    loads: list[Load],
) -> tuple[ComplexArray, FloatArray, FloatArray, FloatArray]:
    """Per branch: coefficient, triplens and rest over the fundamental, lowest working voltage."""
    figures = np.array([_FIGURES(load) for load in loads], dtype=np.float64).reshape(-1, 7).T
    power_w, count, dimmed_to, factor, displacement, third_pct, rated_v = figures
    sign = np.array([_SIGN[load.displacement] for load in loads])
    exponent = np.array([VOLTAGE_EXPONENT[load.load_model] for load in loads])
    branches = np.array([3.0 if load.connection in _THREE_BRANCHES else 1.0 for load in loads])
    cosine_squared = displacement * displacement
    tangent = sign * np.sqrt(np.maximum(1.0 / cosine_squared - 1.0, 0.0))
    distortion = cosine_squared / (factor * factor) - 1.0
    triplen = third_pct / 100.0
    rest_squared = distortion - triplen * triplen
    suspect = (rest_squared < -_SLACK) | (distortion < -_SLACK) | (displacement > 1.0)
    suspect |= (sign == 0.0) & (displacement < 1.0)
    for i in np.flatnonzero(suspect):
        _refuse(loads[i])
    rest = np.sqrt(np.maximum(rest_squared, 0.0))
    # A delta's triplens circulate inside it.
    triplen = np.where([load.connection == "delta" for load in loads], 0.0, triplen)
    cut = [i for i, load in enumerate(loads) if load.dimmed_to < 1.0 and is_phase_cut(load)]
    if cut:
        chopped = phase_cut(firing_angle_rad(dimmed_to[cut] ** (2.0 / exponent[cut])))
        size = np.maximum(np.abs(chopped.fundamental), _TINY)
        tangent[cut] = chopped.fundamental.imag / np.maximum(chopped.fundamental.real, _TINY)
        triplen[cut] = chopped.triplen / size
        rest[cut] = chopped.rest / size
    active_w = power_w * count * dimmed_to / branches
    coefficient = active_w / rated_v**exponent * (1.0 + 1j * tangent)
    lowest = [
        load.rated_voltage_v if load.input_range_v is None else load.input_range_v[0]
        for load in loads
    ]
    starving_v = np.array(lowest) * (1.0 - INPUT_TOLERANCE.value)
    lowest_v = np.where(exponent <= 1.0, starving_v, rated_v * _COLD)
    return coefficient, triplen, rest, lowest_v


def _refuse(load: Load) -> None:
    fault = contradiction(
        load.power_factor, load.displacement_factor, load.displacement, load.third_harmonic_pct
    )
    if fault is not None:
        raise ValueError(f"load {load.id}: {fault}")


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
    pairs: tuple[tuple[int, int], ...], lead_ohm: tuple[complex, ...], is_private: bool
) -> ComplexArray:
    """What the branches behind a three-phase lead have in common, (3, 3)."""
    sign = np.zeros((len(pairs), NEUTRAL + 1))
    for row, (first, second) in enumerate(pairs):
        sign[row, first] = 1.0
        sign[row, second] = 0.0 if is_private and second == NEUTRAL else -1.0
    block: ComplexArray = (sign * np.array(lead_ohm)) @ sign.T
    return block
