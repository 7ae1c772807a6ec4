"""What the catalogue's own file says: version, changes, families and size classes."""

from __future__ import annotations

from dataclasses import dataclass

from evenboard.catalogue.entry import Entry
from evenboard.electrics.equipment import Basis, SizeClass

__all__ = ["Change", "Family", "SizeClasses", "read_changes", "read_families", "read_sizes"]


@dataclass(frozen=True, slots=True)
class Family:
    """A family of fixtures and its name as a crew says it, in the order of the lists."""

    id: str
    name: str


@dataclass(frozen=True, slots=True)
class Change:
    """What a user of the catalogue notices from one version on."""

    version: str
    date: str
    text: str


@dataclass(frozen=True, slots=True)
class SizeClasses:
    """From how many watts per line a lamp counts as medium and as large."""

    medium_from_w: float
    large_from_w: float
    basis: Basis

    def of(self, power_per_line_w: float) -> SizeClass:
        """The size class of a lamp by the power it draws from each of its lines. [W]"""
        if power_per_line_w >= self.large_from_w:
            return "large"
        return "medium" if power_per_line_w >= self.medium_from_w else "small"


def read_families(file: Entry) -> tuple[Family, ...]:
    """The families in their order."""
    families: list[Family] = []
    for entry in file.children("families"):
        family = Family(entry.slug("id"), entry.text("name"))
        if entry.close():
            if any(family.id == other.id for other in families):
                entry.fault(f"family {family.id!r} is listed twice")
            families.append(family)
    return tuple(families)


def read_changes(file: Entry) -> tuple[Change, ...]:
    """The changes, newest first; the newest one's version is the catalogue's."""
    changes = []
    for entry in file.children("changes", label="version"):
        change = Change(entry.text("version"), entry.text("date"), entry.text("text"))
        if entry.close():
            changes.append(change)
    version = file.text("version")
    if version and changes and changes[0].version != version:
        file.fault(f"version {version!r} must be that of the first change, {changes[0].version!r}")
    if not changes:
        file.fault("changes must list at least one change")
    return tuple(changes)


def read_sizes(file: Entry) -> SizeClasses:
    """The limits between small, medium and large."""
    entry = file.child("size_classes")
    medium = entry.number("medium_from_w", above=0.0)
    large = entry.number("large_from_w", above=0.0)
    if entry.sound and medium >= large:
        entry.fault(f"medium_from_w {medium:g} must be less than large_from_w {large:g}")
    sizes = SizeClasses(medium, large, entry.basis())
    entry.close()
    return sizes
