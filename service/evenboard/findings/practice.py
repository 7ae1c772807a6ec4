"""Rules of the trade: the right voltage, one plug an outlet, rows by size, sound equipment."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from evenboard.findings.action import Action, Replace, UndimmedSupply, Unplug
from evenboard.findings.finding import Finding, Severity, Where
from evenboard.findings.inputs import borne_v, is_mismatched, made_for_v
from evenboard.findings.judging import at
from evenboard.findings.remedy import move_words
from evenboard.findings.replug import ROW_OF_SIZE, Replugging
from evenboard.findings.revoltage import other_voltage
from evenboard.findings.rows import row_moves
from evenboard.findings.tags import tagged_pieces
from evenboard.findings.words import (
    counted,
    listed,
    number,
    outlet_name,
)

if TYPE_CHECKING:
    from evenboard.findings.view import View

__all__ = [
    "duplicate_outlet",
    "overdue_test",
    "phase_cut_electronics",
    "row_convention",
    "tag_in_two_places",
    "test_falls_due",
    "unknown_tag",
    "voltage_mismatch",
    "withdrawn_equipment",
]

VOLTAGE_BASIS = (
    "The input range of the type, or +-10 % of its rated voltage (IEC 60038, from memory)."
)
DUPLICATE_BASIS = "Common practice, no source: one plug an outlet; a multi-way lead is a board."
ROW_BASIS = (
    "Common practice, no source: large lamps on the bottom row, medium in the middle, small on top."
)
EQUIPMENT_BASIS = "The desk's own record of the piece."
TEST_BASIS = "The desk's test interval; hire equipment every 3 months by AS/NZS 3760, from memory."
DIMMER_BASIS = (
    "Common practice, no source: electronic supplies are never fed by a phase-cut dimmer."
)


def voltage_mismatch(view: View) -> Iterator[Finding]:
    """The supply's nominal voltage lies outside what a load is made for."""
    for index, load in enumerate(view.layout.loads):
        if load.board is None:
            continue
        nominal = float(view.load_nominal_v[index])
        low, high = borne_v(load)
        if not is_mismatched(view, index):
            continue
        too_high = nominal > high
        severity: Severity = "fail" if too_high else "caution"
        moves = other_voltage(view, index)
        made = " to ".join(number(v, 0) for v in sorted({*made_for_v(load)}))
        name = view.load_names[index]
        across = {2: "across two lines"}.get(len(load.supply_lines), "line to neutral")
        if moves:
            remedy = move_words(view, moves)
        else:
            remedy = (
                f"No free outlet here gives {made} V: unplug it, and use a transformer or the "
                "version made for this voltage."
            )
        actions: tuple[Action, ...] = moves or (Unplug(load.id),)
        yield Finding(
            "voltage-mismatch",
            severity,
            at(view, load.board + 1, outlet=load.outlet, load=index),
            nominal,
            high if too_high else low,
            "V",
            f"{name} is made for {made} V and gets {number(nominal, 0)} V {across}.",
            remedy,
            VOLTAGE_BASIS,
            actions,
        )


def duplicate_outlet(view: View) -> Iterator[Finding]:
    """Two plugs claim one outlet."""
    for figures in view.outlets:
        plugs = [view.load_names[i] for i in figures.loads]
        boards = [
            f"board {b.id}"
            for b in view.layout.boards
            if b.parent == figures.board and b.parent_outlet == figures.outlet.id
        ]
        if len(plugs) + len(boards) < 2:
            continue
        search = Replugging(view)
        stay = 0 if boards else 1
        leaving = sorted(figures.loads, key=lambda i: (not view.layout.loads[i].keep, i))[stay:]
        kept = any(view.layout.loads[i].keep for i in leaving)
        mended = not kept and len(boards) < 2 and search.spread_out(leaving)
        where = outlet_name(view.layout, figures.board, figures.outlet.id)
        yield Finding(
            "duplicate-outlet",
            "caution",
            at(view, figures.board + 1, outlet=figures.outlet.id),
            float(len(plugs) + len(boards)),
            1.0,
            "plugs",
            f"{where} has {len(plugs) + len(boards)} plugs: {listed([*boards, *plugs])}.",
            move_words(view, search.moves())
            if mended
            else f"No free outlet takes them: enter a multi-way lead on {where} as a board of its "
            "own, so that its rating is checked, or bring another board.",
            DUPLICATE_BASIS,
            search.moves() if mended else (),
        )


def row_convention(view: View) -> Iterator[Finding]:
    """A lamp sits in a higher row than a smaller one of the same phase, or its own row is free."""
    for board_index, board in enumerate(view.layout.boards):
        moves = row_moves(view, board_index)
        if not moves.found:
            continue
        names = [view.load_names[i] for i in moves.found]
        first = view.layout.loads[moves.found[0]]
        rows = sorted({ROW_OF_SIZE[view.layout.loads[i].size_class] for i in moves.found})
        yield Finding(
            "row-convention",
            "note",
            at(view, board_index + 1, outlet=first.outlet, load=moves.found[0]),
            float(len(names)),
            0.0,
            "loads",
            f"{listed(names)} on {board.id} would sit in the {listed(rows)} row by custom.",
            move_words(view, moves.actions)
            if moves.actions
            else "Their rows are taken: leave them, and label the outlets.",
            ROW_BASIS,
            moves.actions,
        )


