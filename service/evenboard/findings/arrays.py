"""Figures that follow from a solved layout alone, node by node and load by load, as arrays.

Axes as in :class:`~evenboard.electrics.solution.Solution`: ``S`` set-ups, ``N`` nodes (node 0 is
the supply's terminals, node ``b + 1`` is board ``b``), ``L`` loads, conductors L1 L2 L3 N of the
supply. What a supply or a board does not have carries zeros.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property

import numpy as np

from evenboard.electrics.equipment import Limits
from evenboard.electrics.generator import line_rating_a
from evenboard.electrics.layout import NEUTRAL, Board, Layout
from evenboard.electrics.load import load_split
from evenboard.electrics.network import line_angles_rad
from evenboard.electrics.solution import BoolArray, ComplexArray, FloatArray, Solution
from evenboard.electrics.unbalance import Unbalance, unbalance
from evenboard.findings.status import EquipmentStatus

__all__ = ["Arrays"]


class Arrays:
    """The plain figures of a :class:`~evenboard.findings.view.View`; what each is, is told there.

    Every figure is computed when it is first asked for, and kept.
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

    def path(self, board: int) -> tuple[int, ...]:
        """Nodes from a board up to the supply; (0,) for -1, the supply itself."""
        return self._paths[board + 1]

    @cached_property
    def _paths(self) -> tuple[tuple[int, ...], ...]:
        paths: list[tuple[int, ...]] = [(0,)]
        for node in range(1, len(self.parents)):
            paths.append((node, *paths[self.parents[node]]))
        return tuple(paths)

    @cached_property
    def judged_nodes(self) -> tuple[int, ...]:
        """Nodes to judge by their ratings: the supply only where it has not just one board."""
        return tuple(range(0 if self.root is None else 1, len(self.lines)))

    @cached_property
    def root(self) -> int | None:
        """Index of the only board on the supply itself, else None."""
        roots = [i for i, b in enumerate(self.layout.boards) if b.parent is None]
        return roots[0] if len(roots) == 1 else None

    @cached_property
    def is_below(self) -> BoolArray:
        """True where a load hangs at or below a node, shape (L, N)."""
        below = np.zeros((len(self.layout.loads), len(self.lines)), dtype=np.bool_)
        for index, load in enumerate(self.layout.loads):
            if load.board is not None:
                below[index, list(self.path(load.board))] = True
        return below

    @cached_property
    def line_rating_a(self) -> FloatArray:
        """What one line of each node may carry, shape (N,). [A]"""
        supply = line_rating_a(self.layout.supply)
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

    @cached_property
    def third_harmonic_pct(self) -> FloatArray:
        """Triplens of the most loaded line over its RMS current, shape (S, N). [%]"""
        busiest = self.line_a.argmax(axis=2)[:, :, None]
        triplen = np.abs(self.solution.inflow.triplen_a[:, :, :NEUTRAL])
        top = np.take_along_axis(triplen, busiest, axis=2)[:, :, 0]
        total = np.take_along_axis(self.line_a, busiest, axis=2)[:, :, 0]
        share = np.zeros_like(total)
        np.divide(100.0 * top, total, out=share, where=total > 0.0)
        return share

    @cached_property
    def spread_a(self) -> FloatArray:
        """Highest less lowest line of each node, shape (S, N). [A]"""
        highest = np.where(self._has_line, self.line_a, -np.inf).max(axis=2)
        lowest = np.where(self._has_line, self.line_a, np.inf).min(axis=2)
        spread: FloatArray = highest - lowest
        return spread

    @cached_property
    def spread_pct(self) -> FloatArray:
        """Spread over rating: what unbalance is judged by, shape (S, N). [%]"""
        spread: FloatArray = 100.0 * self.spread_a / self.line_rating_a
        return spread

    @cached_property
    def load_nominal_v(self) -> FloatArray:
        """Nominal voltage across one branch of each load, shape (L,). [V]"""
        phasors = self.nominal_phasors_v
        values = np.full(len(self.layout.loads), self.layout.supply.voltage_v)
        for index, load in enumerate(self.layout.loads):
            if load.connection == "line-to-line" and len(load.supply_lines) == 2:
                first, second = load.supply_lines
                values[index] = abs(phasors[first] - phasors[second])
            elif load.connection == "delta":
                values[index] = abs(phasors[0] - phasors[1])
        return values

    @cached_property
    def nominal_phasors_v(self) -> ComplexArray:
        """Nominal voltage of each supply line against the star point, shape (lines,). [V]"""
        angles = np.array(line_angles_rad(self.layout.supply))
        phasors: ComplexArray = np.complex128(self.layout.supply.voltage_v) * np.exp(1j * angles)
        return phasors

    @cached_property
    def nominal_turn(self) -> ComplexArray:
        """Unit phasor of each supply line, shape (lines,)."""
        turn: ComplexArray = self.nominal_phasors_v / np.abs(self.nominal_phasors_v)
        return turn

    @cached_property
    def load_drop_pct(self) -> FloatArray:
        """Drop of each load's voltage below nominal, 0 where it is off, shape (S, L). [%]"""
        lit = self.solution.on & self.solved[:, None] & self._plugged
        share = 1.0 - self.solution.load_voltage_v / self.load_nominal_v
        drop: FloatArray = np.where(lit, 100.0 * share, 0.0)
        return drop

    @cached_property
    def _plugged(self) -> BoolArray:
        return np.array([load.board is not None for load in self.layout.loads], dtype=np.bool_)

    @cached_property
    def nominal_a(self) -> FloatArray:
        """RMS amps per line of each plug at nominal voltage, as dimmed, 0 off, shape (S, L). [A]"""
        each = [
            load_split(load, float(volts)).rms_a
            for load, volts in zip(self.layout.loads, self.load_nominal_v, strict=True)
        ]
        on = self.solution.on & self._plugged
        amps: FloatArray = np.where(on, np.array(each, dtype=np.float64), 0.0)
        return amps

    @cached_property
    def growth(self) -> FloatArray:
        """By how much the loads below each node draw more at nominal voltage, 1 or more, (N,).

        What a filament or a heater gains where a remedy brings the voltage up.
        """
        below = self.is_below.astype(np.float64)
        nominal = self.nominal_a[self.solved] @ below
        solved = self.solution.load_current_a[self.solved] @ below
        ratio = np.ones_like(nominal)
        np.divide(nominal, solved, out=ratio, where=solved > 0.0)
        growth: FloatArray = ratio.max(axis=0, initial=1.0)
        return growth

    @cached_property
    def full_nominal_a(self) -> FloatArray:
        """RMS amps per line of each plug at nominal voltage with dimmers full up, (L,). [A]"""
        return np.array(
            [
                load_split(load, float(volts), 1.0).rms_a
                for load, volts in zip(self.layout.loads, self.load_nominal_v, strict=True)
            ],
            dtype=np.float64,
        )

    @cached_property
    def on_line(self) -> FloatArray:
        """1 where a load stands on a supply line, shape (L, 3)."""
        on_line = np.zeros((len(self.layout.loads), NEUTRAL))
        for index, load in enumerate(self.layout.loads):
            on_line[index, list(load.supply_lines)] = 1.0
        return on_line

    @cached_property
    def arithmetic_a(self) -> FloatArray:
        """Sum of the loads' nominal amps by line at or below each node, shape (S, N, 3). [A]"""
        total: FloatArray = np.einsum(
            "sl,ln,lc->snc", self.nominal_a, self.is_below.astype(np.float64), self.on_line
        )
        return total

    @cached_property
    def headroom_a(self) -> FloatArray:
        """Rating less the arithmetic sum of the worst set-up, shape (N, 3). [A]"""
        left = self.line_rating_a[:, None] - self.arithmetic_a.max(axis=0)
        headroom: FloatArray = np.where(self._has_line, left, 0.0)
        return headroom

    @cached_property
    def has_neutral(self) -> BoolArray:
        """True where a node's neutral is connected through to the supply's, shape (N,)."""
        has = np.zeros(len(self.lines), dtype=np.bool_)
        has[0] = self.layout.supply.neutral
        for node, board in enumerate(self.layout.boards, start=1):
            through = board.feeder is None or board.feeder.neutral_connected
            has[node] = board.neutral and through and has[self.parents[node]]
        return has

    @cached_property
    def _unbalance(self) -> Unbalance:
        return unbalance(self.solution)

    @cached_property
    def current_unbalance_pct(self) -> FloatArray:
        """Largest deviation from the mean line, over the mean, shape (S, N). [%]"""
        has = self._has_line
        count = has.sum(axis=1)
        mean = np.where(has, self.line_a, 0.0).sum(axis=2) / count
        away = np.where(has, np.abs(self.line_a - mean[:, :, None]), 0.0).max(axis=2)
        share: FloatArray = np.zeros_like(mean)
        np.divide(100.0 * away, mean, out=share, where=mean > 0.0)
        return share

    @cached_property
    def negative_sequence_pct(self) -> FloatArray:
        """I2/I1 of each node, 0 where it has not three lines, shape (S, N). [%]"""
        return self._unbalance.negative_sequence_pct

    @cached_property
    def voltage_unbalance_pct(self) -> FloatArray:
        """V2/V1 of each node, 0 where it has not three lines, shape (S, N). [%]"""
        return self._unbalance.voltage_pct
