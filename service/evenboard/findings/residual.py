"""Earth faults and leakage: residual-current devices and the loop that makes a breaker trip."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from evenboard.electrics.earth_fault import loop_impedances_ohm, run_loop_ohm
from evenboard.electrics.layout import Run
from evenboard.electrics.protection import (
    RCD_NO_TRIP_SHARE,
    Guard,
    covering_rcd,
    guards_above,
    loop_impedance_limit_ohm,
)
from evenboard.findings.figures import OutletFigures
from evenboard.findings.finding import Finding, Severity
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
    "IEC "
    "60364-4-41, 411.4.4, from memory)."
)


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


def loop_impedance(view: View) -> Iterator[Finding]:
    """A fault at the end of the cable may not trip the breaker; told once a board."""
    known = view.loops_known
    for index in range(len(view.layout.boards)):
        found: list[tuple[float, OutletFigures, int | None, float, float]] = []
        for figures in view.outlets:
            if figures.board != index or not figures.in_use:
                continue
            guard = guards_above(view.layout, index, figures.outlet.id)[-1]
            limit = _limit_ohm(view, guard)
            if limit is None:
                continue
            for load in (*figures.loads, *((None,) if figures.child is not None else ())):
                loop = loop_ohm(view, index, load, {})
                if loop > limit * (1.0 + ROUNDING):
                    found.append((loop / limit, figures, load, loop, limit))
        if found:
            yield _not_tripping(view, index, found, known)


def _not_tripping(
    view: View,
    board: int,
    found: list[tuple[float, OutletFigures, int | None, float, float]],
    known: bool,
) -> Finding:
    severities = [_severity(view, figures) for _, figures, _, _, _ in found]
    order: tuple[Severity, ...] = ("fail", "caution", "note")
    severity = min(severities, key=order.index)
    worst = max(
        (item for item, s in zip(found, severities, strict=True) if s == severity),
        key=lambda item: item[0],
    )
    _, figures, load, loop, limit = worst
    guard = guards_above(view.layout, board, figures.outlet.id)[-1]
    device = covering_rcd(view.layout, board, figures.outlet.id)

    def enough(changed: dict[RunRef, Run]) -> bool:
        return all(loop_ohm(view, board, other, changed) <= most for _, _, other, _, most in found)

    frequency = view.layout.supply.frequency_hz
    refs = feeders_to(view, board + 1)
    refs.sort(key=lambda ref: -abs(run_loop_ohm(run_of(view, ref), frequency)))
    leads = [RunRef(load=i) for _, _, i, _, _ in found if i is not None]
    actions = thicker(view, [*leads, *refs], enough)
    place = view.load_names[load] if load is not None else "this outlet"
    curve = f"{guard.breaker.curve if guard.breaker else ''}{number(guard.rating_a)}"
    message = (
        f"{outlet_name(view.layout, board, figures.outlet.id)}: {beside(loop, limit, 2)} ohm "
        f"fault loop at {place}{'' if known else ', cables alone'}; a {curve} breaker trips at "
        f"once up to {number(limit, 2)} ohm."
    )
    if device is not None:
        message += f" Here the {number(device.rated_residual_ma)} mA device has to trip."
    if len(found) > 1:
        message += f" {counted(len(found) - 1, 'other')} on this board too."
    remedy = sentence(thicken_words(view, actions)) if actions else "No cable size here mends it"
    if device is None:
        remedy += ", or feed it through a 30 mA residual-current device"
    elif not actions:
        remedy += ": press the device's test button before use, and never bypass it"
    factor = view.layout.region.loop_voltage_factor
    return Finding(
        "loop-impedance",
        severity,
        at(view, board + 1, outlet=figures.outlet.id, load=load),
        loop,
        limit,
        "ohm",
        message,
        f"{remedy}.",
        LOOP_BASIS.format(factor="" if factor == 1.0 else f"{factor:g} "),
        actions or (),
    )


def _severity(view: View, figures: OutletFigures) -> Severity:
    device = covering_rcd(view.layout, figures.board, figures.outlet.id)
    if device is None:
        return "fail"
    return "note" if device.rated_residual_ma <= ADDITIONAL_PROTECTION_MA else "caution"


def _limit_ohm(view: View, guard: Guard) -> float | None:
    if guard.breaker is None:
        return None
    supply, region = view.layout.supply, view.layout.region
    return loop_impedance_limit_ohm(guard.breaker, supply.voltage_v, region.loop_voltage_factor)


def loop_ohm(view: View, board: int, load: int | None, changed: dict[RunRef, Run]) -> float:
    """Fault loop at a board or at the end of a load's lead, with some runs exchanged. [ohm]"""
    layout = view.layout
    lead = None
    if changed:
        boards = tuple(
            replace(b, feeder=changed.get(RunRef(board=i), b.feeder))
            for i, b in enumerate(layout.boards)
        )
        loop = loop_impedances_ohm(replace(view.loop_layout, boards=boards))[board + 1]
    else:
        loop = view.loop_ohm[board + 1]
    if load is not None:
        lead = changed.get(RunRef(load=load), layout.loads[load].lead)
    return float(loop) + abs(run_loop_ohm(lead, layout.supply.frequency_hz))
