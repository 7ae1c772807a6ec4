"""Generating sets: too much, too little, uneven, too large a step, leading current."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from evenboard.electrics.equipment import Generator
from evenboard.electrics.generator import GeneratorFigures, load_step_pct, rated_current_a
from evenboard.electrics.layout import NEUTRAL
from evenboard.electrics.solution import FloatArray, Flow
from evenboard.electrics.unbalance import sequence_components
from evenboard.findings.action import Action
from evenboard.findings.finding import Finding
from evenboard.findings.inputs import is_cut_off
from evenboard.findings.judging import at, in_setup, in_setups, over
from evenboard.findings.remedy import move_words, unplug_words
from evenboard.findings.replug import MARGIN, Goal, relief, unplugging
from evenboard.findings.starting import order_words
from evenboard.findings.words import (
    amps,
    beside,
    line_name,
    number,
)

if TYPE_CHECKING:
    from evenboard.findings.view import View

__all__ = [
    "generator_light_load",
    "generator_load_step",
    "generator_loading",
    "generator_overload",
    "generator_unbalance",
    "largest_lamp_drop",
    "leading_power_factor",
]

NEAR_SHARE = 0.9
"""Share of the limit from which a lamp's dropping out is worth an exact answer; estimate."""

SET_SHARE = 0.8
"""Share of its rating to which a set that is asked for would be loaded: the rest is for starting;
estimate."""

OVERLOAD_BASIS = (
    "Rating of the set in kVA and kW; a line gives its share of it, a third of three (ISO 8528-1, "
    "from memory)."
)
LOADING_BASIS = (
    "Running load not above 80 % of the set: prime power averages 70 % (ISO 8528-1); a vendor's "
    "recommendation."
)
LIGHT_BASIS = (
    "Long running below 30 % glazes a diesel (wet stacking): common practice, from memory."
)
NEGATIVE_BASIS = (
    "I2/In not above 8 % for a salient-pole machine (IEC 60034-1, from memory); I2 against the "
    "set's rated current."
)
STEP_BASIS = (
    "Load acceptance in steps (ISO 8528-5, from memory); half of the rating is an estimate."
)
LEADING_BASIS = (
    "Leading reactive power above 20 % of the kVA unsettles the voltage regulator (an alternator "
    "maker's white paper on filters)."
)
DROP_BASIS = (
    "The power flow solved again with each load off; limit as for unbalance, an estimate. "
    "Discharge lamps restrike after minutes."
)


def apparent_within(view: View, limit_va: float) -> Goal:
    """The goal that a supply's lines draw no more volt-amperes together."""
    lines = list(view.lines[0])
    volts = view.voltage_v[:, 0][:, lines]

    def excess(flow: Flow) -> FloatArray:
        total: FloatArray = (flow.rms_a[..., lines] * volts).sum(axis=-1)
        return (total - limit_va * MARGIN) / float(volts.max(initial=1.0))

    return excess


def lines_within(view: View, limit_va: float) -> Goal:
    """The goal that no line of the supply draws more than so many volt-amperes."""
    lines = list(view.lines[0])
    volts = view.voltage_v[:, 0][:, lines]

    def excess(flow: Flow) -> FloatArray:
        highest: FloatArray = (flow.rms_a[..., lines] * volts).max(axis=-1)
        return (highest - limit_va * MARGIN) / float(volts.max(initial=1.0))

    return excess


def generator_overload(view: View) -> Iterator[Finding]:
    """The set, or one of its lines, is asked for more than it is rated for."""
    figures, generator = view.generator, view.layout.supply.generator
    if figures is None or generator is None:
        return
    worst = over(view, figures.running_pct, 100.0)
    if worst is None:
        yield from _lines_overloaded(view, figures, generator)
        return
    active = float(figures.active_pct[worst.setup]) >= worst.value
    rated_kw = generator.rating_kva * generator.rated_power_factor
    limit, unit = (rated_kw, "kW") if active else (generator.rating_kva, "kVA")
    value = limit * worst.value / 100.0
    share = worst.value / 100.0
    now_va = float(view.apparent_va[worst.setup, 0].sum())
    actions = unplugging(view, 0, apparent_within(view, now_va / share))
    needed = generator.rating_kva * share / SET_SHARE
    remedy = f"It needs a set of {number(np.ceil(needed), 0)} kVA"
    yield Finding(
        "generator-overload",
        "fail",
        at(view, 0, setup=worst.setup),
        value,
        limit,
        unit,
        f"The generator is asked for {beside(value, limit)} {unit}{in_setups(view, worst)}; rated "
        f"{number(limit)} {unit}.",
        f"{remedy}, or {unplug_words(view, actions)}." if actions else f"{remedy}.",
        OVERLOAD_BASIS,
        actions,
    )


