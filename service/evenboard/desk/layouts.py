"""How a shared layout changes: small changes that two phones can make at once and lose nothing.

A change says what it touches and what it believed to be there: ``move`` has ``from``, ``dim`` has
``was``. It is made where that is still so, is nothing where its end is reached already (a repeat
does no harm), and else collides: somebody else was there first, and a person has to choose. Changes
of different lamps and outlets never collide.

A change is a JSON object with ``op``:

===========  ==========================================================
``plug``     ``load``, ``to``: plug a loose load in
``unplug``   ``load``, ``from``: take it out; it stays on the list
``move``     ``load``, ``from``, ``to``
``swap``     ``load``, ``from``, ``with``, ``to``: two loads change places
``dim``      ``load``, ``was``, ``to``: share of full power, 0 to 1
``set``      ``load``, ``field``, ``was``, ``to``: any other field of a load
``add``      ``new``: the whole load, plugged or loose
``remove``   ``load``, ``from``: off the list; ``from`` is null where it is loose
``burning``  ``was``, ``to``: the set-up that burns
===========  ==========================================================

A place is ``{"board", "outlet"}``, with ``lines`` where the load takes only some of the outlet's.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from copy import deepcopy
from dataclasses import dataclass, field
from typing import Any

__all__ = [
    "BURNING_TOUCH",
    "OPS",
    "SETTABLE",
    "Changed",
    "CollidingChanges",
    "Collision",
    "apply",
    "as_before",
    "load_touch",
    "outlet_touch",
    "outlet_words",
    "place_of",
    "same",
]

Json = dict[str, Any]
Place = Mapping[str, Any] | None

SETTABLE = (
    "name", "fixture", "custom", "count", "lines", "connection", "connector", "dimmer", "lead",
    "setups", "keep", "tag",
)  # fmt: skip
"""Fields of a load that ``set`` changes: all but its id, its place and its dimmer's level."""
PLACE_FIELDS = ("board", "outlet", "lines")


@dataclass(frozen=True, slots=True)
class Collision:
    """A change that found something else than it believed: ``now`` is what is there.

    ``touches`` names the load, outlet or switch that it is about, as an event names what it
    touched.
    """

    index: int
    detail: str
    now: Any
    touches: tuple[str, ...]


class CollidingChanges(Exception):
    """Some of the changes collide with what others did; none was made."""

    def __init__(self, collisions: Sequence[Collision]) -> None:
        super().__init__("; ".join(collision.detail for collision in collisions))
        self.collisions = tuple(collisions)


@dataclass(frozen=True, slots=True)
class Changed:
    """A layout after some changes, what would undo them, what they touched, and in words.

    ``made`` are the changes that did change something; a repeat is not among them.
    """

    body: Json
    burning: str | None
    made: tuple[Json, ...]
    undo: tuple[Json, ...]
    touches: tuple[str, ...]
    words: tuple[str, ...]


def apply(body: Json, burning: str | None, changes: Sequence[Json]) -> Changed:
    """Make changes one after the other, all or none.

    Raises :class:`CollidingChanges` with every collision. Whether the outcome is a layout at all,
    ``intake`` says.
    """
    work = _Work(deepcopy(body), burning)
    collisions = []
    for index, change in enumerate(changes):
        try:
            OPS[change["op"]](work, change)
        except _Collides as collides:
            touches = tuple(collides.touches)
            collisions.append(Collision(index, str(collides), collides.now, touches))
    if collisions:
        raise CollidingChanges(collisions)
    return Changed(
        body=work.body,
        burning=work.burning,
        made=tuple(work.made),
        undo=tuple(reversed(work.undo)),
        touches=tuple(dict.fromkeys(work.touches)),
        words=tuple(work.words),
    )


def as_before(
    body: Json, burning: str | None, events: Iterable[Mapping[str, Any]]
) -> tuple[Json, str | None]:
    """A layout as it was before some events, given the documents of these, the latest first.

    Loads that were taken off the list meanwhile stand at its end.
    """
    for document in events:
        if "before" in document:
            body, burning = document["before"]["body"], document["before"]["burning"]
        else:
            changed = apply(body, burning, document.get("undo", ()))
            body, burning = changed.body, changed.burning
    return body, burning


class _Collides(Exception):
    def __init__(self, detail: str, now: Any, *touches: str) -> None:
        super().__init__(detail)
        self.now = now
        self.touches = touches


@dataclass(slots=True)
class _Work:
    """A layout while it is being changed."""

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
            raise _Collides(f"{load_id} is no longer on the list.", None, load_touch(load_id))
        return found

    def find(self, load_id: str) -> Json | None:
        """A load by id, or None."""
        return next((load for load in self.loads if load["id"] == load_id), None)

    def free(self, to: Mapping[str, Any], but: Sequence[str] = ()) -> None:
        """Collide where an outlet has another plug in it than those of ``but``."""
        for kind, name in self._plugs(to):
            if kind == "board" or name not in but:
                raise _Collides(
                    f"{outlet_words(to)} is taken by {kind} {name}.",
                    {kind: name},
                    outlet_touch(to),
                )

    def _plugs(self, to: Mapping[str, Any]) -> list[tuple[str, str]]:
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
    return "loose" if place is None else f"{place['board']} {place['outlet']}"


def _put(load: Json, to: Place) -> None:
    for name in PLACE_FIELDS:
        load.pop(name, None)
    load.update({name: to[name] for name in PLACE_FIELDS if to and to.get(name)})


def _label(load: Mapping[str, Any]) -> str:
    return str(load["id"])


