"""Hanging the boards on each other and on the supply: order, lines, neutral, ratings, plugs."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

from evenboard.electrics.equipment import OutletStandard, OutletType
from evenboard.electrics.layout import Board, Outlet, Supply
from evenboard.intake.boards import BoardDraft
from evenboard.intake.lines import LINES, LINES_OF_SYSTEM, in_words
from evenboard.intake.nearest import listed, quoted

__all__ = ["Tree", "plant"]


@dataclass(slots=True)
class Tree:
    """The boards in place, parents first. ``drafts`` also knows those that a fault kept out.

    ``complete`` is False where the name of some board could not be read: a board that is named
    elsewhere may then be that one. ``used`` says what is plugged into an outlet, by board id and
    outlet id; ``wanted`` has the outlets that any load names, read or not yet, so that none of them
    is offered as free.
    """

    drafts: dict[str, BoardDraft]
    boards: list[Board] = field(default_factory=list)
    index: dict[str, int] = field(default_factory=dict)
    complete: bool = True
    used: dict[tuple[str, str], str] = field(default_factory=dict)
    wanted: set[tuple[object, object]] = field(default_factory=set)

    def is_free(self, board_id: str, outlet_id: str) -> bool:
        """Whether nothing is plugged into an outlet."""
        place = (board_id, outlet_id)
        return place not in self.used and place not in self.wanted

    def board(self, board_id: str) -> Board | None:
        """The board of that id if it is in place."""
        place = self.index.get(board_id)
        return None if place is None else self.boards[place]

    def free(self, lines: int, board_id: str | None = None) -> list[str]:
        """Free outlets with so many lines, those of ``board_id`` first, as ``board outlet``."""
        boards = sorted(self.boards, key=lambda b: b.id != board_id)
        return [
            outlet.id if board.id == board_id else f"{board.id} {outlet.id}"
            for board in boards
            for outlet in board.outlets
            if len(outlet.supply_lines) == lines and self.is_free(board.id, outlet.id)
        ]


@dataclass(frozen=True, slots=True)
class _Source:
    """What a board is plugged into: the supply's terminals or an outlet."""

    name: str
    lines: tuple[str, ...]
    supply_lines: tuple[int, ...]
    neutral: bool
    rating_a: float
    connector: str | None


def plant(
    drafts: Iterable[BoardDraft],
    supply: Supply | None,
    connectors: Mapping[str, OutletStandard],
    *,
    complete: bool = True,
) -> Tree:
    """Put every board in its place that can be; note why the others cannot.

    A board with a fault of its own still stands in the tree if its outlets are known: what hangs on
    it is then checked too.
    """
    drafts = list(drafts)
    tree = Tree({}, complete=complete)
    for draft in drafts:
        if draft.id is not None:
            tree.drafts.setdefault(draft.id, draft)
    for draft in _parents_first(tree, drafts):
        _mark_used(tree, draft)
        if not draft.hangs or draft.outlets is None or supply is None or draft.id is None:
            continue
        source = _source(tree, draft, supply)
        if source is None:
            continue
        board = _place(tree, draft, source, connectors)
        if board is not None:
            tree.index[draft.id] = len(tree.boards)
            tree.boards.append(board)
    return tree


def _parents_first(tree: Tree, drafts: list[BoardDraft]) -> list[BoardDraft]:
    """Boards in an order in which each stands after what feeds it; circles are faults."""
    ordered: list[BoardDraft] = []
    done: set[int] = set()
    for start in drafts:
        chain: list[BoardDraft] = []
        draft: BoardDraft | None = start
        while draft is not None and id(draft) not in done:
            if any(draft is other for other in chain):
                _circle(chain[next(i for i, d in enumerate(chain) if d is draft) :])
                break
            chain.append(draft)
            draft = _parent(tree, draft)
        for link in reversed(chain):
            done.add(id(link))
            ordered.append(link)
    return ordered


def _circle(chain: list[BoardDraft]) -> None:
    first = min(range(len(chain)), key=lambda i: chain[i].entry.path[-1])
    chain = [*chain[first:], *chain[:first]]
    way = " is fed from ".join(str(draft.id) for draft in [*chain, chain[0]])
    chain[0].entry.fault(
        f"The boards run in a circle: {way}. Feed one of them from the supply (fed_from null) or "
        "from a board outside the circle.",
        "fed_from",
        "board",
    )
    for draft in chain:
        draft.hangs = False


