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
``plug``, ``move`` and ``add`` take ``beside``: loads that are known to be in that outlet already,
behind an adapter. Changes of boards and of what feeds them stand in :mod:`evenboard.desk.rig`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from copy import deepcopy
from dataclasses import dataclass
from typing import Any

from evenboard.desk import rig
from evenboard.desk.work import (
    BURNING_TOUCH,
    Collides,
    Json,
    Place,
    Work,
    elsewhere,
    label,
    load_touch,
    outlet_touch,
    outlet_words,
    place_of,
    put,
    same,
    shown,
)

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

SETTABLE = (
    "name", "fixture", "custom", "count", "lines", "connection", "connector", "dimmer", "lead",
    "setups", "keep", "tag",
)  # fmt: skip
"""Fields of a load that ``set`` changes: all but its id, its place and its dimmer's level."""


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
    work = Work(deepcopy(body), burning)
    collisions = []
    for index, change in enumerate(changes):
        try:
            OPS[change["op"]](work, change)
        except Collides as collides:
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


def _relocate(work: Work, change: Json, believed: Place, to: Place) -> None:
    """Plug, unplug and move: from where it is believed to be to where it shall be."""
    load = work.load(change["load"])
    now = place_of(load)
    if same(now, to):
        return
    if not same(now, believed):
        raise elsewhere(load, believed)
    if to is not None:
        work.free(to, change.get("beside") or ())
    # An undo must know of a neighbour that is there already.
    beside = [name for kind, name in work.plugs(now) if kind == "load"] if now else []
    put(load, to)
    touches = [load_touch(load["id"]), *(outlet_touch(p) for p in (now, to) if p is not None)]
    if to is None:
        words = f"Unplugged {label(load)} from {outlet_words(now)}."
        undo: Json = {"op": "plug", "load": load["id"], "to": now}
    elif now is None:
        words = f"Plugged {label(load)} into {outlet_words(to)}."
        undo = {"op": "unplug", "load": load["id"], "from": dict(to)}
    else:
        words = f"Moved {label(load)} from {outlet_words(now)} to {outlet_words(to)}."
        undo = {"op": "move", "load": load["id"], "from": dict(to), "to": now}
    if others := [name for name in beside if name != load["id"]]:
        undo["beside"] = others
    work.done(change, undo, words, *touches)


def _plug(work: Work, change: Json) -> None:
    _relocate(work, change, None, change["to"])


def _unplug(work: Work, change: Json) -> None:
    _relocate(work, change, change["from"], None)


def _move(work: Work, change: Json) -> None:
    _relocate(work, change, change["from"], change["to"])


def _swap(work: Work, change: Json) -> None:
    one, other = work.load(change["load"]), work.load(change["with"])
    here, there = change["from"], change["to"]
    if same(place_of(one), there) and same(place_of(other), here):
        return
    for load, believed in ((one, here), (other, there)):
        if not same(place_of(load), believed):
            raise elsewhere(load, believed)
    put(one, there)
    put(other, here)
    work.done(
        change,
        change | {"from": there, "to": here},
        f"Swapped {label(one)} and {label(other)}: {outlet_words(there)}, {outlet_words(here)}.",
        load_touch(one["id"]),
        load_touch(other["id"]),
        outlet_touch(here),
        outlet_touch(there),
    )


def _assign(
    work: Work, change: Json, name: str, told_as: Callable[[Any], str], unsaid: Any = None
) -> None:
    """Give a field of a load another value; null takes it away."""
    load = work.load(change["load"])
    before = load.get(name)
    now, was, to = (unsaid if v is None else v for v in (before, change["was"], change["to"]))
    if now == to:
        return
    about = f"{name} of {label(load)}"
    if now != was:
        raise Collides(
            f"{about} is {told_as(now)} now, not {told_as(was)}.", now, load_touch(load["id"])
        )
    if change["to"] is None:
        load.pop(name, None)
    else:
        load[name] = change["to"]
    undo = change | {"was": change["to"], "to": before}
    told = f"Changed {about} from {told_as(now)} to {told_as(to)}."
    work.done(change, undo, told, load_touch(load["id"]))


def _dim(work: Work, change: Json) -> None:
    _assign(work, change, "dimmed_to", lambda share: f"{100 * share:.4g} %", 1.0)


def _set(work: Work, change: Json) -> None:
    _assign(work, change, change["field"], shown)


def _add(work: Work, change: Json) -> None:
    load = deepcopy(change["new"])
    known = work.find(load["id"])
    if known == load:
        return
    if known is not None:
        raise Collides(
            f"There is another load {label(load)} already.", known, load_touch(load["id"])
        )
    to = place_of(load)
    if to is not None:
        work.free(to, change.get("beside") or ())
    work.loads.append(load)
    where = f"in {outlet_words(to)}" if to else "loose"
    work.done(
        change,
        {"op": "remove", "load": load["id"], "from": to},
        f"Added {label(load)}, {where}.",
        load_touch(load["id"]),
        *([outlet_touch(to)] if to else []),
    )


def _remove(work: Work, change: Json) -> None:
    load = work.find(change["load"])
    if load is None:
        return
    now = place_of(load)
    if not same(now, change["from"]):
        raise elsewhere(load, change["from"])
    work.loads.remove(load)
    beside = [name for kind, name in work.plugs(now) if kind == "load"] if now else []
    work.done(
        change,
        {"op": "add", "new": load} | ({"beside": beside} if beside else {}),
        f"Took {label(load)} off the list.",
        load_touch(load["id"]),
        *([outlet_touch(now)] if now else []),
    )


def _burning(work: Work, change: Json) -> None:
    to = change["to"]
    if work.burning == to:
        return
    if work.burning != change["was"]:
        now, was = (setup or "none" for setup in (work.burning, change["was"]))
        words = f"The set-up that burns is {now} now, not {was}."
        raise Collides(words, work.burning, BURNING_TOUCH)
    undo = change | {"was": to, "to": work.burning}
    work.burning = to
    words = "Nothing burns." if to is None else f"{to} burns."
    work.done(change, undo, words, BURNING_TOUCH)


OPS: dict[str, Callable[[Work, Json], None]] = {
    "plug": _plug,
    "unplug": _unplug,
    "move": _move,
    "swap": _swap,
    "dim": _dim,
    "set": _set,
    "add": _add,
    "remove": _remove,
    "burning": _burning,
    **rig.OPS,
}
"""What each kind of change does."""