def _elsewhere(load: Mapping[str, Any], believed: Place) -> _Collides:
    now = place_of(load)
    state = "is unplugged" if now is None else f"is in {outlet_words(now)}"
    return _Collides(
        f"{_label(load)} {state} now, not {'loose' if believed is None else 'in '}"
        f"{'' if believed is None else outlet_words(believed)}.",
        now,
        load_touch(load["id"]),
    )


def _relocate(work: _Work, change: Json, believed: Place, to: Place) -> None:
    """Plug, unplug and move: from where it is believed to be to where it shall be."""
    load = work.load(change["load"])
    now = place_of(load)
    if same(now, to):
        return
    if not same(now, believed):
        raise _elsewhere(load, believed)
    if to is not None:
        work.free(to)
    _put(load, to)
    touches = [load_touch(load["id"]), *(outlet_touch(p) for p in (now, to) if p is not None)]
    if to is None:
        words = f"Unplugged {_label(load)} from {outlet_words(now)}."
        undo: Json = {"op": "plug", "load": load["id"], "to": now}
    elif now is None:
        words = f"Plugged {_label(load)} into {outlet_words(to)}."
        undo = {"op": "unplug", "load": load["id"], "from": dict(to)}
    else:
        words = f"Moved {_label(load)} from {outlet_words(now)} to {outlet_words(to)}."
        undo = {"op": "move", "load": load["id"], "from": dict(to), "to": now}
    work.done(change, undo, words, *touches)


def _plug(work: _Work, change: Json) -> None:
    _relocate(work, change, None, change["to"])


def _unplug(work: _Work, change: Json) -> None:
    _relocate(work, change, change["from"], None)


def _move(work: _Work, change: Json) -> None:
    _relocate(work, change, change["from"], change["to"])


def _swap(work: _Work, change: Json) -> None:
    one, other = work.load(change["load"]), work.load(change["with"])
    here, there = change["from"], change["to"]
    if same(place_of(one), there) and same(place_of(other), here):
        return
    for load, believed in ((one, here), (other, there)):
        if not same(place_of(load), believed):
            raise _elsewhere(load, believed)
    _put(one, there)
    _put(other, here)
    work.done(
        change,
        change | {"from": there, "to": here},
        f"Swapped {_label(one)} and {_label(other)}: {outlet_words(there)}, {outlet_words(here)}.",
        load_touch(one["id"]),
        load_touch(other["id"]),
        outlet_touch(here),
        outlet_touch(there),
    )


def _assign(
    work: _Work, change: Json, name: str, shown: Callable[[Any], str], unsaid: Any = None
) -> None:
    """Give a field of a load another value; null takes it away."""
    load = work.load(change["load"])
    before = load.get(name)
    now, was, to = (unsaid if v is None else v for v in (before, change["was"], change["to"]))
    if now == to:
        return
    about = f"{name} of {_label(load)}"
    if now != was:
        raise _Collides(
            f"{about} is {shown(now)} now, not {shown(was)}.", now, load_touch(load["id"])
        )
    if change["to"] is None:
        load.pop(name, None)
    else:
        load[name] = change["to"]
    undo = change | {"was": change["to"], "to": before}
    told = f"Changed {about} from {shown(now)} to {shown(to)}."
    work.done(change, undo, told, load_touch(load["id"]))


def _shown(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float | int):
        return f"{value:g}"
    if isinstance(value, list):
        return ", ".join(map(str, value)) or "none"
    if isinstance(value, dict):
        return ", ".join(f"{name} {_shown(v)}" for name, v in value.items())
    return "not said" if value is None else str(value)


def _dim(work: _Work, change: Json) -> None:
    _assign(work, change, "dimmed_to", lambda share: f"{100 * share:.4g} %", 1.0)


def _set(work: _Work, change: Json) -> None:
    _assign(work, change, change["field"], _shown)


def _add(work: _Work, change: Json) -> None:
    load = deepcopy(change["new"])
    known = work.find(load["id"])
    if known == load:
        return
    if known is not None:
        raise _Collides(
            f"There is another load {_label(load)} already.", known, load_touch(load["id"])
        )
    to = place_of(load)
    if to is not None:
        work.free(to)
    work.loads.append(load)
    where = f"in {outlet_words(to)}" if to else "loose"
    work.done(
        change,
        {"op": "remove", "load": load["id"], "from": to},
        f"Added {_label(load)}, {where}.",
        load_touch(load["id"]),
        *([outlet_touch(to)] if to else []),
    )


def _remove(work: _Work, change: Json) -> None:
    load = work.find(change["load"])
    if load is None:
        return
    now = place_of(load)
    if not same(now, change["from"]):
        raise _elsewhere(load, change["from"])
    work.loads.remove(load)
    work.done(
        change,
        {"op": "add", "new": load},
        f"Took {_label(load)} off the list.",
        load_touch(load["id"]),
        *([outlet_touch(now)] if now else []),
    )


def _burning(work: _Work, change: Json) -> None:
    to = change["to"]
    if work.burning == to:
        return
    if work.burning != change["was"]:
        now, was = (setup or "none" for setup in (work.burning, change["was"]))
        words = f"The set-up that burns is {now} now, not {was}."
        raise _Collides(words, work.burning, BURNING_TOUCH)
    undo = change | {"was": to, "to": work.burning}
    work.burning = to
    words = "Nothing burns." if to is None else f"{to} burns."
    work.done(change, undo, words, BURNING_TOUCH)


OPS: dict[str, Callable[[_Work, Json], None]] = {
    "plug": _plug,
    "unplug": _unplug,
    "move": _move,
    "swap": _swap,
    "dim": _dim,
    "set": _set,
    "add": _add,
    "remove": _remove,
    "burning": _burning,
}
"""What each kind of change does."""
