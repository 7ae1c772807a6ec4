"""Earth faults and leakage: residual-current devices and the loop that makes a breaker trip."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from evenboard.electrics.earth_fault import run_loop_ohm
from evenboard.electrics.equipment import RcdType
from evenboard.electrics.layout import Run
from evenboard.electrics.protection import RCD_NO_TRIP_SHARE, covering_rcd
from evenboard.findings.action import Resize
from evenboard.findings.figures import OutletFigures
from evenboard.findings.finding import Finding, Severity
from evenboard.findings.guards import Tripping, loop_ohm, tripping
from evenboard.findings.judging import ROUNDING, Worst, at, in_setups, over
from evenboard.findings.remedy import move_words, sentence
from evenboard.findings.replug import split_leakage
from evenboard.findings.thicken import RunRef, feeders_to, run_of, thicken_words, thicker
from evenboard.findings.words import (
    beside,
    counted,
    listed,
    number,
    outlet_name,
)

if TYPE_CHECKING:
    from evenboard.findings.view import View

__all__ = ["dc_leakage", "loop_impedance", "residual_current"]

ADDITIONAL_PROTECTION_MA = 30.0
"""Rated residual current of additional protection: IEC 60364-4-41, 415.1, from memory."""

TOUCH_V = 50.0
"""Touch voltage at which a residual-current device has to have tripped: IEC 60364-4-41, 411.5.3,
RA x IDn not above 50 V, from memory."""

LEAKAGE_BASIS = (
    "Standing leakage not above 30 % of the rated residual current (BS 7671:2018, 531.3.2, as "
    "reproduced in trade literature); a device may trip from half of it (IEC 61008, from memory)."
)
DC_BASIS = (
    "Smooth direct current above 6 mA can blind a type A device (IEC 60755, from memory); which "
    "fixtures leak so is an estimate."
)
LOOP_BASIS = (
    "Zs not above {factor}U0/(m In), m = 5 B, 10 C, 20 D (BS 7671:2018 Table 41.3, as reproduced; "
    "IEC 60364-4-41, 411.4.4, from memory)."
)
TOUCH_BASIS = "Loop x rated residual current not above 50 V (IEC 60364-4-41, 411.5.3, from memory)."


def residual_current(view: View) -> Iterator[Finding]:
    """The small leakages of many loads add up to a trip without any fault."""
    for device, figures in enumerate(view.rcds):
        limit = figures.rcd.rated_residual_ma * view.limits.leakage_share_pct / 100.0
        worst = over(view, figures.leakage_ma, limit)
        if worst is None:
            continue
        yield _leaking(view, device, worst, limit)


def _leaking(view: View, device: int, worst: Worst, limit: float) -> Finding:
    figures = view.rcds[device]
    rated = figures.rcd.rated_residual_ma
    board = view.layout.boards[figures.board]
    moves = split_leakage(view, device, limit)
    trips = worst.value > rated * RCD_NO_TRIP_SHARE.value
    most = max(figures.loads, key=lambda i: float(view.leakage_ma[worst.setup, i]))
    guarded = [o.id for o in board.outlets if o.type.rcd == figures.rcd.id]
    device_name = f"The {number(rated)} mA device {figures.rcd.id}"
    if figures.is_incomer:
        device_name = f"The main {number(rated)} mA device"
    outlet = None if figures.is_incomer else _way_in(view, most, figures.board, guarded)
    return Finding(
        "residual-current",
        "caution",
        at(view, figures.board + 1, outlet=outlet, setup=worst.setup),
        worst.value,
        limit,
        "mA",
        f"{device_name} of {board.id} sees {beside(worst.value, limit)} mA of standing "
        f"leakage{in_setups(view, worst)}; {number(limit)} mA is the "
        f"budget{': it may trip without a fault' if trips else ''}.",
        move_words(view, moves)
        if moves
        else "No other device here has room: split the loads over more devices, starting with "
        f"{view.load_names[most]}. Never bypass it.",
        LEAKAGE_BASIS,
        moves or (),
    )


def _way_in(view: View, load: int, board: int, guarded: list[str]) -> str | None:
    """The outlet of a board, out of some, through which a load is fed."""
    place: tuple[int | None, str | None] = view.places[load]
    while place[0] is not None and place[0] != board:
        own = view.layout.boards[place[0]]
        place = own.parent, own.parent_outlet
    return place[1] if place[1] in guarded else None


def dc_leakage(view: View) -> Iterator[Finding]:
    """Loads that can leak smooth direct current hang behind residual-current devices."""
    for index, board in enumerate(view.layout.boards):
        loads = {
            i
            for figures in view.rcds
            if figures.board == index
            for i in figures.loads
            if _leaks_dc(view, i)
        }
        if not loads:
            continue
        names = listed([view.load_names[i] for i in sorted(loads)])
        yield Finding(
            "dc-leakage",
            "note",
            at(view, index + 1),
            float(len(loads)),
            0.0,
            "loads",
            f"{names} behind the residual-current devices of {board.id} can leak smooth direct "
            "current, which blinds a type A device.",
            "Ask the desk for a board with type B devices for them; press the test buttons "
            "before use.",
            DC_BASIS,
        )


def _leaks_dc(view: View, index: int) -> bool:
    fixture = view.layout.loads[index].fixture
    return fixture is not None and fixture.smooth_dc_leakage


@dataclass(frozen=True, slots=True)
class _TooLong:
    """A fault loop at an outlet, or at the end of a load's lead there, that is too long."""

    outlet: OutletFigures
    load: int | None
    loop_ohm: float
    trips: Tripping
    device: RcdType | None

    @property
    def is_touched(self) -> bool:
        """Whether a fault too small for the device still drives a dangerous voltage."""
        if self.device is None:
            return False
        return self.loop_ohm * self.device.rated_residual_ma / 1000.0 > TOUCH_V

    @property
    def severity(self) -> Severity:
        """How grave it is: a fail where a fault may stand for certain."""
        if self.device is None:
            return "fail" if self.loop_ohm > self.trips.certain_ohm * (1 + ROUNDING) else "caution"
        if self.is_touched:
            return "fail"
        return "note" if self.device.rated_residual_ma <= ADDITIONAL_PROTECTION_MA else "caution"

    @property
    def limit_ohm(self) -> float:
        """The loop that it is held against."""
        sure = self.trips.is_assumed and self.device is None and self.severity == "fail"
        return self.trips.certain_ohm if sure else self.trips.limit_ohm


