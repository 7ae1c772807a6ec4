"""What must hold of the power flow for any layout at all."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from evenboard.electrics.layout import Layout, Load
from evenboard.electrics.load import load_split
from evenboard.electrics.neutral import largest_subset_sum, open_neutral, worst_switching
from evenboard.electrics.powerflow import solve
from evenboard.electrics.solution import Solution
from evenboard.electrics.switching import drop_out
from support.builders import a_board, a_layout, a_load, a_supply
from support.trees import a_tree

SEEDS = st.integers(min_value=0, max_value=10**6)
SOME = settings(max_examples=40, deadline=None)
TURN = np.exp(-2j * np.pi / 3.0)


def lamps(seed: int, **changes: object) -> Layout:
    """A tree of moderate size; everything that a layout can hold."""
    return a_tree(seed, leads=0.3, **changes)  # type: ignore[arg-type]


def with_lines_turned(layout: Layout, by: int) -> Layout:
    """The same layout with every plug moved on by so many lines."""
    return replace(
        layout,
        loads=tuple(
            replace(load, supply_lines=tuple((line + by) % 3 for line in load.supply_lines))
            for load in layout.loads
        ),
    )


@SOME
@given(SEEDS, st.integers(1, 2))
def test_turning_the_phases_turns_the_answer(seed: int, by: int) -> None:
    layout = lamps(seed)

    before, after = solve(layout), solve(with_lines_turned(layout, by))

    moved = [(line - by) % 3 for line in range(3)]
    assert after.inflow.rms_a[:, :, :3] == pytest.approx(before.inflow.rms_a[:, :, moved], rel=1e-9)
    assert after.inflow.rms_a[:, :, 3] == pytest.approx(before.inflow.rms_a[:, :, 3], rel=1e-9)
    assert after.load_voltage_v == pytest.approx(before.load_voltage_v, rel=1e-9)


@SOME
@given(SEEDS)
def test_currents_of_every_node_are_those_of_its_loads_and_children(seed: int) -> None:
    layout = lamps(seed, three_phase=0.0)

    solution = solve(layout)

    flow = solution.inflow.fundamental_a
    for node in range(len(layout.boards) + 1):
        out = sum((flow[:, c + 1] for c in range(len(layout.boards)) if parent(layout, c) == node),
                  start=np.zeros_like(flow[:, 0]))  # fmt: skip
        for index, load in enumerate(layout.loads):
            if load.board == node - 1:
                current = solution.load_fundamental_a[:, index]
                out[:, load.supply_lines[0]] += current
                out[:, 3] += current
        assert flow[:, node] == pytest.approx(out, abs=1e-7)


def parent(layout: Layout, board: int) -> int:
    above = layout.boards[board].parent
    return 0 if above is None else above + 1


@SOME
@given(SEEDS)
def test_the_neutral_returns_what_the_lines_bring(seed: int) -> None:
    flow = solve(lamps(seed)).inflow

    assert flow.fundamental_a[:, :, 3] == pytest.approx(
        flow.fundamental_a[:, :, :3].sum(axis=2), abs=1e-8
    )
    assert flow.rest_a[:, :, 3] == pytest.approx(flow.rest_a[:, :, :3].sum(axis=2), abs=1e-8)
    assert np.all(flow.triplen_a[:, :, 3] <= flow.triplen_a[:, :, :3].sum(axis=2) + 1e-9)


@SOME
@given(SEEDS)
def test_every_load_takes_what_its_own_law_says_at_its_voltage(seed: int) -> None:
    layout = lamps(seed, three_phase=0.0)

    solution = solve(layout)

    for index, load in enumerate(layout.loads):
        for setup in np.flatnonzero(solution.on[:, index]):
            split = load_split(load, solution.load_voltage_v[setup, index])
            assert solution.load_power_w[setup, index] == pytest.approx(split.power_w)
            assert solution.load_current_a[setup, index] == pytest.approx(split.rms_a)


@SOME
@given(SEEDS)
def test_source_power_is_what_loads_take_and_feeders_lose(seed: int) -> None:
    layout = a_tree(seed)
    quiet = replace(
        layout,
        loads=tuple(
            replace(load, power_factor=load.displacement_factor, third_harmonic_pct=0.0)
            for load in layout.loads
        ),
    )

    solution = solve(quiet)

    source_v = layout.supply.voltage_v * TURN ** np.arange(3)
    drawn = (source_v * np.conj(solution.inflow.fundamental_a[:, 0, :3])).sum(axis=1).real
    taken = solution.load_power_w.sum(axis=1) + solution.loss_w.sum(axis=1)
    assert drawn == pytest.approx(taken, rel=1e-8, abs=1e-6)


@SOME
@given(SEEDS, st.floats(0.1, 8.0))
def test_a_stiff_supply_scales(seed: int, scale: float) -> None:
    layout = replace(lamps(seed), boards=(a_board(),), supply=a_supply())
    plugged = tuple(replace(load, board=0, lead=None) for load in layout.loads)
    larger = tuple(replace(load, power_w=scale * load.power_w) for load in plugged)

    before = solve(replace(layout, loads=plugged)).inflow.rms_a
    after = solve(replace(layout, loads=larger)).inflow.rms_a

    assert after == pytest.approx(scale * before, rel=1e-9, abs=1e-9)


@SOME
@given(SEEDS)
def test_adding_a_balanced_load_leaves_the_neutral_alone(seed: int) -> None:
    layout = replace(lamps(seed), boards=(a_board(),), supply=a_supply())
    plugged = tuple(replace(load, board=0, lead=None) for load in layout.loads)
    ring = tuple(a_load(f"ring-{line}", line, on=(True, True)) for line in range(3))

    before = solve(replace(layout, loads=plugged)).inflow.rms_a[:, :, 3]
    after = solve(replace(layout, loads=(*plugged, *ring))).inflow.rms_a[:, :, 3]

    assert after == pytest.approx(before, abs=1e-8)


@SOME
@given(st.floats(10.0, 5000.0), st.sampled_from(["constant-power", "tungsten"]))
def test_equal_phases_leave_no_fundamental_in_the_neutral(power_w: float, model: str) -> None:
    layout = a_tree(1, boards=3, loads=0, setups=1)
    loads = tuple(
        a_load(f"k{b}{p}", p, board=b, power_w=power_w, load_model=model)
        for b in range(3)
        for p in range(3)
    )

    solution = solve(replace(layout, loads=loads))

    if solution.converged.all():
        assert np.abs(solution.inflow.fundamental_a[:, :, 3]).max() < 1e-7
    else:
        assert not solution.inflow.rms_a.any()


@SOME
@given(SEEDS, st.permutations(range(12)))
def test_the_order_of_the_loads_does_not_matter(seed: int, order: list[int]) -> None:
    layout = lamps(seed, loads=12)

    before = solve(layout)
    after = solve(replace(layout, loads=tuple(layout.loads[i] for i in order)))

    assert after.voltage_v == pytest.approx(before.voltage_v, rel=1e-9, abs=1e-9)
    assert after.load_current_a == pytest.approx(before.load_current_a[:, order], rel=1e-8)


def one_set_up(layout: Layout, setup: int) -> Layout:
    return replace(
        layout,
        setups=(layout.setups[setup],),
        loads=tuple(replace(load, on=(load.on[setup],)) for load in layout.loads),
    )


@SOME
@given(SEEDS, st.booleans())
def test_a_set_up_alone_is_the_same_as_among_others(seed: int, is_open: bool) -> None:
    layout = lamps(seed, setups=4, open_neutral=is_open)

    together = solve(layout)

    for setup in range(4):
        alone = solve(one_set_up(layout, setup))
        assert alone.converged[0] == together.converged[setup]
        assert alone.voltage_v[0] == pytest.approx(together.voltage_v[setup], abs=1e-7)


def kirchhoff_miss_a(solution: Solution, loads: tuple[Load, ...]) -> float:
    """Largest sum of currents at the floating neutral of a board, from the loads' own laws."""
    total = np.zeros(len(solution.on), dtype=np.complex128)
    for index in range(len(loads)):
        total += solution.load_fundamental_a[:, index]
    return float(np.abs(total).max())


