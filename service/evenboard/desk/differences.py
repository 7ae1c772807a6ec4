"""What differs between two states of a layout, in words and by what it touches."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from evenboard.desk.work import (
    BURNING_TOUCH,
    load_touch,
    outlet_touch,
    outlet_words,
    place_of,
    same,
)

__all__ = ["Difference", "differences"]

Json = Mapping[str, Any]
Difference = tuple[str, tuple[str, ...]]
"""A sentence and what it is about, as an event names what it touched."""


def differences(
    before: Json, after: Json, burning: tuple[str | None, str | None]
) -> list[Difference]:
    """Every difference between two bodies of a layout, loads first; empty where they are equal."""
    found = _loads(_by_id(before.get("loads")), _by_id(after.get("loads")))
    found += _boards(_by_id(before.get("boards")), _by_id(after.get("boards")))
    for name in sorted((before.keys() | after.keys()) - {"loads", "boards"}):
        if before.get(name) != after.get(name):
            found.append((f"Changed {name}.", (name,)))
    if burning[0] != burning[1]:
        found.append((f"{burning[1]} burns." if burning[1] else "Nothing burns.", (BURNING_TOUCH,)))
    return found


def _by_id(items: Sequence[Json] | None) -> dict[str, Json]:
    return {str(item["id"]): item for item in items or ()}


def _loads(before: Mapping[str, Json], after: Mapping[str, Json]) -> list[Difference]:
    found: list[Difference] = []
    for name in [*before, *(n for n in after if n not in before)]:
        old, new = before.get(name), after.get(name)
        was, is_now = (None if load is None else place_of(load) for load in (old, new))
        touches = (load_touch(name), *(outlet_touch(p) for p in (was, is_now) if p is not None))
        if old is None:
            found.append((f"Added {name}, {_where(is_now)}.", touches))
        elif new is None:
            found.append((f"Took {name} off the list.", touches))
        else:
            if not same(was, is_now):
                words = f"Moved {name} from {outlet_words(was)} to {outlet_words(is_now)}."
                found.append((words, touches))
            fields = _changed(old, new, but=("board", "outlet"))
            if fields:
                found.append((f"Changed {', '.join(fields)} of {name}.", (load_touch(name),)))
    return found


def _where(place: Json | None) -> str:
    return "loose" if place is None else f"in {outlet_words(place)}"


def _boards(before: Mapping[str, Json], after: Mapping[str, Json]) -> list[Difference]:
    found: list[Difference] = []
    for name in [*before, *(n for n in after if n not in before)]:
        old, new = before.get(name), after.get(name)
        touch = (f"board:{name}",)
        if old is None:
            found.append((f"Added board {name}.", touch))
        elif new is None:
            found.append((f"Took board {name} away.", touch))
        elif fields := _changed(old, new):
            found.append((f"Changed {', '.join(fields)} of board {name}.", touch))
    return found


def _changed(old: Json, new: Json, but: Sequence[str] = ()) -> list[str]:
    names = sorted((old.keys() | new.keys()) - set(but))
    return [name for name in names if old.get(name) != new.get(name)]
