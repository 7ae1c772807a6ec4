"""Small changes of the boards themselves and of what feeds them, beside those of what is plugged.

===============  ==============================================================
``add-board``    ``new``: the whole board, on an outlet (``fed_from``) or the supply
``remove-board`` ``board``, ``from``: away with it, when nothing is plugged into it any more
``set-board``    ``board``, ``field``, ``was``, ``to``: its feeder, type, name …
``set-layout``   ``field``, ``was``, ``to``: supply, set-ups, limits …
===============  ==============================================================
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from copy import deepcopy
from typing import Any

from evenboard.desk.work import (
    BURNING_TOUCH,
    Collides,
    Json,
    Place,
    Work,
    board_touch,
    load_touch,
    outlet_touch,
    outlet_words,
    same,
    shown,
)

__all__ = ["BOARD_FIELDS", "LAYOUT_FIELDS", "OPS"]

BOARD_FIELDS = (
    "name", "type", "outlets", "rcds", "incomer", "fed_from", "feeder", "neutral", "tag",
)  # fmt: skip
"""Fields of a board that ``set-board`` changes: all but its id."""
LAYOUT_FIELDS = ("name", "region", "supply", "ambient_c", "setups", "start_order", "limits")
"""Fields of a layout that ``set-layout`` changes: all but its boards and loads."""


def _find(work: Work, board_id: str) -> Json | None:
    return next((board for board in work.body["boards"] if board["id"] == board_id), None)


def _fed(place: Place) -> str:
    return "the supply" if place is None else outlet_words(place)


def _hung(place: Place, *names: str) -> tuple[str, ...]:
    touches = tuple(map(board_touch, names))
    return touches if place is None else (*touches, outlet_touch(place))


def _add(work: Work, change: Json) -> None:
    board = deepcopy(change["new"])
    known = _find(work, board["id"])
    if known == board:
        return
    if known is not None:
        there = f"There is another board {board['id']} already."
        raise Collides(there, known, board_touch(board["id"]))
    to = board.get("fed_from")
    if to is not None:
        if _find(work, str(to.get("board"))) is None:
            gone = f"There is no board {to.get('board')} any more."
            raise Collides(gone, None, board_touch(str(to.get("board"))))
        work.free(to)
    work.body["boards"].append(board)
    undo = {"op": "remove-board", "board": board["id"], "from": to}
    work.done(change, undo, f"Hung board {board['id']} on {_fed(to)}.", *_hung(to, board["id"]))


def _remove(work: Work, change: Json) -> None:
    board = _find(work, change["board"])
    if board is None:
        return
    now, name = board.get("fed_from"), board["id"]
    if not same(now, change["from"]):
        moved = f"Board {name} is on {_fed(now)} now, not on {_fed(change['from'])}."
        raise Collides(moved, now, board_touch(name))
    held = [load["id"] for load in work.loads if load.get("board") == name and load.get("outlet")]
    hung = [b["id"] for b in work.body["boards"] if (b.get("fed_from") or {}).get("board") == name]
    if held or hung:
        names = [*held, *hung]
        full = f"{', '.join(names[:4])} {'is' if len(names) == 1 else 'are'} plugged into {name}."
        raise Collides(
            full, board, board_touch(name), *map(load_touch, held), *map(board_touch, hung)
        )
    work.body["boards"].remove(board)
    undo = {"op": "add-board", "new": board}
    work.done(change, undo, f"Took board {name} away.", *_hung(now, name))


def _said(value: Any) -> Any:
    # A name that is empty is as good as none.
    return None if value == "" else value


def _assign(
    work: Work, change: Json, thing: Json, about: str, touches: Callable[[], tuple[str, ...]]
) -> None:
    name = change["field"]
    now = thing.get(name)
    if _said(now) == _said(change["to"]):
        return
    if _said(now) != _said(change["was"]):
        other = f"{name} of {about} is {shown(now)} now, not {shown(change['was'])}."
        raise Collides(other, now, *touches())
    if change["to"] is None:
        thing.pop(name, None)
    else:
        thing[name] = deepcopy(change["to"])
    undo = change | {"was": change["to"], "to": now}
    long = any(isinstance(v, dict | list) for v in (now, change["to"]))
    told = "" if long else f" from {shown(now)} to {shown(change['to'])}"
    work.done(change, undo, f"Changed {name} of {about}{told}.", *touches())


def _set_board(work: Work, change: Json) -> None:
    board = _find(work, change["board"])
    touch = board_touch(change["board"])
    if board is None:
        raise Collides(f"There is no board {change['board']} any more.", None, touch)
    if change["field"] == "fed_from" and change["to"] is not None:
        to: Mapping[str, Any] = change["to"]
        if not same(to, board.get("fed_from")):
            work.free(to)
    _assign(work, change, board, f"board {board['id']}", lambda: (touch,))


def _set_layout(work: Work, change: Json) -> None:
    _assign(work, change, work.body, "the layout", lambda: (change["field"],))
    burns = work.burning
    if change["field"] == "setups" and burns not in (None, *_ids(change["to"])):
        # A set-up that is no more cannot burn; taken back, it burns again.
        work.burning = None
        off = {"op": "burning", "was": burns, "to": None}
        work.done(off, off | {"was": None, "to": burns}, "Nothing burns.", BURNING_TOUCH)


def _ids(setups: Any) -> list[Any]:
    # Whether they are set-ups at all is not yet looked at.
    items = setups if isinstance(setups, list) else ()
    return [setup.get("id") for setup in items if isinstance(setup, Mapping)]


OPS: Mapping[str, Callable[[Work, Json], None]] = {
    "add-board": _add,
    "remove-board": _remove,
    "set-board": _set_board,
    "set-layout": _set_layout,
}
"""What each kind of change does."""
