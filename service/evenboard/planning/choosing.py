"""Which board and supply would do for a lighting list: the smallest that carries it, planned.

Candidates are the generic boards of a region on a supply of their own rating, alone or with boards
of one other type, or of ever more, on their outlets, from small to large. What cannot do by its
outlets or its amps is passed over; the rest is planned, and the first that takes every load is the
smallest.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from evenboard.catalogue import Catalogue
from evenboard.electrics.equipment import BoardType, Region, System
from evenboard.electrics.layout import Layout
from evenboard.intake import Fault, faults, resolve
from evenboard.planning.measure import UNIT
from evenboard.planning.planner import plan
from evenboard.planning.problem import Problem
from evenboard.planning.reading import problem_of
from evenboard.planning.result import Plan, PlanOptions
from evenboard.planning.words import listed

__all__ = ["Candidate", "Choice", "board_systems", "choose_boards", "list_faults"]

BOARDS_AT_MOST = 12
"""Boards below the first; more are a distribution to be drawn by hand. Estimate."""

TRY_BUDGET = 4_000_000
"""Work units for finding out whether a list fits; what fits is then planned in full."""

PLUGGED_FIELDS = ("board", "outlet", "lines", "keep", "lead", "tag")
"""Of a load, what has to do with where it is plugged now."""


@dataclass(frozen=True, slots=True)
class Hung:
    """A board on an outlet of another, which is told by its place in the list."""

    type: BoardType
    parent: int
    outlet: str


@dataclass(frozen=True, slots=True)
class Candidate:
    """A board on a supply of its own rating, perhaps with others on its outlets.

    Attributes
    ----------
    main : BoardType
        The board on the supply, the first in the list.
    hung : tuple of Hung
        Those that follow.
    """

    main: BoardType
    hung: tuple[Hung, ...] = ()

    @property
    def rating_a(self) -> float:
        """What the supply has to give on a line. [A]"""
        return self.main.inlet_rating_a

    @property
    def seats(self) -> int:
        """Outlets that are left for loads."""
        types = [self.main, *(each.type for each in self.hung)]
        return sum(len(board.outlets) for board in types) - len(self.hung)

    def boards(self) -> list[dict[str, Any]]:
        """The boards as a layout's body has them."""
        names = ["main", *(f"board-{number}" for number in range(1, len(self.hung) + 1))]
        found: list[dict[str, Any]] = [{"id": "main", "type": self.main.id, "fed_from": None}]
        for name, each in zip(names[1:], self.hung, strict=True):
            fed = {"board": names[each.parent], "outlet": each.outlet}
            found.append({"id": name, "type": each.type.id, "fed_from": fed})
        return found


@dataclass(frozen=True, slots=True)
class Choice:
    """What came of a candidate: its layout's body with the loads loose, the layout, the plan.

    ``why`` says what it lacks, empty where every load has its place. Layout and plan are None where
    that was plain without planning.
    """

    candidate: Candidate
    body: Mapping[str, Any]
    layout: Layout | None
    plan: Plan | None
    why: tuple[str, ...]


def choose_boards(
    body: Mapping[str, Any],
    catalogue: Catalogue,
    system: System,
    *,
    spare_pct: float,
    most: int,
) -> list[Choice]:
    """The smallest boards that carry a list, and those just too small.

    Parameters
    ----------
    body : mapping
        A layout without supply and boards; its loads are taken as loose.
    catalogue : Catalogue
        Its generic boards are the candidates.
    system : {"three-phase", "three-wire", "single-phase"}
        The supply's system.
    spare_pct : float
        Kept free on every line of the supply. [%]
    most : int
        Choices that carry the list at most, each on a larger supply than the one before.

    Returns
    -------
    list of Choice
        From small to large: the last that are too small, then those that do.

    Raises
    ------
    LayoutInvalid
        If the list cannot be read.
    ValueError
        If the region has no board for the system.

    References
    ----------
    .. [1] The smallest board that holds the list with room left: common practice, no source.
    """
    candidates = _sorted(body, catalogue, system)
    if not candidates:
        raise ValueError(f"there is no generic board for a {system} supply in this region")
    first = resolve(_whole(candidates[0], body, system), catalogue, loose=True)
    least = _least_a(problem_of(first, PlanOptions()))
    too_small: list[Choice] = []
    found: list[Choice] = []
    for candidate in candidates:
        if found and candidate.rating_a <= found[-1].candidate.rating_a:
            continue
        short = _short(candidate, len(first.loads), least / len(first.supply.lines), spare_pct)
        if short:
            choice = Choice(candidate, _whole(candidate, body, system), None, None, (short,))
        else:
            choice = _tried(candidate, body, catalogue, system, spare_pct, first=not found)
        if choice.why:
            if not found:
                too_small = [*too_small[-1:], choice]
        else:
            found.append(choice)
            if len(found) >= most:
                break
    return [*too_small, *found]


def list_faults(body: Mapping[str, Any], catalogue: Catalogue, system: System) -> list[Fault]:
    """What keeps a list from being read, wherever it is plugged.

    Parameters
    ----------
    body : mapping
        A layout without supply and boards.
    catalogue : Catalogue
        What is known of fixtures, boards and regions.
    system : {"three-phase", "three-wire", "single-phase"}
        The supply's system.

    Returns
    -------
    list of Fault
        In the order of reading; empty where there is none.

    References
    ----------
    .. [1] :func:`evenboard.intake.faults`.
    """
    candidates = _sorted(body, catalogue, system)
    if candidates:
        return faults(_whole(candidates[0], body, system), catalogue, loose=True)
    region = catalogue.regions.get(str(body.get("region")))
    if region is not None:
        systems = board_systems(region, catalogue)
        detail = f"{region.name} has no {system} board in the catalogue: give {listed(systems)}."
        return [Fault("/system", detail)]
    boards = [{"id": "main", "outlets": [{"id": "a", "lines": ["L1"], "rating_a": 16}]}]
    whole = {**body, "supply": {"system": system, "rating_a": 16}, "boards": boards}
    return [f for f in faults(whole, catalogue, loose=True) if f.pointer == "/region"]


