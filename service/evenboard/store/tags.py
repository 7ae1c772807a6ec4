"""Which tags a layout names, and which saved layouts name a tag."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, Literal

from sqlalchemy import delete, select
from sqlalchemy.orm import Session

from evenboard.store.rows_equipment import LayoutTagRow
from evenboard.store.rows_layouts import LayoutRow
from evenboard.store.rows_orders import OrderRow

__all__ = ["Days", "Naming", "Place", "Use", "keep", "naming", "order_days", "places", "tags_in"]

Days = tuple[date | None, date | None]
"""First and last day of an order, None where the desk has not said."""
Use = Literal["board", "run", "load"]


@dataclass(frozen=True, slots=True)
class Place:
    """A place of a body that names a tag: a board, a run of cable (feeder or lead), a load.

    ``path`` leads to the object that has the tag, ``values`` is that object.
    """

    tag: str
    use: Use
    path: tuple[str | int, ...]
    values: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Naming:
    """A saved layout that names a tag: its id, name and order."""

    tag: str
    layout_id: str
    layout: str
    order_ref: str | None


def places(body: Any) -> Iterator[Place]:
    """Every place of a body that names a tag. The body may be any JSON value."""
    for name, use, run in (("boards", "board", "feeder"), ("loads", "load", "lead")):
        items = body.get(name) if isinstance(body, Mapping) else None
        if not isinstance(items, list | tuple):
            continue
        for index, item in enumerate(items):
            if isinstance(item, Mapping):
                yield from _named(item, use, (name, index))  # type: ignore[arg-type]
                yield from _named(item.get(run), "run", (name, index, run))


def _named(item: Any, use: Use, path: tuple[str | int, ...]) -> Iterator[Place]:
    if not isinstance(item, Mapping):
        return
    tag = item.get("tag")
    if isinstance(tag, str) and tag:
        yield Place(tag, use, path, item)


def tags_in(body: Any) -> set[str]:
    """The tags that a body names."""
    return {place.tag for place in places(body)}


def keep(session: Session, layout_id: str, body: Any) -> None:
    """Keep which tags a saved layout names now."""
    session.execute(delete(LayoutTagRow).where(LayoutTagRow.layout_id == layout_id))
    session.add_all(LayoutTagRow(layout_id=layout_id, tag=tag) for tag in sorted(tags_in(body)))
    session.flush()


def naming(session: Session, tags: Collection[str]) -> Sequence[Naming]:
    """The saved layouts that name one of some tags, by tag, the latest first."""
    if not tags:
        return []
    query = (
        select(LayoutTagRow.tag, LayoutRow.id, LayoutRow.name, LayoutRow.order_ref)
        .join(LayoutRow, LayoutRow.id == LayoutTagRow.layout_id)
        .where(LayoutTagRow.tag.in_(tags), LayoutRow.removed_at.is_(None))
        .order_by(LayoutTagRow.tag, LayoutRow.created_at.desc(), LayoutRow.id)
    )
    return [Naming(*row) for row in session.execute(query)]


def order_days(session: Session, refs: Collection[str]) -> dict[str, Days]:
    """The days of some orders; a reference that the desk has no order of is left out."""
    if not refs:
        return {}
    query = select(OrderRow.ref, OrderRow.starts_on, OrderRow.ends_on)
    found = session.execute(query.where(OrderRow.ref.in_(refs)))
    return {ref: (starts_on, ends_on) for ref, starts_on, ends_on in found}