@SOME
@given(
    st.lists(
        st.tuples(
            st.integers(0, 2),
            st.floats(20.0, 5000.0),
            st.sampled_from(
                ["constant-power", "constant-current", "constant-impedance", "tungsten"]
            ),
        ),
        min_size=1,
        max_size=12,
    )
)
def test_an_open_neutral_always_comes_to_rest_within_the_triangle_of_lines(
    plugs: list[tuple[int, float, str]],
) -> None:
    loads = tuple(
        a_load(f"k{i}", line, power_w=power_w, load_model=model)
        for i, (line, power_w, model) in enumerate(plugs)
    )
    solution = solve(a_layout(loads=loads))

    after = open_neutral(solution)

    floating = solve(a_layout(loads=loads, supply=a_supply(neutral=False)))
    assert after.converged.all()
    assert np.all(after.voltage_v <= 230.0 * np.sqrt(3.0) + 1e-6)
    assert kirchhoff_miss_a(floating, loads) < 1e-6
    for index in range(len(loads)):
        voltage_v = floating.load_voltage_v[0, index]
        assert after.load_voltage_v[0, index] == pytest.approx(voltage_v, abs=1e-6)


@SOME
@given(
    st.lists(st.tuples(st.floats(-50, 50), st.floats(-50, 50)), min_size=1, max_size=9),
)
def test_no_combination_beats_the_worst_switching(parts: list[tuple[float, float]]) -> None:
    values = np.array([complex(*part) for part in parts])
    choices = (np.arange(2 ** len(values))[:, None] >> np.arange(len(values))) & 1

    magnitude, member = largest_subset_sum(values[None, :])

    assert magnitude[0] == pytest.approx(np.abs(choices @ values).max(), rel=1e-9, abs=1e-9)
    assert abs(values[member[0]].sum()) == pytest.approx(magnitude[0], abs=1e-9)


@SOME
@given(SEEDS)
def test_worst_switching_is_never_below_what_burns_or_what_is_left(seed: int) -> None:
    layout = replace(lamps(seed), boards=(a_board(),), supply=a_supply())
    layout = replace(layout, loads=tuple(replace(k, board=0, lead=None) for k in layout.loads))
    solution = solve(layout)

    worst = worst_switching(solution)

    neutral_a = solution.inflow.rms_a[:, 0, 3]
    assert np.all(worst.current_a >= neutral_a - 1e-9)
    assert np.all(worst.current_a >= drop_out(solution).neutral_a.max(axis=1, initial=0.0) - 1e-9)
