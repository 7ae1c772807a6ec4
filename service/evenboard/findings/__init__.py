"""What is wrong or worth knowing about a solved layout, and what to do about it.

A rule is one function, ``def phase_overload(view: View) -> Iterator[Finding]``: it sees the solved
layout and the limits in force, yields nothing when all is well, and computes its own remedy. All
rules stand in ``rules.RULES``. How to write one is told in ``README.md`` beside this file.
"""

from evenboard.findings.finding import Finding, Severity, Where
from evenboard.findings.rules import RULES, find
from evenboard.findings.status import EquipmentStatus
from evenboard.findings.view import View

__all__ = ["RULES", "EquipmentStatus", "Finding", "Severity", "View", "Where", "find"]
