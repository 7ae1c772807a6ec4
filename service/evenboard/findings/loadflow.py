"""What one load adds to each conductor, on its own lines or, as an estimate, on others."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from evenboard.electrics.layout import NEUTRAL, Load
from evenboard.electrics.solution import ComplexArray, Flow

if TYPE_CHECKING:
    from evenboard.findings.view import View

__all__ = ["Parts", "load_parts", "node_parts"]


class Parts(NamedTuple):
    """Currents on L1 L2 L3 N as they add up, complex, shape (..., 4).

    Unlike in a :class:`~evenboard.electrics.solution.Flow`, the triplens keep their sign, so that
    a load can be taken away again where two legs oppose each other.
    """

    fundamental: ComplexArray
    triplen: ComplexArray
    rest: ComplexArray

    @property
    def flow(self) -> Flow:
        """The same as sizes that have a true RMS."""
        return Flow(self.fundamental, np.abs(self.triplen), self.rest)

    def plus(self, other: Parts, share: float = 1.0) -> Parts:
        """The sum with a share of other currents."""
        return Parts(*(a + share * b for a, b in zip(self, other, strict=True)))


def load_parts(view: View, index: int, lines: tuple[int, ...]) -> Parts:
    """What a load draws if plugged onto these supply conductors, shape (S, 4).

    Exact on its own lines but for the unevenness of a three-phase load's branches; elsewhere its
    current as solved, turned by the angle between the lines.
    """
    load = view.layout.loads[index]
    solution = view.solution
    own = _turns(view, load, load.supply_lines)
    new = _turns(view, load, lines)
    shape = (len(view.layout.setups), NEUTRAL + 1)
    parts = Parts(*(np.zeros(shape, dtype=np.complex128) for _ in range(3)))
    if not load.supply_lines:
        return parts
    first = solution.load_fundamental_a[:, index] / own[0]
    triplen, rest = solution.load_triplen_a[:, index], solution.load_rest_a[:, index]
    if load.connection == "delta":
        branches = [first * turn for turn in new]
        for k, line in enumerate(lines):
            parts.fundamental[:, line] += branches[k] - branches[k - 1]
            parts.rest[:, line] += rest * view.nominal_turn[line] ** 5
        return parts
    if len(lines) == 2:
        for sign, line in zip((1.0, -1.0), lines, strict=True):
            parts.fundamental[:, line] += sign * first * new[0]
            parts.triplen[:, line] += triplen
            parts.rest[:, line] += sign * rest * new[0] ** 5
        return parts
    for line, turn in zip(lines, new, strict=True):
        third: ComplexArray = triplen * np.complex128(turn**3)
        fifth: ComplexArray = rest * np.complex128(turn**5)
        _add(parts, line, first * turn, third, fifth)
    return parts


def _add(
    parts: Parts, line: int, fundamental: ComplexArray, triplen: ComplexArray, rest: ComplexArray
) -> None:
    for conductor in (line, NEUTRAL):
        parts.fundamental[:, conductor] += fundamental
        parts.triplen[:, conductor] += triplen
        parts.rest[:, conductor] += rest


def _turns(view: View, load: Load, lines: tuple[int, ...]) -> list[complex]:
    """Unit phasor of the nominal voltage across each branch."""
    volts = [complex(view.nominal_phasors_v[line]) for line in lines]
    if load.connection == "delta":
        volts = [volts[k] - volts[(k + 1) % 3] for k in range(3)]
    elif len(lines) == 2:
        volts = [volts[0] - volts[1]]
    return [v / abs(v) for v in volts]


def node_parts(view: View, node: int) -> Parts:
    """What flows into a node, shape (S, 4): as solved, the triplens with their signs."""
    inflow = view.solution.inflow
    triplen = np.zeros_like(inflow.fundamental_a[:, node])
    for index in np.flatnonzero(view.is_below[:, node]):
        lines = view.layout.loads[int(index)].supply_lines
        triplen = triplen + view.parts(int(index), lines).triplen
    return Parts(inflow.fundamental_a[:, node], triplen, inflow.rest_a[:, node])
