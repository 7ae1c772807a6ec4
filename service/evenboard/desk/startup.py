"""Starting a supply up and stopping it: the order of doing things, as a list to tick.

The lamps come in the order that suits every breaker and the generator: the layout's own
``start_order`` where it has one, else one that is computed from inrush and load steps. What stands
around them (who connects, volts before load, boards from the supply outwards, cool-down) is told
as common practice. Nothing here asks anybody to do what only a licensed or qualified person may:
those steps are told as done by that person, to be seen and ticked.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from evenboard.electrics.generator import load_step_pct
from evenboard.electrics.layout import Layout
from evenboard.electrics.powerflow import solve
from evenboard.electrics.solution import FloatArray
from evenboard.findings import View
from evenboard.findings.starting import groups
from evenboard.findings.words import amps, listed, number

__all__ = ["Startup", "Step", "startup"]

StepKind = Literal[
    "responsible", "off", "engine", "volts", "main", "board", "lamps", "meter",
    "lamps-off", "board-off", "cool-down", "main-off", "engine-off", "part",
]  # fmt: skip

WARM_UP_S = 300
"""No load while a set warms up, where its maker says nothing else; estimate."""
COOL_DOWN_S = 300
"""The same before it is stopped: turbocharger and windings give off their heat; estimate."""
BETWEEN_S = 5
"""Between two groups of lamps: a regulator settles within this (estimate)."""
RUN_UP_S = 120
"""A discharge lamp draws another current until it is hot; estimate."""
ORDER_BASIS = (
    "Largest rise first, each group below the breakers' instantaneous bands and the generator's "
    "step (IEC 60898-1, ISO 8528-5, from memory)."
)
OWN_BASIS = "The order that this layout gives (start_order)."
PRACTICE = "Common practice, no source."
PARTING_BASIS = (
    "Earth, then neutral, then phases, and the reverse to part: NEC 406.13(D)(2), from memory; "
    "taught alike elsewhere."
)
VOLTS_SHARE = 0.1
"""How far from nominal a line may read before anything is switched on (IEC 60038, from memory)."""
DISCHARGE = ("discharge", "xenon", "plasma")


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to do, see or wait for.

    ``key`` stays the same as long as the step means the same, so that a tick can be kept by it.
    ``running_a`` is what the supply's lines should carry afterwards, by name, as the plain sum of
    nominal amps; None where the step changes nothing of that. ``peak_a`` is the worst line's with
    the inrush of what is switched on. ``step_pct`` is the load step in percent of the generator.
    ``wait_s`` is how long to wait before the next step. [A, %, s]
    """

    key: str
    kind: StepKind
    text: str
    basis: str
    loads: tuple[str, ...] = ()
    board: str | None = None
    caution: str | None = None
    running_a: Mapping[str, float] | None = None
    peak_a: float | None = None
    step_pct: float | None = None
    wait_s: int = 0


@dataclass(frozen=True, slots=True)
class Startup:
    """How one set-up is started and stopped again. ``cautions`` are to be told first."""

    setup: str
    start: tuple[Step, ...]
    stop: tuple[Step, ...]
    cautions: tuple[str, ...]


CAUTIONS = (
    "Connecting, parting and testing a supply is for those licensed or qualified to do it where "
    "you are; local rules and their word come before this list.",
    "Something trips, smells, hums or dims: stop here, switch off, find the cause. Never reset "
    "twice.",
)
NO_SOLUTION = (
    "This set-up has no solution: too much hangs on too little. Mend the findings before anything "
    "is switched on."
)


def startup(layout: Layout, setup: int = 0) -> Startup:
    """The list for starting and stopping one set-up of a layout."""
    view = View(solve(layout))
    on = _groups(view, setup)
    solved = bool(view.solved[setup])
    return Startup(
        layout.setups[setup],
        tuple(_start(view, setup, on)),
        tuple(_stop(view, on)),
        CAUTIONS if solved else (NO_SOLUTION, *CAUTIONS),
    )


def _groups(view: View, setup: int) -> tuple[tuple[int, ...], ...]:
    """What goes on together, group after group: the layout's order, else the computed one."""
    if view.layout.start_order:
        return view.groups[setup]
    return groups(view, setup, view.whole_order.groups)


def _start(view: View, setup: int, on: Sequence[Sequence[int]]) -> Iterator[Step]:
    supply = view.layout.supply
    generator = supply.kind == "generator"
    yield Step(
        "off",
        "off",
        "All lamps off at their own switches or ballasts, dimmers at zero, board breakers off.",
        PRACTICE,
    )
    yield Step(
        "responsible",
        "responsible",
        "The person responsible for the supply has connected it, tested it and says it may be "
        "used.",
        PARTING_BASIS,
        caution="Single-pole connectors: earth first, neutral second, phases last, by a licensed "
        "or qualified person, with nothing switched on.",
    )
    if generator:
        yield Step(
            "engine",
            "engine",
            "The generator operator starts the set with its main breaker off and lets it warm up.",
            f"{PRACTICE} The set's own sheet comes first.",
            wait_s=WARM_UP_S,
        )
    yield Step("volts", "volts", _volts_words(view), PRACTICE, caution=_volts_caution(view))
    yield Step(
        "main",
        "main",
        f"Main breaker of the {'generator' if generator else 'supply'} on.",
        PRACTICE,
        running_a=dict.fromkeys(supply.lines, 0.0),
    )
    for board in view.layout.boards:
        # Parents stand first in a layout, so this goes outwards from the supply.
        yield Step(
            f"board:{board.id}",
            "board",
            f"Board {board.id}: main switch, then the outlets' breakers on.",
            PRACTICE,
            board=board.id,
        )
    yield from _lamps(view, setup, on)
    yield Step(
        "meter",
        "meter",
        f"Clamp {listed([*supply.lines, *(['N'] if supply.neutral else [])])} and compare with "
        f"what is expected: {_expected(view, setup)}.",
        PRACTICE,
        caution="A reading that does not fit has a cause: find it before the set is used.",
    )


