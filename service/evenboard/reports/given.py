"""The content of a report with its parts at hand: by board, by load, by finding."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from evenboard.reports.model import Pattern
from evenboard.reports.words import SEVERITIES

__all__ = ["Given", "Json"]

Json = Mapping[str, Any]

PATTERNS: tuple[Pattern, ...] = ("stripes", "dots", "grid")
"""Of the supply's lines in their order; the same on bars, boards and cables."""


@dataclass(slots=True)
class Given:
    """A report's content, indexed once; nothing in it is changed."""

    content: Json
    issue: Json = field(init=False)
    balance: Json = field(init=False)
    resolved: Json = field(init=False)
    loads: dict[str, Json] = field(init=False)
    load_figures: dict[str, Json] = field(init=False)
    boards: dict[str, Json] = field(init=False)
    board_figures: dict[str, Json] = field(init=False)
    plugged: dict[tuple[str, str], list[Json]] = field(init=False)
    children: dict[tuple[str, str], list[Json]] = field(init=False)
    findings: list[Json] = field(init=False)
    marks: dict[tuple[str, str], list[str]] = field(init=False)

    def __post_init__(self) -> None:
        content = self.content
        self.issue, self.balance = content["issue"], content["balance"]
        self.resolved = content["resolved"]
        self.loads = {load["id"]: load for load in self.resolved["loads"]}
        self.load_figures = {load["id"]: load for load in self.balance["loads"]}
        self.boards = {board["id"]: board for board in self.resolved["boards"]}
        self.board_figures = {board["id"]: board for board in self.balance["boards"]}
        self.plugged, self.children = defaultdict(list), defaultdict(list)
        for load in self.resolved["loads"]:
            if load["board"] is not None:
                self.plugged[load["board"], load["outlet"]].append(load)
        for board in self.resolved["boards"]:
            source = board["fed_from"]
            if source is not None:
                self.children[source["board"], source["outlet"]].append(board)
        order = list(SEVERITIES)
        self.findings = sorted(
            self.balance["findings"], key=lambda finding: order.index(finding["severity"])
        )
        self.marks = self._marks()

    def _marks(self) -> dict[tuple[str, str], list[str]]:
        """Which findings speak of which outlet, by name or by the load that is in it."""
        marks: dict[tuple[str, str], list[str]] = defaultdict(list)
        for index, finding in enumerate(self.findings):
            where = finding["where"]
            place = (where["board"], where["outlet"])
            load = self.loads.get(where["load"] or "")
            if place[1] is None and load is not None and load["board"] is not None:
                place = (load["board"], load["outlet"])
            if place[0] is not None and place[1] is not None:
                marks[place[0], place[1]].append(self.mark(index))
        return marks

    @staticmethod
    def mark(index: int) -> str:
        """The number of a finding on the paper."""
        return f"F{index + 1}"

    @property
    def lines(self) -> list[str]:
        """The supply's lines."""
        return list(self.resolved["supply"]["lines"])

    @property
    def setups(self) -> list[str]:
        """The set-ups, in their order."""
        return list(self.resolved["setups"])

    def pattern(self, supply_line: str) -> Pattern:
        """How a line of the supply looks."""
        return PATTERNS[self.lines.index(supply_line)]

    def limit(self, name: str) -> float:
        """A limit that findings judged by."""
        limits = self.resolved["limits"]
        return float(next(limit["value"] for limit in limits if limit["name"] == name))
