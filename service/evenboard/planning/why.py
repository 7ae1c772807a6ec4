"""Why a plan is not better, and why a load does not fit, in words."""

from __future__ import annotations

import numpy as np

from evenboard.electrics.protection import RCD_NO_TRIP_SHARE
from evenboard.planning.bound import Bound
from evenboard.planning.draws import draws
from evenboard.planning.meters import LEAKAGE, WATTS, Meter
from evenboard.planning.problem import OUT, Problem
from evenboard.planning.result import Unplaced
from evenboard.planning.state import State, weight
from evenboard.planning.words import amps, lines_named, listed, load_named

__all__ = ["unplaced_of", "why_of"]

NAMED_AT_MOST = 3


def why_of(
    problem: Problem,
    state: State,
    bound: Bound,
    *,
    proven: bool,
    goal_met: bool | None,
    moves_held: bool,
) -> tuple[str, ...]:
    """What keeps a plan from being better.

    Parameters
    ----------
    problem : Problem
        What was planned.
    state : State
        The plan.
    bound : Bound
        What no plan can better.
    proven : bool
        Whether the highest line is proven to be as low as can be.
    goal_met : bool or None
        Whether the target is met, None where there was none.
    moves_held : bool
        Whether the number of moves allowed may have kept it from being evener.

    Returns
    -------
    tuple of str
        Sentences, the weightiest first; empty where there is nothing to even out.

    References
    ----------
    .. [1] The arguments of :mod:`evenboard.planning.bound`.
    """
    said: list[str] = []
    if problem.lines < 2:
        return ("The supply has one line: there are no phases to even out.",)
    if not (state.bin != OUT).any():
        return ()
    highest, spread, _ = state.levels()
    setup, line = (int(x) for x in np.unravel_index(int(state.sums.argmax()), state.sums.shape))
    layout = problem.layout
    where = f" in set-up {layout.setups[setup]}" if problem.setups > 1 else ""
    top = f"{lines_named(layout, [line])} carries {amps(int(state.sums[setup, line]))}{where}"
    if goal_met is False:
        said.append("The target cannot be met" + (" with so few moves." if moves_held else "."))
    if moves_held:
        said.append(
            f"At most {problem.options.max_moves} moves are allowed: with more it could be evener."
        )
    reason = _reason(problem, state, bound)
    if proven and highest > 0:
        text = "no plan has a lower highest line" if not moves_held else "no such plan is lower"
        said.append(f"{top}: {text}. {reason}".strip())
    elif highest > 0:
        said.append(
            f"{top}; no plan is below {amps(bound.highest)}. Whether one lies between is not "
            f"proven. {reason}".strip()
        )
    if spread > 0 and (lone := _lone_setup(problem, state)) is not None:
        said.append(lone)
    return tuple(said)


