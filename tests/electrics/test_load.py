"""A load's current and how it splits, against textbook relations and published tables."""

from __future__ import annotations

import math

import numpy as np
import pytest

from evenboard.electrics.equipment import FixtureType
from evenboard.electrics.load import (
    Split,
    contradiction,
    current_split,
    load_split,
    plug_current_a,
    rated_voltage_v,
    version_for,
)
from support.builders import ESTIMATE, a_load


def a_fixture(**changes: object) -> FixtureType:
    values: dict[str, object] = {
        "slug": "lamp",
        "name": "lamp",
        "family": "tungsten",
        "size_class": "medium",
        "power_w": 2000.0,
        "lamp_power_w": None,
        "power_factor": 1.0,
        "displacement_factor": 1.0,
        "displacement": "none",
        "third_harmonic_pct": 0.0,
        "current_thd_pct": 0.0,
        "load_model": "tungsten",
        "inrush_multiple": 12.0,
        "inrush_ms": 20.0,
        "leakage_ma": 0.1,
        "input_ranges_v": ((220.0, 240.0), (110.0, 120.0)),
        "connection": "single",
        "also_known_as": (),
        "basis": ESTIMATE,
    }
    return FixtureType(**(values | changes))  # type: ignore[arg-type]


# Power factor = cos(phi1) / sqrt(1 + THD^2) (power-electronics textbooks): cos(phi1), THD, pf.
POWER_FACTORS = [
    (1.0, 1.00, 0.7071),
    (0.95, 0.30, 0.9099),
    (0.98, 0.20, 0.9610),
    (0.90, 0.50, 0.8050),
    (0.98, 1.40, 0.5696),
]


@pytest.mark.parametrize(("displacement", "distortion", "factor"), POWER_FACTORS)
def test_distortion_follows_from_power_factor_and_displacement(
    displacement: float, distortion: float, factor: float
) -> None:
    split = current_split(
        1000.0,
        230.0,
        power_factor=factor,
        displacement_factor=displacement,
        displacement="lagging",
    )

    # The table prints the power factor to four digits.
    assert split.rest_a / abs(split.fundamental_a) == pytest.approx(distortion, abs=0.001)
    assert split.rms_a == pytest.approx(1000.0 / (230.0 * factor))


def test_a_discharge_ballast_without_correction_draws_what_a_trade_magazine_measured() -> None:
    """Trade magazine on small generators: an 800 W ballast at 110 V, pf 0.58, draws 12.5 A."""
    split = current_split(
        800.0,
        110.0,
        power_factor=0.58,
        displacement_factor=math.cos(math.radians(8.0)),
        displacement="leading",
        third_harmonic_pct=80.0,
    )

    assert split.rms_a == pytest.approx(12.5, abs=0.1)
    assert split.fundamental_a.imag > 0.0
    assert split.triplen_a == pytest.approx(0.8 * abs(split.fundamental_a))


def test_lagging_current_falls_behind_and_leading_runs_ahead() -> None:
    figures = {"power_factor": 0.8, "displacement_factor": 0.8}

    lagging = current_split(800.0, 100.0, displacement="lagging", **figures)  # type: ignore[arg-type]
    leading = current_split(800.0, 100.0, displacement="leading", **figures)  # type: ignore[arg-type]

    assert lagging.fundamental_a == pytest.approx(8.0 - 6.0j)
    assert leading.fundamental_a == pytest.approx(8.0 + 6.0j)


@pytest.mark.parametrize(
    ("power_factor", "displacement_factor", "displacement", "third_pct", "word"),
    [
        (0.95, 0.90, "lagging", 0.0, "above the displacement factor"),
        (0.98, 0.99, "lagging", 20.0, "above the whole distortion"),
        (0.90, 0.95, "none", 0.0, "lagging or leading"),
        (0.0, 1.0, "none", 0.0, "power factor 0"),
        (1.2, 1.0, "none", 0.0, "power factor 1.2"),
        (0.9, 1.1, "none", 0.0, "displacement factor 1.1"),
        (0.9, 0.9, "lagging", -5.0, "third harmonic -5"),
        (math.nan, 1.0, "none", 0.0, "power factor nan"),
        (0.9, 0.9, "lagging", math.inf, "third harmonic inf"),
    ],
)
def test_figures_that_contradict_each_other_are_refused_with_the_reason(
    power_factor: float, displacement_factor: float, displacement: str, third_pct: float, word: str
) -> None:
    fault = contradiction(power_factor, displacement_factor, displacement, third_pct)  # type: ignore[arg-type]

    assert fault is not None
    assert word in fault
    with pytest.raises(ValueError, match=r"factor|harmonic"):
        current_split(
            100.0,
            230.0,
            power_factor=power_factor,
            displacement_factor=displacement_factor,
            displacement=displacement,  # type: ignore[arg-type]
            third_harmonic_pct=third_pct,
        )


