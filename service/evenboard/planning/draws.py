"""What each load would take per line of its plug, on one, two or three lines."""

from __future__ import annotations

import cmath
from collections.abc import Collection
from dataclasses import dataclass, replace

from evenboard.electrics.layout import Layout, Load
from evenboard.electrics.load import load_split, takes_voltage, version_for
from evenboard.electrics.network import line_angles_rad
from evenboard.intake.plug import connection_on, needs_neutral, rated_and_range_v

__all__ = ["Draw", "branch_v", "draws"]

CUSTOM_TOLERANCE = 0.1
"""A spelled-out load without a range takes its rated voltage so closely; estimate."""


@dataclass(frozen=True, slots=True)
class Draw:
    """A load on so many lines: amps per line as dimmed and full up, watts and what it needs."""

    lines: int
    current_a: float
    full_a: float
    power_w: float
    neutral: bool
    suits: bool


def branch_v(layout: Layout, lines: int, *, delta: bool = False) -> float:
    """Nominal voltage across one branch of a load on so many lines of the supply.

    Parameters
    ----------
    layout : Layout
        The layout; its supply's own voltage counts.
    lines : int
        Lines of the plug, 1 to 3.
    delta : bool
        Whether a load on three lines has its branches line to line.

    Returns
    -------
    float
        Voltage. [V]

    References
    ----------
    .. [1] The voltage between two lines is the difference of their phasors.

    Examples
    --------
    In a 230 V star a load on two lines gets 398.4 V.
    """
    volts = layout.supply.voltage_v
    if lines == 1 or (lines == 3 and not delta):
        return volts
    angles = line_angles_rad(layout.supply)
    return abs(volts * (cmath.exp(1j * angles[0]) - cmath.exp(1j * angles[1])))


def draws(
    layout: Layout,
    load: Load,
    counts: Collection[int] | None = None,
    full_up: dict[int, float] | None = None,
) -> tuple[Draw, ...]:
    """Every way in which a load can be plugged into this supply.

    Parameters
    ----------
    layout : Layout
        The layout.
    load : Load
        One of its loads, loose or plugged.
    counts : collection of int, optional
        Numbers of lines that count; by default all that the supply has.
    full_up : dict of int to float, optional
        Amps of such a load undimmed, by lines, as far as they are known; what is worked out is
        added. [A]

    Returns
    -------
    tuple of Draw
        One for each number of lines. ``suits`` is False where the lamp is not made for the voltage
        that it would get there.

    References
    ----------
    .. [1] :func:`evenboard.electrics.load.load_split` at the nominal voltage.
    """
    own = load.fixture.connection if load.fixture is not None else None
    wished = load.connection if own is None and load.connection in ("star", "delta") else None
    ways = []
    for lines in range(1, len(layout.supply.lines) + 1):
        if counts is not None and lines not in counts:
            continue
        connection = connection_on(lines, own, wished)
        if connection is None or (own is None and wished is None and lines == 3):
            continue
        volts = branch_v(layout, lines, delta=connection == "delta")
        rated_v, range_v = load.rated_voltage_v, load.input_range_v
        if load.fixture is not None:
            if connection != load.connection:
                rated_v, range_v = rated_and_range_v(load.fixture, volts)
            suits = version_for(load.fixture, volts) is not None
        elif range_v is not None:
            suits = takes_voltage(range_v, volts)
        else:
            suits = abs(volts / rated_v - 1.0) <= CUSTOM_TOLERANCE
        there = load
        if (connection, rated_v, range_v) != (
            load.connection,
            load.rated_voltage_v,
            load.input_range_v,
        ):
            there = replace(
                load, connection=connection, rated_voltage_v=rated_v, input_range_v=range_v
            )
        split = load_split(there, volts)
        full_a = None if full_up is None else full_up.get(lines)
        if full_a is None:
            full = split if load.dimmed_to == 1.0 else load_split(there, volts, 1.0)
            full_a = full.rms_a
            if full_up is not None:
                full_up[lines] = full_a
        ways.append(
            Draw(lines, split.rms_a, full_a, split.power_w, needs_neutral(connection), suits)
        )
    return tuple(ways)