def _parent(tree: Tree, draft: BoardDraft) -> BoardDraft | None:
    return None if draft.parent is None else tree.drafts.get(draft.parent)


def _mark_used(tree: Tree, draft: BoardDraft) -> None:
    """Claim the feeding outlet, whether or not the board itself is sound."""
    if draft.parent is None or draft.parent_outlet is None:
        return
    key = (draft.parent, draft.parent_outlet)
    other = tree.used.get(key)
    if other is None:
        tree.used[key] = f"board {draft.id}"
        return
    draft.entry.fault(
        f"{quoted(draft.parent_outlet)} of {draft.parent} already feeds {other}: one plug for each "
        "outlet. Feed this board from another outlet, or from a distribution board between.",
        "fed_from",
        "outlet",
    )
    draft.hangs = False


def _source(tree: Tree, draft: BoardDraft, supply: Supply) -> _Source | None:
    if draft.parent is None:
        return _Source(
            "the supply",
            supply.lines,
            tuple(range(len(supply.lines))),
            supply.neutral,
            supply.rating_a,
            None,
        )
    entry = draft.entry
    if draft.parent not in tree.drafts:
        if not tree.complete:
            return None
        others = [name for name in tree.drafts if name != draft.id]
        hint = entry.suggest(draft.parent, others, "board")
        entry.fault(f"There is no board {quoted(draft.parent)}.{hint}", "fed_from", "board")
        return None
    parent_outlets = tree.drafts[draft.parent].outlets
    if parent_outlets is not None and draft.parent_outlet not in parent_outlets:
        hint = entry.suggest(draft.parent_outlet, parent_outlets, "outlet")
        entry.fault(
            f"{draft.parent} has no outlet {quoted(draft.parent_outlet)}.{hint}",
            "fed_from",
            "outlet",
        )
        return None
    parent = tree.board(draft.parent)
    outlet = parent.outlet(draft.parent_outlet or "") if parent else None
    if outlet is None:
        return None
    return _Source(
        f"outlet {outlet.id} of {draft.parent}",
        outlet.type.lines,
        outlet.supply_lines,
        outlet.type.neutral,
        outlet.type.rating_a,
        outlet.type.connector,
    )


def _place(
    tree: Tree, draft: BoardDraft, source: _Source, connectors: Mapping[str, OutletStandard]
) -> Board | None:
    assert draft.id is not None
    assert draft.outlets is not None
    lines, supply_lines = _own_lines(tree, draft, source)
    if not lines:
        return None
    neutral = source.neutral and draft.neutral is not False
    if draft.neutral and not source.neutral:
        draft.entry.fault(f"{draft.id} has no neutral: {source.name} has none.", "neutral")
    _check_neutral(tree, draft, source, neutral, len(lines))
    _check_inlet(tree, draft, source, connectors)
    outlets = [
        _outlet(draft, outlet, lines, supply_lines, neutral) for outlet in draft.outlets.values()
    ]
    ratings = [source.rating_a]
    if draft.incomer_rating_a is not None:
        ratings.append(draft.incomer_rating_a)
    elif draft.type is not None:
        ratings.append(draft.type.inlet_rating_a)
    return Board(
        id=draft.id,
        type_id=draft.type.id if draft.type else None,
        name=draft.name or (draft.type.name if draft.type else draft.id),
        parent=None if draft.parent is None else tree.index[draft.parent],
        parent_outlet=draft.parent_outlet,
        feeder=draft.feeder,
        lines=lines,
        supply_lines=supply_lines,
        neutral=neutral,
        inlet_rating_a=min(ratings),
        outlets=tuple(outlet for outlet in outlets if outlet is not None),
        rcds=draft.rcds,
        incomer=draft.incomer,
        incomer_rcd=draft.incomer_rcd,
        tag=draft.tag,
    )


def _own_lines(
    tree: Tree, draft: BoardDraft, source: _Source
) -> tuple[tuple[str, ...], tuple[int, ...]]:
    """The board's own line names and the supply conductors behind them.

    Line by line the board takes the source's, or those that ``phase_order`` names, in its order.
    """
    taken = draft.phase_order or source.lines
    for place, name in enumerate(taken):
        if name not in source.lines:
            draft.entry.fault(
                f"{source.name} has no line {quoted(name)}; it has {listed(source.lines, 'and')}.",
                "fed_from",
                "phase_order",
                place,
            )
            return (), ()
    wanted = len(LINES_OF_SYSTEM[draft.type.system]) if draft.type else len(taken)
    if wanted != len(taken):
        _wrong_number_of_lines(tree, draft, source, wanted, len(taken))
        return (), ()
    supply_lines = tuple(source.supply_lines[source.lines.index(name)] for name in taken)
    used = {name for outlet in (draft.outlets or {}).values() for name in outlet.lines}
    if len(taken) == 1 and len(used) == 1:
        # One line has no other to be mistaken for: the board may call it as it likes.
        return tuple(used), supply_lines
    return LINES[: len(taken)], supply_lines


