"""Equipment that a layout names by tag: looked up for whoever has a key or a link, for nobody else.

The public learns nothing of the desk's stock: for it a tag is only a word on the layout.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping
from datetime import UTC, date, datetime
from typing import Any

from evenboard.api.access import DESK, PUBLIC, known_caller
from evenboard.api.practice import practice, today
from evenboard.api.state import current_catalogue, state
from evenboard.desk.tagged import check_equipment, claims, filled, pieces_on_paper, statuses
from evenboard.desk.uneven import Ran, ran_each
from evenboard.electrics.layout import Layout
from evenboard.electrics.powerflow import solve
from evenboard.electrics.solution import Solution
from evenboard.findings import EquipmentStatus
from evenboard.intake import Fault, LayoutInvalid, resolve
from evenboard.store import Session, equipment, layouts, runs, tags
from evenboard.store.errors import NotThere
from evenboard.store.piece import Hire, Piece

__all__ = [
    "equipment_to_issue",
    "filled_in",
    "keep_runs_of_layouts",
    "keep_runs_of_report",
    "runs_now",
    "standing",
]


def filled_in(body: Any, *, strict: bool) -> tuple[Any, list[Fault]]:
    """A body with the data of its tagged pieces, and where it contradicts them."""
    return filled(body, _looked_up(tags.tags_in(body)), strict=strict)


def _looked_up(names: Collection[str]) -> Mapping[str, Piece]:
    if not names or known_caller().role is PUBLIC:
        return {}
    with state().store.reading() as session:
        return equipment.find(session, names)


def standing(
    layout: Layout, *, order_ref: str | None = None, layout_id: str | None = None
) -> dict[str, EquipmentStatus]:
    """What the desk knows of the tagged pieces of a layout; nothing for the public.

    Who else counts on a piece is told where the layout's own order is known; only the desk is told
    which order that is.
    """
    named = _tags_of(layout)
    pieces = _looked_up(named)
    strange = _not_on_the_list(named - pieces.keys())
    if not pieces:
        return strange
    order_ref = order_ref or known_caller().order_ref
    claimed: dict[str, list[str]] = defaultdict(list)
    until = None
    if order_ref is not None:
        with state().store.reading() as session:
            found = claims(session, pieces, order_ref=order_ref, layout_id=layout_id)
            until = tags.order_days(session, [order_ref]).get(order_ref, (None, None))[1]
        for claim in found:
            words = claim.words if known_caller().role is DESK else "another order has it"
            if words not in claimed[claim.tag]:
                claimed[claim.tag].append(words)
    return statuses(pieces, practice(), today(), claimed, until) | strange


def _not_on_the_list(names: Collection[str]) -> dict[str, EquipmentStatus]:
    """Tags that nobody has put on the list; none as long as the desk keeps no list at all."""
    if not names or known_caller().role is PUBLIC:
        return {}
    with state().store.reading() as session:
        if not equipment.count(session):
            return {}
    return {name: EquipmentStatus(name, today(), known=False) for name in names}


def _tags_of(layout: Layout) -> set[str]:
    found = {board.tag for board in layout.boards} | {load.tag for load in layout.loads}
    runs_of = [board.feeder for board in layout.boards] + [load.lead for load in layout.loads]
    found |= {run.tag for run in runs_of if run is not None}
    return {tag for tag in found if tag is not None}


def equipment_to_issue(
    session: Session, body: Any, *, order_ref: str, at: str, held: bool
) -> tuple[Any, tuple[dict[str, Any], ...]]:
    """A layout to be issued, its tagged pieces filled in, and these as paper lists them.

    ``at`` is the place of the layout in what was sent. ``held`` keeps anybody from withdrawing a
    piece before the unit of work is over. Raises ``EquipmentWithdrawn`` where one must not go out,
    ``LayoutInvalid`` where the layout contradicts a record.
    """
    names = tags.tags_in(body)
    pieces = equipment.held(session, names) if held else equipment.find(session, names)
    check_equipment(body, pieces, order_ref=order_ref, practice=practice(), today=today(), at=at)
    body, faults = filled(body, pieces, strict=True)
    if faults:
        # A saved layout: the record has changed since. What was sent whole is read by its schema.
        raise LayoutInvalid(Fault(at, f"{fault.pointer}: {fault.detail}") for fault in faults)
    return body, tuple(pieces_on_paper(pieces.values(), practice()))


def keep_runs_of_report(
    session: Session,
    solution: Solution,
    *,
    report_id: str,
    order_ref: str,
    supersedes: str | None,
) -> None:
    """Keep how unevenly each tagged feeder runs by a report that is being issued."""
    if supersedes is not None:
        runs.overtake(session, "report", supersedes)
    order = tags.order_days(session, [order_ref]).get(order_ref)
    found = ran_each(solution, order)
    known = equipment.find(session, [each.day.tag for each in found])
    for each in found:
        if each.day.tag in known:
            _keep(session, "report", report_id, order_ref, each)


def keep_runs_of_layouts(session: Session, tag: str, hire: Hire) -> None:
    """Keep how unevenly a cable ran on an order that it has come back from.

    By the order's reports where there are any: their days, where nobody said how many, are now
    those that it was out. Else by the saved layouts of the order that name it.
    """
    out = (hire.since.date(), datetime.now(UTC).astimezone(hire.since.tzinfo).date())
    known = [run for run in runs.of_order(session, tag, hire.order_ref) if run.source == "report"]
    for run in known:
        if run.document["days_from"] == "assumed":
            days = max(1, (out[1] - out[0]).days)
            told = {**run.document, "days": days, "days_from": "out"}
            runs.keep(
                session,
                tag=tag,
                source="report",
                source_id=run.source_id,
                order_ref=run.order_ref,
                spread_kh=run.document["spread_kh_per_day"] * days,
                document=told,
            )
    if not known:
        for layout_id, each in _of_layouts(session, tag, hire.order_ref, out):
            _keep(session, "layout", layout_id, hire.order_ref, each)


def runs_now(session: Session, tag: str, hire: Hire) -> list[tuple[str, Ran]]:
    """How unevenly a cable runs on the order it is out on, by that order's saved layouts."""
    out = (hire.since.date(), datetime.now(UTC).astimezone(hire.since.tzinfo).date())
    return _of_layouts(session, tag, hire.order_ref, out)


def _of_layouts(
    session: Session, tag: str, order_ref: str, out: tuple[date, date]
) -> list[tuple[str, Ran]]:
    order = tags.order_days(session, [order_ref]).get(order_ref)
    found = []
    for named in tags.naming(session, [tag]):
        if named.order_ref != order_ref:
            continue
        try:
            body = layouts.get(session, named.layout_id).body
            pieces = equipment.find(session, tags.tags_in(body))
            body, _ = filled(body, pieces, strict=False)
            layout = resolve(body, current_catalogue(), loose=True)
        except (LayoutInvalid, NotThere):
            # Saved by an older catalogue, or removed this moment: nothing is known of it.
            continue
        each_run = ran_each(solve(layout), order, out)
        found += [(named.layout_id, each) for each in each_run if each.day.tag == tag]
    return found


def _keep(session: Session, source: runs.Source, source_id: str, order_ref: str, each: Ran) -> None:
    runs.keep(
        session,
        tag=each.day.tag,
        source=source,
        source_id=source_id,
        order_ref=order_ref,
        spread_kh=each.spread_kh,
        document=each.document,
    )
