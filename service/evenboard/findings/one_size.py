"""One size for one cable: what several findings ask of the same run, the largest of all."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import TYPE_CHECKING

from evenboard.findings.action import Action, Resize
from evenboard.findings.finding import Finding
from evenboard.findings.remedy import sentence
from evenboard.findings.thicken import thicken_words

if TYPE_CHECKING:
    from evenboard.findings.view import View

__all__ = ["one_size"]

_Asked = tuple[str | None, str | None, str]
"""Board or load of a run, and what is asked of it."""


def one_size(view: View, findings: Iterable[Finding]) -> list[Finding]:
    """The findings with every run's size as large as any of them asks, in actions and words."""
    found = list(findings)
    largest: dict[_Asked, Resize] = {}
    for action in (action for finding in found for action in finding.actions):
        if isinstance(action, Resize):
            key = _asked(action)
            if key not in largest or _size(action) > _size(largest[key]):
                largest[key] = action
    return [_with(view, finding, largest) for finding in found]


def _with(view: View, finding: Finding, largest: dict[_Asked, Resize]) -> Finding:
    actions: tuple[Action, ...] = tuple(
        largest[_asked(action)] if isinstance(action, Resize) else action
        for action in finding.actions
    )
    if actions == finding.actions:
        return finding
    old, new = (
        thicken_words(view, [action for action in each if isinstance(action, Resize)])
        for each in (finding.actions, actions)
    )
    remedy = finding.remedy.replace(old, new).replace(sentence(old), sentence(new))
    return replace(finding, actions=actions, remedy=remedy)


def _asked(action: Resize) -> _Asked:
    if action.csa_mm2 is not None:
        return action.board, action.load, "size"
    return action.board, action.load, "capacity" if action.r_ohm_per_km is None else "resistance"


def _size(action: Resize) -> float:
    """A figure that grows with what a resizing asks for, among those that ask for the same."""
    if action.csa_mm2 is not None:
        return action.csa_mm2
    if action.r_ohm_per_km is not None:
        return -action.r_ohm_per_km
    return action.capacity_a or 0.0
