"""Equipment as a CSV file: out and in again unchanged, and every fault with its line and column."""

from __future__ import annotations

import csv
import io
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from evenboard.catalogue import Catalogue
from evenboard.desk.equipment import inspect, retire
from evenboard.desk.stocklist import (
    COLUMNS,
    MOST_FAULTS,
    MOST_ROWS,
    FileFault,
    Planned,
    plan,
    read,
    written,
)
from evenboard.store.piece import Piece
from support.equipment import PRACTICE, TODAY, a_piece, later, seen

# What a name may hold: printable text, however it begins.
PRINTABLE = st.text(st.characters(exclude_categories=["C", "Z"]) | st.just(" "), max_size=40)
NASTY = st.sampled_from(["", "=", "+", "-", "@", "'", "'=", "''", '"', ",", ";", "=cmd()"])


def taken_in(
    text: str | bytes, catalogue: Catalogue, *pieces: Piece
) -> tuple[list[Planned], list[FileFault]]:
    lines, faults = read(text if isinstance(text, bytes) else text.encode())
    planned, more = plan(lines, {piece.tag: piece for piece in pieces}, catalogue, TODAY)
    return planned, [*faults, *more]


def places(faults: list[FileFault]) -> list[tuple[int, int, str | None]]:
    return [(fault.line, fault.column, fault.field) for fault in faults]


def test_a_file_adds_new_pieces_and_changes_known_ones(catalogue: Catalogue) -> None:
    text = "tag,kind,cable,csa_mm2,length_m\nC-1,cable,h07rn-f,6,25\nC-12,cable,h07rn-f,6,29.5\n"

    planned, faults = taken_in(text, catalogue, a_piece())

    assert faults == []
    new, old = planned
    assert new.before is None
    assert (new.after.record.csa_mm2, new.after.record.length_m) == (6.0, 25.0)
    assert old.changed == ("length_m",)
    # What the file has no column for stays as it was.
    assert old.after.record.tested_on == later(-7)


@settings(max_examples=50, deadline=None)
@given(st.lists(st.tuples(NASTY, PRINTABLE), min_size=2, max_size=2))
def test_what_goes_out_comes_in_unchanged_and_no_cell_is_a_formula(
    catalogue: Catalogue, texts: list[tuple[str, str]]
) -> None:
    name, note = ("".join(parts) for parts in texts)
    piece = a_piece("=1/2 👍,;", name=name, note=note, length_m=7.123456789, test_interval_months=6)

    text = written([piece], PRACTICE)
    planned, faults = taken_in(text, catalogue, piece)

    assert faults == []
    assert [each.after for each in planned] == [piece]
    for row in csv.reader(io.StringIO(text.removeprefix("\ufeff"))):
        assert not any(cell.startswith(("=", "+", "-", "@", "\t", "\r")) for cell in row)


def test_a_file_changes_no_standing_whatever_it_says(catalogue: Catalogue) -> None:
    piece = inspect(a_piece(), ["kinked"], "", False, seen())
    text = "tag,state,order_ref,test_due_on,name\nC-12,in-service,A/9,2099-01-01,long one\n"

    [planned], faults = taken_in(text, catalogue, piece)

    assert faults == []
    assert planned.after.standing == piece.standing
    assert planned.after.record.name == "long one"


def test_a_blank_cell_clears_and_a_spreadsheet_s_own_ways_are_read(catalogue: Catalogue) -> None:
    text = "\ufeffTag;Length m;NAME;\r\nC-12;29,5;;\r\n;;;\r\n"

    [planned], faults = taken_in(text, catalogue, a_piece(name="old"))

    assert faults == []
    assert (planned.after.record.length_m, planned.after.record.name) == (29.5, "")


def test_every_fault_is_told_at_once_with_its_line_and_column(catalogue: Catalogue) -> None:
    text = (
        "tag,kind,cable,csa_mm2,length_m,tested_on,test_interval_months\n"
        "C-1,cabel,h07rn-f,6,25,2026-11-01,3\n"
        "C-2,cable,h07rnf,6,-3,2026-02-30,0\n"
        ",cable,,,,,\n"
        "C-3,cable,h07rn-f,7.5,1e3,25/11/2026,3\n"
        "C-4,cable,,,,2027-01-01,\n"
        "C-5,,,,,,\n"
        "C-6,cable,,,,,,stray\n"
        "C-7,cable,,,,,\n"
        "C-7,cable,,,,,\n"
        "a/history,cable,,,,,\n"
        "a//b,cable,,,,,\n"
    )

    _, faults = taken_in(text, catalogue)

    assert sorted(places(faults), key=lambda place: place[:2]) == [
        (2, 2, "kind"),
        (3, 5, "length_m"),
        (3, 6, "tested_on"),
        (3, 7, "test_interval_months"),
        (4, 1, "tag"),
        (5, 5, "length_m"),
        (5, 6, "tested_on"),
        (6, 6, "tested_on"),
        (7, 2, "kind"),
        (8, 8, None),
        (10, 1, "tag"),
        (11, 1, "tag"),
        (12, 1, "tag"),
    ]
    told = {fault.line: fault.detail for fault in faults}
    assert "Nearest: cable" in told[2]
    assert "line 9" in told[10]


