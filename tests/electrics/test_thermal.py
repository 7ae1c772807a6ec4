"""Core temperatures, spread and expansion, against the standard form and by property."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from evenboard.electrics.capacity import Capacity, run_capacity
from evenboard.electrics.conductor import temperature_factor
from evenboard.electrics.equipment import Conductor
from evenboard.electrics.layout import Run
from evenboard.electrics.solution import FloatArray
from evenboard.electrics.thermal import (
    core_spread_k,
    core_temperature_c,
    differential_expansion_mm,
    run_temperature_c,
    temperature_correction,
)
from support.cables import run_of

CURRENT = st.floats(0.0, 200.0)


def in_place(run: Run, ambient_c: float = 30.0, third_harmonic_pct: float = 0.0) -> Capacity:
    capacity = run_capacity(
        run, loaded_cores=3, ambient_c=ambient_c, third_harmonic_pct=third_harmonic_pct
    )
    assert capacity is not None
    return capacity


def warmth(run: Run, *currents_a: float, ambient_c: float = 30.0) -> FloatArray:
    return run_temperature_c(
        run, in_place(run, ambient_c), np.array([currents_a]), ambient_c=ambient_c, loaded_cores=3
    )[0]


# BS 7671:2018 appendix 4, 6.1 and AS/NZS 3008.1.1 clause 4.4 (from memory): equal cores.
@pytest.mark.parametrize(
    ("rated_c", "loading", "expected_c"), [(60, 0.8, 49.2), (90, 0.8, 68.4), (70, 0.5, 40.0)]
)
def test_equal_cores_follow_the_standard_form(
    rated_c: float, loading: float, expected_c: float
) -> None:
    temperature = core_temperature_c(
        np.full((1, 3), loading * 63.0),
        63.0,
        ambient_c=30.0,
        rated_temperature_c=rated_c,
        loaded_cores=3,
    )

    np.testing.assert_allclose(temperature, expected_c, rtol=1e-12)


def test_resistance_at_four_fifths_of_the_rating() -> None:
    # IEC 60228 temperature correction at 49.2 deg C; tolerance: the printed figure's rounding.
    assert temperature_factor(49.2) == pytest.approx(1.115, abs=0.0005)


@given(loading=st.floats(0.0, 3.0), own_share=st.floats(0.0, 1.0))
def test_equal_cores_are_as_warm_whatever_their_own_share(loading: float, own_share: float) -> None:
    temperature = core_temperature_c(
        np.full(3, loading * 40.0),
        40.0,
        ambient_c=20.0,
        rated_temperature_c=60.0,
        loaded_cores=3,
        own_share=own_share,
    )

    np.testing.assert_allclose(temperature, 20.0 + 40.0 * loading**2, rtol=1e-12)


@given(l1=CURRENT, l2=CURRENT, l3=CURRENT)
def test_more_current_in_a_core_is_never_cooler_and_the_mean_rise_is_kept(
    l1: float, l2: float, l3: float
) -> None:
    currents = np.array([l1, l2, l3])

    temperature = core_temperature_c(
        currents, 50.0, ambient_c=30.0, rated_temperature_c=60.0, loaded_cores=3
    )

    order = np.argsort(currents)
    assert np.all(np.diff(temperature[order]) >= -1e-9)
    mean_rise = 30.0 * np.mean((currents / 50.0) ** 2)
    assert np.mean(temperature) - 30.0 == pytest.approx(mean_rise, rel=1e-9, abs=1e-9)


@given(l1=CURRENT, l2=CURRENT, l3=CURRENT, shift=st.sampled_from([1, 2]))
def test_turning_the_phases_turns_the_temperatures(
    l1: float, l2: float, l3: float, shift: int
) -> None:
    currents = np.array([l1, l2, l3])

    def at(current_a: FloatArray) -> FloatArray:
        return core_temperature_c(
            current_a, 50.0, ambient_c=30.0, rated_temperature_c=60.0, loaded_cores=3
        )

    np.testing.assert_allclose(at(np.roll(currents, shift)), np.roll(at(currents), shift))


def test_one_loaded_core_is_cooler_than_three_and_warmer_than_its_neighbours() -> None:
    run = run_of("h07rn-f", "bs7671-4f1a", 16)

    lone = warmth(run, 63.0, 0.0, 0.0, 0.0)

    # Own quarter of 30 K and a third of the shared three quarters (the split is an estimate).
    assert lone[0] == pytest.approx(30.0 + 30.0 * (0.25 + 0.25))
    assert lone[1:].tolist() == pytest.approx([30.0 + 30.0 * 0.25] * 3)


@pytest.mark.parametrize("ambient_c", [30.0, 35.0, 50.0])
def test_cores_at_their_capacity_in_place_reach_the_rated_temperature(ambient_c: float) -> None:
    run = run_of("h07rn-f", "bs7671-4f1a", 16, laid="coiled", coil_layers=3)
    capacity_a = in_place(run, ambient_c).capacity_a

    temperature = warmth(run, capacity_a, capacity_a, capacity_a, 0.0, ambient_c=ambient_c)

    assert temperature[:3].tolist() == pytest.approx([60.0] * 3)


def test_four_cores_at_the_harmonic_capacity_reach_the_rated_temperature() -> None:
    run = run_of("h07rn-f", "bs7671-4f1a", 16)
    capacity = in_place(run, third_harmonic_pct=33.0)

    temperature = run_temperature_c(
        run, capacity, np.full((1, 4), capacity.capacity_a), ambient_c=30.0, loaded_cores=3
    )

    assert temperature[0].tolist() == pytest.approx([60.0] * 4)


def test_a_thinner_neutral_gets_hotter_for_the_same_current() -> None:
    thin = run_of("h07rn-f", "bs7671-4f1a", 16, neutral_csa_mm2=10)

    temperature = warmth(thin, 30.0, 30.0, 30.0, 30.0)

    # Own quarter of 30 K, (30/47)^2 against (30/63)^2: BS 7671 Table 4F1A, 10 and 16 mm2.
    assert temperature[3] - temperature[0] == pytest.approx(1.35, abs=0.01)


def test_above_every_listed_ambient_the_rise_stays_that_of_the_current() -> None:
    run = run_of("h07rn-f", "bs7671-4f1a", 16)

    hot = warmth(run, 31.5, 31.5, 31.5, 0.0, ambient_c=65.0)

    # Half the rated 63 A is a quarter of the 30 K between 30 and 60 deg C.
    assert hot[:3].tolist() == pytest.approx([72.5] * 3)


def test_a_spelled_out_conductor_rises_by_thirty_kelvin_at_its_capacity() -> None:
    run = Run(10.0, conductor=Conductor(1.0, 0.1, 1.0, 0.1, 40.0))

    assert warmth(run, 40.0, 40.0, 40.0, 0.0, ambient_c=70.0)[0] == pytest.approx(100.0)


def test_a_given_capacity_of_a_known_cable_rises_as_its_table_does() -> None:
    run = run_of("h07rn-f", "bs7671-4f1a", 16, conductor=Conductor(1.2, 0.1, 1.2, 0.1, 50.0))

    # BS 7671 Table 4F1A: 60 deg C at 30 deg C; also where the ambient leaves a table nothing.
    assert warmth(run, 50.0, 50.0, 50.0, 0.0)[0] == pytest.approx(60.0)
    assert warmth(run, 50.0, 50.0, 50.0, 0.0, ambient_c=60.0)[0] == pytest.approx(90.0)


def test_every_setup_is_computed_by_itself() -> None:
    run = run_of("h07rn-f", "bs7671-4f1a", 16)
    currents = np.array([[63.0, 63.0, 63.0, 0.0], [0.0, 0.0, 0.0, 0.0], [10.0, 20.0, 30.0, 17.3]])

    together = run_temperature_c(run, in_place(run), currents, ambient_c=30.0, loaded_cores=3)

    alone = np.array([warmth(run, *row) for row in currents])
    np.testing.assert_array_equal(together, alone)
    assert together[1].tolist() == [30.0] * 4


def test_spread_is_hottest_less_coolest() -> None:
    assert core_spread_k(np.array([[52.0, 40.0, 35.0], [41.0, 41.0, 41.0]])).tolist() == [17.0, 0.0]
    assert core_spread_k(np.array([[52.0]])).tolist() == [0.0]


def test_a_hundred_metres_of_copper_grow_by_68_mm_for_40_kelvin() -> None:
    # Materials handbooks: 17e-6/K (from memory).
    assert float(differential_expansion_mm(100.0, 40.0)) == pytest.approx(68.0)
    assert differential_expansion_mm(100.0, np.array([0.0, 20.0])).tolist() == [0.0, 34.0]


def test_bs_7671_correction_for_a_cable_that_runs_cool() -> None:
    # BS 7671:2018 appendix 4, 6.1 (from memory): tp 70 deg C, Ib/It 0.8, no grouping.
    assert temperature_correction(0.8, 70.0) == pytest.approx(0.952, abs=0.0005)


@pytest.mark.parametrize("loading", [0.2, 0.5, 0.8, 1.0])
@pytest.mark.parametrize("rated_c", [60.0, 70.0, 90.0])
def test_the_correction_is_the_ratio_of_resistances_at_the_computed_temperature(
    loading: float, rated_c: float
) -> None:
    temperature = core_temperature_c(
        np.array([loading]), 1.0, ambient_c=30.0, rated_temperature_c=rated_c, loaded_cores=1
    )[0]

    ratio = temperature_factor(temperature) / temperature_factor(rated_c)

    # BS 7671 rounds copper's 234.5 K to 230 K.
    assert temperature_correction(loading, rated_c) == pytest.approx(ratio, abs=0.003)


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"current_a": np.array([-1.0])}, "current of a core"),
        ({"current_a": np.array([math.nan])}, "current of a core"),
        ({"capacity_a": 0.0}, "capacity of a core"),
        ({"capacity_a": math.inf}, "capacity of a core"),
        ({"own_share": 1.5}, "own share"),
        ({"loaded_cores": 0}, "at least one core"),
        ({"ambient_c": 60.0}, "has no capacity at 60.0"),
        ({"ambient_c": math.nan}, "has no capacity"),
    ],
)
def test_nonsense_is_refused(change: dict[str, object], message: str) -> None:
    sound: dict[str, object] = {
        "current_a": np.array([1.0]),
        "capacity_a": 1.0,
        "ambient_c": 30.0,
        "rated_temperature_c": 60.0,
        "loaded_cores": 1,
    }

    with pytest.raises(ValueError, match=message):
        core_temperature_c(**(sound | change))  # type: ignore[arg-type]


def test_nonsense_in_the_small_sums_is_refused() -> None:
    with pytest.raises(ValueError, match="at least one core"):
        core_spread_k(np.zeros((1, 0)))
    with pytest.raises(ValueError, match=r"cannot be -1\.0 m long"):
        differential_expansion_mm(-1.0, 10.0)
    with pytest.raises(ValueError, match="loading must be 0 or more"):
        temperature_correction(-0.1, 70.0)
