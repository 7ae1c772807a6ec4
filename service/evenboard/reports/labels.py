"""Equipment labels: a sheet of stickers, each with a QR code, the tag in large and a few words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from types import MappingProxyType
from typing import Final

from evenboard.reports.render import qr_svg, typeset

__all__ = ["MAX_LABELS", "SHEETS", "Label", "Sheet", "render_labels"]

MAX_LABELS: Final = 2000
"""On one request: more than eighty sheets, the most that a desk sticks in a day (estimate)."""
NO_MOMENT = datetime(2000, 1, 1, tzinfo=UTC)
"""Labels say no date, and the same labels are the same file."""


@dataclass(frozen=True, slots=True)
class Label:
    """One sticker: ``code`` goes into the QR code, ``tag`` is read from a metre, ``words`` near."""

    tag: str
    code: str
    words: str = ""
    second: str = ""


@dataclass(frozen=True, slots=True)
class Sheet:
    """A sheet of labels as it is sold: its paper, its grid, margins and gaps. [mm]"""

    paper: str
    columns: int
    rows: int
    label_width_mm: float
    label_height_mm: float
    left_mm: float
    top_mm: float
    column_gap_mm: float = 0.0
    row_gap_mm: float = 0.0


SHEETS: Final = MappingProxyType(
    {
        "a4": Sheet("a4", 3, 8, 70.0, 37.0, 0.0, 0.5),
        "letter": Sheet("us-letter", 3, 10, 66.675, 25.4, 4.7625, 12.7, 3.175),
    }
)
"""Common sheets: A4 3 x 8 of 70 x 37 mm to the edge, US Letter 3 x 10 of 2 5/8 x 1 inch."""


def render_labels(
    labels: Sequence[Label], paper: str = "a4", *, skip: int = 0, sheet: Sheet | None = None
) -> bytes:
    """Sheets of labels as PDF, to be printed at full size.

    Parameters
    ----------
    labels : sequence of Label
        One to ``MAX_LABELS``, in their order: row by row from the top left.
    paper : {"a4", "letter"}
        Which of ``SHEETS``.
    skip : int
        Places of the first sheet that are used up already.
    sheet : Sheet, optional
        A sheet of other sizes in place of ``paper``'s.

    Returns
    -------
    bytes
        The PDF; the same labels give the same bytes.

    Raises
    ------
    ValueError
        If there is no label or too many, the paper is unknown, or the first sheet has not so many
        places.
    RenderFailed
        If the sheet cannot be set.
    """
    if not 1 <= len(labels) <= MAX_LABELS:
        raise ValueError(f"labels: 1 to {MAX_LABELS}, not {len(labels)}")
    if sheet is None:
        if paper not in SHEETS:
            raise ValueError(f"paper is {' or '.join(SHEETS)}, not {paper!r}")
        sheet = SHEETS[paper]
    places = sheet.columns * sheet.rows
    if not 0 <= skip < places:
        raise ValueError(f"skip is 0 to {places - 1}, not {skip}")
    codes = {f"qr-{index}.svg": qr_svg(label.code) for index, label in enumerate(labels)}
    values = {
        "sheet": asdict(sheet),
        "skip": skip,
        "labels": [
            {"tag": label.tag, "words": label.words, "second": label.second} for label in labels
        ],
        "title": "Equipment labels",
    }
    return typeset("labels.typ", values, codes, issued_at=NO_MOMENT)
