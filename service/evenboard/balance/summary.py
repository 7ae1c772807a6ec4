"""The balance of a layout: solve it, sum it up for the worst set-up and for each, judge it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

import numpy as np

from evenboard.balance.boards import boards
from evenboard.balance.lines import neutral, phases, unbalance
from evenboard.balance.model import (
    Balance,
    Energy,
    GeneratorLoad,
    LoadFigures,
    SetupFigures,
    SupplyFigures,
    Verdict,
)
from evenboard.balance.room import rooms
from evenboard.balance.worst import figure, worst_setup
from evenboard.electrics.equipment import FixtureType
from evenboard.electrics.generator import day_energy, line_rating_a
from evenboard.electrics.layout import Layout
from evenboard.electrics.powerflow import solve
from evenboard.findings import EquipmentStatus, Finding, View, find

__all__ = ["SHOOTING_DAY_H", "balance"]

SHOOTING_DAY_H = 10.0
"""Hours for which the energy is given: a shooting day (common practice, no source)."""


def balance(
    layout: Layout,
    *,
    common: Iterable[FixtureType] = (),
    hours: float = SHOOTING_DAY_H,
    equipment: Mapping[str, EquipmentStatus] | None = None,
) -> Balance:
    """The per-phase breakdown of a layout with its findings.

    Parameters
    ----------
    layout : Layout
        The layout as plugged; loose loads count as off.
    common : iterable of FixtureType
        The types for which the room left is also given in lamps. By default those on the layout.
    hours : float
        Time for which the energy is given. [h]
    equipment : mapping of str to EquipmentStatus, optional
        What the desk knows of tagged pieces.

    Returns
    -------
    Balance
        Figures of the worst set-up and of each, findings and verdict.

    Raises
    ------
    ValueError
        If ``hours`` is not above 0.
    """
    if not hours > 0.0:
        raise ValueError(f"hours must be above 0 h, not {hours}")
    solution = solve(layout)
    view = View(solution, equipment)
    findings = find(view)
    lines = list(view.lines[0])
    fullest = worst_setup(view.loading_pct[:, 0, lines], view.solved)
    full_neutral = worst_setup(view.neutral_a[:, 0], view.solved)
    uneven = worst_setup(view.spread_pct[:, 0], view.solved)

    def name(setup: int | None) -> str | None:
        return None if setup is None else layout.setups[setup]

    return Balance(
        solution=solution,
        verdict=_verdict(findings),
        supply=_supply(layout),
        worst={"phases": name(fullest), "neutral": name(full_neutral), "unbalance": name(uneven)},
        phases=phases(view, 0, fullest, rooms=rooms(view, tuple(common))),
        neutral=neutral(view, 0, full_neutral, switching=True),
        open_neutral_v=_open_neutral(view),
        unbalance=unbalance(view, 0, uneven),
        boards=boards(view),
        setups=tuple(_setup(view, s) for s in range(len(layout.setups))),
        loads=_loads(view),
        findings=findings,
        generator=_generator(view),
        energy=_energy(view, hours),
    )


def _verdict(findings: Iterable[Finding]) -> Verdict:
    severities = {finding.severity for finding in findings}
    if "fail" in severities:
        return "fail"
    return "caution" if "caution" in severities else "pass"


def _supply(layout: Layout) -> SupplyFigures:
    supply = layout.supply
    rating_a = line_rating_a(supply)
    total_a = rating_a * len(supply.lines)
    return SupplyFigures(rating_a, total_a, supply.voltage_v, total_a * supply.voltage_v)


def _open_neutral(view: View) -> dict[str, float] | None:
    """Line voltages with the neutral open, in the set-up that drives one highest."""
    names = view.layout.supply.lines
    setup = worst_setup(view.open_neutral_v, view.solved)
    if setup is None or len(names) < 2 or not view.layout.supply.neutral:
        return None
    volts = {name: figure(v) for name, v in zip(names, view.open_neutral_v[setup], strict=False)}
    return {name: v for name, v in volts.items() if v is not None} or None


def _setup(view: View, setup: int) -> SetupFigures:
    solved = bool(view.solved[setup])
    power_w = float(view.power_w[setup, 0].sum())
    return SetupFigures(
        id=view.layout.setups[setup],
        solved=solved,
        phases=phases(view, 0, setup, of_setup=True),
        neutral=neutral(view, 0, setup),
        unbalance=unbalance(view, 0, setup),
        power_w=power_w if solved else None,
        apparent_va=float(view.apparent_va[setup, 0].sum()) if solved else None,
        loss_w=power_w - float(view.solution.load_power_w[setup].sum()) if solved else None,
    )


def _loads(view: View) -> tuple[LoadFigures, ...]:
    """Each load in the set-up in which it gets the lowest voltage."""
    solution, layout = view.solution, view.layout
    burning = solution.on & solution.converged[:, None]
    worst = np.argmin(np.where(burning, solution.load_voltage_v, np.inf), axis=0)
    burns = np.any(burning, axis=0)
    result = []
    for index, load in enumerate(layout.loads):
        if not burns[index]:
            result.append(LoadFigures(load.id, load.name, None, None, None, None, None, None))
            continue
        setup = int(worst[index])
        place = (setup, index)
        result.append(
            LoadFigures(
                id=load.id,
                name=load.name,
                setup=layout.setups[setup],
                voltage_v=figure(solution.load_voltage_v[place]),
                current_a=figure(solution.load_current_a[place]),
                power_w=figure(solution.load_power_w[place]),
                light_pct=figure(solution.light_pct[place]),
                colour_temperature_k=figure(solution.colour_temperature_k[place]),
            )
        )
    return tuple(result)


def _generator(view: View) -> GeneratorLoad | None:
    """The generator's load in the set-up that asks most of it."""
    figures = view.generator
    setup = None if figures is None else worst_setup(figures.running_pct, view.solved)
    if figures is None or setup is None:
        return None
    shares = figures.line_pct[setup].tolist()
    return GeneratorLoad(
        setup=view.layout.setups[setup],
        apparent_pct=float(figures.apparent_pct[setup]),
        active_pct=float(figures.active_pct[setup]),
        line_pct=dict(zip(view.layout.supply.lines, shares, strict=True)),
        negative_sequence_pct=float(figures.negative_sequence_pct[setup])
        if len(shares) == 3
        else None,
        leading_pct=float(figures.leading_pct[setup]),
    )


def _energy(view: View, hours: float) -> Energy | None:
    """What a day takes: by the hours of each set-up, else the hungriest one all the time."""
    said = view.layout.setup_hours_h
    if said:
        day = day_energy(view.solution, np.array(said))
        return Energy(None, sum(said), day.supply_kwh, day.loss_kwh)
    setup = worst_setup(view.power_w[:, 0].sum(axis=1), view.solved)
    if setup is None:
        return None
    burning_h = np.zeros(len(view.layout.setups))
    burning_h[setup] = hours
    day = day_energy(view.solution, burning_h)
    return Energy(view.layout.setups[setup], hours, day.supply_kwh, day.loss_kwh)
