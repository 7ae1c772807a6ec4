"""What one load adds to each conductor, on its own lines or, as an estimate, on others.

*Parts* are currents as they add up: complex, shape (3, S, 4), the fundamental, the triplens and the
rest of every set-up on L1 L2 L3 N. Unlike in a :class:`~evenboard.electrics.solution.Flow` the
triplens keep their sign, so that a load can be taken away again where two legs oppose each other.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from evenboard.electrics.layout import NEUTRAL, Load
from evenboard.electrics.network import FIFTH, THIRD
from evenboard.electrics.solution import ComplexArray, FloatArray, Flow

if TYPE_CHECKING:
    from evenboard.findings.view import View

__all__ = ["flow_of", "load_parts", "node_parts", "plain_parts", "rms_of"]


def flow_of(parts: ComplexArray) -> Flow:
    """Parts, (..., 3, S, 4), as the currents that goals are written for, (..., S, 4)."""
    triplen: FloatArray = np.abs(parts[..., 1, :, :])
    return Flow(parts[..., 0, :, :], triplen, parts[..., 2, :, :])


def rms_of(parts: ComplexArray) -> FloatArray:
    """True RMS of parts, (..., 3, S, 4), as (..., S, 4). [A]"""
    rms: FloatArray = np.sqrt((parts.real**2 + parts.imag**2).sum(axis=-3))
    return rms


def load_parts(view: View, index: int, lines: tuple[int, ...]) -> ComplexArray:
    """What a load draws if plugged onto these supply conductors, parts of shape (3, S, 4).

    Exact on its own lines but for the unevenness of a three-phase load's branches; elsewhere its
    current as solved, turned by the angle between the lines.
    """
    load = view.layout.loads[index]
    solution = view.solution
    parts = np.zeros((3, len(view.layout.setups), NEUTRAL + 1), dtype=np.complex128)
    if not load.supply_lines:
        return parts
    own, new = _turns(view, load, load.supply_lines), _turns(view, load, lines)
    first = solution.load_fundamental_a[:, index] / own[0]
    triplen, rest = solution.load_triplen_a[:, index], solution.load_rest_a[:, index]
    if load.connection == "delta":
        branches = [first * turn for turn in new]
        for k, line in enumerate(lines):
            parts[0, :, line] += branches[k] - branches[k - 1]
            parts[2, :, line] += rest * complex(view.nominal_turn[line]) ** FIFTH
    elif len(lines) == 2:
        for sign, line in zip((1.0, -1.0), lines, strict=True):
            parts[0, :, line] += sign * first * new[0]
            parts[1, :, line] += triplen
            parts[2, :, line] += sign * rest * new[0] ** FIFTH
    else:
        for line, turn in zip(lines, new, strict=True):
            for conductor in (line, NEUTRAL):
                parts[0, :, conductor] += first * turn
                parts[1, :, conductor] += triplen * turn**THIRD
                parts[2, :, conductor] += rest * turn**FIFTH
    return parts


def plain_parts(view: View) -> dict[tuple[int, tuple[int, ...]], ComplexArray]:
    """The parts of all loads on one line and the neutral, where they are plugged, all at once."""
    loads = view.layout.loads
    index = [
        i
        for i, load in enumerate(loads)
        if load.connection == "single" and len(load.supply_lines) == 1
    ]
    if not index:
        return {}
    line = np.array([loads[i].supply_lines[0] for i in index])
    volts = view.nominal_phasors_v[line]
    turn = (volts / np.abs(volts))[:, None]
    solution = view.solution
    drawn = np.stack(
        [
            solution.load_fundamental_a[:, index].T,
            solution.load_triplen_a[:, index].T * turn**THIRD,
            solution.load_rest_a[:, index].T * turn**FIFTH,
        ],
        axis=1,
    )
    parts = np.zeros((*drawn.shape, NEUTRAL + 1), dtype=np.complex128)
    parts[np.arange(len(index)), :, :, line] = drawn
    parts[..., NEUTRAL] = drawn
    return {(i, loads[i].supply_lines): parts[k] for k, i in enumerate(index)}


def _turns(view: View, load: Load, lines: tuple[int, ...]) -> list[complex]:
    """Unit phasor of the nominal voltage across each branch."""
    volts = [complex(view.nominal_phasors_v[line]) for line in lines]
    if load.connection == "delta":
        volts = [volts[k] - volts[(k + 1) % 3] for k in range(3)]
    elif len(lines) == 2:
        volts = [volts[0] - volts[1]]
    return [v / abs(v) for v in volts]


def node_parts(view: View, node: int) -> ComplexArray:
    """What flows into a node, (3, S, 4): as solved, the triplens with their signs."""
    inflow = view.solution.inflow
    triplen = np.zeros_like(inflow.fundamental_a[:, node])
    for index in np.flatnonzero(view.is_below[:, node]).tolist():
        triplen = triplen + view.parts(index, view.layout.loads[index].supply_lines)[1]
    return np.stack([inflow.fundamental_a[:, node], triplen, inflow.rest_a[:, node]])
