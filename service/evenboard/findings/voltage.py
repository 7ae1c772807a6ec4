"""Voltage: what is lost on the way, what a load still gets, how even the phases are."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from evenboard.electrics.layout import NEUTRAL, Run
from evenboard.electrics.solution import FloatArray, Flow
from evenboard.electrics.unbalance import sequence_components
from evenboard.findings.action import Resize
from evenboard.findings.finding import Finding
from evenboard.findings.inputs import is_cut_off, is_mismatched, is_unfed, lowest_v
from evenboard.findings.judging import at, in_setup, in_setups, over
from evenboard.findings.remedy import move_words, sentence
from evenboard.findings.replug import Goal, relief
from evenboard.findings.thicken import (
    RunRef,
    feeders_to,
    load_voltage_with,
    thicken_words,
    thicker,
    thickness,
    voltages_with,
)
from evenboard.findings.words import (
    beside,
    board_name,
    counted,
    line_of,
    number,
)

if TYPE_CHECKING:
    from evenboard.findings.view import View

__all__ = ["colour_shift", "low_voltage_at_load", "voltage_drop", "voltage_unbalance"]

AIM = 0.96
"""Share of a voltage limit that a thicker cable aims at, for what linear estimates leave out;
estimate."""

MIRED_LIMIT = 7.0
"""Two tungsten lamps in one frame that differ by more are seen to; estimate (a 1/8 correction gel
is 12 to 20 mired, from memory)."""

NEAR_NOMINAL = 0.10
"""Lamps whose rated voltage is further from the supply's are of another colour by themselves;
estimate."""

DROP_BASIS = (
    "Limit in force here: IEC 60364-5-52 Annex G 3/5 % (public supply) and 6/8 % (private), "
    "AS/NZS 3000 5 %; NEC 210.19(A) and 215.2(A) notes are advice. Cable at its rated temperature."
)
LOW_BASIS = "The load's input range, and -10 % of its rated voltage (IEC 60038, from memory)."
UNBALANCE_BASIS = "V2/V1 not above 2 % (EN 50160); motors want 1 % (NEMA MG 1)."
COLOUR_BASIS = "Colour temperature of tungsten goes with V^0.42; 7 mired is an estimate."


def voltage_drop(view: View) -> Iterator[Finding]:
    """More voltage is lost between the supply's nominal and a board or a lamp than practice allows.

    Told once, at the place where the limit is passed; what hangs behind is counted.
    """
    limit = view.limits.voltage_drop_pct
    drops = view.voltage_drop_pct.max(axis=2)
    down: set[int] = set()
    for node in range(len(view.lines)):
        worst = over(view, drops[:, node], limit)
        if worst is None or is_cut_off(view, node):
            continue
        down.add(node)
        if view.parents[node] in down:
            continue
        yield _board_drop(view, node, worst.setup, limit)
    by_board: dict[int, list[tuple[float, int, int]]] = {}
    for index, load in enumerate(view.layout.loads):
        if load.board is None or load.board + 1 in down or is_unfed(view, index):
            continue
        worst = over(view, view.load_drop_pct[:, index], limit)
        if worst is not None and not is_mismatched(view, index):
            by_board.setdefault(load.board, []).append((worst.value, index, worst.setup))
    for board, loads in sorted(by_board.items()):
        yield _lead_drop(view, board, loads, limit)


def _board_drop(view: View, node: int, setup: int, limit: float) -> Finding:
    line = int(np.argmax(view.voltage_drop_pct[setup, node]))
    value = float(view.voltage_drop_pct[setup, node, line])
    nominal = view.layout.supply.voltage_v

    def enough(changed: dict[RunRef, Run]) -> bool:
        lines = list(view.lines[node])
        lowest = voltages_with(view, node, changed)[view.solved][:, lines].min()
        return bool(100.0 * (1.0 - lowest / nominal) * view.growth[node] <= limit * AIM)

    actions = thicker(view, _feeders(view, node), enough)
    behind = [i for i in np.flatnonzero(view.is_below[:, node]) if view.solution.on[setup, i]]
    told = ""
    if behind:
        last = int(max(behind, key=lambda i: view.load_drop_pct[setup, i]))
        told = f" {view.load_names[last]} gets "
        told += f"{number(float(view.solution.load_voltage_v[setup, last]), 0)} V."
    return Finding(
        "voltage-drop",
        "caution",
        at(view, node, line=line, setup=setup),
        value,
        limit,
        "%",
        f"{line_of(view.layout, node, line)} is {beside(value, limit)} % "
        f"down{in_setup(view, setup)}, at {number(float(view.voltage_v[setup, node, line]), 0)} "
        f"V; {number(limit)} % allowed.{told}",
        f"{sentence(thicken_words(view, actions))}."
        if actions
        else "No cable size here mends it: bring the supply nearer, or feed fewer lamps this way.",
        DROP_BASIS,
        actions or (),
    )


def _lead_drop(
    view: View, board: int, loads: list[tuple[float, int, int]], limit: float
) -> Finding:
    value, index, setup = max(loads)
    load = view.layout.loads[index]
    enough_pct = limit * AIM
    actions = _thicker_for_all(view, {other: enough_pct for _, other, _ in loads})
    more = f" So are {counted(len(loads) - 1, 'other load')} there." if len(loads) > 1 else ""
    return Finding(
        "voltage-drop",
        "caution",
        at(view, board + 1, outlet=load.outlet, load=index, setup=setup),
        value,
        limit,
        "%",
        f"{view.load_names[index]} is {beside(value, limit)} % down at the end of its "
        f"lead{in_setup(view, setup)}, at "
        f"{number(float(view.solution.load_voltage_v[setup, index]), 0)} V; {number(limit)} % "
        f"allowed.{more}",
        f"{sentence(thicken_words(view, actions))}."
        if actions
        else "No cable size here mends it: plug in nearer to the lamp.",
        DROP_BASIS,
        actions,
    )


def low_voltage_at_load(view: View) -> Iterator[Finding]:
    """A load gets less than it is made for; told once a board, for the worst of its loads."""
    by_board: dict[int, list[tuple[float, int, int, float]]] = {}
    for index, load in enumerate(view.layout.loads):
        if load.board is None or is_mismatched(view, index) or is_unfed(view, index):
            continue
        low = lowest_v(view, index)
        lit = view.solution.on[:, index] & view.solved & (load.dimmed_to > 0.0)
        short = np.where(lit, low - view.solution.load_voltage_v[:, index], -np.inf)
        if not lit.any() or short.max() <= 1e-9 * low:
            continue
        setup = int(np.argmax(short))
        by_board.setdefault(load.board, []).append((float(short[setup] / low), index, setup, low))
    for board, loads in sorted(by_board.items()):
        _, index, setup, low = max(loads)
        load = view.layout.loads[index]
        voltage = float(view.solution.load_voltage_v[setup, index])
        nominal = view.load_nominal_v
        actions = _thicker_for_all(
            view,
            {i: 100.0 * (1.0 - needed / float(nominal[i])) * AIM for _, i, _, needed in loads},
        )
        more = f" {counted(len(loads) - 1, 'other load')} too." if len(loads) > 1 else ""
        yield Finding(
            "low-voltage-at-load",
            "caution",
            at(view, board + 1, outlet=load.outlet, load=index, setup=setup),
            voltage,
            low,
            "V",
            f"{view.load_names[index]} gets {beside(voltage, low, 0)} V{in_setup(view, setup)}; "
            f"it wants {number(low, 0)} V at least.{more}",
            f"{sentence(thicken_words(view, actions))}."
            if actions
            else "No cable size here mends it: bring the supply nearer, or feed fewer lamps this "
            "way.",
            LOW_BASIS,
            actions,
        )


def voltage_unbalance(view: View) -> Iterator[Finding]:
    """The voltages of a three-phase board are uneven enough to hurt motors; told for the worst."""
    limit = view.limits.voltage_unbalance_pct
    found = []
    for node in range(len(view.lines)):
        if len(view.lines[node]) < 3 or is_cut_off(view, node):
            continue
        worst = over(view, view.voltage_unbalance_pct[:, node], limit)
        if worst is not None:
            found.append((worst.value, -node, worst))
    if not found:
        return
    value, negative, worst = max(found, key=lambda item: item[:2])
    node = -negative
    moves = relief(view, node, negative_sequence_within(view, node, AIM * limit / value))
    more = f" {counted(len(found) - 1, 'other place')} too." if len(found) > 1 else ""
    yield Finding(
        "voltage-unbalance",
        "caution",
        at(view, node, setup=worst.setup),
        value,
        limit,
        "%",
        f"The voltages at {board_name(view.layout, node)} are {beside(value, limit)} % uneven "
        f"(V2/V1){in_setups(view, worst)}; {number(limit)} % allowed: motors run hot.{more}",
        move_words(view, moves)
        if moves
        else "No re-plugging evens it: keep hoists, pumps and other motors off this board.",
        UNBALANCE_BASIS,
        moves or (),
    )


def negative_sequence_within(view: View, node: int, share: float) -> Goal:
    """The goal that the negative-sequence current falls to a share of its worst as solved."""

    def size(flow: Flow) -> FloatArray:
        negative: FloatArray = np.abs(
            sequence_components(flow.fundamental_a[..., :NEUTRAL]).negative
        )
        return negative

    inflow = view.solution.inflow
    now = size(
        Flow(inflow.fundamental_a[:, node], inflow.triplen_a[:, node], inflow.rest_a[:, node])
    )
    limit = share * float(now[view.solved].max())
    return lambda flow: size(flow) - limit


def colour_shift(view: View) -> Iterator[Finding]:
    """Undimmed tungsten lamps that burn together differ in colour by what cables cost them."""
    worst: tuple[float, int, int, int] | None = None
    for setup in np.flatnonzero(view.solved).tolist():
        lit = [
            i
            for i, load in enumerate(view.layout.loads)
            if load.load_model == "tungsten"
            and load.dimmed_to >= 1.0
            and load.board is not None
            and view.solution.on[setup, i]
            and abs(view.load_nominal_v[i] / load.rated_voltage_v - 1.0) <= NEAR_NOMINAL
            and not is_unfed(view, i)
            and np.isfinite(view.solution.colour_temperature_k[setup, i])
        ]
        if len(lit) < 2:
            continue
        mired = 1e6 / view.solution.colour_temperature_k[setup, lit]
        apart = float(mired.max() - mired.min())
        if apart > MIRED_LIMIT and (worst is None or apart > worst[0]):
            worst = (apart, setup, lit[int(mired.argmax())], lit[int(mired.argmin())])
    if worst is None:
        return
    apart, setup, warm, cool = worst
    kelvin = view.solution.colour_temperature_k[setup]
    load = view.layout.loads[warm]
    if load.board is None:
        return
    low_pct = float(view.load_drop_pct[setup, cool])
    actions = _thicker_for_load(
        view,
        warm,
        low_pct + (view.load_drop_pct[setup, warm] - low_pct) * 0.8 * MIRED_LIMIT / apart,
    )
    yield Finding(
        "colour-shift",
        "note",
        at(view, load.board + 1, outlet=load.outlet, load=warm, setup=setup),
        apart,
        MIRED_LIMIT,
        "mired",
        f"{view.load_names[warm]} burns at {number(float(kelvin[warm]), 0)} K, "
        f"{view.load_names[cool]} at {number(float(kelvin[cool]), 0)} K{in_setup(view, setup)}: "
        f"{number(apart, 0)} mired apart by cable alone.",
        f"{sentence(thicken_words(view, actions))}, or keep the two out of one frame."
        if actions
        else "Keep the two out of one frame, or correct the warmer one with gel.",
        COLOUR_BASIS,
        actions or (),
    )


def _feeders(view: View, node: int) -> list[RunRef]:
    """The feeders on a node's way, the one that costs most first."""

    def cost(ref: RunRef) -> float:
        here = (ref.board or 0) + 1
        lost = view.voltage_v[:, view.parents[here]] - view.voltage_v[:, here]
        return float(lost[view.solved].max(initial=0.0))

    return sorted(feeders_to(view, node), key=cost, reverse=True)