def test_third_harmonic_as_large_as_the_whole_distortion_is_accepted() -> None:
    distortion_pct = 100.0 * math.sqrt(1.0 / 0.8**2 - 1.0)

    assert contradiction(0.8, 1.0, "none", distortion_pct) is None


@pytest.mark.parametrize("power_w", [-1.0, math.inf, math.nan])
def test_power_that_is_no_power_is_refused(power_w: float) -> None:
    with pytest.raises(ValueError, match="power"):
        current_split(
            power_w, 230.0, power_factor=1.0, displacement_factor=1.0, displacement="none"
        )


@pytest.mark.parametrize("voltage_v", [0.0, -230.0, math.nan])
def test_a_voltage_that_is_none_is_refused(voltage_v: float) -> None:
    with pytest.raises(ValueError, match="voltage"):
        load_split(a_load("key", 0), voltage_v)
    with pytest.raises(ValueError, match="voltage"):
        plug_current_a(a_fixture(), voltage_v)
    with pytest.raises(ValueError, match="voltage"):
        current_split(
            1.0, voltage_v, power_factor=1.0, displacement_factor=1.0, displacement="none"
        )


# What a 2 kW, 230 V load takes at 220 V: constant power 2000 W, constant resistance 1830 W (ohm's
# law), tungsten 1863 W and 8.49 A (lamp re-rating, P by V^1.6 and I by V^0.55).
@pytest.mark.parametrize(
    ("model", "power_w", "current_a", "within"),
    [
        ("constant-power", 2000.0, 2000.0 / 220.0, 1e-9),
        ("constant-current", 2000.0 * 220.0 / 230.0, 2000.0 / 230.0, 1e-9),
        ("constant-impedance", 1829.9, 8.318, 1e-4),
        ("tungsten", 1863.0, 8.49, 0.01),  # the published exponents spread by that much
    ],
)
def test_each_model_answers_a_low_voltage_in_its_own_way(
    model: str, power_w: float, current_a: float, within: float
) -> None:
    split = load_split(a_load("key", 0, load_model=model), 220.0)

    assert split.power_w == pytest.approx(power_w, rel=within)
    assert split.rms_a == pytest.approx(current_a, rel=within)


def test_two_alike_on_one_plug_draw_twice() -> None:
    one, two = a_load("key", 0), a_load("key", 0, count=2)

    assert load_split(two, 225.0).rms_a == pytest.approx(2.0 * load_split(one, 225.0).rms_a)


def test_a_three_phase_star_and_delta_of_one_power_draw_the_same_from_each_line() -> None:
    star = a_load("star", 0, 1, 2, power_w=6900.0, connection="star")
    delta = a_load("delta", 0, 1, 2, power_w=6900.0, connection="delta", rated_voltage_v=398.37)

    assert load_split(star, 230.0).rms_a == pytest.approx(10.0)
    assert load_split(delta, 398.37).rms_a == pytest.approx(10.0, rel=1e-4)


def test_third_harmonics_of_a_delta_stay_inside_it() -> None:
    figures = {"power_factor": 0.8, "third_harmonic_pct": 60.0}

    star = load_split(a_load("star", 0, 1, 2, connection="star", **figures), 230.0)
    delta = load_split(
        a_load("delta", 0, 1, 2, connection="delta", rated_voltage_v=400.0, **figures), 400.0
    )

    assert star.triplen_a > 0.0
    assert delta.triplen_a == 0.0


