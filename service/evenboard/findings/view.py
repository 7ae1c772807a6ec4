"""A solved layout and every figure derived from it, each computed once and only when asked for.

Rules, the balance answer and the reports read the same :class:`View`, so that no figure has two
sources. Axes as in :class:`~evenboard.electrics.solution.Solution`: ``S`` set-ups, ``N`` nodes
(node 0 is the supply's terminals, node ``b + 1`` is board ``b``), ``L`` loads, conductors L1 L2 L3
N of the supply. What a supply or a board does not have carries zeros.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property

import numpy as np

from evenboard.electrics.equipment import Limits
from evenboard.electrics.layout import NEUTRAL, Board, Layout
from evenboard.electrics.solution import BoolArray, ComplexArray, FloatArray, Solution
from evenboard.findings.status import EquipmentStatus

__all__ = ["View"]


class View:
    """A solution seen as figures per supply, board, outlet, feeder and load.

    Parameters
    ----------
    solution : Solution
        What flows, in every set-up.
    equipment : mapping of str to EquipmentStatus, optional
        What the desk knows of tagged pieces; a tag that is not in it is taken as sound.

    Attributes
    ----------
    layout, limits, solution, equipment
        What it was made from.
    solved : (S,)
        True for a set-up that has a solution; the others are left out of every "worst" figure.
    lines : tuple of tuple of int
        Per node, the supply conductors it has: ``(0, 1, 2)``, ``(0, 1)``, ``(2,)``.
    is_below : (L, N)
        True where a load hangs at or below a node (all loads that are plugged, for node 0).
    root : int or None
        Index of the only board on the supply itself; None where there are several or none.
    line_rating_a, neutral_rating_a : (N,)
        What a line and the neutral of a node may carry: the supply's rating; a board's inlet, and
        the supply's too for the only board on it.
    line_a, neutral_a : (S, N, 3), (S, N)
        True RMS current of each line and of the neutral into each node.
    fundamental_a, neutral_fundamental_a, neutral_triplen_a : (S, N, 3), (S, N), (S, N)
        RMS of the fundamental; of the fundamental and of the triplens in the neutral.
    power_w, reactive_var, apparent_va, power_factor : (S, N, 3)
        Per line, against the node's own neutral; reactive positive lagging; the apparent power
        with the true RMS current; power factor 1 where nothing flows.
    loading_pct, neutral_loading_pct : (S, N, 3), (S, N)
        Current over rating.
    nominal_a : (S, L)
        RMS amps a load takes per line of its plug at nominal voltage, all units, as dimmed; 0 off.
    full_nominal_a : (L,)
        The same with every dimmer full up, whether on or off.
    arithmetic_a : (S, N, 3)
        Sum of ``nominal_a`` by line: what a crew adds up, and what room left is judged by.
    headroom_a : (N, 3)
        Rating less the arithmetic sum of the worst set-up.
    voltage_v, neutral_to_earth_v, voltage_drop_pct : (S, N, 3), (S, N), (S, N, 3)
        Line to the node's own neutral; that neutral against earth; drop from the nominal voltage.
    load_nominal_v, load_drop_pct : (L,), (S, L)
        Nominal voltage across one branch of a load; its drop below that at the plug's end.
    spread_a, spread_pct, current_unbalance_pct : (S, N)
        Highest less lowest line; over the rating; largest deviation from the mean over the mean.
    negative_sequence_pct, voltage_unbalance_pct : (S, N)
        I2/I1 and V2/V1.
    outlets, rcds, feeders, leads : see :mod:`evenboard.findings.figures`
        Every outlet, residual-current device, board feeder and load lead with its figures.
    worst_switching : tuple of WorstSwitching, one a node
        The largest neutral current over every on/off combination, and the loads that make it.
    open_neutral_v : (S, 3)
        Line to the floating star point if the neutral opens at the supply.
    drop_out
        What any single load's dropping out does to spread and neutral.
    """

    def __init__(
        self, solution: Solution, equipment: Mapping[str, EquipmentStatus] | None = None
    ) -> None:
        self.solution = solution
        self.layout: Layout = solution.layout
        self.limits: Limits = solution.layout.limits
        self.equipment: Mapping[str, EquipmentStatus] = equipment or {}

    def board(self, node: int) -> Board | None:
        """The board of a node, None for the supply's terminals."""
        return None if node == 0 else self.layout.boards[node - 1]

    @cached_property
    def solved(self) -> BoolArray:
        """True for a set-up that has a solution, shape (S,)."""
        return self.solution.converged

    @cached_property
    def lines(self) -> tuple[tuple[int, ...], ...]:
        """Supply conductors of each node."""
        own = tuple(range(len(self.layout.supply.lines)))
        return (own, *(board.supply_lines for board in self.layout.boards))

    @cached_property
    def parents(self) -> tuple[int, ...]:
        """Parent node of each node; -1 for node 0."""
        return (-1, *(0 if b.parent is None else b.parent + 1 for b in self.layout.boards))

    @cached_property
    def root(self) -> int | None:
        """Index of the only board on the supply itself, else None."""
        roots = self.layout.boards and [
            i for i, b in enumerate(self.layout.boards) if b.parent is None
        ]
        return roots[0] if len(roots) == 1 else None

    @cached_property
    def is_below(self) -> BoolArray:
        """True where a load hangs at or below a node, shape (L, N)."""
        below = np.zeros((len(self.layout.loads), len(self.layout.boards) + 1), dtype=np.bool_)
        for index, load in enumerate(self.layout.loads):
            node = -1 if load.board is None else load.board + 1
            while node >= 0:
                below[index, node] = True
                node = self.parents[node]
        return below

    @cached_property
    def line_rating_a(self) -> FloatArray:
        """What one line of each node may carry, shape (N,). [A]"""
        supply = self.layout.supply.rating_a
        ratings = [supply, *(b.inlet_rating_a for b in self.layout.boards)]
        if self.root is not None:
            ratings[self.root + 1] = min(ratings[self.root + 1], supply)
        return np.array(ratings, dtype=np.float64)

    @cached_property
    def neutral_rating_a(self) -> FloatArray:
        """What the neutral of each node may carry, shape (N,). [A]"""
        rating: FloatArray = self.line_rating_a * (self.limits.neutral_loading_pct / 100.0)
        return rating

    @cached_property
    def rms_a(self) -> FloatArray:
        """True RMS current into each node, shape (S, N, 4). [A]"""
        return self.solution.inflow.rms_a

    @cached_property
    def line_a(self) -> FloatArray:
        """True RMS current of the lines into each node, shape (S, N, 3). [A]"""
        return self.rms_a[:, :, :NEUTRAL]

    @cached_property
    def neutral_a(self) -> FloatArray:
        """True RMS current of the neutral of each node, shape (S, N). [A]"""
        return self.rms_a[:, :, NEUTRAL]

    @cached_property
    def fundamental_a(self) -> FloatArray:
        """RMS fundamental current of the lines into each node, shape (S, N, 3). [A]"""
        rms: FloatArray = np.abs(self.solution.inflow.fundamental_a[:, :, :NEUTRAL])
        return rms

    @cached_property
    def neutral_fundamental_a(self) -> FloatArray:
        """RMS fundamental current of the neutral, shape (S, N). [A]"""
        rms: FloatArray = np.abs(self.solution.inflow.fundamental_a[:, :, NEUTRAL])
        return rms

    @cached_property
    def neutral_triplen_a(self) -> FloatArray:
        """RMS triplen current of the neutral, shape (S, N). [A]"""
        rms: FloatArray = np.abs(self.solution.inflow.triplen_a[:, :, NEUTRAL])
        return rms

    @cached_property
    def line_to_neutral_v(self) -> ComplexArray:
        """Phasor of each line against the node's own neutral, shape (S, N, 3). [V]"""
        own = self.solution.voltage_v
        phasors: ComplexArray = np.where(self._has_line, own[:, :, :NEUTRAL] - own[:, :, 3:], 0.0)
        return phasors

    @cached_property
    def _has_line(self) -> BoolArray:
        has = np.zeros((len(self.lines), NEUTRAL), dtype=np.bool_)
        for node, lines in enumerate(self.lines):
            has[node, list(lines)] = True
        return has

    @cached_property
    def voltage_v(self) -> FloatArray:
        """Voltage of each line to the node's own neutral, shape (S, N, 3). [V]"""
        return np.abs(self.line_to_neutral_v)

    @cached_property
    def neutral_to_earth_v(self) -> FloatArray:
        """Voltage of each node's neutral against the earthed star point, shape (S, N). [V]"""
        return np.abs(self.solution.voltage_v[:, :, NEUTRAL])

    @cached_property
    def voltage_drop_pct(self) -> FloatArray:
        """Drop of each line below the nominal voltage, shape (S, N, 3). [%]"""
        nominal = self.layout.supply.voltage_v
        shown = self._has_line & self.solved[:, None, None]
        drop: FloatArray = np.where(shown, 100.0 * (1.0 - self.voltage_v / nominal), 0.0)
        return drop

    @cached_property
    def _complex_power(self) -> ComplexArray:
        current = self.solution.inflow.fundamental_a[:, :, :NEUTRAL]
        power: ComplexArray = self.line_to_neutral_v * np.conj(current)
        return power

    @cached_property
    def power_w(self) -> FloatArray:
        """Active power of each line into each node, shape (S, N, 3). [W]"""
        return self._complex_power.real

    @cached_property
    def reactive_var(self) -> FloatArray:
        """Fundamental reactive power of each line, positive lagging, shape (S, N, 3). [var]"""
        return self._complex_power.imag

    @cached_property
    def apparent_va(self) -> FloatArray:
        """Voltage times true RMS current of each line, shape (S, N, 3). [VA]"""
        return self.voltage_v * self.line_a

    @cached_property
    def power_factor(self) -> FloatArray:
        """True power factor of each line, 1 where nothing flows, shape (S, N, 3)."""
        factor = np.ones_like(self.apparent_va)
        np.divide(self.power_w, self.apparent_va, out=factor, where=self.apparent_va > 0.0)
        return factor

    @cached_property
    def loading_pct(self) -> FloatArray:
        """True RMS current over rating, shape (S, N, 3). [%]"""
        loading: FloatArray = 100.0 * self.line_a / self.line_rating_a[:, None]
        return loading

    @cached_property
    def neutral_loading_pct(self) -> FloatArray:
        """Neutral current over its rating, shape (S, N). [%]"""
        loading: FloatArray = 100.0 * self.neutral_a / self.neutral_rating_a
        return loading
