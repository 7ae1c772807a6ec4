"""The desk's equipment as a CSV file: written so that no cell is run, read with all its faults.

A spreadsheet runs a cell that begins with ``= + - @``. A leading quote stops that; it is written
before such cells and taken off again when the file comes back, so that nothing is changed by going
out and in. UTF-8, with or without a byte order mark; commas, semicolons or tabs between the cells.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from datetime import date
from decimal import Decimal
from typing import Any

from evenboard.catalogue import Catalogue
from evenboard.desk.descriptions import MOST_MONTHS, record_faults, tag_fault
from evenboard.desk.equipment import KINDS, PieceRefused, amend, enter
from evenboard.desk.testing import Practice, due_on
from evenboard.intake.bounds import MAX_CSA_MM2, MAX_LENGTH_M
from evenboard.intake.nearest import nearest, quoted
from evenboard.intake.text import is_printable
from evenboard.store.piece import Piece, Record

__all__ = [
    "COLUMNS",
    "MOST_ROWS",
    "TOLD",
    "FileFault",
    "Line",
    "Planned",
    "plan",
    "read",
    "written",
]

COLUMNS = ("tag", *(field.name for field in fields(Record)))
"""What a file may say of a piece."""
TOLD = ("state", "order_ref", "test_due_on")
"""Written besides and left alone when it comes back: only what is done to a piece moves it."""
MOST_ROWS = 5000
"""Pieces in one file: some seconds of work (measured); more come in several files."""
MOST_FAULTS = 1000
"""Faults that are told of one file; more help nobody."""
_RUN = ("=", "+", "-", "@", "'", "\t", "\r")
_LENGTHS = {"tag": 64, "name": 200, "note": 1000, "cable": 64, "connector": 64, "board": 64}
_NUMBER = re.compile(r"[0-9]{1,9}([.,][0-9]{1,30})?")
_DAY = re.compile(r"[12][0-9]{3}-[0-9]{2}-[0-9]{2}")
_MOST = {"csa_mm2": MAX_CSA_MM2, "length_m": MAX_LENGTH_M}


@dataclass(frozen=True, slots=True)
class FileFault:
    """A fault of a file: its line and column, both from 1, the field that the column holds."""

    line: int
    column: int
    field: str | None
    detail: str


@dataclass(frozen=True, slots=True)
class Line:
    """One piece as a file has it: ``values`` holds the columns that are there, None for blank."""

    line: int
    tag: str
    values: Mapping[str, Any]
    columns: Mapping[str, int]

    def fault(self, field: str, detail: str) -> FileFault:
        """A fault in a field of this line."""
        known = field if field in self.columns else "tag"
        return FileFault(self.line, self.columns[known], field, detail)


@dataclass(frozen=True, slots=True)
class Planned:
    """What a line of a file does: ``before`` is None for a new piece."""

    line: int
    before: Piece | None
    after: Piece

    @property
    def changed(self) -> tuple[str, ...]:
        """The fields of the record that differ; all that are said for a new piece."""
        old = Record(self.after.record.kind) if self.before is None else self.before.record
        return tuple(
            f.name
            for f in fields(Record)
            if getattr(old, f.name) != getattr(self.after.record, f.name)
        )


def written(pieces: Iterable[Piece], practice: Practice) -> str:
    """The file of some pieces."""
    text = io.StringIO(newline="")
    table = csv.writer(text)
    table.writerow((*COLUMNS, *TOLD))
    for piece in pieces:
        hire = piece.standing.hire
        cells = [piece.tag, *(getattr(piece.record, name) for name in COLUMNS[1:])]
        cells += [piece.state, hire.order_ref if hire else None, due_on(piece, practice)]
        table.writerow([_cell(cell) for cell in cells])
    # With the mark, since a spreadsheet takes the file for another alphabet without.
    return "\ufeff" + text.getvalue()


def _cell(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, float):
        # Every digit, and never an exponent.
        text = format(Decimal(repr(value)), "f")
        return text.rstrip("0").rstrip(".") if "." in text else text
    text = str(value)
    return f"'{text}" if text.startswith(_RUN) else text


def _unquoted(cell: str) -> str:
    return cell[1:] if cell[:1] == "'" and cell[1:].startswith(_RUN) else cell


def read(data: bytes) -> tuple[list[Line], list[FileFault]]:
    """The lines of a file, and every fault of its form."""
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        detail = "This is not UTF-8: save the file as CSV in UTF-8."
        return [], [FileFault(line, 1, None, detail)]
    head_line = text.split("\n", 1)[0]
    delimiter = max(",;\t", key=head_line.count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    found: list[Line] = []
    faults: list[FileFault] = []
    head: dict[str, int] | None = None
    lines: dict[str, int] = {}
    begin = 1
    try:
        for cells in reader:
            line, begin = begin, reader.line_num + 1
            if not any(cell.strip() for cell in cells):
                continue
            if head is None:
                head, faults = _head(cells, line)
                if faults:
                    break
                continue
            if len(found) >= MOST_ROWS or len(faults) >= MOST_FAULTS:
                full = f"at most {MOST_ROWS} pieces in a file"
                why = full if len(faults) < MOST_FAULTS else f"mend the {len(faults)} faults first"
                detail = f"Nothing is read from here on: {why}."
                faults.append(FileFault(line, 1, None, detail))
                break
            entry = _line(cells, line, head, faults)
            if entry is not None:
                first = lines.setdefault(entry.tag, line)
                if first != line:
                    detail = f"{quoted(entry.tag)} stands in line {first} already."
                    faults.append(entry.fault("tag", detail))
                found.append(entry)
    except csv.Error as error:
        detail = f"The file cannot be read on from here: {error}."
        faults.append(FileFault(begin, 1, None, detail))
    if head is None and not faults:
        detail = "The file is empty: its first line names the columns, tag and kind at least."
        faults.append(FileFault(1, 1, None, detail))
    return found, faults


def _head(cells: Sequence[str], line: int) -> tuple[dict[str, int], list[FileFault]]:
    faults = []
    head: dict[str, int] = {}
    for column, cell in enumerate(cells, 1):
        name = "_".join(cell.strip().casefold().split())
        if not name and not any(cells[column:]):
            continue
        if name not in COLUMNS and name not in TOLD:
            close = nearest(name, (*COLUMNS, *TOLD), 1)
            hint = f" Nearest: {close[0]}." if close else f" Columns: {', '.join(COLUMNS)}."
            detail = f"There is no column {quoted(cell)}.{hint}"
            faults.append(FileFault(line, column, None, detail))
        elif name in head:
            faults.append(FileFault(line, column, name, f"There are two columns {name}."))
        else:
            head[name] = column
    if "tag" not in head:
        faults.append(FileFault(line, 1, "tag", "There is no column tag."))
    return head, faults


def _line(
    cells: Sequence[str], line: int, head: Mapping[str, int], faults: list[FileFault]
) -> Line | None:
    if any(cell.strip() for cell in cells[max(head.values()) :]):
        detail = f"This line has {len(cells)} cells, the first one names {len(head)}."
        faults.append(FileFault(line, max(head.values()) + 1, None, detail))
    values: dict[str, Any] = {}
    tag = ""
    sound = True
    for name, column in head.items():
        if name in TOLD:
            continue
        cell = cells[column - 1] if column <= len(cells) else ""
        try:
            value = _value(name, _unquoted(cell if name in ("name", "note") else cell.strip()))
        except ValueError as error:
            faults.append(FileFault(line, column, name, str(error)))
            sound = False
            continue
        if name == "tag":
            tag = value or ""
        else:
            values[name] = value
    return Line(line, tag, values, head) if sound else None


def _value(name: str, text: str) -> Any:
    """The value of a cell. Raises ``ValueError`` with what would be right."""
    if name == "tag":
        if not text:
            raise ValueError("The tag is missing.")
        fault = tag_fault(text) if is_printable(text) and len(text) <= _LENGTHS["tag"] else None
        if fault:
            raise ValueError(fault)
    if not text:
        return "" if name in ("name", "note") else None
    if name == "kind" and text not in KINDS:
        close = nearest(text, KINDS, 1)
        hint = f" Nearest: {close[0]}." if close else ""
        raise ValueError(f"{quoted(text)} is no kind: {', '.join(KINDS)}.{hint}")
    if name in ("bought_on", "tested_on"):
        return _day(text)
    if name == "test_interval_months":
        if not re.fullmatch(r"[0-9]{1,4}", text) or not 1 <= int(text) <= MOST_MONTHS:
            raise ValueError(f"{quoted(text)} must be a whole number from 1 to {MOST_MONTHS}.")
        return int(text)
    if name in _MOST:
        return _number(text, _MOST[name])
    most = _LENGTHS.get(name, 64)
    if len(text) > most:
        raise ValueError(f"This has {len(text)} characters: at most {most}.")
    if not is_printable(text):
        raise ValueError("This has a control character in it: plain text on one line is right.")
    return text


def _day(text: str) -> date:
    try:
        if _DAY.fullmatch(text):
            return date.fromisoformat(text)
    except ValueError:
        pass
    raise ValueError(f"{quoted(text)} is no day: write it as 2026-11-25.")


def _number(text: str, most: float) -> float:
    if not _NUMBER.fullmatch(text):
        raise ValueError(f"{quoted(text)} is no number: write it as 2.5, without a unit.")
    number = float(text.replace(",", "."))
    if not 0.0 < number <= most:
        raise ValueError(f"{number:g} must be above 0 and at most {most:g}.")
    return number


def plan(
    lines: Sequence[Line], pieces: Mapping[str, Piece], catalogue: Catalogue, today: date
) -> tuple[list[Planned], list[FileFault]]:
    """What each line does to the pieces as they are, and every fault of its meaning.

    A column that the file does not have leaves a known piece's field as it is; a blank cell clears
    it. Only the record is written: nothing in a file checks a piece out, tests or releases it.
    """
    planned = []
    faults = []
    for line in lines:
        before = pieces.get(line.tag)
        kind = line.values.get("kind") or (before.record.kind if before else None)
        if kind is None:
            faults.append(line.fault("kind", f"The kind is missing: {', '.join(KINDS)}."))
            continue
        given = {**line.values, "kind": kind}
        record = Record(**given) if before is None else replace(before.record, **given)
        wrong = {}
        if before is None or record != before.record:
            wrong = record_faults(record, catalogue, today)
        faults += [line.fault(field, detail) for field, detail in wrong.items()]
        try:
            if before is None:
                after = enter(Piece(line.tag, record), today)
            elif record == before.record:
                after = before
            else:
                after = amend(before, record, today)
        except PieceRefused as refused:
            for reason in refused.reasons:
                field = "tested_on" if reason.code == "tested-on" else "tag"
                faults.append(line.fault(field, reason.detail))
            continue
        planned.append(Planned(line.line, before, after))
    return planned, faults