def test_a_dimmed_resistance_draws_the_chopped_current() -> None:
    """Half power is a firing angle of 90 deg: 0.707 of the full current, pf 0.707, lagging."""
    half = a_load("key", 0, dimmed_to=0.5, dimmer="phase-cut", load_model="constant-impedance")

    split = load_split(half, 230.0)

    full_a = 2000.0 / 230.0
    assert split.power_w == pytest.approx(1000.0)
    assert split.rms_a == pytest.approx(full_a * math.sqrt(0.5))
    assert 3.0 * split.triplen_a == pytest.approx(full_a)
    assert math.degrees(math.atan2(-split.fundamental_a.imag, split.fundamental_a.real)) == (
        pytest.approx(32.48, abs=0.01)
    )


def test_a_dimmed_filament_draws_a_little_more_than_a_resistance_would() -> None:
    dimmed = {"dimmed_to": 0.5, "dimmer": "phase-cut"}

    lamp = load_split(a_load("key", 0, load_model="tungsten", **dimmed), 230.0)
    heater = load_split(a_load("key", 0, load_model="constant-impedance", **dimmed), 230.0)

    assert lamp.power_w == heater.power_w
    # I by V^0.55 and P by V^1.55: the RMS current goes with the power to the 0.55 / 1.55.
    assert lamp.rms_a == pytest.approx(2000.0 / 230.0 * 0.5 ** (0.55 / 1.55))
    assert lamp.rms_a > heater.rms_a


def test_electronics_that_dim_themselves_keep_their_shape() -> None:
    figures = {"power_factor": 0.9, "third_harmonic_pct": 20.0}
    full = load_split(a_load("led", 0, **figures), 230.0)

    half = load_split(a_load("led", 0, dimmed_to=0.5, dimmer="built-in", **figures), 230.0)

    assert half.rms_a == pytest.approx(0.5 * full.rms_a)
    assert half.triplen_a == pytest.approx(0.5 * full.triplen_a)


def test_a_load_dimmed_out_draws_nothing() -> None:
    dark = a_load("key", 0, dimmed_to=0.0, dimmer="phase-cut", load_model="tungsten")

    assert load_split(dark, 230.0) == Split(0.0, 0j, 0.0, 0.0)


def test_the_voltage_version_in_whose_range_a_voltage_lies_is_found() -> None:
    fixture = a_fixture()

    assert version_for(fixture, 230.0) == (220.0, 240.0)
    assert version_for(fixture, 115.0) == (110.0, 120.0)
    assert version_for(fixture, 208.0) is None


@pytest.mark.parametrize(
    ("voltage_v", "rated_v"),
    [(230.0, 230.0), (115.0, 115.0), (208.0, 220.0), (100.0, 110.0), (400.0, 240.0)],
)
def test_a_lamp_is_rated_at_the_place_or_at_the_nearest_edge(
    voltage_v: float, rated_v: float
) -> None:
    assert rated_voltage_v(a_fixture(), voltage_v) == rated_v


def test_a_type_without_ranges_is_rated_where_it_stands() -> None:
    assert rated_voltage_v(a_fixture(input_ranges_v=()), 208.0) == 208.0


# Currents at the plug of a 2 kW lamp: watts over volts inside its ranges, re-rated outside.
@pytest.mark.parametrize(
    ("voltage_v", "current_a"),
    [(230.0, 8.70), (220.0, 9.09), (120.0, 16.67), (208.0, 2000.0 / 220.0 * (208 / 220) ** 0.55)],
)
def test_plug_current_of_a_lamp(voltage_v: float, current_a: float) -> None:
    assert plug_current_a(a_fixture(), voltage_v) == pytest.approx(current_a, abs=0.005)


def test_plug_current_of_electronics_rises_as_the_voltage_falls() -> None:
    supply = a_fixture(load_model="constant-power", input_ranges_v=((90.0, 265.0),))

    at = np.array([plug_current_a(supply, v) for v in (100.0, 120.0, 230.0)])

    assert at == pytest.approx(2000.0 / np.array([100.0, 120.0, 230.0]))


def test_plug_current_of_three_phase_types() -> None:
    star = a_fixture(connection="star", power_w=6900.0)
    delta = a_fixture(connection="delta", power_w=6900.0, input_ranges_v=((380.0, 415.0),))

    assert plug_current_a(star, 230.0) == pytest.approx(10.0)
    assert plug_current_a(delta, 400.0) == pytest.approx(6900.0 / (math.sqrt(3.0) * 400.0))
