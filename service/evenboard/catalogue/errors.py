"""What can be wrong with the data files."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

__all__ = ["CatalogueFault", "CatalogueInvalid"]


@dataclass(frozen=True, slots=True, order=True)
class CatalogueFault:
    """One thing wrong in a data file: where it stands and what would be right."""

    file: str
    entry: str
    detail: str

    def __str__(self) -> str:
        """One line: file, entry, what would be right."""
        place = f"{self.file}: {self.entry}" if self.entry else self.file
        return f"{place}: {self.detail}"


class CatalogueInvalid(ValueError):
    """The data files cannot be used; ``faults`` lists everything that is wrong with them."""

    def __init__(self, faults: Iterable[CatalogueFault]) -> None:
        self.faults = tuple(sorted(set(faults)))
        lines = "\n".join(f"  {fault}" for fault in self.faults)
        super().__init__(f"{len(self.faults)} fault(s) in the catalogue:\n{lines}")