def _lines_overloaded(
    view: View, figures: GeneratorFigures, generator: Generator
) -> Iterator[Finding]:
    """Lines that are asked for more than their share of a set that as a whole is not overloaded."""
    lines = view.lines[0]
    share_kva = generator.rating_kva / len(lines)
    highest_pct = figures.line_pct.max(axis=1)
    most = over(view, highest_pct, 100.0)
    if most is None:
        return
    goal = lines_within(view, share_kva * 1000.0)
    moves = relief(view, 0, goal)
    actions: tuple[Action, ...] = moves or unplugging(view, 0, goal)
    if moves:
        remedy = move_words(view, moves)
    else:
        needed = generator.rating_kva * most.value / 100.0 / SET_SHARE
        remedy = f"No re-plugging mends it: it needs a set of {number(np.ceil(needed), 0)} kVA"
        remedy += f", or {unplug_words(view, actions)}." if actions else "."
    for position, line in enumerate(lines):
        worst = over(view, figures.line_pct[:, position], 100.0)
        if worst is None:
            continue
        value = share_kva * worst.value / 100.0
        yield Finding(
            "generator-overload",
            "fail",
            at(view, 0, line=line, setup=worst.setup),
            value,
            share_kva,
            "kVA",
            f"{line_name(view.layout, 0, line)} of the generator is asked for "
            f"{beside(value, share_kva)} kVA{in_setups(view, worst)}; one line gives "
            f"{number(share_kva)} kVA of its {number(generator.rating_kva)}.",
            remedy,
            OVERLOAD_BASIS,
            actions,
        )


def generator_loading(view: View) -> Iterator[Finding]:
    """The set runs for hours above the share of its rating that leaves it a reserve."""
    figures = view.generator
    if figures is None:
        return
    limit = view.limits.generator_high_load_pct
    worst = over(view, figures.running_pct, limit)
    if worst is None or over(view, figures.running_pct, 100.0) is not None:
        return
    yield Finding(
        "generator-loading",
        "caution",
        at(view, 0, setup=worst.setup),
        worst.value,
        limit,
        "%",
        f"The generator runs at {beside(worst.value, limit, 0)} %{in_setups(view, worst)}; "
        f"{number(limit, 0)} % leaves a reserve.",
        "Nothing to move: take the next larger set, or keep kettles and heaters off it.",
        LOADING_BASIS,
    )


def generator_light_load(view: View) -> Iterator[Finding]:
    """The set idles along in every set-up."""
    figures = view.generator
    if figures is None or not view.solved.any() or not view.solution.on.any():
        return
    limit = view.limits.generator_low_load_pct
    loads = np.where(view.solved, figures.running_pct, -1.0)
    setup = int(np.argmax(loads))
    value = float(loads[setup])
    if value >= limit:
        return
    yield Finding(
        "generator-light-load",
        "note",
        at(view, 0, setup=setup),
        value,
        limit,
        "%",
        f"The generator never runs above {beside(value, limit, 0)} %; below {number(limit, 0)} % "
        "for long harms the engine.",
        "A smaller set would do; with this one run it under load for a while before stopping.",
        LIGHT_BASIS,
    )


def generator_unbalance(view: View) -> Iterator[Finding]:
    """Uneven lines heat the alternator's rotor: negative sequence against its rated current."""
    figures, supply = view.generator, view.layout.supply
    if figures is None or supply.generator is None or len(view.lines[0]) < 3:
        return
    limit = view.limits.negative_sequence_pct
    worst = over(view, figures.negative_sequence_pct, limit)
    if worst is None:
        return
    rated = rated_current_a(supply.generator, supply.system, supply.voltage_v)

    def excess(flow: Flow) -> FloatArray:
        negative = np.abs(sequence_components(flow.fundamental_a[..., :NEUTRAL]).negative)
        size: FloatArray = negative - rated * limit / 100.0 * MARGIN
        return size

    moves = relief(view, 0, excess)
    currents = view.line_a[worst.setup, 0]
    shown = " / ".join(number(float(currents[line])) for line in view.lines[0])
    yield Finding(
        "generator-unbalance",
        "caution",
        at(view, 0, setup=worst.setup),
        worst.value,
        limit,
        "%",
        f"The generator's lines carry {shown} A{in_setup(view, worst.setup)}: "
        f"{beside(worst.value, limit)} % negative sequence; {number(limit)} % allowed.",
        move_words(view, moves)
        if moves
        else "No re-plugging evens it: use a larger set, or spread the large lamps over two lines.",
        NEGATIVE_BASIS,
        moves or (),
    )


