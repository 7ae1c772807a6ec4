"""A layout while small changes are made to it: what is plugged where, and what came of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from evenboard.findings.words import outlet_label

__all__ = [
    "BURNING_TOUCH",
    "PLACE_FIELDS",
    "Collides",
    "Json",
    "Place",
    "Work",
    "board_touch",
    "elsewhere",
    "label",
    "load_touch",
    "outlet_touch",
    "outlet_words",
    "place_of",
    "put",
    "same",
    "shown",
]

Json = dict[str, Any]
Place = Mapping[str, Any] | None

PLACE_FIELDS = ("board", "outlet", "lines")


class Collides(Exception):
    """A change that found something else than it believed; ``touches`` as in a collision."""

    def __init__(self, detail: str, now: Any, *touches: str) -> None:
        super().__init__(detail)
        self.now = now
        self.touches = touches


@dataclass(slots=True)
class Work:
    """A layout while it is being changed, and what has come of it so far."""

    body: Json
    burning: str | None
    made: list[Json] = field(default_factory=list)
    undo: list[Json] = field(default_factory=list)
    touches: list[str] = field(default_factory=list)
    words: list[str] = field(default_factory=list)

    @property
    def loads(self) -> list[Json]:
        """The layout's list of loads, made where it had none."""
        if self.body.get("loads") is None:
            self.body["loads"] = []
        loads: list[Json] = self.body["loads"]
        return loads

    def load(self, load_id: str) -> Json:
        """A load by id. Collides where it is gone."""
        found = self.find(load_id)
        if found is None:
            raise Collides(f"{load_id} is no longer on the list.", None, load_touch(load_id))
        return found

    def find(self, load_id: str) -> Json | None:
        """A load by id, or None."""
        return next((load for load in self.loads if load["id"] == load_id), None)

    def free(self, to: Mapping[str, Any], but: Sequence[str] = ()) -> None:
        """Collide where an outlet has another plug in it than the loads of ``but``."""
        for kind, name in self.plugs(to):
            if kind == "board" or name not in but:
                raise Collides(
                    f"{outlet_words(to)} is taken by {kind} {name}.",
                    {kind: name},
                    outlet_touch(to),
                )

    def plugs(self, to: Mapping[str, Any]) -> list[tuple[str, str]]:
        """What is in an outlet: ``("load", id)``, ``("board", id)``."""
        loads = [("load", load["id"]) for load in self.loads if same(place_of(load), to)]
        boards = self.body["boards"]
        return loads + [("board", b["id"]) for b in boards if same(b.get("fed_from"), to)]

    def done(self, change: Json, undo: Json, words: str, *touches: str) -> None:
        """Note a change that was made."""
        self.made.append(change)
        self.undo.append(undo)
        self.words.append(words)
        self.touches += touches


def load_touch(load_id: str) -> str:
    """What an event says that touched a load."""
    return f"load:{load_id}"


def outlet_touch(place: Mapping[str, Any]) -> str:
    """What an event says that touched an outlet."""
    return f"outlet:{place['board']}/{place['outlet']}"


def board_touch(board_id: str) -> str:
    """What an event says that touched a board."""
    return f"board:{board_id}"


BURNING_TOUCH = "burning"


def place_of(load: Mapping[str, Any]) -> Json | None:
    """Where a load is plugged; None for a loose one."""
    if load.get("outlet") is None:
        return None
    return {name: load[name] for name in PLACE_FIELDS if load.get(name)}


def same(one: Place, other: Place) -> bool:
    """Whether two places are the same outlet, or both none."""
    if one is None or other is None:
        return one is other
    return all(one.get(name) == other.get(name) for name in ("board", "outlet"))


def outlet_words(place: Place) -> str:
    """A place in words."""
    return "loose" if place is None else f"{place['board']} {outlet_label(place['outlet'])}"


def put(load: Json, to: Place) -> None:
    """Plug a load into a place, or with None take it out."""
    for name in PLACE_FIELDS:
        load.pop(name, None)
    load.update({name: to[name] for name in PLACE_FIELDS if to and to.get(name)})


def label(load: Mapping[str, Any]) -> str:
    """What a person calls a load: its name, else its id."""
    return str(load.get("name") or load["id"])


def elsewhere(load: Mapping[str, Any], believed: Place) -> Collides:
    """The collision of a load that is not where it was believed to be."""
    now = place_of(load)
    state = "is unplugged" if now is None else f"is in {outlet_words(now)}"
    return Collides(
        f"{label(load)} {state} now, not {'loose' if believed is None else 'in '}"
        f"{'' if believed is None else outlet_words(believed)}.",
        now,
        load_touch(load["id"]),
    )


def shown(value: Any) -> str:
    """A value of a field in words."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float | int):
        return f"{value:g}"
    if isinstance(value, list):
        return ", ".join(map(str, value)) or "none"
    if isinstance(value, dict):
        return ", ".join(f"{name} {shown(v)}" for name, v in value.items())
    return "not said" if value is None else str(value)
