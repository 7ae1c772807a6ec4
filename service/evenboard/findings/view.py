"""A solved layout and every figure derived from it, each computed once and only when asked for.

Rules, the balance answer and the reports read the same :class:`View`, so that no figure has two
sources. Axes as in :class:`~evenboard.electrics.solution.Solution`: ``S`` set-ups, ``N`` nodes
(node 0 is the supply's terminals, node ``b + 1`` is board ``b``), ``L`` loads, conductors L1 L2 L3
N of the supply. What a supply or a board does not have carries zeros.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property

import numpy as np

from evenboard.electrics.conductor import run_impedance_ohm
from evenboard.electrics.earth_fault import loop_impedances_ohm, run_loop_ohm, supply_loop_ohm
from evenboard.electrics.equipment import OutletStandard
from evenboard.electrics.generator import GeneratorFigures, generator_figures
from evenboard.electrics.layout import NEUTRAL, Layout, Outlet, Run
from evenboard.electrics.neutral import OpenNeutral, open_neutral, worst_switching
from evenboard.electrics.protection import Guard, guards_above
from evenboard.electrics.solution import ComplexArray, FloatArray
from evenboard.electrics.switching import DropOut, drop_out
from evenboard.findings.action import StartInOrder
from evenboard.findings.arrays import Arrays
from evenboard.findings.figures import OutletFigures, RcdFigures, RunFigures, WorstSwitching
from evenboard.findings.loadflow import load_parts, node_parts, plain_parts, rms_of
from evenboard.findings.plugs import Members, Place, alike, guarding, outlet_figures, rcd_figures
from evenboard.findings.runs import feeder_figures, lead_figures
from evenboard.findings.starting import EdgeGuard, edge_guards, groups, inrush_a, whole_order
from evenboard.findings.words import load_names

__all__ = ["View"]


class View(Arrays):
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

    def parts(self, load: int, lines: tuple[int, ...]) -> ComplexArray:
        """What a load adds to each conductor if plugged onto these lines, parts (3, S, 4)."""
        key = (load, lines)
        if key not in self._parts:
            self._parts[key] = load_parts(self, load, lines)
        return self._parts[key]

    def shift(self, load: int, old: tuple[int, ...], new: tuple[int, ...]) -> ComplexArray:
        """What a load changes by going from some lines to others of one board, parts (3, S, 4)."""
        key = (load, old, new)
        if key not in self._shifts:
            self._shifts[key] = self.parts(load, new) - self.parts(load, old)
        return self._shifts[key]

    @cached_property
    def _shifts(self) -> dict[tuple[int, tuple[int, ...], tuple[int, ...]], ComplexArray]:
        return {}

    @cached_property
    def _parts(self) -> dict[tuple[int, tuple[int, ...]], ComplexArray]:
        return plain_parts(self)

    def own_a(self, load: int) -> FloatArray:
        """What a load draws in each conductor where it is plugged, true RMS, (S, 4). [A]"""
        if load not in self._own_a:
            self._own_a[load] = rms_of(self.parts(load, self.layout.loads[load].supply_lines))
        return self._own_a[load]

    @cached_property
    def _own_a(self) -> dict[int, FloatArray]:
        return {}

    @cached_property
    def places(self) -> dict[int, Place]:
        """Board and outlet of every plugged load."""
        return {
            index: (load.board, load.outlet)
            for index, load in enumerate(self.layout.loads)
            if load.board is not None and load.outlet is not None
        }

    @cached_property
    def load_names(self) -> tuple[str, ...]:
        """What to call each load."""
        return load_names(self.layout)

    @cached_property
    def load_index(self) -> dict[str, int]:
        """Each load's position by its id."""
        return {load.id: index for index, load in enumerate(self.layout.loads)}

    def guards(self, board: int, outlet: str | None = None) -> tuple[Guard, ...]:
        """The breakers between the supply and a board or an outlet of it, the supply's first."""
        if board not in self._guards:
            self._guards[board] = guards_above(self.layout, board)
        above = self._guards[board]
        if outlet is None:
            return above
        breaker = self.outlet_at[board, outlet].type.breaker
        return (
            above if breaker is None else (*above, Guard(board, outlet, breaker.rating_a, breaker))
        )

    @cached_property
    def _guards(self) -> dict[int, tuple[Guard, ...]]:
        return {}

    @cached_property
    def outlet_at(self) -> dict[Place, Outlet]:
        """Every outlet by board and id."""
        boards = enumerate(self.layout.boards)
        return {(b, outlet.id): outlet for b, board in boards for outlet in board.outlets}

    @cached_property
    def alike(self) -> tuple[Members, ...]:
        """Per board, its outlets by kind, each with its position there."""
        return tuple(alike(self, board) for board in range(len(self.layout.boards)))

    @cached_property
    def fed(self) -> frozenset[Place]:
        """The outlets that boards are plugged into."""
        boards = self.layout.boards
        return frozenset(
            (b.parent, b.parent_outlet)
            for b in boards
            if b.parent is not None and b.parent_outlet is not None
        )

    @cached_property
    def taken(self) -> frozenset[Place]:
        """The outlets that something is plugged into."""
        return self.fed | frozenset(self.places.values())

    @cached_property
    def largest_a(self) -> list[float]:
        """The most that each load draws per line: as solved, or full up at nominal voltage. [A]"""
        solved = self.solution.load_current_a.max(axis=0, initial=0.0)
        return [float(amps) for amps in np.maximum(self.full_nominal_a, solved)]

    @cached_property
    def outlet_standards(self) -> dict[str, OutletStandard]:
        """The region's outlets by id."""
        return {standard.id: standard for standard in self.layout.region.outlets}

    @cached_property
    def outlets(self) -> tuple[OutletFigures, ...]:
        """Every outlet, board after board, in the boards' own order."""
        return outlet_figures(self)

    @cached_property
    def rcds(self) -> tuple[RcdFigures, ...]:
        """Every residual-current device, board after board, the incomer's first."""
        return rcd_figures(self)

    @cached_property
    def feeders(self) -> tuple[RunFigures, ...]:
        """Every board's feeder that is entered, in the order of the boards."""
        return feeder_figures(self)

    @cached_property
    def leads(self) -> tuple[RunFigures, ...]:
        """Every plugged load's lead that is entered, in the order of the loads."""
        return lead_figures(self)

    @cached_property
    def node_parts(self) -> tuple[ComplexArray, ...]:
        """What flows into each node, as it adds up, parts (3, S, 4) each."""
        return tuple(node_parts(self, node) for node in range(len(self.lines)))

    def impedance_ohm(self, run: Run) -> ComplexArray:
        """Impedance of a run of the layout at the supply's frequency, shape (4,). [ohm]"""
        if id(run) not in self._impedances:
            impedance = run_impedance_ohm(run, self.layout.supply.frequency_hz)
            self._impedances[id(run)] = impedance, run
        return self._impedances[id(run)][0]

    @cached_property
    def _impedances(self) -> dict[int, tuple[ComplexArray, Run]]:
        # By identity, for speed; the run is kept so that its id stays its own.
        return {}

    @cached_property
    def guarding(self) -> dict[Place, frozenset[int]]:
        """Per outlet, which of :attr:`rcds` see the leakage of what is plugged in there."""
        return guarding(self)

    @cached_property
    def leakage_ma(self) -> FloatArray:
        """Standing leakage of each plugged load, all its units, 0 off, shape (S, L). [mA]"""
        each = np.array([load.leakage_ma * load.count for load in self.layout.loads])
        leakage: FloatArray = np.where(self.solution.on & self._plugged, each, 0.0)
        return leakage

    @cached_property
    def inrush_a(self) -> FloatArray:
        """Inrush per line of each plug, all its units at once, shape (L,). [A]"""
        return inrush_a(self)

    @cached_property
    def inrush_at_once_a(self) -> FloatArray:
        """The same in each set-up, 0 off, shape (S, L). [A]"""
        at_once: FloatArray = self.solution.on * self.inrush_a
        return at_once

    @cached_property
    def load_third_pct(self) -> FloatArray:
        """Third harmonic of each load over its current, shape (S, L). [%]"""
        current = self.solution.load_current_a
        third = np.zeros_like(current)
        np.divide(100.0 * self.solution.load_triplen_a, current, out=third, where=current > 0.0)
        return third

    @cached_property
    def edge_guards(self) -> tuple[EdgeGuard, ...]:
        """Every breaker whose curve is known, with the loads that it sees."""
        return edge_guards(self)

    @cached_property
    def groups(self) -> tuple[tuple[tuple[int, ...], ...], ...]:
        """Per set-up, its loads in the groups in which they are switched on."""
        order = self.layout.start_order
        return tuple(groups(self, setup, order) for setup in range(len(self.layout.setups)))

    @cached_property
    def whole_order(self) -> StartInOrder:
        """One order of switching on that suits every breaker and the generator."""
        return whole_order(self)

    @cached_property
    def step_limit_pct(self) -> float:
        """The largest step that the generator takes: its own, or the limit in force. [%]"""
        generator = self.layout.supply.generator
        if generator is not None and generator.max_step_pct is not None:
            return generator.max_step_pct
        return self.limits.generator_step_pct

    @cached_property
    def loop_ohm(self) -> FloatArray:
        """Earth-fault loop at each node, (N,); of the cables alone where the rest is unknown."""
        loops = loop_impedances_ohm(self.layout)
        return loops if self.loops_known else loop_impedances_ohm(self.loop_layout)

    @cached_property
    def lead_loop_ohm(self) -> FloatArray:
        """What each load's own lead adds to the earth-fault loop, shape (L,). [ohm]"""
        frequency = self.layout.supply.frequency_hz
        return np.array([abs(run_loop_ohm(load.lead, frequency)) for load in self.layout.loads])

    @cached_property
    def loops_known(self) -> bool:
        """Whether the supply's own loop impedance is known."""
        return supply_loop_ohm(self.layout) is not None

    @cached_property
    def loop_layout(self) -> Layout:
        """The layout with a loop impedance of 0 at the supply where none is known."""
        if self.loops_known:
            return self.layout
        return replace(self.layout, supply=replace(self.layout.supply, loop_impedance_ohm=0.0))

    @cached_property
    def worst_switching(self) -> tuple[WorstSwitching | None, ...]:
        """Per node the largest neutral current of any combination; None without a neutral."""
        worst: list[WorstSwitching | None] = []
        for node in range(len(self.lines)):
            if not self.has_neutral[node] or not self.solved.any():
                worst.append(None)
                continue
            made = worst_switching(self.solution, node)
            setup = int(np.argmax(np.where(self.solved, made.current_a, -1.0)))
            loads = tuple(int(i) for i in np.flatnonzero(made.on[setup]))
            worst.append(WorstSwitching(setup, float(made.current_a[setup]), loads))
        return tuple(worst)

    @cached_property
    def open_neutral(self) -> OpenNeutral:
        """What the lamps get if the supply's neutral opens."""
        return open_neutral(self.solution)

    @property
    def open_neutral_v(self) -> FloatArray:
        """Each line against the floating star point if the neutral opens, shape (S, 3). [V]"""
        return self.open_neutral.voltage_v

    @cached_property
    def drop_out(self) -> DropOut:
        """The supply with any single load off."""
        return drop_out(self.solution)

    @cached_property
    def generator(self) -> GeneratorFigures | None:
        """The generator's load in percent of its ratings; None for another kind of supply."""
        supply = self.layout.supply
        if supply.generator is None:
            return None
        return generator_figures(
            supply.generator,
            supply.system,
            supply.voltage_v,
            apparent_va=self.apparent_va[:, 0],
            power_w=self.power_w[:, 0],
            reactive_var=self.reactive_var[:, 0],
            fundamental_a=self.solution.inflow.fundamental_a[:, 0, :NEUTRAL],
        )

    @cached_property
    def core_limit_a(self) -> FloatArray:
        """What each conductor into a node may carry by rating and feeder, shape (N, 4). [A]"""
        limit = np.column_stack(
            [np.repeat(self.line_rating_a[:, None], NEUTRAL, axis=1), self.neutral_rating_a]
        )
        for figures in self.feeders:
            if figures.capacity is not None and figures.board is not None:
                node = figures.board + 1
                limit[node, :NEUTRAL] = np.minimum(
                    limit[node, :NEUTRAL], figures.capacity.capacity_a
                )
                limit[node, NEUTRAL] = min(
                    limit[node, NEUTRAL], figures.capacity.neutral_capacity_a
                )
        return limit
