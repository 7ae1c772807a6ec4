"""Filling in plain numbers: nothing is put where it does not fit, and every sum is kept."""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenboard.planning import PlanOptions
from evenboard.planning.filling import Filling
from evenboard.planning.problem import OUT, Problem
from evenboard.planning.reading import problem_of
from evenboard.planning.state import State
from evenboard.planning.transport import transport
from support.plans import KINDS, an_instance


def same(one: State, other: State) -> bool:
    """Whether two states hold the same in every array."""
    arrays = ("bin", "sums", "inside", "use")
    return all((getattr(one, name) == getattr(other, name)).all() for name in arrays)


def problem(kind: str, loads: int, dimmed: bool) -> Problem:
    """An instance as the planner reads it."""
    return problem_of(an_instance(kind, loads, dimmed=dimmed).layout, PlanOptions())


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize(("loads", "dimmed"), [(12, True), (60, False)])
def test_what_is_put_in_fits_and_adds_up_as_one_by_one(kind: str, loads: int, dimmed: bool) -> None:
    read = problem(kind, loads, dimmed)
    filled, one_by_one = State(read), State(read)

    filling = Filling(filled)
    placed = [load for load in range(read.count) if filling.place(load)]
    filling.finish()

    assert placed
    for load in placed:
        assert one_by_one.can_put(load, int(filled.bin[load]))
        one_by_one.put(load, int(filled.bin[load]))
    assert same(filled, one_by_one)
    assert same(filled, State(read, filled.bin))
    # What did not go in has no bin left that would take it.
    for load in np.flatnonzero(filled.bin == OUT).tolist():
        assert not any(filled.can_put(load, bin_) for bin_ in range(len(read.bins)))


@pytest.mark.parametrize("kind", KINDS)
def test_the_bins_that_are_open_to_a_load_are_those_that_it_can_be_put_in(kind: str) -> None:
    layout = an_instance(kind, 60, dimmed=True).layout
    supply = replace(layout.supply, rating_a=layout.supply.rating_a * 0.2)
    read = problem_of(replace(layout, supply=supply), PlanOptions())
    state = State(read)
    filling = Filling(state)
    for load in range(0, read.count, 2):
        filling.place(load)
    filling.finish()
    closed = 0

    for load in range(1, read.count, 2):
        one_by_one = [bin_ for bin_ in range(len(read.bins)) if state.can_put(load, bin_)]
        assert state.open_bins(load).tolist() == one_by_one
        closed += int(read.allowed[load].sum()) - len(one_by_one)
    assert closed


@pytest.mark.parametrize("kind", KINDS)
def test_each_load_goes_where_the_squares_of_the_sums_grow_least(kind: str) -> None:
    read = problem(kind, 18, dimmed=False)
    state = State(read)
    for load in range(read.count):
        growth = {}
        for bin_ in range(len(read.bins)):
            if state.can_put(load, bin_):
                after = state.copy()
                after.put(load, bin_)
                growth[bin_] = int((after.sums**2).sum() - (state.sums**2).sum())

        filling = Filling(state)
        placed = filling.place(load)
        filling.finish()

        assert placed == bool(growth)
        if growth:
            assert growth[int(state.bin[load])] == min(growth.values())


@given(
    st.lists(st.integers(0, 3), min_size=1, max_size=3),
    st.lists(st.integers(0, 3), min_size=1, max_size=3),
    st.data(),
)
def test_kinds_go_to_places_at_the_least_cost_of_all_ways(
    supply: list[int], capacity: list[int], data: st.DataObject
) -> None:
    """Against every flow there is."""
    costs = [[data.draw(st.one_of(st.none(), st.integers(0, 9))) for _ in capacity] for _ in supply]

    flow = transport(supply, capacity, costs)

    def worth(rows: list[list[int]]) -> tuple[int, int]:
        cells = [(r, c) for r in range(len(supply)) for c in range(len(capacity)) if rows[r][c]]
        return -sum(rows[r][c] for r, c in cells), sum(
            rows[r][c] * (costs[r][c] or 0) for r, c in cells
        )

    def sound(rows: list[list[int]]) -> bool:
        return (
            all(sum(row) <= most for row, most in zip(rows, supply, strict=True))
            and all(sum(row[c] for row in rows) <= most for c, most in enumerate(capacity))
            and all(
                not x or costs[r][c] is not None
                for r, row in enumerate(rows)
                for c, x in enumerate(row)
            )
        )

    rows = [list(product(range(4), repeat=len(capacity)))] * len(supply)
    small = [
        [each for each in of if sum(each) <= most] for of, most in zip(rows, supply, strict=True)
    ]
    every = ([list(row) for row in way] for way in product(*small))
    assert sound(flow)
    assert worth(flow) == min(worth(way) for way in every if sound(way))
