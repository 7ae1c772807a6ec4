"""Inrush against breaker bands, and orders of switching on."""

from __future__ import annotations

import itertools
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenboard.electrics.equipment import Breaker
from evenboard.electrics.inrush import (
    ELECTRONIC_SUPPLIES,
    Start,
    electronic_supplies_pct,
    inrush_a,
    prospective_a,
    start_order,
)
from evenboard.electrics.protection import breaker_band_a

AMPS = st.floats(0.1, 20.0).map(lambda value: round(value, 1))
LAMP = st.tuples(AMPS, st.floats(1.0, 15.0).map(lambda value: round(value, 1)))


def starts(*lamps: tuple[float, float]) -> list[Start]:
    return [Start(f"l{i}", (amps,), (amps * multiple,)) for i, (amps, multiple) in enumerate(lamps)]


def starts_in_turn(order: tuple[Start, ...], edge_a: float) -> bool:
    running = 0.0
    for start in order:
        if running + start.inrush_a[0] > edge_a + 1e-9:
            return False
        running += start.steady_a[0]
    return True


def test_a_cold_2_kw_lamp_against_three_16_amp_breakers() -> None:
    # Tungsten 10 to 15 times for the first half-cycles (lamp-technology reference); IEC 60898-1.
    inrush = inrush_a(8.7, 10.0)

    assert inrush == pytest.approx(87.0)
    assert inrush > breaker_band_a(Breaker(16, "B")).upper_a
    band_c = breaker_band_a(Breaker(16, "C"))
    assert band_c.lower_a < inrush < band_c.upper_a
    assert inrush < breaker_band_a(Breaker(16, "D")).lower_a


def test_cold_resistance_fourteen_times_less() -> None:
    # A lamp-technology reference: typically 14 times, 122 A for 2 kW at 230 V (8.7 A).
    assert inrush_a(8.7, 14.0) == pytest.approx(122, abs=0.5)


def test_like_lamps_add_up_and_an_inrush_is_never_below_the_current() -> None:
    assert inrush_a(2.0, 20.0, 3) == 120.0
    assert inrush_a(2.0, 0.0) == 2.0


def test_no_inrush_passes_the_short_circuit_current() -> None:
    assert prospective_a(230.0, 0.46) == pytest.approx(500.0)
    assert prospective_a(230.0, 0.0) == math.inf


# A manual of LED drivers (as found in trade literature): share of the number on a C16.
@pytest.mark.parametrize(
    ("breaker", "percent"),
    [(Breaker(16, "B"), 60), (Breaker(20, "C"), 125), (Breaker(6, "B"), None)],
)
def test_how_many_electronic_supplies_a_breaker_takes(
    breaker: Breaker, percent: float | None
) -> None:
    assert electronic_supplies_pct(breaker) == percent


def test_that_guide_follows_the_bands_edge() -> None:
    # Number in proportion to the lower edge of IEC 60898-1, B 3 In and C 5 In, within 2 points.
    for curve, rating, percent in ELECTRONIC_SUPPLIES.rows:
        assert rating is not None
        assert percent == pytest.approx(100 * (3 if curve == 1 else 5) * rating / (5 * 16), abs=2)


def test_what_fits_together_goes_on_together() -> None:
    order = start_order(starts((8.7, 5.0), (4.3, 5.0), (1.0, 5.0)), 80.0)

    assert [step.names for step in order.steps] == [("l0", "l1", "l2")]
    assert order.steps[0].peak_a == pytest.approx(70.0)
    assert order.steps[0].running_a == pytest.approx(14.0)


def test_largest_first_and_each_step_stays_below_the_edge() -> None:
    order = start_order(starts((2.0, 10.0), (5.0, 12.0), (5.0, 12.0)), 80.0)

    assert [step.names for step in order.steps] == [("l1", "l0"), ("l2",)]
    assert [step.peak_a for step in order.steps] == pytest.approx([80.0, 67.0])
    assert order.steps[-1].running_a == pytest.approx(12.0)
    assert order.refused == ()


def test_what_fits_into_a_step_waits_if_it_would_bar_what_it_overtakes() -> None:
    order = start_order(starts((3.0, 4.0), (4.0, 1.0), (5.0, 3.0)), 20.0)

    assert [step.names for step in order.steps] == [("l2",), ("l0",), ("l1",)]
    assert order.refused == ()


def test_a_lamp_that_trips_the_breaker_alone_is_named_and_the_others_start() -> None:
    order = start_order(starts((8.7, 14.0), (4.0, 5.0)), 80.0)

    assert order.refused == ("l0",)
    assert [step.names for step in order.steps] == [("l1",)]


def test_what_burns_already_takes_room() -> None:
    lamps = starts((5.0, 10.0))

    assert start_order(lamps, 60.0, running_a=(10.0,)).refused == ()
    assert start_order(lamps, 60.0, running_a=(10.1,)).refused == ("l0",)


def test_on_three_lines_the_worst_decides() -> None:
    lamps = [
        Start("a", (10.0, 0.0, 0.0), (50.0, 0.0, 0.0), inrush_ms=20.0),
        Start("b", (0.0, 10.0, 0.0), (0.0, 50.0, 0.0), inrush_ms=5.0),
        Start("c", (10.0, 0.0, 0.0), (50.0, 0.0, 0.0)),
    ]

    order = start_order(lamps, 60.0)

    assert [step.names for step in order.steps] == [("a", "b"), ("c",)]
    assert order.steps[0].wait_ms == 20.0


@given(lamps=st.lists(LAMP, min_size=1, max_size=6), edge_a=st.floats(20.0, 160.0))
def test_if_any_order_starts_everything_so_does_ours(
    lamps: list[tuple[float, float]], edge_a: float
) -> None:
    items = starts(*lamps)

    order = start_order(items, edge_a)

    possible = any(starts_in_turn(turn, edge_a) for turn in itertools.permutations(items))
    assert (order.refused == ()) == possible
    assert all(step.peak_a <= edge_a + 1e-6 for step in order.steps)
    names = [name for step in order.steps for name in step.names] + list(order.refused)
    assert sorted(names) == sorted(item.name for item in items)


def test_two_lamps_of_the_same_name_are_two_lamps() -> None:
    twins = [Start("par", (4.0,), (48.0,)), Start("par", (4.0,), (48.0,))]

    assert [step.names for step in start_order(twins, 60.0).steps] == [("par",), ("par",)]


def test_nothing_to_start_is_no_step() -> None:
    assert start_order([], 80.0).steps == ()


@pytest.mark.parametrize(
    ("current_a", "multiple", "count"), [(-1, 5, 1), (1, math.nan, 1), (1, 5, -1)]
)
def test_nonsense_is_refused(current_a: float, multiple: float, count: int) -> None:
    with pytest.raises(ValueError, match="must be 0 or more"):
        inrush_a(current_a, multiple, count)


def test_an_order_without_an_edge_or_with_uneven_lines_is_refused() -> None:
    with pytest.raises(ValueError, match="edge of the band"):
        start_order(starts((1.0, 5.0)), 0.0)
    with pytest.raises(ValueError, match="for the same lines"):
        start_order([Start("a", (1.0,), (5.0,)), Start("b", (1.0, 1.0), (5.0, 5.0))], 80.0)
    with pytest.raises(ValueError, match="must be >= 0"):
        prospective_a(230.0, -1.0)
    with pytest.raises(ValueError, match="is no current"):
        prospective_a(math.nan, 1.0)
