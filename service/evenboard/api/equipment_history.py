"""What a piece has been through: its events, its orders, and how unevenly it ran on them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from flask import Response

from evenboard.api.access import DESK, may
from evenboard.api.answer import json_bytes, moment
from evenboard.api.etag import TAGGED, tagged
from evenboard.api.lists import PAGE
from evenboard.api.paging import page
from evenboard.api.piece import document, event_document
from evenboard.api.schemas.equipment import UnevenQuerySchema
from evenboard.api.schemas.equipment_answers import HistorySchema, UnevenPageSchema
from evenboard.api.spec import Blueprint
from evenboard.api.state import state
from evenboard.api.tagged import runs_now
from evenboard.desk.uneven import ASSUMED, DEFORMS_BASIS, DEFORMS_KH, Ran
from evenboard.store import Session, equipment, runs
from evenboard.store.equipment import PieceEvent
from evenboard.store.piece import Piece
from evenboard.store.runs import Run

__all__ = ["blueprint"]

MOST_LISTED = 2000
"""Cables that are put in order, the worst: more than anybody feels along (estimate)."""

blueprint = Blueprint("equipment-history", __name__, description="What equipment has been through")


@blueprint.get("/v1/equipment/<path:tag>/history")
@may(DESK)
@blueprint.response(200, HistorySchema, headers=TAGGED)
@blueprint.refuses(404)
def history(tag: str) -> Response:
    """Tell all that happened to a piece, on which orders it was and how unevenly it ran there.

    `spread_kh` is the difference in temperature between a cable's cores times hours, by the
    reports of an order, else by its saved layouts; `basis` says what is assumed.
    """
    with state().store.reading() as session:
        piece = equipment.get(session, tag)
        events = equipment.events(session, tag)
        known = _runs(session, piece)
    orders = _orders(events, known)
    total = orders[-1]["total_kh"] if orders else 0.0
    told = {
        "tag": tag,
        "events": [event_document(event) for event in events],
        "orders": orders,
        "spread_kh": total,
        "deforms_kh": DEFORMS_KH,
        "likely_to_deform": total >= DEFORMS_KH,
        "basis": f"{DEFORMS_BASIS} {ASSUMED}",
        "version": piece.version,
    }
    return tagged(json_bytes(told))


def _runs(session: Session, piece: Piece) -> list[tuple[str, dict[str, Any]]]:
    """Each run with its order; of an order it is out on without a report, by the layouts now."""
    known = list(runs.listing(session, piece.tag))
    found = [(run.order_ref, _kept(run)) for run in known]
    hire = piece.standing.hire
    if hire is not None and not any(run.order_ref == hire.order_ref for run in known):
        found += [
            (hire.order_ref, _now(layout_id, ran))
            for layout_id, ran in runs_now(session, piece.tag, hire)
        ]
    return found


def _kept(run: Run) -> dict[str, Any]:
    return _run(run.source, run.source_id, run.counts, run.document, run.spread_kh)


def _now(layout_id: str, ran: Ran) -> dict[str, Any]:
    return _run("layout", layout_id, True, ran.document, ran.spread_kh)


def _run(
    source: str, source_id: str, counts: bool, told: Mapping[str, Any], spread_kh: float
) -> dict[str, Any]:
    return {
        "source": source,
        "source_id": source_id,
        "counts": counts,
        **{name: told[name] for name in _TOLD},
        "spread_kh": spread_kh,
    }


_TOLD = (
    "board",
    "setup",
    "core_spread_k",
    "hours_per_day_h",
    "hours_from",
    "days",
    "days_from",
)


def _orders(
    events: Sequence[PieceEvent], found: Iterable[tuple[str, dict[str, Any]]]
) -> list[dict[str, Any]]:
    """The orders of a piece in the order in which it went out; those only planned come last."""
    orders: dict[str, dict[str, Any]] = {}

    def of(order_ref: str) -> dict[str, Any]:
        return orders.setdefault(
            order_ref,
            {"order_ref": order_ref, "out_at": None, "back_at": None, "found": None, "runs": []},
        )

    for event in events:
        if event.order_ref is None:
            continue
        order = of(event.order_ref)
        if event.kind == "checked-out":
            order["out_at"], order["back_at"] = order["out_at"] or moment(event.at), None
        elif event.document.get("returned") or "missing" in event.document.get("found", ()):
            order["back_at"], order["found"] = moment(event.at), event.document["found"]
    for order_ref, run in found:
        of(order_ref)["runs"].append(run)
    total = 0.0
    listed = sorted(orders.values(), key=lambda order: order["out_at"] or "~")
    for order in listed:
        order["spread_kh"] = sum(run["spread_kh"] for run in order["runs"] if run["counts"])
        total += order["spread_kh"]
        order["total_kh"] = total
    return listed


@blueprint.get("/v1/equipment-uneven")
@may(DESK)
@blueprint.arguments(UnevenQuerySchema, location="query")
@blueprint.response(200, UnevenPageSchema, headers=TAGGED)
def uneven(query: dict[str, Any]) -> Response:
    """List the cables that are likely to deform, the worst first.

    By core spread times hours, summed over issued reports and orders they came back from.
    """
    least = query.get("least_kh")
    with state().store.reading() as session:
        found = runs.totals(session, DEFORMS_KH if least is None else float(least), MOST_LISTED)
        part = page(
            found,
            lambda each: each[0],
            query.get("limit") or PAGE,
            query.get("cursor"),
            {"least_kh": least},
        )
        pieces = equipment.find(session, [tag for tag, _, _ in part.items])
    items = [
        {
            "piece": document(pieces[tag]),
            "spread_kh": total,
            "orders": orders,
            "likely_to_deform": total >= DEFORMS_KH,
        }
        for tag, total, orders in part.items
        if tag in pieces
    ]
    return tagged(
        json_bytes(
            {
                "items": items,
                "next_cursor": part.next_cursor,
                "deforms_kh": DEFORMS_KH,
                "basis": f"{DEFORMS_BASIS} {ASSUMED}",
            }
        )
    )
