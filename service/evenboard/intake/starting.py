"""The order of switching on: groups of loads that go on together."""

from __future__ import annotations

from collections.abc import Sequence

from evenboard.intake.bounds import MAX_LOADS
from evenboard.intake.entry import Entry
from evenboard.intake.nearest import quoted

__all__ = ["read_start_order"]


def read_start_order(
    body: Entry, loads: Sequence[str], *, complete: bool
) -> tuple[tuple[str, ...], ...]:
    """The groups of ``start_order``; a name that is no load, or a second time one, is a fault.

    ``complete`` says that every load of the body could be read: only then is a name unknown.
    """
    value = body.values.get("start_order")
    if value is None:
        return ()
    if not isinstance(value, list | tuple) or len(value) > MAX_LOADS:
        body.fault(
            f"start_order is {quoted(value)}: a list of at most {MAX_LOADS} groups of load ids.",
            "start_order",
        )
        return ()
    seen: set[str] = set()
    groups = []
    for place, group in enumerate(value):
        if not isinstance(group, list | tuple):
            body.fault(f"This is {quoted(group)}: a list of load ids.", "start_order", place)
            continue
        for index, name in enumerate(group):
            where = ("start_order", place, index)
            if not isinstance(name, str):
                body.fault(f"This is {quoted(name)}: the id of a load.", *where)
            elif name in seen:
                body.fault(f"{quoted(name)} is switched on twice.", *where)
            elif complete and name not in loads:
                body.fault(
                    f"There is no load {quoted(name)}.{body.suggest(name, loads, 'load')}", *where
                )
            else:
                seen.add(name)
        groups.append(tuple(name for name in group if isinstance(name, str)))
    return tuple(groups)
