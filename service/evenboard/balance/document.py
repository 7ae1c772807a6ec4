"""The balance as plain JSON values: the field names and the rounding of the answer."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields
from typing import Any

from evenboard.balance.model import (
    Balance,
    BoardFigures,
    FeederFigures,
    GeneratorLoad,
    LoadFigures,
    NeutralFigures,
    OutletFigures,
    PhaseFigures,
    SetupFigures,
    Unbalance,
)
from evenboard.findings import Finding

__all__ = ["balance_document"]

Document = dict[str, Any]

AMPS, VOLTS, PERCENT, WATTS, DEGREES, MILLIMETRES = 2, 2, 2, 1, 1, 2
"""Decimals of the answer: finer than any instrument on a set."""
FACTOR, OHMS, MILLIAMPS, KILOWATT_HOURS = 3, 4, 2, 3
"""The same of these."""


def balance_document(balance: Balance) -> Document:
    """A balance as the answer of the balance route, without versions and notice.

    Parameters
    ----------
    balance : Balance
        What :func:`evenboard.balance.balance` gave.

    Returns
    -------
    dict
        Plain JSON values: ``verdict``, ``supply``, ``worst_setup``, ``phases``, ``neutral``,
        ``open_neutral``, ``unbalance``, ``boards``, ``setups``, ``loads``, ``findings``,
        ``generator``, ``energy``.
    """
    supply = balance.supply
    energy = balance.energy
    return {
        "verdict": balance.verdict,
        "supply": {
            "rating_a": _round(supply.rating_a, AMPS),
            "total_rating_a": _round(supply.total_rating_a, AMPS),
            "voltage_v": _round(supply.voltage_v, VOLTS),
            "capacity_va": _round(supply.capacity_va, WATTS),
        },
        "worst_setup": dict(balance.worst),
        "phases": [_phase(p, rooms=True) for p in balance.phases],
        "neutral": _neutral(balance.neutral),
        "open_neutral": None
        if balance.open_neutral_v is None
        else {"voltage_v": _volts(balance.open_neutral_v)},
        "unbalance": _unbalance(balance.unbalance),
        "boards": [_board(b) for b in balance.boards],
        "setups": [_setup(s) for s in balance.setups],
        "loads": [_load(load) for load in balance.loads],
        "findings": [_finding(f) for f in balance.findings],
        "generator": _generator(balance.generator),
        "energy": None
        if energy is None
        else {
            "setup": energy.setup,
            "hours_h": energy.hours,
            "energy_kwh": _round(energy.energy_kwh, KILOWATT_HOURS),
            "loss_kwh": _round(energy.loss_kwh, KILOWATT_HOURS),
        },
    }


def _round(value: float | None, decimals: int) -> float | None:
    # Adding 0.0 turns the -0.0 that rounding leaves of a tiny negative into 0.0.
    return None if value is None else round(value, decimals) + 0.0


def _volts(values: Mapping[str, float] | None) -> Document | None:
    return None if values is None else {name: _round(v, VOLTS) for name, v in values.items()}


def _phase(phase: PhaseFigures, *, rooms: bool) -> Document:
    document: Document = {
        "phase": phase.phase,
        "current_a": _round(phase.current_a, AMPS),
        "fundamental_a": _round(phase.fundamental_a, AMPS),
        "power_w": _round(phase.power_w, WATTS),
        "reactive_var": _round(phase.reactive_var, WATTS),
        "apparent_va": _round(phase.apparent_va, WATTS),
        "power_factor": _round(phase.power_factor, FACTOR),
        "rating_a": _round(phase.rating_a, AMPS),
        "loading_pct": _round(phase.loading_pct, PERCENT),
        "sum_a": _round(phase.sum_a, AMPS),
        "headroom_a": _round(phase.headroom_a, AMPS),
    }
    if rooms:
        document["room_for"] = [
            {
                "fixture": room.fixture,
                "name": room.name,
                "current_a": _round(room.current_a, AMPS),
                "count": room.count,
            }
            for room in phase.room_for
        ]
    return document


def _neutral(neutral: NeutralFigures | None, *, switching: bool = True) -> Document | None:
    if neutral is None:
        return None
    document: Document = {
        "current_a": _round(neutral.current_a, AMPS),
        "fundamental_a": _round(neutral.fundamental_a, AMPS),
        "triplen_a": _round(neutral.triplen_a, AMPS),
        "rating_a": _round(neutral.rating_a, AMPS),
        "loading_pct": _round(neutral.loading_pct, PERCENT),
    }
    if switching:
        document["worst_switching_a"] = _round(neutral.worst_switching_a, AMPS)
        document["worst_switching_on"] = list(neutral.worst_switching_on or ())
    return document


def _generator(load: GeneratorLoad | None) -> Document | None:
    if load is None:
        return None
    return {
        "setup": load.setup,
        "apparent_pct": _round(load.apparent_pct, PERCENT),
        "active_pct": _round(load.active_pct, PERCENT),
        "line_pct": {name: _round(share, PERCENT) for name, share in load.line_pct.items()},
        "negative_sequence_pct": _round(load.negative_sequence_pct, PERCENT),
        "leading_pct": _round(load.leading_pct, PERCENT),
    }


def _unbalance(unbalance: Unbalance | None) -> Document | None:
    if unbalance is None:
        return None
    return {
        "current_pct": _round(unbalance.current_pct, PERCENT),
        "spread_a": _round(unbalance.spread_a, AMPS),
        "spread_pct": _round(unbalance.spread_pct, PERCENT),
        "negative_sequence_pct": _round(unbalance.negative_sequence_pct, PERCENT),
        "voltage_pct": _round(unbalance.voltage_pct, PERCENT),
    }


def _board(board: BoardFigures) -> Document:
    return {
        "id": board.id,
        "name": board.name,
        "lines": list(board.lines),
        "supply_lines": list(board.supply_lines),
        "setup": board.setup,
        "phases": [_phase(p, rooms=False) for p in board.phases],
        "neutral": _neutral(board.neutral),
        "unbalance": _unbalance(board.unbalance),
        "voltage_v": _volts(board.voltage_v),
        "neutral_to_earth_v": _round(board.neutral_to_earth_v, VOLTS),
        "voltage_drop_pct": None
        if board.voltage_drop_pct is None
        else {name: _round(p, PERCENT) for name, p in board.voltage_drop_pct.items()},
        "feeder": _feeder(board.feeder),
        "outlets": [_outlet(outlet) for outlet in board.outlets],
        "rcds": [
            {
                "id": rcd.id,
                "rated_residual_ma": _round(rcd.rated_residual_ma, MILLIAMPS),
                "leakage_ma": _round(rcd.leakage_ma, MILLIAMPS),
            }
            for rcd in board.rcds
        ],
    }


def _feeder(feeder: FeederFigures | None) -> Document | None:
    if feeder is None:
        return None
    cores = feeder.core_temperature_c
    return {
        "capacity_a": _round(feeder.capacity_a, AMPS),
        "capacity_basis": feeder.capacity_basis,
        "length_m": feeder.length_m,
        "loss_w": _round(feeder.loss_w, WATTS),
        "core_temperature_c": None
        if cores is None
        else {name: _round(t, DEGREES) for name, t in cores.items()},
        "core_spread_k": _round(feeder.core_spread_k, DEGREES),
        "differential_expansion_mm": _round(feeder.differential_expansion_mm, MILLIMETRES),
    }


def _outlet(outlet: OutletFigures) -> Document:
    return {
        "id": outlet.id,
        "lines": list(outlet.lines),
        "row": outlet.row,
        "rating_a": _round(outlet.rating_a, AMPS),
        "breaker_a": _round(outlet.breaker_a, AMPS),
        "used_by": outlet.used_by,
        "current_a": _round(outlet.current_a, AMPS),
        "voltage_v": _round(outlet.voltage_v, VOLTS),
        "inrush_a": _round(outlet.inrush_a, AMPS),
        "loop_impedance_ohm": _round(outlet.loop_impedance_ohm, OHMS),
    }


def _setup(setup: SetupFigures) -> Document:
    return {
        "id": setup.id,
        "solved": setup.solved,
        "phases": [_phase(p, rooms=False) for p in setup.phases],
        "neutral": _neutral(setup.neutral, switching=False),
        "unbalance": _unbalance(setup.unbalance),
        "power_w": _round(setup.power_w, WATTS),
        "apparent_va": _round(setup.apparent_va, WATTS),
        "loss_w": _round(setup.loss_w, WATTS),
    }


def _load(load: LoadFigures) -> Document:
    return {
        "id": load.id,
        "name": load.name,
        "setup": load.setup,
        "voltage_v": _round(load.voltage_v, VOLTS),
        "current_a": _round(load.current_a, AMPS),
        "power_w": _round(load.power_w, WATTS),
        "light_pct": _round(load.light_pct, PERCENT),
        "colour_temperature_k": _round(load.colour_temperature_k, 0),
    }


def _finding(finding: Finding) -> Document:
    where = finding.where
    return {
        "code": finding.code,
        "severity": finding.severity,
        "where": {
            "board": where.board,
            "phase": where.phase,
            "outlet": where.outlet,
            "load": where.load,
            "setup": where.setup,
        },
        "value": _round(finding.value, 2),
        "limit": _round(finding.limit, 2),
        "unit": finding.unit,
        "message": finding.message,
        "remedy": finding.remedy,
        "basis": finding.basis,
        "actions": [
            {
                "kind": action.kind,
                **{f.name: _plain(getattr(action, f.name)) for f in fields(action)},
            }
            for action in finding.actions
        ],
    }


def _plain(value: Any) -> Any:
    return [_plain(item) for item in value] if isinstance(value, tuple) else value
