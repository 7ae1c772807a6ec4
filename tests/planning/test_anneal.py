"""Starts of the search: sound, whole, all different, the same every time, and evener."""

from __future__ import annotations

import numpy as np
import pytest

from evenboard.electrics.layout import Layout
from evenboard.planning import PlanOptions
from evenboard.planning.anneal import KEPT, _cooled, _task_of, annealed
from evenboard.planning.bound import bound_of
from evenboard.planning.construct import first_state
from evenboard.planning.measure import Levels, Work
from evenboard.planning.problem import OUT
from evenboard.planning.reading import problem_of
from evenboard.planning.refine import movable
from evenboard.planning.state import State
from support.builders import a_board, a_layout, a_load, a_supply, an_outlet
from support.plans import an_instance


def first_and_floor(layout: Layout) -> tuple[State, Levels]:
    """The first assignment and the lower bounds of its levels. [0.1 A]"""
    problem = problem_of(layout, PlanOptions())
    first = first_state(problem, Work(10**9), stay=False)
    placed = np.flatnonzero(first.bin != OUT)
    return first, bound_of(problem, placed, Work(10**9)).levels


def starts(layout: Layout) -> tuple[State, list[State]]:
    """The first assignment and what annealing makes of it."""
    first, floor = first_and_floor(layout)
    return first, annealed(first, floor, Work(10**9))


@pytest.mark.parametrize("kind", ["set-ups", "everything"])
@pytest.mark.parametrize(("loads", "dimmed"), [(24, False), (40, True)])
def test_starts_are_sound_and_place_what_was_placed(kind: str, loads: int, dimmed: bool) -> None:
    first, found = starts(an_instance(kind, loads, dimmed=dimmed).layout)

    assert len(found) > 1
    for state in found:
        again = State(first.problem, state.bin)
        assert again.is_sound
        assert (again.sums == state.sums).all()
        assert ((state.bin == OUT) == (first.bin == OUT)).all()
        pinned = first.problem.pinned
        assert (state.bin[pinned] == first.problem.home[pinned]).all()
    assert len({state.sums.tobytes() for state in found}) == len(found)
    assert min(state.levels() for state in found) < first.levels()


def test_the_same_starts_come_every_time() -> None:
    layout = an_instance("set-ups", 30, dimmed=True).layout

    (_, one), (_, other) = starts(layout), starts(layout)

    assert [state.bin.tolist() for state in one] == [state.bin.tolist() for state in other]


def test_a_load_is_only_put_on_a_line_that_takes_its_plug() -> None:
    outlets = [
        an_outlet(f"{line}-{n}", line, connector="a" if line else "b")
        for line in range(3)
        for n in range(6)
    ]
    loads = [
        a_load(f"x{i}", power_w=300.0 * (1 + i % 4), on=(i % 2 == 0, i % 3 > 0), connector="a")
        for i in range(9)
    ]
    layout = a_layout(
        boards=(a_board(outlets=tuple(outlets)),), loads=tuple(loads), setups=("day", "night")
    )

    first, found = starts(layout)

    assert found
    for state in found:
        assert (state.sums[:, 0] == 0).all()
        assert first.problem.allowed[np.arange(9), state.bin].all()


def test_lines_with_hardly_more_seats_than_loads_get_no_more_of_them() -> None:
    first, floor = first_and_floor(an_instance("everything", 50, dimmed=False, seed=3).layout)
    task = _task_of(first, movable(first.problem, first, 1), floor)

    plans = _cooled(task, Work(10**9))

    best = plans.sums[:, first.problem.setups :, plans.ranked()[:, :KEPT].ravel()]
    assert task.most.size
    assert (best <= task.most[:, :, None]).all()


def test_loads_that_are_all_alike_are_spread_evenly() -> None:
    layout = a_layout(
        boards=(
            a_board(outlets=tuple(an_outlet(f"{i}-{n}", i) for i in range(3) for n in range(9))),
        ),
        loads=tuple(a_load(f"x{i}", power_w=100.0, on=(True, i < 12)) for i in range(24)),
        setups=("day", "night"),
    )

    _, found = starts(layout)

    assert min(state.levels()[1] for state in found) == 0


def test_annealing_takes_its_share_of_the_work() -> None:
    first, floor = first_and_floor(an_instance("set-ups", 30, dimmed=True).layout)

    for budget in (85_000_000, 200_000_000):
        work = Work(budget)
        annealed(first, floor, work)
        assert 0.5 * budget < work.spent < 0.9 * budget


@pytest.mark.parametrize("power_w", [20.0, 400.0, 2_000_000.0])
def test_small_and_large_loads_are_evened_out_alike(power_w: float) -> None:
    outlets = [an_outlet(f"{line}-{n}", line, rating_a=1e6) for line in range(3) for n in range(12)]
    loads = [
        a_load(f"x{i}", power_w=power_w * (1 + i % 7), on=(i % 2 == 0, i % 3 > 0))
        for i in range(24)
    ]
    layout = a_layout(
        supply=a_supply(rating_a=1e7),
        boards=(a_board(inlet_rating_a=1e7, outlets=tuple(outlets)),),
        loads=tuple(loads),
        setups=("day", "night"),
    )

    first, found = starts(layout)

    assert first.out == []
    # Sums are multiples of the smallest load: on three lines they can be one of it apart.
    smallest = first.problem.amps[:, 1].min()
    assert min(int(np.ptp(state.sums, axis=1).max()) for state in found) <= 1.01 * smallest


def test_where_no_load_has_a_choice_of_line_there_are_no_starts() -> None:
    layout = a_layout(
        boards=(a_board(outlets=tuple(an_outlet(f"a{n}", 0) for n in range(4))),),
        loads=tuple(a_load(f"x{n}", on=(True, n > 1)) for n in range(3)),
        setups=("day", "night"),
    )

    assert starts(layout)[1] == []
