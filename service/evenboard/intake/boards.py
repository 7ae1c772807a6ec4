"""What the body says of each board: its outlets, its protection, its feeder and what feeds it.

A :class:`BoardDraft` is a board read by itself; ``tree`` then hangs the drafts on each other.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from evenboard.catalogue import Catalogue
from evenboard.electrics.equipment import (
    BoardType,
    Breaker,
    Curve,
    OutletStandard,
    OutletType,
    RcdType,
    Region,
    Row,
)
from evenboard.electrics.layout import Run
from evenboard.intake.bounds import (
    MAX_AMPS,
    MAX_BOARDS,
    MAX_OUTLETS,
    MAX_RESIDUAL_MA,
    MIN_AMPS,
    MIN_RESIDUAL_MA,
)
from evenboard.intake.entry import Entry
from evenboard.intake.lines import LINES
from evenboard.intake.nearest import listed, quoted
from evenboard.intake.runs import read_run

__all__ = ["BoardDraft", "read_boards"]

BOARD_FIELDS = (
    "id",
    "name",
    "type",
    "outlets",
    "rcds",
    "incomer",
    "fed_from",
    "feeder",
    "neutral",
    "tag",
)
FED_FROM_FIELDS = ("board", "outlet", "phase_order", "adaptor")
OUTLET_FIELDS = ("id", "lines", "rating_a", "row", "breaker", "rcd", "connector", "neutral")
ROWS: dict[str, Row] = {"bottom": "bottom", "middle": "middle", "top": "top"}
CURVES: dict[str, Curve] = {"B": "B", "C": "C", "D": "D"}
SIMILAR_VOLTAGE = 0.1
"""Boards of a region whose nominal voltage is this close may be used."""


@dataclass(slots=True)
class BoardDraft:
    """A board as the body describes it.

    ``outlets`` has those that could be read, ``places`` the list index of every one that has a
    name; both are empty or None where the list itself could not be read. ``hangs`` is False where a
    fault keeps the board out of the tree.
    """

    entry: Entry
    id: str | None
    type: BoardType | None = None
    outlets: dict[str, OutletType] | None = None
    rcds: tuple[RcdType, ...] = ()
    incomer_rating_a: float | None = None
    incomer: Breaker | None = None
    incomer_rcd: RcdType | None = None
    feeder: Run | None = None
    neutral: bool | None = None
    tag: str | None = None
    name: str | None = None
    parent: str | None = None
    parent_outlet: str | None = None
    phase_order: tuple[str, ...] | None = None
    adaptor: bool = False
    hangs: bool = True
    places: dict[str, int] = field(default_factory=dict)


def read_boards(
    body: Entry,
    catalogue: Catalogue,
    region: Region | None,
    connectors: Mapping[str, OutletStandard],
) -> list[BoardDraft]:
    """All boards of the body, in its order, each read by itself."""
    drafts = [
        _board(entry, catalogue, region, connectors)
        for entry in body.entries("boards", "board", MAX_BOARDS)
    ]
    first: dict[str, int] = {}
    for draft in drafts:
        if draft.id is None:
            continue
        if draft.id in first:
            draft.entry.fault(
                f"A second board is called {quoted(draft.id)} (the first is "
                f"/boards/{first[draft.id]}): give each board a name of its own.",
                "id",
            )
            draft.hangs = False
        else:
            first[draft.id] = int(draft.entry.path[-1])
    return drafts


def _board(
    entry: Entry,
    catalogue: Catalogue,
    region: Region | None,
    connectors: Mapping[str, OutletStandard],
) -> BoardDraft:
    entry.only(BOARD_FIELDS, "A board")
    draft = BoardDraft(entry, entry.id("id", required=True, noun="board"))
    draft.name = entry.text("name")
    draft.tag = entry.id("tag", noun="piece of equipment")
    if entry.has("neutral"):
        draft.neutral = entry.flag("neutral", True)
    if entry.has("type"):
        _of_type(draft, catalogue, region)
    elif entry.has("outlets"):
        _spelled_out(draft, connectors)
    else:
        types = sorted(_types(catalogue, region))
        entry.fault(
            f"A board needs a type, or its outlets spelled out. Types: {listed(types, 'and', 12)}.",
            "type",
        )
    _incomer(draft)
    _fed_from(draft)
    feeder = entry.entry("feeder", "feeder cable")
    if feeder is not None:
        draft.feeder = read_run(feeder, catalogue, region)
    return draft


def _types(catalogue: Catalogue, region: Region | None) -> list[str]:
    return [b.id for b in catalogue.boards.values() if region is None or region.id in b.regions]


def _of_type(draft: BoardDraft, catalogue: Catalogue, region: Region | None) -> None:
    entry = draft.entry
    for name in ("outlets", "rcds"):
        if entry.has(name):
            entry.fault(
                f"{name} stands beside type: a board of a type has its own; name a type, or spell "
                "the board out, not both.",
                name,
            )
    name = entry.values["type"]
    kind = catalogue.boards.get(name) if isinstance(name, str) else None
    if kind is None:
        hint = entry.suggest(name, _types(catalogue, region), "board type")
        entry.fault(f"There is no board type {quoted(name)}.{hint}", "type")
        return
    if region is not None and not _usable(kind, catalogue, region):
        hint = entry.suggest(name, _types(catalogue, region), "board type")
        entry.fault(
            f"{kind.id} is made for the voltages of {listed(kind.regions, 'and')}, not for "
            f"{region.id}.{hint}",
            "type",
        )
    draft.type = kind
    draft.outlets = {outlet.id: outlet for outlet in kind.outlets}
    draft.rcds = kind.rcds
    draft.incomer, draft.incomer_rcd = kind.incomer, kind.incomer_rcd


def _usable(kind: BoardType, catalogue: Catalogue, region: Region) -> bool:
    """Whether the board is made for this region, or for one of about the same voltage."""
    if not kind.regions or region.id in kind.regions:
        return True
    here = region.systems[0].line_to_neutral_v
    for name in kind.regions:
        other = catalogue.regions.get(name)
        if other is not None:
            there = other.systems[0].line_to_neutral_v
            if abs(there / here - 1.0) <= SIMILAR_VOLTAGE:
                return True
    return False


def _spelled_out(draft: BoardDraft, connectors: Mapping[str, OutletStandard]) -> None:
    entry = draft.entry
    rcds: dict[str, RcdType] = {}
    for item in entry.entries("rcds", "residual-current device", MAX_OUTLETS):
        rcd = _rcd(item, item.id("id", required=True, noun="residual-current device"))
        if rcd is not None and rcd.id in rcds:
            item.fault(f"A second device is called {quoted(rcd.id)}.", "id")
        elif rcd is not None:
            rcds[rcd.id] = rcd
    draft.rcds = tuple(rcds.values())
    before = len(entry.faults)
    outlets: dict[str, OutletType] = {}
    for item in entry.entries("outlets", "outlet", MAX_OUTLETS):
        outlet = _outlet(item, rcds, connectors)
        name = item.values.get("id")
        if isinstance(name, str) and name in draft.places:
            item.fault(
                f"A second outlet is called {quoted(name)}: give each outlet of the board a name "
                "of its own.",
                "id",
            )
        elif outlet is not None:
            outlets[outlet.id] = outlet
        if isinstance(name, str):
            draft.places.setdefault(name, int(item.path[-1]))
    if not draft.places and len(entry.faults) == before:
        entry.fault("A board needs at least one outlet, or a type.", "outlets")
    if draft.places:
        draft.outlets = outlets


def _rcd(entry: Entry, name: str | None) -> RcdType | None:
    entry.only(("id", "rated_residual_ma", "delayed"), "A residual-current device")
    rated_ma = entry.number(
        "rated_residual_ma", "mA", least=MIN_RESIDUAL_MA, most=MAX_RESIDUAL_MA, required=True
    )
    delayed = entry.flag("delayed", False)
    return None if rated_ma is None or name is None else RcdType(name, rated_ma, delayed)


def _breaker(entry: Entry) -> Breaker | None:
    item = entry.entry("breaker", "circuit breaker")
    if item is None:
        return None
    item.only(("rating_a", "curve"), "A breaker")
    rating_a = item.number("rating_a", "A", least=MIN_AMPS, most=MAX_AMPS, required=True)
    curve = item.choice("curve", CURVES, "C")
    return None if rating_a is None or curve is None else Breaker(rating_a, CURVES[curve])


def _outlet(
    entry: Entry, rcds: Mapping[str, RcdType], connectors: Mapping[str, OutletStandard]
) -> OutletType | None:
    before = len(entry.faults)
    entry.only(OUTLET_FIELDS, "An outlet")
    name = entry.id("id", required=True, noun="outlet")
    connector = entry.values.get("connector")
    standard = connectors.get(connector) if isinstance(connector, str) else None
    if connector is not None and standard is None:
        hint = entry.suggest(connector, connectors, "connector")
        entry.fault(f"There is no connector {quoted(connector)}.{hint}", "connector")
    lines = _lines(entry)
    if lines and standard is not None and len(lines) != standard.lines:
        entry.fault(f"lines names {len(lines)}, but a {standard.id} has {standard.lines}.", "lines")
    rating_a = entry.number(
        "rating_a",
        "A per line",
        standard.rating_a if standard else None,
        least=MIN_AMPS,
        most=MAX_AMPS,
        required=connector is None,
    )
    row = entry.choice("row", ROWS)
    breaker = _breaker(entry)
    rcd = entry.values.get("rcd")
    if rcd is not None and (not isinstance(rcd, str) or rcd not in rcds):
        hint = entry.suggest(rcd, rcds, "residual-current device")
        entry.fault(f"The board has no residual-current device {quoted(rcd)}.{hint}", "rcd")
    neutral = entry.flag("neutral", standard.neutral if standard else True)
    if neutral and standard is not None and not standard.neutral:
        entry.fault(f"A {standard.id} has no neutral.", "neutral")
    if not neutral and lines and len(lines) == 1:
        entry.fault(
            "An outlet with one line and no neutral gives no voltage: it needs the neutral, or a "
            "second line.",
            "neutral" if entry.has("neutral") else "lines",
        )
    if len(entry.faults) > before or name is None or lines is None or rating_a is None:
        return None
    return OutletType(
        id=name,
        lines=lines,
        rating_a=rating_a,
        row=ROWS[row] if row else None,
        breaker=breaker,
        rcd=rcd,
        connector=standard.id if standard else None,
        neutral=neutral,
    )


def _lines(entry: Entry) -> tuple[str, ...] | None:
    """An outlet's lines, in the board's own names."""
    if not entry.has("lines"):
        entry.fault(
            'lines is missing: ["L1"], ["L1", "L2"] (line to line) or ["L1", "L2", "L3"].', "lines"
        )
        return None
    names = entry.names("lines", "line", len(LINES))
    if names is None:
        return None
    wrong = [index for index, name in enumerate(names) if name not in LINES]
    for index in wrong:
        entry.fault(f"There is no line {quoted(names[index])}: L1, L2 or L3.", "lines", index)
    if not wrong and (not names or len(set(names)) != len(names)):
        entry.fault("lines names one to three of L1, L2 and L3, each once.", "lines")
        return None
    return None if wrong else tuple(names)


def _incomer(draft: BoardDraft) -> None:
    """The board's own main switch: over what its type has."""
    item = draft.entry.entry("incomer", "incomer")
    if item is None:
        return
    item.only(("rating_a", "breaker", "rcd"), "An incomer")
    draft.incomer_rating_a = item.number("rating_a", "A per line", least=MIN_AMPS, most=MAX_AMPS)
    if item.has("breaker"):
        draft.incomer = _breaker(item)
    rcd = item.entry("rcd", "residual-current device")
    if rcd is not None:
        name = rcd.id("id", noun="residual-current device")
        draft.incomer_rcd = _rcd(rcd, name or "incomer")


def _fed_from(draft: BoardDraft) -> None:
    item = draft.entry.entry("fed_from", "outlet that feeds the board")
    if item is None:
        return
    item.only(FED_FROM_FIELDS, "fed_from")
    draft.parent = item.id("board", noun="board that feeds this one")
    draft.parent_outlet = item.id("outlet", noun="outlet that feeds this board")
    draft.adaptor = item.flag("adaptor", False)
    if draft.parent is not None and not item.has("outlet"):
        item.fault(
            f"outlet is missing: name the outlet of {draft.parent} that feeds this board.", "outlet"
        )
    if draft.parent_outlet is not None and not item.has("board"):
        item.fault("board is missing: name the board that the outlet is on.", "board")
    if not item.has("phase_order"):
        return
    names = item.names("phase_order", "line", len(LINES))
    if names is not None:
        if not names or len(set(names)) != len(names):
            item.fault("phase_order names one to three lines, each once.", "phase_order")
        else:
            draft.phase_order = tuple(names)