def board_systems(region: Region, catalogue: Catalogue) -> list[System]:
    """Supply systems of a region for which there are generic boards.

    Parameters
    ----------
    region : Region
        A region.
    catalogue : Catalogue
        Its boards.

    Returns
    -------
    list of str
        In the region's order.

    References
    ----------
    .. [1] None; a reading of the catalogue.
    """
    return [each.system for each in region.systems if _of(region, catalogue, each.system)]


def _sorted(body: Mapping[str, Any], catalogue: Catalogue, system: System) -> list[Candidate]:
    region = catalogue.regions.get(str(body.get("region")))
    return [] if region is None else sorted(_candidates(region, catalogue, system), key=_size)


def _of(region: Region, catalogue: Catalogue, system: System) -> list[BoardType]:
    """The generic boards that a supply of a region may feed."""
    return [
        board
        for board in catalogue.boards.values()
        if region.id in board.regions and board.system == system and board.inlet is not None
    ]


def _size(candidate: Candidate) -> tuple[float, int, int, tuple[str, ...]]:
    names = candidate.main.id, *(each.type.id for each in candidate.hung)
    return candidate.rating_a, len(candidate.hung), candidate.seats, names


def _candidates(region: Region, catalogue: Catalogue, system: System) -> Iterator[Candidate]:
    """Every board alone, with more and more of one other type, with ever more of the largest."""
    accepts = {outlet.id: (outlet.id, *outlet.accepts) for outlet in region.outlets}
    mine = _of(region, catalogue, system)
    for main in mine:
        yield Candidate(main)
        seen: set[tuple[Hung, ...]] = set()
        for only in [*mine, None]:
            kinds = mine if only is None else [only]
            candidate = _one_more(Candidate(main), kinds, accepts)
            while candidate is not None:
                if candidate.hung not in seen:
                    seen.add(candidate.hung)
                    yield candidate
                candidate = _one_more(candidate, kinds, accepts)


def _one_more(
    candidate: Candidate, kinds: Sequence[BoardType], accepts: Mapping[str, tuple[str, ...]]
) -> Candidate | None:
    """With the board of most outlets that goes onto a free outlet; None where none does."""
    if len(candidate.hung) >= BOARDS_AT_MOST:
        return None
    taken = {(each.parent, each.outlet) for each in candidate.hung}
    best: tuple[int, Hung] | None = None
    for index, board in enumerate((candidate.main, *(each.type for each in candidate.hung))):
        for outlet in board.outlets:
            if (index, outlet.id) in taken:
                continue
            for kind in kinds:
                fits = kind.inlet in accepts.get(outlet.connector or "", ())
                small = kind.inlet_rating_a <= min(outlet.rating_a, board.inlet_rating_a)
                more = len(kind.outlets)
                if fits and small and kind is not board and (best is None or more > best[0]):
                    best = more, Hung(kind, index, outlet.id)
    return None if best is None else Candidate(candidate.main, (*candidate.hung, best[1]))


def _tried(
    candidate: Candidate,
    body: Mapping[str, Any],
    catalogue: Catalogue,
    system: System,
    spare_pct: float,
    *,
    first: bool,
) -> Choice:
    """A candidate planned; the first that does as long as any plan, the others less long."""
    whole = _whole(candidate, body, system)
    layout = resolve(whole, catalogue, loose=True)
    options = PlanOptions(spare_a=candidate.rating_a * spare_pct / 100.0)
    found = plan(layout, replace(options, budget=TRY_BUDGET))
    why = tuple(f"{unplaced.load}: {unplaced.why}" for unplaced in found.unplaced)
    if not why:
        budget = None if first else options.work_for(len(layout.loads), plugged=False)
        found = plan(layout, replace(options, budget=budget))
    return Choice(candidate, whole, layout, found, why)


def _whole(candidate: Candidate, body: Mapping[str, Any], system: System) -> dict[str, Any]:
    """A layout's body: the list on a candidate, every load loose."""
    loads = body.get("loads")
    if isinstance(loads, list):
        loads = [
            {k: v for k, v in load.items() if k not in PLUGGED_FIELDS}
            if isinstance(load, Mapping)
            else load
            for load in loads
        ]
    return {
        **body,
        "supply": {"kind": "outlet", "system": system, "rating_a": candidate.rating_a},
        "boards": candidate.boards(),
        "loads": loads,
    }


def _least_a(problem: Problem) -> float:
    """The least that all loads together draw on all lines together, in the worst set-up. [A]"""
    never = np.iinfo(np.int64).max
    each = np.where(problem.amps > 0, problem.amps * np.arange(4), never).min(axis=1, initial=never)
    each = np.where(each == never, 0, each)
    return int((each[:, None] * problem.on).sum(axis=0).max(initial=0)) / UNIT


def _short(candidate: Candidate, loads: int, share_a: float, spare_pct: float) -> str:
    """What a candidate lacks whatever goes where; empty where that is not plain at once."""
    if loads > candidate.seats:
        return f"{loads} loads, and {candidate.seats} outlets."
    room_a = candidate.rating_a * (1.0 - spare_pct / 100.0)
    if share_a > room_a + 1e-6:
        return f"Shared out evenly they draw {share_a:.1f} A a line; {room_a:.1f} A may be taken."
    return ""
