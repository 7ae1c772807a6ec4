"""Where a load is plugged in: its board, its outlet, the lines it takes, and whether it fits."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from evenboard.electrics.equipment import Connection, OutletStandard
from evenboard.electrics.layout import Board, Outlet
from evenboard.intake.entry import Entry
from evenboard.intake.lines import LINES, in_words
from evenboard.intake.nearest import listed, quoted
from evenboard.intake.plug import LINES_OF, connection_on, needs_neutral
from evenboard.intake.tree import Tree

__all__ = ["Place", "read_place"]

CONNECTIONS: dict[str, Connection] = {
    "single": "single",
    "line-to-line": "line-to-line",
    "star": "star",
    "delta": "delta",
}
MULTI_WAY = "four-way"
"""The board type that turns one outlet into several."""


@dataclass(frozen=True, slots=True)
class Place:
    """A place for a load; ``board`` and ``outlet`` are None for a loose one."""

    board: int | None
    outlet: str | None
    supply_lines: tuple[int, ...]
    connection: Connection
    connector: str | None


def read_place(
    entry: Entry,
    load_id: str | None,
    own: Connection | None,
    tree: Tree,
    connectors: Mapping[str, OutletStandard],
    loose: bool,
) -> Place | None:
    """The place of a load; None after a fault, or where a fault of its board hides it.

    ``own`` is the fixture type's connection, None for a spelled-out load or an unknown type.
    """
    connector = _connector(entry, connectors)
    wished = entry.choice("connection", CONNECTIONS)
    chosen = _lines(entry)
    board_id = entry.id("board", noun="board that the load is plugged into")
    outlet_id = entry.id("outlet", noun="outlet that the load is plugged into")
    if not entry.has("outlet"):
        return _without_outlet(entry, board_id, own, wished, connector, tree, loose)
    if not entry.has("board"):
        _without_board(entry, outlet_id, tree)
        return None
    if board_id is None or outlet_id is None or not _exists(entry, board_id, outlet_id, tree):
        return None
    _claim(entry, load_id, board_id, outlet_id, tree)
    board = tree.board(board_id)
    outlet = board.outlet(outlet_id) if board is not None else None
    if board is None or outlet is None:
        return None
    _check_plug(entry, connector, board, outlet, tree, connectors)
    lines = _lines_taken(entry, chosen, own, board, outlet, tree)
    if lines is None:
        return None
    connection = connection_on(len(lines), own, wished)
    if connection is None:
        _cannot_connect(entry, wished, own, board, outlet, len(lines))
        return None
    if needs_neutral(connection) and not outlet.type.neutral:
        _no_neutral(entry, connection, board, outlet, tree)
        return None
    return Place(tree.index[board_id], outlet_id, lines, connection, connector)


def _without_outlet(
    entry: Entry,
    board_id: str | None,
    own: Connection | None,
    wished: str | None,
    connector: str | None,
    tree: Tree,
    loose: bool,
) -> Place | None:
    if not loose:
        free = tree.free(LINES_OF[own or "single"][0], board_id)
        hint = f" Free: {listed(free, 'and')}." if free else ""
        entry.fault(
            f"The load is not plugged in: name board and outlet, or have it planned.{hint}",
            "outlet",
        )
        return None
    if entry.has("board"):
        entry.fault(
            "board stands without outlet: name the outlet, or leave both out for a loose load.",
            "outlet",
        )
        return None
    if entry.has("lines"):
        entry.fault("lines are those of an outlet: a loose load has none yet.", "lines")
        return None
    connection = own or CONNECTIONS.get(wished or "single", "single")
    if own is not None and wished is not None and wished != own:
        entry.fault(f"connection is {wished}, but the type is {own}.", "connection")
        return None
    return Place(None, None, (), connection, connector)


def _without_board(entry: Entry, outlet_id: str | None, tree: Tree) -> None:
    having = [b for b, d in tree.drafts.items() if d.outlets and outlet_id in d.outlets]
    hint = f" {listed(having)} has an outlet of that name." if having else ""
    entry.fault(f"board is missing: name the board that the outlet is on.{hint}", "board")


def _exists(entry: Entry, board_id: str, outlet_id: str, tree: Tree) -> bool:
    draft = tree.drafts.get(board_id)
    if draft is None and not tree.complete:
        return False
    if draft is None:
        hint = entry.suggest(board_id, tree.drafts, "board")
        entry.fault(f"There is no board {quoted(board_id)}.{hint}", "board")
        return False
    if draft.outlets is None or outlet_id in draft.outlets or outlet_id in draft.places:
        return True
    hint = entry.suggest(outlet_id, draft.outlets, "outlet")
    entry.fault(f"{board_id} has no outlet {quoted(outlet_id)}.{hint}", "outlet")
    return False


def _claim(entry: Entry, load_id: str | None, board_id: str, outlet_id: str, tree: Tree) -> None:
    """One plug for each outlet. A second one needs a multi-way lead between, which is a board."""
    other = tree.used.setdefault((board_id, outlet_id), f"load {load_id}")
    if other == f"load {load_id}" and load_id is not None:
        return
    board = tree.board(board_id)
    outlet = board.outlet(outlet_id) if board else None
    free = tree.free(len(outlet.supply_lines), board_id) if outlet else []
    hint = f" Or use a free outlet: {listed(free, 'or', 4)}." if free else ""
    entry.fault(
        f"Outlet {outlet_id} of {board_id} already takes {other}: one plug for each outlet. For "
        f'both, use a multi-way lead: a board of type "{MULTI_WAY}" with fed_from {{"board": '
        f'"{board_id}", "outlet": "{outlet_id}"}}, and plug them into that.{hint}',
        "outlet",
    )


def _connector(entry: Entry, connectors: Mapping[str, OutletStandard]) -> str | None:
    name = entry.values.get("connector")
    if name is None:
        return None
    if not isinstance(name, str) or name not in connectors:
        hint = entry.suggest(name, connectors, "connector")
        entry.fault(f"There is no connector {quoted(name)}.{hint}", "connector")
        return None
    return name


def _check_plug(
    entry: Entry,
    connector: str | None,
    board: Board,
    outlet: Outlet,
    tree: Tree,
    connectors: Mapping[str, OutletStandard],
) -> None:
    """The load's plug must go into the outlet, where both are known."""
    there = connectors.get(outlet.type.connector or "")
    if connector is None or there is None or connector in (there.id, *there.accepts):
        return

    def takes(other: Outlet) -> bool:
        standard = connectors.get(other.type.connector or "")
        return standard is not None and connector in (standard.id, *standard.accepts)

    fitting = [
        o.id if b is board else f"{b.id} {o.id}"
        for b in sorted(tree.boards, key=lambda b: b is not board)
        for o in b.outlets
        if tree.is_free(b.id, o.id) and takes(o)
    ]
    hint = (
        f"It goes into {listed(fitting, 'or', 4)}." if fitting else "No free outlet here takes it."
    )
    entry.fault(
        f"The plug ({connectors[connector].name}) does not go into {outlet.id} of {board.id} "
        f"({there.name}). {hint}",
        "connector",
    )