def _reason(problem: Problem, state: State, bound: Bound) -> str:
    layout = problem.layout
    at = f" in set-up {layout.setups[bound.setup]}" if problem.setups > 1 else ""
    if bound.reason == "largest" and bound.load is not None:
        load = layout.loads[bound.load]
        return f"{load_named(load)} alone draws {amps(bound.highest)} on a line{at}."
    if bound.reason == "pins":
        held = _held(problem, bound)
        many = "that cannot go elsewhere" if not held else f"that have to stay: {held}"
        return f"{lines_named(layout, bound.lines)} carries loads{at} {many}."
    if bound.reason == "seats":
        return (
            f"The other lines have too few outlets: {lines_named(layout, bound.lines)} has to take "
            f"the rest{at}."
        )
    if bound.reason == "coarse":
        return f"Whole lamps make no sum between that and an even share{at}."
    mean = -(-int(state.sums[bound.setup].sum()) // problem.lines)
    return f"An even share{at} is {amps(mean)} a line."


def _held(problem: Problem, bound: Bound) -> str:
    """The pinned loads on the lines of a bound, largest first."""
    layout = problem.layout
    mine = [
        i
        for i in np.flatnonzero(problem.pinned & (problem.on[:, bound.setup] > 0)).tolist()
        if set(layout.loads[i].supply_lines) <= set(bound.lines)
    ]
    mine.sort(key=lambda i: (-int(problem.amps[i].max()), i))
    names = [load_named(layout.loads[i]) for i in mine[:NAMED_AT_MOST]]
    more = len(mine) - len(names)
    return listed([*names, f"{more} more"] if more else names)


def _lone_setup(problem: Problem, state: State) -> str | None:
    """A set-up whose spread comes from a lamp that is large beside all others in it."""
    if problem.setups < 2:
        return None
    spread = state.sums.max(axis=1) - state.sums.min(axis=1)
    setup = int(spread.argmax())
    lit = np.flatnonzero((problem.on[:, setup] > 0) & (state.bin != OUT))
    if not len(lit):
        return None
    each = problem.amps[lit, problem.width[state.bin[lit]]]
    largest = int(lit[int(each.argmax())])
    if 2 * int(each.max()) < int(spread[setup]):
        return None
    name, load = problem.layout.setups[setup], load_named(problem.layout.loads[largest])
    return (
        f"The largest spread, {amps(int(spread[setup]))}, is in set-up {name}, where {load} alone "
        f"draws {amps(int(each.max()))}."
    )


def unplaced_of(problem: Problem, state: State) -> tuple[Unplaced, ...]:
    """Each load that stays out, and why.

    Parameters
    ----------
    problem : Problem
        What was planned.
    state : State
        The plan.

    Returns
    -------
    tuple of Unplaced
        In the layout's order.

    References
    ----------
    .. [1] None; wording.
    """
    said: dict[int, str] = {}
    for load in state.out:
        kind = int(problem.kind[load])
        if kind not in said:
            said[kind] = _unfit(problem, state, load)
    return tuple(
        Unplaced(problem.layout.loads[load].id, said[int(problem.kind[load])]) for load in state.out
    )


def _unfit(problem: Problem, state: State, load: int) -> str:
    bins = np.flatnonzero(problem.allowed[load]).tolist()
    if not bins:
        return _no_outlet(problem, load)
    need = amps(int(problem.amps[load, problem.width[bins[0]]]))
    full = [
        b
        for b in bins
        if any(
            problem.rooms[r].loads[load] and state.inside[r] >= problem.rooms[r].most
            for r in problem.rooms_of[b]
        )
    ]
    if len(full) == len(bins):
        return f"It needs {need}, and every outlet that takes its plug is in use."
    tight: list[str] = []
    for b in [b for b in bins if b not in full]:
        more = weight(problem, load, b)
        over = ((state.use + more > problem.limit[:, None]) & (more > 0)).any(axis=1)
        for k in np.flatnonzero(over)[:1].tolist():
            words = _left(problem, state, problem.meters[k], k)
            if words not in tight:
                tight.append(words)
    spare = problem.options.spare_a
    kept = f" ({spare:g} A are kept free on each line)" if spare > 0 else ""
    return f"It needs {need}: {'; '.join(tight[:NAMED_AT_MOST])}{kept}."


def _left(problem: Problem, state: State, meter: Meter, index: int) -> str:
    layout = problem.layout
    left = int((meter.limit - state.use[index]).min())
    board = "" if meter.board is None else f" of {layout.boards[meter.board].id}"
    if meter.weighs == WATTS:
        return f"the generator has {max(left, 0)} W of {meter.limit} W left"
    if meter.weighs == LEAKAGE:
        return (
            f"residual-current device {meter.name}{board} stays put up to "
            f"{meter.limit / 1000:g} mA ({100 * RCD_NO_TRIP_SHARE.value:g} % of its rating) "
            "and has "
            f"{max(left, 0) / 1000:.1f} mA left"
        )
    line = lines_named(layout, [meter.line or 0])
    whole = amps(meter.limit)
    part = "the supply" if meter.part == "supply" else f"{_named(meter)}{board}"
    return f"{line} of {part} has {amps(max(left, 0))} of {whole} left"


def _named(meter: Meter) -> str:
    return {"inlet": "the inlet", "breaker": "the main breaker", "cable": "the feeder"}.get(
        meter.part, meter.part
    )


def _no_outlet(problem: Problem, load: int) -> str:
    """What all outlets lack for a load."""
    layout = problem.layout
    one = layout.loads[load]
    suited = [way for way in draws(layout, one) if way.suits]
    if not suited:
        made = one.input_range_v or (one.rated_voltage_v, one.rated_voltage_v)
        return (
            f"It is made for {made[0]:g} to {made[1]:g} V, which this supply of "
            f"{layout.supply.voltage_v:g} V line to neutral does not give."
        )
    lines = {way.lines for way in suited}
    facing = [s for s in problem.seats if s.owner is None and len(s.lines) in lines]
    if not facing:
        count = listed([str(n) for n in sorted(lines)]).replace(" and ", " or ")
        return f"It needs an outlet of {count} line(s), and no free outlet has that."
    need = max(way.full_a for way in suited)
    most = max(
        min(s.outlet.type.rating_a, b.rating_a if (b := s.outlet.type.breaker) else 1e9)
        for s in facing
    )
    if need > most + 1e-6:
        return (
            f"It needs {need:.1f} A full up; the largest outlet that could take it has {most:g} A."
        )
    if one.connector is not None:
        return f"No outlet that carries its {need:.1f} A takes a plug {one.connector}."
    return f"It needs {need:.1f} A and a neutral, and no outlet that carries it has one."
