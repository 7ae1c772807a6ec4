"""What an averaging meter shows of a distorted current, against closed forms and published errors.

Source of the published errors: instrument makers' application notes on true-RMS and averaging
meters (from memory): square wave 10 to 11 % high, triangle 4 % low, single-phase rectifier up to
40 % low.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from evenboard.electrics.meter import averaging_reading_a

ODD = list(range(1, 400, 2))


def test_a_sine_is_shown_right() -> None:
    assert averaging_reading_a((1,), np.array([12.5])) == pytest.approx(12.5, rel=1e-5)


def test_a_sine_of_any_order_is_shown_right() -> None:
    # The neutral of three rectifiers carries the third harmonic alone: a sine, only faster.
    assert averaging_reading_a((3,), np.array([20.0])) == pytest.approx(20.0, rel=1e-4)


def test_a_square_wave_is_shown_eleven_percent_high() -> None:
    # Fourier: (4 / pi) (cos t - cos 3t / 3 + cos 5t / 5 ...), RMS 1; the factor is pi/(2 sqrt 2).
    rms = np.array([4.0 / (math.pi * n * math.sqrt(2.0)) for n in ODD])
    phase = [0.0 if n % 4 == 1 else math.pi for n in ODD]

    shown = averaging_reading_a(ODD, rms, phase)

    # 200 harmonics leave 1e-3 of the wave.
    assert float(shown) == pytest.approx(math.pi / (2.0 * math.sqrt(2.0)), rel=2e-3)
    assert float(shown) == pytest.approx(1.11, abs=0.005)


def test_a_triangle_is_shown_four_percent_low() -> None:
    # Fourier: (8 / pi^2) (cos t + cos 3t / 9 + cos 5t / 25 ...), peak 1, RMS 1 / sqrt 3.
    rms = np.array([8.0 / (math.pi**2 * n**2 * math.sqrt(2.0)) for n in ODD])

    shown = float(averaging_reading_a(ODD, rms)) * math.sqrt(3.0)

    assert shown == pytest.approx(math.pi / (2.0 * math.sqrt(2.0)) * 0.5 * math.sqrt(3.0), rel=1e-3)
    assert 100.0 * (shown - 1.0) == pytest.approx(-4.0, abs=0.3)


def test_the_pulse_of_an_uncorrected_rectifier_is_shown_up_to_forty_percent_low() -> None:
    # Third 80 %, fifth 60 % of the fundamental: a small driver without correction.
    parts = np.array([1.0, 0.8, 0.6])
    true = float(np.sqrt((parts**2).sum()))

    low = 1.0 - float(averaging_reading_a((1, 3, 5), parts)) / true

    assert 0.2 < low < 0.4


def test_many_currents_are_read_at_once() -> None:
    rms = np.array([[10.0, 0.0], [10.0, 4.0], [0.0, 0.0]])

    shown = averaging_reading_a((1, 3), rms)

    assert shown.shape == (3,)
    assert shown[2] == 0.0
    assert shown[1] == pytest.approx(float(averaging_reading_a((1, 3), rms[1])))


def test_orders_and_currents_of_different_number_are_refused() -> None:
    with pytest.raises(ValueError, match="one each"):
        averaging_reading_a((1, 3), np.array([1.0]))