def _wrong_number_of_lines(
    tree: Tree, draft: BoardDraft, source: _Source, wanted: int, given: int
) -> None:
    assert draft.type is not None
    what = f"{draft.type.id} takes {in_words(wanted, 'line')}"
    if draft.phase_order is not None:
        draft.entry.fault(
            f"{what}, but phase_order names {len(draft.phase_order)}.", "fed_from", "phase_order"
        )
        return
    free = tree.free(wanted, draft.parent)
    outlets = (
        f" Free outlets with {in_words(wanted, 'line')}: {listed(free, 'and')}." if free else ""
    )
    if given > wanted:
        named = ", ".join(f'"{name}"' for name in source.lines[-wanted:])
        outlets += f" Or say in phase_order which it is on, such as [{named}]."
    place = ("fed_from", "outlet") if draft.parent is not None else ("type",)
    draft.entry.fault(f"{what}, but {source.name} has {in_words(given, 'line')}.{outlets}", *place)


def _check_neutral(
    tree: Tree, draft: BoardDraft, source: _Source, neutral: bool, lines: int
) -> None:
    """A board whose outlets need a neutral must get one."""
    assert draft.outlets is not None
    place = ("fed_from", "outlet") if draft.parent is not None else ("type",)
    single = [o.id for o in draft.outlets.values() if len(o.lines) == 1]
    if single and not neutral:
        why = "the board is said to have none" if source.neutral else f"{source.name} has none"
        draft.entry.fault(
            f"{listed(single, 'and', 4)} need a neutral, and {why}. Feed the board from an outlet "
            "with a neutral.",
            *(place if not source.neutral else ("neutral",)),
        )
    if lines == 1 and draft.feeder is not None and not draft.feeder.neutral_connected:
        draft.entry.fault(
            "A feeder of one line with an open neutral carries nothing: connect the neutral, or "
            "leave the board out.",
            "feeder",
            "neutral_connected",
        )


def _check_inlet(
    tree: Tree, draft: BoardDraft, source: _Source, connectors: Mapping[str, OutletStandard]
) -> None:
    """The board's plug must go into the outlet, unless an adaptor is said to be between."""
    plug = draft.type.inlet if draft.type else None
    outlet = connectors.get(source.connector or "")
    if draft.adaptor or plug is None or outlet is None or plug not in connectors:
        return
    if plug in (outlet.id, *outlet.accepts):
        return
    takes = {name for name, standard in connectors.items() if plug in (name, *standard.accepts)}
    fitting = [
        f"{board.id} {o.id}"
        for board in tree.boards
        for o in board.outlets
        if tree.is_free(board.id, o.id) and o.type.connector in takes
    ]
    hint = f" It fits {listed(fitting)}." if fitting else ""
    draft.entry.fault(
        f"The plug of {draft.type.id if draft.type else draft.id} ({connectors[plug].name}) does "
        f"not go into {source.name} ({outlet.name}).{hint} With an adaptor between, say adaptor "
        "true.",
        "fed_from",
        "outlet",
    )


def _outlet(
    draft: BoardDraft,
    outlet: OutletType,
    lines: tuple[str, ...],
    supply_lines: tuple[int, ...],
    neutral: bool,
) -> Outlet | None:
    missing = [name for name in outlet.lines if name not in lines]
    if missing:
        place: tuple[str | int, ...] = ("type",)
        if outlet.id in draft.places:
            place = ("outlets", draft.places[outlet.id], "lines")
        draft.entry.fault(
            f"{draft.id} has no {listed(missing)}: it is fed with {in_words(len(lines), 'line')}, "
            f"which it calls {listed(lines, 'and')}.",
            *place,
        )
        return None
    if outlet.neutral and not neutral:
        outlet = replace(outlet, neutral=False)
    return Outlet(outlet, tuple(supply_lines[lines.index(name)] for name in outlet.lines))
