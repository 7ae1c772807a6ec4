"""Sheets of equipment labels read back."""

from __future__ import annotations

import io
from typing import Any

import pytest
from pypdf import PdfReader

from evenboard.reports import SHEETS, Label, render_labels
from support.papers import page_texts, squeezed

POINTS_PER_MM = 72 / 25.4


def labels(amount: int) -> list[Label]:
    return [
        Label(f"C-{n:04}", f"https://desk.example/t/C-{n:04}", f"cable number {n}")
        for n in range(1, amount + 1)
    ]


def places(pdf: bytes, page: int = 0) -> dict[str, tuple[float, float]]:
    """Where each tag stands on a page: millimetres from the left and from the top."""
    found: dict[str, tuple[float, float]] = {}
    sheet = PdfReader(io.BytesIO(pdf)).pages[page]
    height = float(sheet.mediabox.height)

    def visit(text: str, ctm: Any, matrix: Any, *_: Any) -> None:
        words = text.strip()
        if words.startswith("C-"):
            x = matrix[4] * ctm[0] + ctm[4]
            y = matrix[5] * ctm[3] + ctm[5]
            top = y if ctm[3] < 0 and y <= height and ctm[5] == 0 else height - y
            found[words] = (x / POINTS_PER_MM, top / POINTS_PER_MM)

    sheet.extract_text(visitor_text=visit)
    return found


@pytest.mark.parametrize(
    ("paper", "a_sheet", "width_mm", "height_mm"),
    [("a4", 24, 210.0, 297.0), ("letter", 30, 215.9, 279.4)],
)
def test_sheets_hold_as_many_labels_as_they_are_sold_with(
    paper: str, a_sheet: int, width_mm: float, height_mm: float
) -> None:
    pdf = render_labels(labels(a_sheet + 1), paper)

    pages = page_texts(pdf)
    box = PdfReader(io.BytesIO(pdf)).pages[0].mediabox
    assert len(pages) == 2
    assert pages[0].count("cablenumber") == a_sheet
    assert squeezed(f"C-{a_sheet + 1:04}") in pages[1]
    assert float(box.width) / POINTS_PER_MM == pytest.approx(width_mm, abs=0.1)
    assert float(box.height) / POINTS_PER_MM == pytest.approx(height_mm, abs=0.1)


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_each_label_stands_inside_its_own_sticker(paper: str) -> None:
    sheet = SHEETS[paper]
    where = places(render_labels(labels(sheet.columns * sheet.rows), paper))

    assert len(where) == sheet.columns * sheet.rows
    for index, tag in enumerate(sorted(where)):
        left, top = where[tag]
        row, column = divmod(index, sheet.columns)
        x0 = sheet.left_mm + column * (sheet.label_width_mm + sheet.column_gap_mm)
        y0 = sheet.top_mm + row * (sheet.label_height_mm + sheet.row_gap_mm)
        assert x0 < left < x0 + sheet.label_width_mm
        assert y0 < top < y0 + sheet.label_height_mm


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_the_grid_of_a_sheet_lies_within_its_paper(paper: str) -> None:
    sheet = SHEETS[paper]
    width_mm, height_mm = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}[paper]

    across = sheet.columns * sheet.label_width_mm + (sheet.columns - 1) * sheet.column_gap_mm
    down = sheet.rows * sheet.label_height_mm + (sheet.rows - 1) * sheet.row_gap_mm

    assert sheet.left_mm + across <= width_mm
    assert sheet.top_mm + down <= height_mm


def test_places_that_are_used_up_are_left_free() -> None:
    first = places(render_labels(labels(1), "a4"))["C-0001"]
    later = places(render_labels(labels(1), "a4", skip=4))["C-0001"]

    # Four places on are one row down and one column to the right.
    assert later[0] - first[0] == pytest.approx(70.0, abs=0.1)
    assert later[1] - first[1] == pytest.approx(37.0, abs=0.1)


def test_the_same_labels_are_the_same_file() -> None:
    assert render_labels(labels(5)) == render_labels(labels(5))


def test_long_and_foreign_tags_are_not_lost() -> None:
    odd = [Label("W" * 64, "x"), Label("山田-01", "y", "🔌 電線"), Label("#panic()", "z")]

    text = page_texts(render_labels(odd, "letter"))[0]

    for words in ("W" * 64, "山田-01", "電線", "#panic()"):
        assert words in text


@pytest.mark.parametrize(
    ("amount", "changes", "word"),
    [
        (0, {}, "labels"),
        (2001, {}, "labels"),
        (1, {"paper": "a5"}, "paper"),
        (1, {"skip": 24}, "skip"),
    ],
)
def test_a_sheet_that_cannot_be_is_refused(amount: int, changes: dict[str, Any], word: str) -> None:
    with pytest.raises(ValueError, match=word):
        render_labels(labels(amount), **changes)
