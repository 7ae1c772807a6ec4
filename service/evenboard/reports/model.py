"""A report as its pages say it: frozen, finished text that a test can read and a template places.

Nothing here computes, and no figure is without its unit. Text is as the user wrote it; what the
paper's fonts lack is seen to when the page is set (``glyphs``).
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

__all__ = [
    "Bar",
    "BoardPicture",
    "Column",
    "Fact",
    "FindingEntry",
    "OutletBox",
    "Paper",
    "Pattern",
    "PhaseChart",
    "PictureColumn",
    "PictureRow",
    "Plugged",
    "Proof",
    "ReportDocument",
    "Row",
    "RunEntry",
    "Section",
    "Table",
    "VerdictWords",
]

Paper = Literal["a4", "letter"]
Pattern = Literal["stripes", "dots", "grid", "plain"]
"""How a phase looks without colour; ``plain`` is the neutral."""


@dataclass(frozen=True, slots=True)
class Fact:
    """A label and what stands beside it."""

    label: str
    value: str


@dataclass(frozen=True, slots=True)
class VerdictWords:
    """The verdict in one word and in a sentence, and how many findings of each severity."""

    kind: Literal["pass", "caution", "fail"]
    word: str
    sentence: str
    counts: str


@dataclass(frozen=True, slots=True)
class Bar:
    """One phase, or the neutral, as a bar: ``share`` of the rating, 1 is full.

    ``share`` is None where there is no figure; ``over`` says that the rating is passed.
    """

    name: str
    pattern: Pattern
    share: float | None
    over: bool
    amps: str
    words: str


@dataclass(frozen=True, slots=True)
class PhaseChart:
    """The bars of the supply; ``limit_share`` is where practice draws the line, or None."""

    caption: str
    bars: tuple[Bar, ...]
    limit_share: float | None
    limit_words: str


@dataclass(frozen=True, slots=True)
class FindingEntry:
    """A finding as printed; ``mark`` is its number on the paper, such as ``F3``."""

    mark: str
    severity: Literal["fail", "caution", "note"]
    word: str
    place: str
    message: str
    against: str
    remedy: str
    basis: str
    code: str


@dataclass(frozen=True, slots=True)
class Plugged:
    """What is in an outlet: a load's or a board's name, and what it is."""

    id: str
    name: str
    is_board: bool


@dataclass(frozen=True, slots=True)
class OutletBox:
    """An outlet of the picture: what it is, what is in it, its amps and volts, its findings."""

    id: str
    protection: str
    lines: str
    plugged: tuple[Plugged, ...]
    figures: str
    marks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PictureColumn:
    """A phase of a board: its name there, the supply's line behind it and that line's pattern."""

    name: str
    pattern: Pattern
    words: str


@dataclass(frozen=True, slots=True)
class PictureRow:
    """A row of a board's face: per column the outlets that sit there, in their order."""

    name: str
    cells: tuple[tuple[OutletBox, ...], ...]


@dataclass(frozen=True, slots=True)
class BoardPicture:
    """A board as it is plugged. ``wide`` are the outlets of more than one line.

    A board of one line has its outlets in ``rows`` of one cell.
    """

    id: str
    name: str
    fed: str
    columns: tuple[PictureColumn, ...]
    rows: tuple[PictureRow, ...]
    wide: tuple[OutletBox, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Column:
    """A column: its head, its side, and its share of the width (0: as wide as its text)."""

    head: str
    align: Literal["left", "right", "center"] = "left"
    share: float = 0.0


@dataclass(frozen=True, slots=True)
class Row:
    """A row of a table; a strong one is set in bold."""

    cells: tuple[str, ...]
    strong: bool = False


@dataclass(frozen=True, slots=True)
class Table:
    """A table with a repeating head. ``ruled`` draws boxes to write into."""

    columns: tuple[Column, ...]
    rows: tuple[Row, ...]
    ruled: bool = False


@dataclass(frozen=True, slots=True)
class RunEntry:
    """A board with its feeder: words about the cable, and a row per conductor of ``RUN_HEAD``."""

    board: str
    words: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class Section:
    """A titled part of the page: a line of words, a table, and notes under it."""

    title: str
    lead: str = ""
    table: Table | None = None
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Proof:
    """What proves the paper: the id in groups, the hash in groups, where to ask, the QR's text."""

    id: str
    id_groups: tuple[str, ...]
    sha256: str
    sha256_groups: tuple[str, ...]
    sha256_prefix: str
    verify_url: str
    key_id: str


@dataclass(frozen=True, slots=True)
class ReportDocument:
    """All pages of a report. ``layout_json`` is the layout as checked, attached to the paper.

    ``accepted`` says who answers for a layout that fails, and why; empty for any other.
    """

    paper: Paper
    language: str
    issued_at: datetime
    title: str
    subtitle: str
    running: str
    supersedes: str
    note: str
    verdict: VerdictWords
    accepted: str
    order: tuple[Fact, ...]
    supply: tuple[Fact, ...]
    chart: PhaseChart
    figures: tuple[Fact, ...]
    findings_lead: str
    findings: tuple[FindingEntry, ...]
    boards: tuple[BoardPicture, ...]
    run_head: tuple[str, ...]
    runs: tuple[RunEntry, ...]
    runs_notes: tuple[str, ...]
    sections: tuple[Section, ...]
    basis: tuple[Fact, ...]
    basis_sections: tuple[Section, ...]
    assumptions: tuple[str, ...]
    cautions: tuple[str, ...]
    notice: str
    signing: tuple[str, ...]
    proof: Proof
    words: dict[str, str]
    layout_json: str
