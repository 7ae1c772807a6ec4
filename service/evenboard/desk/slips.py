"""Every single slip that would make a board read otherwise than planned, as what it adds.

What a slip adds to the conductors of a node is given in *parts*, complex, shape (3, 4): the
fundamental, the triplens and the rest on L1 L2 L3 N, as :mod:`evenboard.findings.loadflow` has
them. ``cost`` says how far-fetched it is, so that of two slips which explain a reading equally well
the likelier is told first; the figures are estimates.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np

from evenboard.electrics.layout import NEUTRAL, Load
from evenboard.electrics.load import Split, load_split
from evenboard.electrics.network import FIFTH, THIRD
from evenboard.electrics.solution import ComplexArray
from evenboard.findings import View

__all__ = ["Slip", "extra", "slips"]

OFF, PART_OFF, OTHER_SETUP, NOT_DIMMED = 1.0, 1.3, 1.1, 1.2
"""How much less likely than a lamp that is simply off each slip is taken to be (estimate)."""
ON, MOVED, PLUGGED, UNLISTED = 1.2, 1.4, 1.4, 1.5
"""The same of what is plugged elsewhere or on besides (estimate)."""
MOST_UNITS = 12
"""Like lamps on one plug beyond which "so many of them are off" is no longer tried."""


@dataclass(frozen=True, slots=True)
class Slip:
    """One thing that is otherwise than planned: in words, and what it adds to the conductors."""

    kind: str
    sentence: str
    loads: tuple[str, ...]
    parts: ComplexArray
    cost: float


def slips(view: View, setup: int, node: int) -> list[Slip]:
    """All slips with a listed lamp, and other set-ups, as seen from a node in one set-up."""
    found = list(_other_setups(view, setup, node))
    below = view.is_below[:, node]
    for index, load in enumerate(view.layout.loads):
        if load.board is None:
            found += _plugged(view, node, index)
        elif below[index]:
            if view.solution.on[setup, index]:
                found += _of_burning(view, setup, node, index)
            else:
                sentence = f"{_label(load)} is on, though not in {view.layout.setups[setup]}"
                parts = _split_parts(view, _split(view, index), load.supply_lines)
                found.append(Slip("on", sentence, (load.id,), parts, ON))
    return found


def extra(view: View, lines: tuple[int, ...], current_a: float, name: str) -> Slip:
    """Something unlisted, a plain resistance, on one line or between two."""
    parts = _split_parts(view, Split(0.0, complex(current_a), 0.0, 0.0), lines)
    volts = view.nominal_phasors_v[list(lines)]
    across_v = abs(volts[0] - volts[1]) if len(lines) == 2 else abs(volts[0])
    sentence = (
        f"something unlisted is plugged in on {name}, "
        f"about {current_a:.1f} A ({current_a * across_v / 1000:.1f} kW)"
    )
    return Slip("unlisted", sentence, (), parts, UNLISTED + 0.2 * (len(lines) - 1))


def _other_setups(view: View, setup: int, node: int) -> Iterator[Slip]:
    every = view.node_parts[node]
    for index, name in enumerate(view.layout.setups):
        if index != setup and view.solved[index]:
            sentence = f"{name} burns, not {view.layout.setups[setup]}"
            yield Slip("setup", sentence, (), every[:, index] - every[:, setup], OTHER_SETUP)


def _of_burning(view: View, setup: int, node: int, index: int) -> Iterator[Slip]:
    load = view.layout.loads[index]
    own = view.parts(index, load.supply_lines)[:, setup]
    yield Slip("off", f"{_label(load)} is off", (load.id,), -own, OFF)
    for count in range(1, min(load.count, MOST_UNITS + 1)):
        sentence = f"{count} of the {load.count} lamps of {_label(load)} are off"
        yield Slip("part-off", sentence, (load.id,), -own * (count / load.count), PART_OFF)
    if load.dimmed_to < 1.0:
        full = replace(load, dimmed_to=1.0, dimmer="none")
        parts = _split_parts(view, load_split(full, _volts(view, index)), load.supply_lines)
        sentence = f"{_label(load)} is at full, not at {100 * load.dimmed_to:.0f} %"
        yield Slip("not-dimmed", sentence, (load.id,), parts - own, NOT_DIMMED)
    if load.connection not in ("single", "line-to-line"):
        return
    for lines in combinations(view.lines[node], len(load.supply_lines)):
        if set(lines) != set(load.supply_lines):
            sentence = (
                f"{_label(load)} is on {_names(view, node, lines)}, "
                f"not on {_names(view, node, load.supply_lines)}"
            )
            parts = view.parts(index, lines)[:, setup] - own
            yield Slip("moved", sentence, (load.id,), parts, MOVED)


def _plugged(view: View, node: int, index: int) -> Iterator[Slip]:
    """A loose load, on the list and nowhere plugged in, on each line."""
    load = view.layout.loads[index]
    if load.connection not in ("single", "line-to-line"):
        return
    width = 1 if load.connection == "single" else 2
    for lines in combinations(view.lines[node], width):
        sentence = f"{_label(load)} is plugged in on {_names(view, node, lines)}"
        parts = _split_parts(view, _split(view, index), lines)
        yield Slip("plugged", sentence, (load.id,), parts, PLUGGED)


def _volts(view: View, index: int) -> float:
    return float(view.load_nominal_v[index])


def _split(view: View, index: int) -> Split:
    return load_split(view.layout.loads[index], _volts(view, index))


def _split_parts(view: View, split: Split, lines: tuple[int, ...]) -> ComplexArray:
    """What a load that draws so adds, at nominal voltage, to each conductor."""
    parts = np.zeros((3, NEUTRAL + 1), dtype=np.complex128)
    turns = [complex(view.nominal_turn[line]) for line in lines]
    if len(lines) == 2:
        across = turns[0] - turns[1]
        turn = across / abs(across)
        for sign, line in zip((1.0, -1.0), lines, strict=True):
            parts[:, line] = (
                sign * split.fundamental_a * turn,
                split.triplen_a,
                sign * split.rest_a * turn**FIFTH,
            )
        return parts
    for turn, line in zip(turns, lines, strict=True):
        for conductor in (line, NEUTRAL):
            parts[:, conductor] += (
                split.fundamental_a * turn,
                split.triplen_a * turn**THIRD,
                split.rest_a * turn**FIFTH,
            )
    return parts


def _label(load: Load) -> str:
    return load.id if load.name in ("", load.id) else f"{load.id} ({load.name})"


def _names(view: View, node: int, lines: tuple[int, ...]) -> str:
    board = view.board(node)
    names = view.layout.supply.lines if board is None else board.lines
    own = dict(zip(view.lines[node], names, strict=True))
    return "-".join(own.get(line, view.layout.supply.lines[line]) for line in lines)
