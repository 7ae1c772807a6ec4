"""Plain words for places and amounts: short enough for somebody in gloves."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from typing import TYPE_CHECKING

from evenboard.electrics.layout import Layout, Run

if TYPE_CHECKING:
    from evenboard.findings.view import View

__all__ = [
    "amps",
    "amps_beside",
    "beside",
    "board_name",
    "counted",
    "line_name",
    "line_of",
    "listed",
    "load_names",
    "number",
    "outlet_label",
    "outlet_name",
    "run_name",
    "size_name",
]

_PHASE_ID = re.compile(r"^[lL]([123])[-_ ]?(.*)$")


def number(value: float, digits: int = 1) -> str:
    """A figure with at most that many decimals: ``32``, ``41.2``."""
    text = f"{value:.{digits}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def beside(value: float, limit: float, digits: int = 1) -> str:
    """A figure with as many decimals as it takes to differ from its limit: ``80.2`` beside 80."""
    for more in range(digits, digits + 4):
        if number(value, more) != number(limit, more):
            return number(value, more)
    return number(value, digits)


def amps_beside(value: float, limit: float) -> str:
    """Amps with as many decimals as it takes to differ from their limit."""
    return f"{beside(value, limit, 1 if abs(value) < 100.0 else 0)} A"


def amps(value: float) -> str:
    """Amps as a clamp meter shows them: ``41.2 A``, ``203 A``."""
    return f"{number(value, 1 if abs(value) < 100.0 else 0)} A"


def listed(words: Sequence[str], most: int = 4) -> str:
    """``a, b and c``; beyond ``most``, ``a, b, c and 5 more``."""
    if len(words) > most:
        return f"{', '.join(words[: most - 1])} and {len(words) - most + 1} more"
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} and {words[-1]}"


def counted(amount: int, noun: str) -> str:
    """``1 outlet``, ``3 outlets``."""
    return f"{amount} {noun}" if amount == 1 else f"{amount} {noun}s"


def board_name(layout: Layout, node: int, *, first: bool = False) -> str:
    """The board of a node, ``the supply`` for node 0; ``first`` in its sentence."""
    if node > 0:
        return layout.boards[node - 1].id
    return "The supply" if first else "the supply"


def line_of(layout: Layout, node: int, line: int) -> str:
    """A conductor by the node's own name: ``L1 of main``, ``N of the supply``."""
    return f"{line_name(layout, node, line)} of {board_name(layout, node)}"


def line_name(layout: Layout, node: int, line: int) -> str:
    """A conductor by the node's own name: ``L1``, ``N``."""
    if node == 0:
        return (*layout.supply.lines, "N", "N", "N")[line] if line < 3 else "N"
    return layout.boards[node - 1].line_name(line)


def load_names(layout: Layout) -> tuple[str, ...]:
    """Each load's name; with its id where several share the name, and the number of like ones."""
    plain = [load.name or load.id for load in layout.loads]
    shared = Counter(plain)
    names = []
    for load, name in zip(layout.loads, plain, strict=True):
        told = f"{name} ({load.id})" if shared[name] > 1 else name
        names.append(f"{load.count} x {told}" if load.count > 1 else told)
    return tuple(names)


def outlet_label(outlet: str) -> str:
    """An outlet's id as it is written on a board: ``L3 top 1`` for ``l3-top-1``."""
    match = _PHASE_ID.match(outlet)
    return f"L{match[1]} {re.sub('[-_]+', ' ', match[2])}".strip() if match else outlet


def outlet_name(layout: Layout, board: int, outlet: str, *, alone: bool = False) -> str:
    """An outlet as one would call it: ``L3 top 1``; with its board where there are several.

    ``alone`` leaves the board out where it is said anyway.
    """
    name = outlet_label(outlet)
    return name if alone or len(layout.boards) == 1 else f"{name} on {layout.boards[board].id}"


def run_name(view: View, *, board: int | None = None, load: int | None = None) -> str:
    """A run of cable: ``the feeder of main``, ``the lead of key``."""
    if load is not None:
        return f"the lead of {view.load_names[load]}"
    if board is None:
        raise ValueError("a run belongs to a board or to a load")
    return f"the feeder of {view.layout.boards[board].id}"


def size_name(run: Run, csa_mm2: float) -> str:
    """A conductor size as the cable's own table writes it: ``16 mm²``, ``6 AWG``."""
    if run.table is not None:
        for size in run.table.sizes:
            if size.csa_mm2 == csa_mm2 and size.label:
                return size.label
    return f"{number(csa_mm2, 2)} mm²"