def _lamps(view: View, setup: int, on: Sequence[Sequence[int]]) -> Iterator[Step]:
    generator = view.layout.supply.generator
    basis = OWN_BASIS if view.layout.start_order else ORDER_BASIS
    running: FloatArray = np.zeros(view.on_line.shape[1])
    for place, group in enumerate(on, 1):
        chosen = list(group)
        rush = view.inrush_a[chosen] @ view.on_line[chosen]
        peak_a = float((running + rush).max(initial=0.0))
        running = running + view.nominal_a[setup, chosen] @ view.on_line[chosen]
        watts = float(view.solution.load_power_w[setup, chosen].sum())
        hot = [i for i in chosen if _is_discharge(view, i)]
        step_pct = None if generator is None else load_step_pct(generator, watts)
        yield Step(
            f"lamps:{'|'.join(view.layout.loads[i].id for i in chosen)}",
            "lamps",
            f"On: {_names(view, chosen)}.",
            basis,
            loads=tuple(view.layout.loads[i].id for i in chosen),
            caution=_lamp_caution(view, hot, step_pct),
            running_a=_by_line(view, running),
            peak_a=peak_a,
            step_pct=step_pct,
            # After the last nothing has to settle for the next; it may still run up.
            wait_s=RUN_UP_S if hot else BETWEEN_S if place < len(on) else 0,
        )


def _lamp_caution(view: View, hot: Sequence[int], step_pct: float | None) -> str | None:
    said = []
    if step_pct is not None and step_pct > view.step_limit_pct:
        said.append(
            f"This alone is {number(step_pct, 0)} % of the generator at one step; it takes "
            f"{number(view.step_limit_pct, 0)} %. Bring it up by a dimmer, or ask for a larger set."
        )
    if hot:
        said.append(
            "Discharge: let it run up before the amps are read; once out, it strikes again only "
            "when it has cooled."
        )
    return " ".join(said) or None


def _stop(view: View, on: Sequence[Sequence[int]]) -> Iterator[Step]:
    supply = view.layout.supply
    generator = supply.kind == "generator"
    for group in reversed(on):
        chosen = list(reversed(group))
        hot = [i for i in chosen if _is_discharge(view, i)]
        yield Step(
            f"lamps-off:{'|'.join(view.layout.loads[i].id for i in chosen)}",
            "lamps-off",
            f"Off: {_names(view, chosen)}.",
            "The order of starting, backwards: common practice, no source.",
            loads=tuple(view.layout.loads[i].id for i in chosen),
            caution="Leave fans running until the lamp has cooled." if hot else None,
        )
    for board in reversed(view.layout.boards):
        yield Step(
            f"board-off:{board.id}",
            "board-off",
            f"Board {board.id}: the outlets' breakers, then the main switch off.",
            PRACTICE,
            board=board.id,
        )
    if generator:
        yield Step(
            "cool-down",
            "cool-down",
            "The generator runs without load to cool down.",
            f"{PRACTICE} The set's own sheet comes first.",
            wait_s=COOL_DOWN_S,
        )
    yield Step(
        "main-off",
        "main-off",
        f"Main breaker of the {'generator' if generator else 'supply'} off, with nothing on it.",
        PRACTICE,
    )
    if generator:
        yield Step("engine-off", "engine-off", "The generator operator stops the set.", PRACTICE)
    yield Step(
        "part",
        "part",
        "Only now the person responsible parts the connectors, once the supply is proved dead.",
        PARTING_BASIS,
        caution="Single-pole connectors: phases first, neutral next, earth last.",
    )


def _volts_words(view: View) -> str:
    supply = view.layout.supply
    volts = supply.voltage_v
    low, high = volts * (1.0 - VOLTS_SHARE), volts * (1.0 + VOLTS_SHARE)
    what = f"{listed(supply.lines)} to neutral" if supply.neutral else listed(supply.lines)
    return (
        f"Before any load the person responsible measures {what}: about {number(volts, 0)} V each, "
        f"{number(low, 0)} to {number(high, 0)} V."
    )


def _volts_caution(view: View) -> str | None:
    supply = view.layout.supply
    if not supply.neutral or len(supply.lines) < 2:
        return None
    return "One line high and another low: the neutral is lost. Nothing is switched on."


def _expected(view: View, setup: int) -> str:
    if not view.solved[setup]:
        return "no figure can be given"
    said = [
        f"{name} {amps(float(view.line_a[setup, 0, line]))}"
        for name, line in zip(view.layout.supply.lines, view.lines[0], strict=True)
    ]
    if view.layout.supply.neutral:
        said.append(f"N {amps(float(view.neutral_a[setup, 0]))}")
    return ", ".join(said)


def _by_line(view: View, running_a: FloatArray) -> dict[str, float]:
    names = zip(view.layout.supply.lines, view.lines[0], strict=True)
    return {name: float(running_a[line]) for name, line in names}


def _is_discharge(view: View, load: int) -> bool:
    fixture = view.layout.loads[load].fixture
    return fixture is not None and fixture.family in DISCHARGE


def _names(view: View, chosen: Sequence[int]) -> str:
    # All of them: what is left out of a list to tick stays on or off.
    return listed([view.load_names[i] for i in chosen], len(chosen))
