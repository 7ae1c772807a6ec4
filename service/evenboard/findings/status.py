"""What the desk knows of a tagged piece of equipment, as far as a finding needs it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

__all__ = ["EquipmentStatus"]


@dataclass(frozen=True, slots=True)
class EquipmentStatus:
    """The standing of one tagged cable, board or fixture on the day ``as_of``.

    ``withdrawn`` with its ``reason`` where the piece must not go out; ``test_due`` is the day by
    which it wants its next test, None where no interval is set. ``claimed_by`` says in words who
    else counts on it at that time. ``known`` is False for a tag that is not on the desk's list.
    ``needed_until`` is the last day of the order that it is for, None where nobody said.
    """

    tag: str
    as_of: date
    withdrawn: bool = False
    reason: str = ""
    test_due: date | None = None
    claimed_by: tuple[str, ...] = ()
    known: bool = True
    needed_until: date | None = None

    @property
    def days_overdue(self) -> int:
        """Days since the test was due; 0 where it is not."""
        if self.test_due is None:
            return 0
        return max(0, (self.as_of - self.test_due).days)