def phase_cut_electronics(view: View) -> Iterator[Finding]:
    """An electronic supply or a motor hangs on a phase-cut dimmer."""
    for index, load in enumerate(view.layout.loads):
        if load.board is None or load.dimmer != "phase-cut":
            continue
        if load.load_model in ("tungsten", "constant-impedance") and load.power_factor >= 1.0:
            continue
        name = view.load_names[index]
        yield Finding(
            "phase-cut-electronics",
            "caution",
            at(view, load.board + 1, outlet=load.outlet, load=index),
            None,
            None,
            "",
            f"{name} is not a filament or a heater and is fed by a phase-cut dimmer: it may "
            "flicker, overheat or die.",
            f"Feed {name} from an undimmed outlet and dim it by its own control.",
            DIMMER_BASIS,
            (UndimmedSupply(load.id),),
        )


def withdrawn_equipment(view: View) -> Iterator[Finding]:
    """A piece that the desk has withdrawn is in the layout."""
    for tag, what, where in tagged_pieces(view):
        status = view.equipment.get(tag)
        if status is None or not status.withdrawn:
            continue
        reason = f" ({status.reason})" if status.reason else ""
        yield Finding(
            "withdrawn-equipment",
            "fail",
            where,
            None,
            None,
            "",
            f"{what}, tag {tag}, is withdrawn{reason}.",
            f"Leave {tag} out and take another; it comes back only with its cause recorded and a "
            "test passed.",
            EQUIPMENT_BASIS,
            (Replace(tag),),
        )


def tag_in_two_places(view: View) -> Iterator[Finding]:
    """One tagged piece is entered in two places."""
    places: dict[str, list[tuple[str, Where]]] = {}
    for tag, what, where in tagged_pieces(view):
        places.setdefault(tag, []).append((what, where))
    for tag, found in places.items():
        if len(found) < 2:
            continue
        names = listed([what for what, _ in found])
        yield Finding(
            "tag-in-two-places",
            "caution",
            found[1][1],
            float(len(found)),
            1.0,
            "places",
            f"Tag {tag} is entered for {names}: one piece cannot be in two places.",
            "Read the tags again and enter each piece's own.",
            EQUIPMENT_BASIS,
        )


def test_falls_due(view: View) -> Iterator[Finding]:
    """A piece is to be tested before the order that it is for is over."""
    for tag, what, where in tagged_pieces(view):
        status = view.equipment.get(tag)
        if status is None or status.withdrawn or status.days_overdue > 0:
            continue
        due, until = status.test_due, status.needed_until
        if due is None or until is None or until <= due:
            continue
        yield Finding(
            "test-falls-due",
            "caution",
            where,
            float((until - due).days),
            0.0,
            "days",
            f"{what}, tag {tag}, is due for its test on {due}; the order lasts until {until}.",
            f"Test {tag} before it goes out, or have it tested on location by {due}.",
            TEST_BASIS,
            (Replace(tag),),
        )


def unknown_tag(view: View) -> Iterator[Finding]:
    """A tag is not on the desk's list: misread, or a piece that nobody has checked."""
    for tag, what, where in tagged_pieces(view):
        status = view.equipment.get(tag)
        if status is None or status.known:
            continue
        yield Finding(
            "unknown-tag",
            "note",
            where,
            None,
            None,
            "",
            f"{what}, tag {tag}, is not on the desk's list: whether it may go out is not known.",
            f"Read {tag} again, or have the piece tested and put on the list.",
            EQUIPMENT_BASIS,
        )


def claimed_elsewhere(view: View) -> Iterator[Finding]:
    """Another order counts on a piece at the same time."""
    for tag, what, where in tagged_pieces(view):
        status = view.equipment.get(tag)
        if status is None or not status.claimed_by:
            continue
        yield Finding(
            "claimed-elsewhere",
            "caution",
            where,
            None,
            None,
            "",
            f"{what}, tag {tag}, is counted on elsewhere: {listed(list(status.claimed_by))}.",
            f"Ask the desk who has {tag}, or take another.",
            EQUIPMENT_BASIS,
            (Replace(tag),),
        )


def overdue_test(view: View) -> Iterator[Finding]:
    """A piece is past the day of its next test."""
    for tag, what, where in tagged_pieces(view):
        status = view.equipment.get(tag)
        if status is None or status.withdrawn or status.days_overdue == 0:
            continue
        yield Finding(
            "overdue-test",
            "caution",
            where,
            float(status.days_overdue),
            0.0,
            "days",
            f"{what}, tag {tag}, was due for its test on {status.test_due}, "
            f"{counted(status.days_overdue, 'day')} ago.",
            f"Test {tag} before it goes out, or take another.",
            TEST_BASIS,
            (Replace(tag),),
        )
