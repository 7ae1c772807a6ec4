"""The content of a report as plain JSON values: what is hashed, signed, printed and kept.

The paper is made from this and from nothing else, so that whoever holds the JSON can make the same
page again, whatever has become of the catalogue since.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import asdict, fields
from datetime import UTC
from typing import Any

from evenboard import ENGINE_VERSION
from evenboard.balance import NOTICE
from evenboard.electrics.equipment import Basis, Breaker, FixtureType, Limits, OutletType, RcdType
from evenboard.electrics.layout import Board, Layout, Load, Run
from evenboard.electrics.limits import LIMIT_BASES
from evenboard.findings.words import size_name
from evenboard.reports.issue import Issue

__all__ = ["report_json"]

Json = dict[str, Any]


def report_json(
    issue: Issue,
    body: Mapping[str, Any],
    layout: Layout,
    answer: Mapping[str, Any],
    *,
    catalogue_version: str,
    equipment: Iterable[Mapping[str, Any]] = (),
    readings: Iterable[Mapping[str, Any]] = (),
) -> Json:
    """The whole content of a report.

    Parameters
    ----------
    issue : Issue
        Which order, who and when.
    body : mapping
        The layout as it was checked, in the form of the balance route.
    layout : Layout
        What ``intake.resolve`` made of ``body``.
    answer : mapping
        What ``balance.balance_document`` gave for ``layout``.
    catalogue_version : str
        Version of the catalogue that ``layout`` was resolved with.
    equipment : iterable of mapping, optional
        The tagged pieces as the desk has them: ``tag``, ``kind``, ``name``, ``cable``, ``csa_mm2``,
        ``length_m``, ``board``, ``tested_on``, ``test_due_on``, ``state``.
    readings : iterable of mapping, optional
        Clamp-meter readings as the API gives them: ``setup``, ``at``, ``by``, ``meter``,
        ``phases`` (amps by line), ``neutral``; ``board`` where it was not the supply; ``expected``,
        ``summary``, ``explanations``, ``cautions`` and ``note`` where there are any.

    Returns
    -------
    dict
        Plain JSON values: ``issue``, ``layout``, ``resolved`` (what the layout's names stood for),
        ``balance``, ``equipment``, ``readings``, ``engine_version``, ``catalogue_version``,
        ``notice``.
    """
    return {
        "issue": _issue(issue),
        "layout": dict(body),
        "resolved": _resolved(body, layout),
        "balance": dict(answer),
        "equipment": [dict(piece) for piece in equipment],
        "readings": [dict(reading) for reading in readings],
        "engine_version": ENGINE_VERSION,
        "catalogue_version": catalogue_version,
        "notice": NOTICE,
    }


def _issue(issue: Issue) -> Json:
    return {
        "id": issue.id,
        "number": issue.number,
        "order_ref": issue.order_ref,
        "production": issue.production,
        "starts_on": issue.starts_on.isoformat() if issue.starts_on else None,
        "ends_on": issue.ends_on.isoformat() if issue.ends_on else None,
        "contact": issue.contact,
        "title": issue.title,
        "note": issue.note,
        "issued_at": issue.issued_at.astimezone(UTC).isoformat(timespec="milliseconds"),
        "issued_by": issue.issued_by,
        "supersedes": issue.supersedes,
        "supersedes_number": issue.supersedes_number,
        "accepted_by": issue.accepted_by,
        "accepted_reason": issue.accepted_reason,
    }


def _resolved(body: Mapping[str, Any], layout: Layout) -> Json:
    region, supply = layout.region, layout.supply
    system = region.system(supply.system)
    return {
        "region": {
            "id": region.id,
            "name": region.name,
            "colours": [
                {"code": c.code, "in_force": c.in_force, "colours": dict(c.colours)}
                for c in region.colours
            ],
        },
        "supply": {
            "kind": supply.kind,
            "system": supply.system,
            "rating_a": supply.rating_a,
            "voltage_v": supply.voltage_v,
            "line_line_v": None if system is None else system.line_to_line_v,
            "frequency_hz": supply.frequency_hz,
            "lines": list(supply.lines),
            "neutral": supply.neutral,
            "loop_impedance_ohm": supply.loop_impedance_ohm,
            "source_impedance": asdict(supply.source_impedance)
            if supply.source_impedance
            else None,
            "generator": asdict(supply.generator) if supply.generator else None,
        },
        "ambient_c": layout.ambient_c,
        "ambient_given": "ambient_c" in body,
        "setups": list(layout.setups),
        "start_order": [list(group) for group in layout.start_order],
        "boards": [_board(layout, board) for board in layout.boards],
        "loads": [_load(layout, load) for load in layout.loads],
        "fixtures": _fixtures(layout),
        "cable_tables": _tables(layout),
        "limits": _limits(body, layout),
    }


def _board(layout: Layout, board: Board) -> Json:
    names = {standard.id: standard.name for standard in layout.region.outlets}
    parent = None if board.parent is None else layout.boards[board.parent]
    return {
        "id": board.id,
        "name": board.name,
        "type": board.type_id,
        "tag": board.tag,
        "fed_from": None if parent is None else {"board": parent.id, "outlet": board.parent_outlet},
        "inlet_rating_a": board.inlet_rating_a,
        "neutral": board.neutral,
        "incomer": _breaker(board.incomer),
        "incomer_rcd": _rcd(board.incomer_rcd),
        "rcds": [_rcd(rcd) for rcd in board.rcds],
        "outlets": [_outlet(outlet.type, names) for outlet in board.outlets],
        "feeder": _run(board.feeder),
    }


def _outlet(outlet: OutletType, names: Mapping[str, str]) -> Json:
    connector = outlet.connector
    return {
        "id": outlet.id,
        "connector": connector,
        "connector_name": None if connector is None else names.get(connector, connector),
        "breaker": _breaker(outlet.breaker),
        "rcd": outlet.rcd,
    }


def _breaker(breaker: Breaker | None) -> Json | None:
    return None if breaker is None else {"rating_a": breaker.rating_a, "curve": breaker.curve}


def _rcd(rcd: RcdType | None) -> Json | None:
    if rcd is None:
        return None
    return {"id": rcd.id, "rated_residual_ma": rcd.rated_residual_ma, "delayed": rcd.delayed}


def _run(run: Run | None) -> Json | None:
    if run is None:
        return None
    return {
        "cable": run.cable.id if run.cable else None,
        "cable_name": run.cable.name if run.cable else None,
        "table": run.table.standard if run.table else None,
        "csa_mm2": run.csa_mm2,
        "size": None if run.csa_mm2 is None else size_name(run, run.csa_mm2),
        "neutral_csa_mm2": run.neutral_csa_mm2,
        "neutral_connected": run.neutral_connected,
        "spelled_out": run.conductor is not None,
        "length_m": run.length_m,
        "laid": run.laid,
        "coil_layers": run.coil_layers,
        "grouped_circuits": run.grouped_circuits,
        "tag": run.tag,
    }


def _load(layout: Layout, load: Load) -> Json:
    board = None if load.board is None else layout.boards[load.board]
    return {
        "id": load.id,
        "name": load.name,
        "fixture": None if load.fixture is None else load.fixture.slug,
        "count": load.count,
        "power_w": load.power_w,
        "power_factor": load.power_factor,
        "load_model": load.load_model,
        "rated_voltage_v": load.rated_voltage_v,
        "connection": load.connection,
        "dimmed_to": load.dimmed_to,
        "dimmer": load.dimmer,
        "board": None if board is None else board.id,
        "outlet": load.outlet,
        "lines": [layout.supply.lines[k] for k in load.supply_lines],
        "lead": _run(load.lead),
        "setups": [name for name, on in zip(layout.setups, load.on, strict=True) if on],
        "keep": load.keep,
        "tag": load.tag,
    }


def _fixtures(layout: Layout) -> list[Json]:
    """The types on the layout, each once, in the order of its first load."""
    types: dict[str, FixtureType] = {}
    for load in layout.loads:
        if load.fixture is not None:
            types.setdefault(load.fixture.slug, load.fixture)
    return [
        {
            "slug": kind.slug,
            "name": kind.name,
            "power_w": kind.power_w,
            "power_factor": kind.power_factor,
            "third_harmonic_pct": kind.third_harmonic_pct,
            "inrush_multiple": kind.inrush_multiple,
            "leakage_ma": kind.leakage_ma,
            "basis": _basis(kind.basis),
        }
        for kind in types.values()
    ]


def _tables(layout: Layout) -> list[Json]:
    """The rating tables that cables of the layout were read from, each once."""
    runs = [board.feeder for board in layout.boards] + [load.lead for load in layout.loads]
    tables: dict[tuple[str, str], Json] = {}
    for run in runs:
        if run is None or run.cable is None or run.table is None:
            continue
        tables.setdefault(
            (run.cable.id, run.table.id),
            {
                "cable": run.cable.id,
                "cable_name": run.cable.name,
                "table": run.table.id,
                "standard": run.table.standard,
                "reference_ambient_c": run.table.reference_ambient_c,
                "rated_temperature_c": run.cable.rated_temperature_c,
                "basis": _basis(run.table.basis),
            },
        )
    return list(tables.values())


def _limits(body: Mapping[str, Any], layout: Layout) -> list[Json]:
    """Every limit that findings judged by, and whose word it is."""
    given = body.get("limits") or {}
    usual = layout.region.limits
    rows = []
    for field in fields(Limits):
        name, value = field.name, getattr(layout.limits, field.name)
        if name in given or value != getattr(usual, name):
            set_by, basis = "layout", None
        elif name in layout.region.bases:
            set_by, basis = "region", layout.region.bases[name]
        else:
            set_by, basis = "general", LIMIT_BASES.get(name)
        rows.append(
            {"name": name, "value": value, "set_by": set_by, "basis": basis and _basis(basis)}
        )
    return rows


def _basis(basis: Basis) -> Json:
    return {"kind": basis.kind, "text": basis.text}