def generator_load_step(view: View) -> Iterator[Finding]:
    """Too much is switched onto the set at once."""
    generator = view.layout.supply.generator
    if generator is None:
        return
    limit = view.step_limit_pct
    power = view.solution.load_power_w
    largest = np.zeros(len(power))
    group_of: dict[int, tuple[int, ...]] = {}
    for setup in np.flatnonzero(view.solved):
        for group in view.groups[int(setup)]:
            share = load_step_pct(generator, float(power[setup, list(group)].sum()))
            if share > largest[setup]:
                largest[setup], group_of[int(setup)] = share, group
    worst = over(view, largest, limit)
    if worst is None:
        return
    group = group_of[worst.setup]
    single = max(group, key=lambda i: float(power[worst.setup, i]))
    alone = load_step_pct(generator, float(power[worst.setup, single]))
    what = view.load_names[single] if len(group) == 1 else "Everything at once"
    order = view.whole_order
    yield Finding(
        "generator-load-step",
        "caution" if alone > limit else "note",
        at(view, 0, load=single if alone > limit else None, setup=worst.setup),
        worst.value,
        limit,
        "%",
        f"{what}{in_setup(view, worst.setup)} is a step of {beside(worst.value, limit, 0)} % of "
        f"the generator's kW; it takes {number(limit, 0)} %.",
        f"{view.load_names[single]} alone is {beside(alone, limit, 0)} %: it needs a larger set."
        if alone > limit
        else order_words(view, order),
        STEP_BASIS,
        () if alone > limit else (order,),
    )


def leading_power_factor(view: View) -> Iterator[Finding]:
    """Leading current of many drivers unsettles the set's voltage regulator."""
    figures, generator = view.generator, view.layout.supply.generator
    if figures is None or generator is None:
        return
    limit = view.limits.leading_share_pct
    worst = over(view, figures.leading_pct, limit)
    if worst is None:
        return
    kvar = worst.value / 100.0 * generator.rating_kva
    needed = float(np.ceil(kvar * 100.0 / limit))
    reactive = view.solution.load_reactive_var[worst.setup]
    most = int(np.argmin(reactive))
    yield Finding(
        "leading-power-factor",
        "caution",
        at(view, 0, setup=worst.setup),
        worst.value,
        limit,
        "%",
        f"{number(kvar)} kvar leading{in_setups(view, worst)}, {beside(worst.value, limit, 0)} % "
        f"of the generator's kVA; {number(limit, 0)} % allowed. Most of it from "
        f"{view.load_names[most]}.",
        "Burn tungsten or heaters beside it before the drivers go on, or use a set of "
        f"{number(needed, 0)} kVA.",
        LEADING_BASIS,
    )


def largest_lamp_drop(view: View) -> Iterator[Finding]:
    """If one lamp drops out, the lines are far more uneven than as planned."""
    if len(view.lines[0]) < 3 or is_cut_off(view, 0) or not view.layout.loads:
        return
    node = 0 if view.root is None else view.root + 1
    rating = float(view.line_rating_a[node])
    limit = view.limits.spread_pct
    even = view.spread_pct[:, node] <= limit
    # A load's dropping out moves a line by no more than its own current, but for what the changed
    # voltages do to the others: the exact answer is only asked for where that could matter.
    reach = view.spread_a[:, node] + view.solution.load_current_a.max(axis=1)
    if over(view, np.where(even, reach, 0.0), NEAR_SHARE * rating * limit / 100.0) is None:
        return
    drop = view.drop_out
    share = 100.0 * np.where(drop.is_solved, drop.spread_a, 0.0) / rating
    judged = np.where(even, share.max(axis=1), 0.0)
    worst = over(view, judged, limit)
    if worst is None:
        return
    load = int(np.argmax(share[worst.setup]))
    lines = drop.line_a[worst.setup, load]
    shown = " / ".join(number(float(lines[line])) for line in view.lines[0])
    plug = view.layout.loads[load]
    yield Finding(
        "largest-lamp-drop",
        "note",
        at(view, node, outlet=plug.outlet, load=load, setup=worst.setup),
        worst.value,
        limit,
        "%",
        f"If {view.load_names[load]} drops out{in_setup(view, worst.setup)}, the lines carry "
        f"{shown} A: {amps(float(drop.spread_a[worst.setup, load]))} apart, "
        f"{number(worst.value, 0)} % of {amps(rating)}.",
        "Nothing to move as long as it burns; if it goes, dim or switch off what stands on the "
        "other phases until it is back.",
        DROP_BASIS,
    )
