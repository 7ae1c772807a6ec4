"""The earth-fault loop: source, line up to the fault, protective conductor back."""

from __future__ import annotations

import math

import numpy as np

from evenboard.electrics.conductor import protective_impedance_ohm, run_impedance_ohm
from evenboard.electrics.layout import Layout, Run
from evenboard.electrics.solution import FloatArray

__all__ = ["loop_impedances_ohm", "run_loop_ohm", "supply_loop_ohm"]


def run_loop_ohm(run: Run | None, frequency_hz: float) -> complex:
    """Impedance that a run adds to an earth-fault loop: one line there, protective conductor back.

    Parameters
    ----------
    run : Run or None
        The run; None adds nothing.
    frequency_hz : float
        Frequency of the supply. [Hz]

    Returns
    -------
    complex
        Impedance at the cable's rated conductor temperature, the safe side. [ohm]

    Raises
    ------
    ValueError
        If the run cannot be computed, see :func:`evenboard.electrics.conductor.run_impedance_ohm`.

    References
    ----------
    .. [1] IEC 60364-4-41, 411.4.4; IEC 60228 for the resistances.

    Examples
    --------
    >>> from evenboard.electrics.equipment import Conductor
    >>> run_loop_ohm(Run(500.0, conductor=Conductor(2.0, 0.5, 2.0, 0.5)), 50.0)
    (2+0.5j)
    """
    if run is None:
        return 0j
    line = complex(run_impedance_ohm(run, frequency_hz)[0])
    return line + protective_impedance_ohm(run, frequency_hz)


def supply_loop_ohm(layout: Layout) -> float | None:
    """Loop impedance at the supply's terminals, where it is known.

    Parameters
    ----------
    layout : Layout
        The layout.

    Returns
    -------
    float or None
        The measured one; else the source impedance of a line and, for the protective conductor,
        of the neutral, since both come from the same star point; else None. [ohm]

    References
    ----------
    .. [1] IEC 60364-6, measurement of the loop impedance. Neutral for protective conductor:
       estimate for a source whose neutral is earthed at the star point.
    """
    supply = layout.supply
    if supply.loop_impedance_ohm is not None:
        return supply.loop_impedance_ohm
    source = supply.source_impedance
    if source is None:
        return None
    return abs(complex(source.r_ohm + source.neutral_r_ohm, source.x_ohm + source.neutral_x_ohm))


def loop_impedances_ohm(layout: Layout) -> FloatArray:
    """Earth-fault loop impedance at the supply's terminals and at every board.

    Parameters
    ----------
    layout : Layout
        The layout. The supply's own share is a magnitude of unknown angle and is added to the
        magnitude of the runs': the safe side.

    Returns
    -------
    ndarray, shape (nodes,)
        Node 0 is the supply, node ``b + 1`` is board ``b``; NaN where the supply's loop impedance
        is not known. A lead adds ``abs(run_loop_ohm(lead, frequency))`` to its board's. [ohm]

    Raises
    ------
    ValueError
        If a run cannot be computed.

    References
    ----------
    .. [1] IEC 60364-4-41, 411.4.4: source, line up to the fault, protective conductor back.
    """
    runs = np.zeros(len(layout.boards) + 1, dtype=np.complex128)
    for index, board in enumerate(layout.boards):
        above = 0 if board.parent is None else board.parent + 1
        runs[index + 1] = runs[above] + run_loop_ohm(board.feeder, layout.supply.frequency_hz)
    source = supply_loop_ohm(layout)
    impedance: FloatArray = np.abs(runs) + (math.nan if source is None else source)
    return impedance