def _thicker_for_all(view: View, enough_pct: dict[int, float]) -> tuple[Resize, ...]:
    """Runs to thicken so that each load's drop falls below its figure, a run once; empty if none.

    Of two sizes asked for the same run the thicker is taken.
    """
    chosen: dict[tuple[str | None, str | None], Resize] = {}
    for load in sorted(enough_pct):
        step = _thicker_for_load(view, load, enough_pct[load])
        if step is None:
            return ()
        for action in step:
            run = (action.board, action.load)
            if run not in chosen or thickness(action) > thickness(chosen[run]):
                chosen[run] = action
    return tuple(chosen.values())


def _thicker_for_load(view: View, index: int, enough_pct: float) -> tuple[Resize, ...] | None:
    """Lead or feeders to thicken so that a load's own drop falls below a figure; None if none."""
    load = view.layout.loads[index]
    if load.board is None:
        return None
    node = load.board + 1
    lit = view.solved & view.solution.on[:, index]
    nominal = float(view.load_nominal_v[index])
    refs = _feeders(view, node)
    if load.lead is not None:
        refs.insert(0, RunRef(load=index))

    def enough(changed: dict[RunRef, Run]) -> bool:
        voltage = load_voltage_with(view, index, changed)[lit]
        return bool(100.0 * (1.0 - voltage.min() / nominal) * view.growth[node] <= enough_pct)

    return thicker(view, refs, enough)