def _lines(entry: Entry) -> list[str] | None:
    """Which of the outlet's lines the load takes, where it says so."""
    if not entry.has("lines"):
        return None
    names = entry.names("lines", "line", len(LINES))
    if names is not None and (not names or len(set(names)) != len(names)):
        entry.fault("lines names one to three lines of the outlet, each once.", "lines")
        return []
    return [] if names is None else names


def _lines_taken(
    entry: Entry,
    chosen: list[str] | None,
    own: Connection | None,
    board: Board,
    outlet: Outlet,
    tree: Tree,
) -> tuple[int, ...] | None:
    """Supply conductors of the load: all of the outlet's, or those that it names."""
    if chosen == []:
        return None
    names = outlet.type.lines if chosen is None else chosen
    wrong = [index for index, name in enumerate(names) if name not in outlet.type.lines]
    for index in wrong:
        entry.fault(
            f"Outlet {outlet.id} of {board.id} has no {quoted(names[index])}; it has "
            f"{listed(outlet.type.lines, 'and')}.",
            "lines",
            index,
        )
    if wrong:
        return None
    if own is not None and len(names) not in LINES_OF[own]:
        wanted = LINES_OF[own][0]
        free = tree.free(wanted, board.id)
        hint = f" Free outlets with that: {listed(free, 'and')}." if free else ""
        if len(names) > wanted and chosen is None:
            hint += f' Or say in lines which it takes, such as ["{names[0]}"].'
        entry.fault(
            f"The load takes {in_words(wanted, 'line')}, outlet {outlet.id} of {board.id} has "
            f"{in_words(len(outlet.type.lines), 'line')}.{hint}",
            "outlet" if chosen is None else "lines",
        )
        return None
    return tuple(outlet.supply_lines[outlet.type.lines.index(name)] for name in names)


def _cannot_connect(
    entry: Entry,
    wished: str | None,
    own: Connection | None,
    board: Board,
    outlet: Outlet,
    lines: int,
) -> None:
    right = {1: "single", 2: "line-to-line", 3: own or "star or delta"}[lines]
    entry.fault(
        f"connection is {wished}, but with {in_words(lines, 'line')} of outlet {outlet.id} of "
        f"{board.id} it is {right}.",
        "connection",
    )


def _no_neutral(
    entry: Entry, connection: Connection, board: Board, outlet: Outlet, tree: Tree
) -> None:
    free = [
        f"{b.id} {o.id}"
        for b in tree.boards
        for o in b.outlets
        if o.type.neutral
        and len(o.supply_lines) == len(outlet.supply_lines)
        and tree.is_free(b.id, o.id)
    ]
    hint = f" Free outlets with a neutral: {listed(free, 'and', 4)}." if free else ""
    delta = " A load without a neutral is connection delta." if connection == "star" else ""
    entry.fault(
        f"Outlet {outlet.id} of {board.id} has no neutral, and the load needs one.{delta}{hint}",
        "outlet",
    )
