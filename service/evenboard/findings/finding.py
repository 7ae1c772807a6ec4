"""A finding: what, where, how much against how much, what to do, and on whose word."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from evenboard.findings.action import Action

__all__ = ["Finding", "Severity", "Where"]

Severity = Literal["fail", "caution", "note"]


@dataclass(frozen=True, slots=True)
class Where:
    """The place of a finding; what does not apply is None. ``phase`` is the board's own name."""

    board: str | None = None
    phase: str | None = None
    outlet: str | None = None
    load: str | None = None
    setup: str | None = None


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that a crew should know.

    ``fail``: a rating is broken or somebody may get hurt. ``caution``: a rule of practice is
    broken. ``note``: worth knowing. ``value`` and ``limit`` are in ``unit``. ``actions`` say what
    ``remedy`` says, for a program; none where nothing on this layout can mend it.
    """

    code: str
    severity: Severity
    where: Where
    value: float | None
    limit: float | None
    unit: str
    message: str
    remedy: str
    basis: str
    actions: tuple[Action, ...] = ()
