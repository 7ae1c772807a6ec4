"""What switching on asks of a breaker, and an order of switching on that it stands.

Currents of inrush are given as the RMS value whose peak is the first peak: a load of 8.7 A with an
inrush multiple of 10 counts 87 A, to be held against the breaker's band, which is in RMS amps too.
No attenuation by the run is assumed; :func:`prospective_a` gives the most that an impedance lets
through, where it is known.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from evenboard.electrics.constant import Table
from evenboard.electrics.equipment import Basis, Breaker

__all__ = [
    "ELECTRONIC_SUPPLIES",
    "LED_COUNTS",
    "Start",
    "StartOrder",
    "StartStep",
    "electronic_supplies_pct",
    "inrush_a",
    "prospective_a",
    "start_order",
]

ELECTRONIC_SUPPLIES = Table(
    "How many like electronic supplies breakers take, relative to C16",
    ("curve (1 B, 2 C)", "rating (A)", "number (%)"),
    (
        (1.0, 10.0, 37.0),
        (1.0, 16.0, 60.0),
        (1.0, 20.0, 75.0),
        (2.0, 10.0, 62.0),
        (2.0, 16.0, 100.0),
        (2.0, 20.0, 125.0),
    ),
    Basis("handbook", "a manual of LED drivers, as found in trade literature"),
)
LED_COUNTS = Table(
    "LED luminaires on one breaker, a guide",
    ("curve (1 B, 2 C)", "rating (A)", "power each (W)", "number"),
    (
        (1.0, 10.0, 10.0, 15.0),
        (1.0, 10.0, 75.0, 4.0),
        (1.0, 16.0, 10.0, 22.0),
        (1.0, 16.0, 75.0, 8.0),
        (2.0, 10.0, 10.0, 30.0),
        (2.0, 10.0, 150.0, 5.0),
    ),
    Basis("handbook", "a lighting trade association's guide of 2021, as quoted in a forum"),
)

Amps = tuple[float, ...]
"""A current on each line. [A]"""

_ROUNDING = 1e-9


@dataclass(frozen=True, slots=True)
class Start:
    """One thing to be switched on.

    ``steady_a`` and ``inrush_a`` are per line, in the same order for all: one figure on a single
    line, three on a three-phase breaker, 0 on a line that it does not use. ``inrush_ms`` is how
    long the inrush lasts.
    """

    name: str
    steady_a: Amps
    inrush_a: Amps
    inrush_ms: float = 0.0


@dataclass(frozen=True, slots=True)
class StartStep:
    """What goes on at once: names, the worst line's current at that moment, and how long to wait.

    ``peak_a`` counts what already burns and the inrush of all that is switched on; ``running_a`` is
    the worst line's current afterwards.
    """

    names: tuple[str, ...]
    peak_a: float
    running_a: float
    wait_ms: float


@dataclass(frozen=True, slots=True)
class StartOrder:
    """The steps in order, and the names that no order lets start below the edge."""

    steps: tuple[StartStep, ...]
    refused: tuple[str, ...]


def inrush_a(steady_a: float, multiple: float, count: int = 1) -> float:
    """Inrush of like loads that are switched on together.

    Parameters
    ----------
    steady_a : float
        Current of one, true RMS. [A]
    multiple : float
        First peak over rated peak. [-]
    count : int
        How many go on at once.

    Returns
    -------
    float
        RMS value whose peak is the sum of the first peaks; at least the steady current. [A]

    Raises
    ------
    ValueError
        If a figure is negative or not finite.

    References
    ----------
    .. [1] Arithmetic sum of coinciding first peaks: upper bound, common practice.

    Examples
    --------
    >>> inrush_a(8.7, 10.0)
    87.0
    """
    if not (
        math.isfinite(steady_a) and math.isfinite(multiple) and steady_a >= 0 and multiple >= 0
    ):
        raise ValueError(f"current {steady_a} A and inrush multiple {multiple} must be 0 or more")
    if count < 0:
        raise ValueError(f"the number of loads must be 0 or more, not {count}")
    return count * steady_a * max(multiple, 1.0)


def electronic_supplies_pct(breaker: Breaker) -> float | None:
    """How many like electronic supplies a breaker takes, against a C16.

    Parameters
    ----------
    breaker : Breaker
        The breaker.

    Returns
    -------
    float or None
        Percent of the number on a C16; None for a breaker that the guide does not list. [%]

    References
    ----------
    .. [1] A manual of LED drivers, as found in trade literature.

    Examples
    --------
    >>> electronic_supplies_pct(Breaker(16, "B")), electronic_supplies_pct(Breaker(16, "D"))
    (60.0, None)
    """
    for curve, rating_a, percent in ELECTRONIC_SUPPLIES.rows:
        if (curve, rating_a) == ({"B": 1.0, "C": 2.0}.get(breaker.curve), breaker.rating_a):
            return percent
    return None


def prospective_a(voltage_v: float, impedance_ohm: float) -> float:
    """The most that an inrush can be, whatever the load: the current into a short circuit there.

    Parameters
    ----------
    voltage_v : float
        Voltage of the supply, RMS. [V]
    impedance_ohm : float
        Magnitude of the impedance there and back, source to load. [ohm]

    Returns
    -------
    float
        RMS current; infinite for no impedance. [A]

    Raises
    ------
    ValueError
        If a figure is negative or not finite.

    References
    ----------
    .. [1] Ohm's law; the cap of any inrush, so a safe bound.

    Examples
    --------
    >>> prospective_a(230.0, 0.5)
    460.0
    """
    if not (math.isfinite(voltage_v) and math.isfinite(impedance_ohm)):
        raise ValueError(f"{voltage_v} V over {impedance_ohm} ohm is no current")
    if voltage_v < 0.0 or impedance_ohm < 0.0:
        raise ValueError(f"voltage {voltage_v} V and impedance {impedance_ohm} ohm must be >= 0")
    return math.inf if impedance_ohm == 0.0 else voltage_v / impedance_ohm


def start_order(
    starts: Iterable[Start], edge_a: float, running_a: Sequence[float] | None = None
) -> StartOrder:
    """An order of switching on in which no step reaches a breaker's band, in few steps.

    Largest inrush above the own steady current first: what burns takes room from what is to
    follow, and on one line this order starts everything if any order does. A step is filled with
    what still fits and leaves room for whatever it overtakes.

    Parameters
    ----------
    starts : iterable of Start
        What is to be switched on.
    edge_a : float
        Lower edge of the breaker's instantaneous band, RMS. [A]
    running_a : sequence of float, optional
        What burns already, per line. [A]

    Returns
    -------
    StartOrder
        Steps, each at or below the edge on every line, and what cannot be started so.

    Raises
    ------
    ValueError
        If the edge is not above 0, or the starts differ in their number of lines.

    References
    ----------
    .. [1] Edge: IEC 60898-1, instantaneous tripping. Order: exchange argument for one line; over
       several lines the worst line decides, a heuristic. Largest first: common practice.

    Examples
    --------
    >>> lamps = [Start("key", (8.7,), (87.0,)), Start("fill", (4.3,), (43.0,))]
    >>> [step.names for step in start_order(lamps, 100.0).steps]
    [('key',), ('fill',)]
    """
    if not edge_a > 0.0:
        raise ValueError(f"the edge of the band must be above 0 A, not {edge_a} A")
    queue = sorted(starts, key=_urgency)
    lines = {len(start.steady_a) for start in queue} | {len(s.inrush_a) for s in queue}
    if running_a is not None:
        lines.add(len(running_a))
    if len(lines) > 1:
        raise ValueError("every start must give a current for the same lines")
    count = lines.pop() if lines else 0
    running: Amps = tuple(running_a) if running_a is not None else (0.0,) * count
    waiting, refused = _startable(queue, edge_a, running)
    steps = []
    while waiting:
        step, peak = _step(waiting, edge_a, running)
        gone = {id(start) for start in step}
        waiting = [start for start in waiting if id(start) not in gone]
        for start in step:
            running = _sum(running, start.steady_a)
        steps.append(
            StartStep(
                tuple(start.name for start in step),
                max(peak, default=0.0),
                max(running, default=0.0),
                max(start.inrush_ms for start in step),
            )
        )
    return StartOrder(tuple(steps), tuple(start.name for start in refused))


def _startable(queue: list[Start], edge_a: float, running: Amps) -> tuple[list[Start], list[Start]]:
    """What can go on one after another in the order of the queue, and what cannot."""
    waiting, refused = [], []
    for start in queue:
        if max(_sum(running, start.inrush_a), default=0.0) <= edge_a + _ROUNDING:
            waiting.append(start)
            running = _sum(running, start.steady_a)
        else:
            refused.append(start)
    return waiting, refused


def _step(waiting: list[Start], edge_a: float, running: Amps) -> tuple[list[Start], Amps]:
    """The first of the queue, and what may go on with it without barring one that it overtakes."""
    step: list[Start] = []
    moment = turn = running
    room = (math.inf,) * len(running)
    for start in waiting:
        then = _sum(moment, start.inrush_a)
        bars = any(a > left + _ROUNDING for a, left in zip(start.steady_a, room, strict=True))
        if max(then, default=0.0) <= edge_a + _ROUNDING and not bars:
            step.append(start)
            moment = then
            room = tuple(left - a for a, left in zip(start.steady_a, room, strict=True))
        else:
            own = (edge_a - a for a in _sum(turn, start.inrush_a))
            room = tuple(min(left, mine) for left, mine in zip(room, own, strict=True))
        turn = _sum(turn, start.steady_a)
    return step, moment


def _sum(first: Amps, second: Amps) -> Amps:
    return tuple(a + b for a, b in zip(first, second, strict=True))


def _urgency(start: Start) -> tuple[float, float, str]:
    rise = max((i - s for i, s in zip(start.inrush_a, start.steady_a, strict=False)), default=0.0)
    return (-rise, -max(start.inrush_a, default=0.0), start.name)