def test_what_the_catalogue_does_not_know_is_a_fault_with_the_nearest(catalogue: Catalogue) -> None:
    text = "tag,kind,cable,csa_mm2,board,connector\nC-1,cable,h07rnf,,three-row-33,cee-32\n"
    text += "C-2,cable,h07rn-f,7.5,,\n"

    _, faults = taken_in(text, catalogue)

    assert places(faults)[:2] == [(2, 3, "cable"), (2, 5, "board")]
    assert "Nearest: h07rn-f" in faults[0].detail
    assert faults[-1].line == 3
    assert "nearest 6 or 10 mm2" in faults[-1].detail


def test_a_line_is_counted_where_it_begins_though_a_cell_has_lines_of_its_own(
    catalogue: Catalogue,
) -> None:
    text = 'tag,kind,note\nC-1,cable,"two\nlines"\nC-2,cabl,\n'

    _, faults = taken_in(text, catalogue)

    assert places(faults) == [(2, 3, "note"), (4, 2, "kind")]


@pytest.mark.parametrize(
    ("data", "place", "words"),
    [
        (b"", (1, 1, None), "empty"),
        (b"\n\n", (1, 1, None), "empty"),
        (b"tag,kind\nC-1,k\xe4bel\n", (2, 1, None), "UTF-8"),
        ("tag,kind\nC-1,cable\n".encode("utf-16"), (1, 1, None), "UTF-8"),
        (b'tag,kind\nC-1,"cable\n', (2, 1, None), "cannot be read on"),
        (b"tag,kind\nC-\x001,cable\n", (2, 1, "tag"), ""),
        (b"kind\ncable\n", (1, 1, "tag"), "no column tag"),
        (b"tag,kind,tag\n", (1, 3, "tag"), "two columns"),
        (b"tag,kind,csa\n", (1, 3, None), "Nearest: csa_mm2"),
    ],
)
def test_what_is_no_such_file_says_so(
    data: bytes, place: tuple[int, int, str | None], words: str, catalogue: Catalogue
) -> None:
    _, faults = taken_in(data, catalogue)

    assert place in places(faults) or (place[0], 1, None) in places(faults)
    assert words in " ".join(fault.detail for fault in faults)


def test_a_retired_piece_and_a_test_that_is_none_are_refused(catalogue: Catalogue) -> None:
    gone = retire(a_piece("C-9"), seen())
    text = "tag,kind,name,tested_on\nC-9,cable,again,\nC-12,cable,,2026-11-25\n"
    later_entered = a_piece("C-12", tested_on=None)

    _, faults = taken_in(text, catalogue, gone, later_entered)
    _, again = taken_in(text, catalogue, gone, inspect(a_piece(), [], "", False, seen()))

    assert places(faults)[0] == (2, 1, "tag")
    assert "retired" in faults[0].detail
    assert len(again) >= 1


def test_a_file_without_end_is_cut_off_with_a_word(catalogue: Catalogue) -> None:
    rows = "".join(f"C-{n},other\n" for n in range(MOST_ROWS + 10))

    planned, faults = taken_in(f"tag,kind\n{rows}", catalogue)

    assert len(planned) == MOST_ROWS
    assert places(faults) == [(MOST_ROWS + 2, 1, None)]


def test_a_file_of_faults_is_read_no_further_and_says_that_they_are_why(
    catalogue: Catalogue,
) -> None:
    rows = "".join(f"C-{n},spoon\n" for n in range(MOST_FAULTS + 10))

    planned, faults = taken_in(f"tag,kind\n{rows}", catalogue)

    assert planned == []
    last = max(faults, key=lambda fault: fault.line)
    assert last.line == MOST_FAULTS + 2
    assert f"mend the {MOST_FAULTS} faults first" in last.detail


@settings(max_examples=50, deadline=None)
@given(
    st.binary(max_size=300) | st.text(max_size=300).map(lambda text: f"tag,kind\n{text}".encode())
)
def test_any_bytes_give_lines_or_faults_and_no_error(catalogue: Catalogue, data: bytes) -> None:
    planned, faults = taken_in(data, catalogue)

    assert planned or faults or data.count(b"\n") <= 300
    assert all(fault.line >= 1 and fault.column >= 1 for fault in faults)


def test_the_columns_are_the_tag_and_all_of_the_record() -> None:
    values: dict[str, Any] = dict.fromkeys(COLUMNS)

    assert list(values)[:2] == ["tag", "kind"]
