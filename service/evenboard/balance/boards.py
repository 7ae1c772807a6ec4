"""Figures of the boards: what each takes in and gives, its feeder, its outlets, its devices."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

import numpy as np

from evenboard.balance.lines import line_names, neutral, phases, unbalance
from evenboard.balance.model import BoardFigures, FeederFigures, OutletFigures, RcdFigures
from evenboard.balance.worst import figure, highest, lowest, worst_setup
from evenboard.electrics.layout import NEUTRAL
from evenboard.findings import View
from evenboard.findings.figures import OutletFigures as OutletView
from evenboard.findings.figures import RcdFigures as RcdView
from evenboard.findings.figures import RunFigures as RunView

__all__ = ["boards"]


def boards(view: View) -> tuple[BoardFigures, ...]:
    """Every board, in the order of the layout; each figure from the board's own worst set-up."""
    outlets: dict[int, list[OutletView]] = defaultdict(list)
    for outlet in view.outlets:
        outlets[outlet.board].append(outlet)
    rcds: dict[int, list[RcdView]] = defaultdict(list)
    for rcd in view.rcds:
        rcds[rcd.board].append(rcd)
    feeders = {run.board: run for run in view.feeders if run.board is not None}
    return tuple(
        _board(view, index, outlets[index], rcds[index], feeders.get(index))
        for index in range(len(view.layout.boards))
    )


def _board(
    view: View,
    index: int,
    outlets: Iterable[OutletView],
    rcds: Iterable[RcdView],
    feeder: RunView | None,
) -> BoardFigures:
    board = view.layout.boards[index]
    node = index + 1
    lines = list(view.lines[node])
    names = line_names(view, node)
    solved = view.solved
    fullest = worst_setup(view.loading_pct[:, node, lines], solved)
    uneven = worst_setup(view.spread_pct[:, node], solved)
    weakest = worst_setup(-view.voltage_v[:, node, lines], solved)
    full_neutral = worst_setup(view.neutral_a[:, node], solved)
    volts, drops = None, None
    if weakest is not None:
        volts = {
            n: float(view.voltage_v[weakest, node, k]) for n, k in zip(names, lines, strict=True)
        }
        drops = {
            n: float(view.voltage_drop_pct[weakest, node, k])
            for n, k in zip(names, lines, strict=True)
        }
    return BoardFigures(
        id=board.id,
        name=board.name,
        lines=names,
        supply_lines=tuple(view.layout.supply.lines[k] for k in lines),
        setup=None if fullest is None else view.layout.setups[fullest],
        phases=phases(view, node, fullest),
        neutral=neutral(view, node, full_neutral, switching=True),
        unbalance=unbalance(view, node, uneven),
        voltage_v=volts if board.neutral else None,
        neutral_to_earth_v=highest(view.neutral_to_earth_v[:, node], solved)
        if board.neutral
        else None,
        voltage_drop_pct=drops if board.neutral else None,
        feeder=None if feeder is None else _feeder(view, feeder, names),
        outlets=tuple(_outlet(view, outlet) for outlet in outlets),
        rcds=tuple(
            RcdFigures(r.rcd.id, r.rcd.rated_residual_ma, float(np.max(r.leakage_ma))) for r in rcds
        ),
    )


def _feeder(view: View, feeder: RunView, names: tuple[str, ...]) -> FeederFigures:
    solved = view.solved
    cores = [*feeder.lines, NEUTRAL]
    temperatures = None
    if feeder.core_temperature_c is not None:
        hottest = worst_setup(feeder.core_temperature_c[:, cores], solved)
        if hottest is not None:
            temperatures = {
                name: float(feeder.core_temperature_c[hottest, core])
                for name, core in zip((*names, "N"), cores, strict=True)
                if figure(feeder.core_temperature_c[hottest, core]) is not None
            }
    spread, expansion = feeder.core_spread_k, feeder.differential_expansion_mm
    return FeederFigures(
        capacity_a=None if feeder.capacity is None else feeder.capacity.capacity_a,
        capacity_basis=None if feeder.capacity is None else feeder.capacity.table,
        length_m=feeder.run.length_m,
        loss_w=highest(feeder.loss_w, solved),
        core_temperature_c=temperatures,
        core_spread_k=None if spread is None else highest(spread, solved),
        differential_expansion_mm=None if expansion is None else highest(expansion, solved),
    )


def _outlet(view: View, figures: OutletView) -> OutletFigures:
    solved = view.solved
    kind = figures.outlet.type
    used_by = None
    if figures.loads:
        used_by = view.layout.loads[figures.loads[0]].id
    elif figures.child is not None:
        used_by = view.layout.boards[figures.child].id
    return OutletFigures(
        id=kind.id,
        lines=kind.lines,
        row=kind.row,
        rating_a=kind.rating_a,
        breaker_a=None if kind.breaker is None else kind.breaker.rating_a,
        used_by=used_by,
        current_a=highest(figures.current_a, solved),
        voltage_v=lowest(figures.voltage_v, solved),
        inrush_a=figures.inrush_a,
        loop_impedance_ohm=figures.loop_impedance_ohm,
    )