def loop_impedance(view: View) -> Iterator[Finding]:
    """A fault at the end of the cable may not trip the breaker; told once a board."""
    found: dict[int, list[_TooLong]] = {}
    for figures in view.outlets:
        if not figures.in_use:
            continue
        board, name = figures.board, figures.outlet.id
        trips = tripping(view, board, name)
        for load in (*figures.loads, *((None,) if figures.child is not None else ())):
            loop = loop_ohm(view, board, load, {})
            if loop > trips.limit_ohm * (1.0 + ROUNDING):
                device = covering_rcd(view.layout, board, name)
                long = _TooLong(figures, load, loop, trips, device)
                found.setdefault(board, []).append(long)
    for board in sorted(found):
        yield _not_tripping(view, board, found[board])


def _not_tripping(view: View, board: int, found: list[_TooLong]) -> Finding:
    order: tuple[Severity, ...] = ("fail", "caution", "note")
    severity = min((item.severity for item in found), key=order.index)
    gravest = [item for item in found if item.severity == severity]
    worst = max(gravest, key=lambda item: item.loop_ohm / item.limit_ohm)

    def enough(changed: dict[RunRef, Run]) -> bool:
        return all(
            loop_ohm(view, board, item.load, changed) <= item.trips.limit_ohm for item in found
        )

    frequency = view.layout.supply.frequency_hz
    refs = feeders_to(view, board + 1)
    refs.sort(key=lambda ref: -abs(run_loop_ohm(run_of(view, ref), frequency)))
    leads = [RunRef(load=item.load) for item in found if item.load is not None]
    actions = thicker(view, [*leads, *refs], enough)
    outlet, device, limit = worst.outlet.outlet.id, worst.device, worst.limit_ohm
    place = view.load_names[worst.load] if worst.load is not None else "this outlet"
    message = (
        f"{outlet_name(view.layout, board, outlet)}: {beside(worst.loop_ohm, limit, 2)} ohm "
        f"fault loop at {place}{'' if view.loops_known else ', cables alone'}; "
        f"{_breaker_words(worst)} trips at once up to {number(limit, 2)} ohm."
    )
    if device is not None and worst.is_touched:
        volts = worst.loop_ohm * device.rated_residual_ma / 1000.0
        message += (
            f" Before the {number(device.rated_residual_ma)} mA device trips, metal may stand at "
            f"{beside(volts, TOUCH_V, 0)} V; {number(TOUCH_V, 0)} V is safe."
        )
    elif device is not None:
        message += f" Here the {number(device.rated_residual_ma)} mA device has to trip."
    if len(found) > 1:
        message += f" {counted(len(found) - 1, 'other')} on this board too."
    factor = view.layout.region.loop_voltage_factor
    basis = LOOP_BASIS.format(factor="" if factor == 1.0 else f"{factor:g} ")
    return Finding(
        "loop-impedance",
        severity,
        at(view, board + 1, outlet=outlet, load=worst.load),
        worst.loop_ohm,
        limit,
        "ohm",
        message,
        _loop_remedy(view, worst, actions),
        f"{basis} {TOUCH_BASIS}" if worst.is_touched else basis,
        actions or (),
    )


def _breaker_words(worst: _TooLong) -> str:
    """The breaker that the loop is held against, and what of it is taken for granted."""
    rating = number(worst.trips.breaker.rating_a)
    if not worst.trips.is_assumed:
        return f"a {worst.trips.breaker.curve}{rating} breaker"
    if worst.limit_ohm == worst.trips.limit_ohm:
        return f"no breaker is entered, and a {worst.trips.breaker.curve}{rating} at the supply"
    return f"no breaker is entered, and even a B{rating} at the supply"


def _loop_remedy(view: View, worst: _TooLong, actions: tuple[Resize, ...] | None) -> str:
    remedy = "No cable size here mends it:"
    if actions:
        remedy = f"{sentence(thicken_words(view, actions))}, or"
    if worst.device is None or worst.is_touched:
        remedy += " feed it through a 30 mA residual-current device"
        if worst.trips.is_assumed:
            remedy += "; if a smaller breaker guards it, enter that"
        return f"{remedy}."
    if actions:
        return f"{sentence(thicken_words(view, actions))}."
    return f"{remedy} press the device's test button before use, and never bypass it."
