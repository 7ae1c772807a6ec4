"""What a record of a piece may say: known names, sizes that exist, nothing that contradicts itself.

The same rules hold for a piece typed in and for one that comes in a file; a fault names the field.
"""

from __future__ import annotations

import re
from collections.abc import Collection
from datetime import date

from evenboard.catalogue import Catalogue
from evenboard.intake.nearest import listed, nearest, nearest_numbers, quoted
from evenboard.intake.runs import SAME_SIZE
from evenboard.store.piece import Record

__all__ = ["EARLIEST", "MOST_MONTHS", "RESERVED", "record_faults", "tag_fault"]

MOST_MONTHS = 60
"""Longest interval between tests of a piece that is believed (estimate)."""
EARLIEST = date(1950, 1, 1)
"""A day before this is a slip of the keys: nothing so old is on a list (estimate)."""
RESERVED = frozenset(
    (
        "check-outs",
        "inspections",
        "withdrawals",
        "causes",
        "tests",
        "releases",
        "restorations",
        "photos",
        "history",
    )
)
"""What may stand behind a tag in an address, so no part of a tag but its first is one of these."""
_SPACE = re.compile(r"^\s|\s$")


def tag_fault(tag: str) -> str | None:
    """Why a tag cannot be one; None where it can.

    Any printable characters make a tag, slashes and emoji too, as long as it can stand in an
    address and be found again.
    """
    if _SPACE.search(tag):
        return "A tag does not begin or end with a space."
    parts = tag.split("/")
    if not all(parts):
        return "A tag does not begin or end with a slash, nor has it two together."
    if any(part in (".", "..") for part in parts):
        return "A part of a tag between slashes is not . or .. alone."
    taken = [part for part in parts[1:] if part in RESERVED]
    if taken:
        return f"{quoted(taken[0])} behind a slash means something else here; use another tag."
    return None


def record_faults(record: Record, catalogue: Catalogue, today: date) -> dict[str, str]:
    """What is wrong with a record, by field; empty where nothing is."""
    faults: dict[str, str] = {}
    _known(faults, "cable", record.cable, catalogue.cables, "cable type")
    _known(faults, "board", record.board, catalogue.boards, "board type")
    _known(faults, "fixture", record.fixture, catalogue.fixtures, "fixture type")
    if record.connector is not None:
        connectors = {o.id for region in catalogue.regions.values() for o in region.outlets}
        _known(faults, "connector", record.connector, connectors, "connector")
    cable = catalogue.cables.get(record.cable or "")
    if cable is not None and record.csa_mm2 is not None:
        sizes = sorted({size.csa_mm2 for table in cable.tables for size in table.sizes})
        if not any(abs(size - record.csa_mm2) <= SAME_SIZE * size for size in sizes):
            near = listed(nearest_numbers(record.csa_mm2, sizes))
            faults["csa_mm2"] = (
                f"{cable.id} has no size {record.csa_mm2:g} mm2: nearest {near} mm2."
            )
    for name in ("bought_on", "tested_on"):
        day: date | None = getattr(record, name)
        if day is not None and day > today:
            faults[name] = f"{day} is not over yet: it is {today} here."
        elif day is not None and day < EARLIEST:
            faults[name] = f"{day} is too long ago to be meant."
    bought, tested = record.bought_on, record.tested_on
    if bought and tested and tested < bought and not faults.keys() & {"bought_on", "tested_on"}:
        faults["tested_on"] = f"{tested} is before it was bought, {bought}."
    return faults


def _known(
    faults: dict[str, str], field: str, name: str | None, choices: Collection[str], noun: str
) -> None:
    if name is None or name in choices:
        return
    close = nearest(name, choices)
    hint = f" Nearest: {listed(close)}." if close else ""
    faults[field] = f"There is no {noun} {quoted(name)}.{hint}"
