"""Phase-cut dimming against numeric integration of the chopped waveform and derived tables."""

from __future__ import annotations

import numpy as np
import pytest

from evenboard.electrics.dimming import firing_angle_rad, harmonic_current, phase_cut
from evenboard.electrics.neutral import neutral_current_a
from evenboard.electrics.solution import FloatArray

SAMPLES = 72_000
TURN = np.exp(-2j * np.pi / 3.0)


def chopped(angle_rad: float) -> FloatArray:
    """One cycle of a leading-edge chopped sine of RMS 1 at full conduction."""
    phase = (np.arange(SAMPLES) + 0.5) * 2.0 * np.pi / SAMPLES
    conducts = np.mod(phase, np.pi) > angle_rad
    wave: FloatArray = np.sqrt(2.0) * np.sin(phase) * conducts
    return wave


def rms(wave: FloatArray) -> float:
    return float(np.sqrt(np.mean(wave**2)))


# Firing angle; phase RMS, power, fundamental, third over fundamental in %, neutral RMS, neutral
# over phase, three phases alike, full current 1: computed numerically, independent of this code.
TABLE = [
    (45, 0.953, 0.909, 0.923, 17, 0.522, 0.55),
    (60, 0.897, 0.805, 0.839, 28, 0.766, 0.85),
    (75, 0.814, 0.663, 0.726, 41, 0.943, 1.16),
    (90, 0.707, 0.500, 0.593, 54, 1.000, 1.41),
    (108, 0.554, 0.306, 0.420, 69, 0.918, 1.66),
    (120, 0.442, 0.196, 0.309, 77, 0.766, 1.73),
    (150, 0.170, 0.029, 0.085, 94, 0.294, 1.73),
]


@pytest.mark.parametrize("row", TABLE, ids=lambda row: f"{row[0]} deg")
def test_three_phases_alike(row: tuple[float, ...]) -> None:
    angle_deg, phase, power, fundamental, third_pct, neutral, ratio = row

    cut = phase_cut(np.radians(angle_deg))

    size = abs(complex(cut.fundamental))
    assert float(cut.rms) == pytest.approx(phase, abs=0.0006)
    assert float(cut.power) == pytest.approx(power, abs=0.0006)
    assert size == pytest.approx(fundamental, abs=0.0006)
    assert 100.0 * float(cut.third) / size == pytest.approx(third_pct, abs=0.6)
    assert 3.0 * float(cut.triplen) == pytest.approx(neutral, abs=0.0006)
    assert 3.0 * float(cut.triplen / cut.rms) == pytest.approx(ratio, abs=0.006)


def test_at_ninety_degrees_the_neutral_carries_root_two_of_the_phase() -> None:
    cut = phase_cut(np.pi / 2.0)

    phasors = complex(cut.fundamental) * np.array([1.0, TURN, TURN**2])
    neutral_a = neutral_current_a(phasors, np.full(3, cut.triplen))

    assert neutral_a / cut.rms == pytest.approx(np.sqrt(2.0), rel=1e-12)


def test_the_worst_mix_of_three_dimmers_loads_the_neutral_by_a_quarter_more_than_a_phase() -> None:
    """One phase full, the one that leads it at 90 deg, the third off: 1.246 of the full current.

    Found by a sweep over all three angles in steps of 2 deg, independent of this code; the ground
    for the 130 % neutral of NFPA 70 (NEC) 520.53 (from memory).
    """
    angles_deg = np.arange(0.0, 181.0, 10.0)
    cut = phase_cut(np.radians(angles_deg))
    first, second, third = (axis.ravel() for axis in np.indices((len(angles_deg),) * 3))
    mixes = np.stack([first, second, third], axis=1)

    neutral_a = neutral_current_a(
        cut.fundamental[mixes] * np.array([1.0, TURN, TURN**2]),
        cut.triplen[mixes],
        cut.rest[mixes] * np.array([1.0, TURN**5, TURN**10]),
    )

    worst = mixes[neutral_a.argmax()]
    assert neutral_a.max() == pytest.approx(1.246, abs=0.001)
    assert sorted(angles_deg[worst].tolist()) == [0.0, 90.0, 180.0]
    full = int(np.flatnonzero(angles_deg[worst] == 0.0)[0])
    assert angles_deg[worst][(full + 2) % 3] == 90.0  # L3 leads L1, L1 leads L2, L2 leads L3


@pytest.mark.parametrize("angle_deg", [0.5, 20.0, 50.0, 80.0, 100.0, 130.0, 175.0])
def test_closed_form_agrees_with_the_waveform(angle_deg: float) -> None:
    angle = np.radians(angle_deg)
    wave = chopped(angle)
    spectrum = np.fft.rfft(wave) / SAMPLES * np.sqrt(2.0)
    shifted = [np.roll(wave, k * SAMPLES // 3) for k in range(3)]
    shift = np.exp(-0.5j * 2.0 * np.pi / SAMPLES)  # samples sit half a step after the origin

    cut = phase_cut(angle)

    within = 2e-4  # the edge falls between two samples
    assert float(cut.rms) == pytest.approx(rms(wave), abs=within)
    assert complex(cut.fundamental) == pytest.approx(1j * spectrum[1] * shift, abs=within)
    assert float(cut.third) == pytest.approx(abs(spectrum[3]), abs=within)
    assert 3.0 * float(cut.triplen) == pytest.approx(
        rms(sum(shifted, np.zeros(SAMPLES))), abs=within
    )
    for order in (3, 5, 7, 11):
        size = abs(complex(harmonic_current(angle, order)))
        assert size == pytest.approx(abs(spectrum[order]), abs=within)


def test_parts_make_up_the_whole() -> None:
    angles = np.linspace(0.0, np.pi, 181)

    cut = phase_cut(angles)

    total = np.abs(cut.fundamental) ** 2 + cut.triplen**2 + cut.rest**2
    assert total == pytest.approx(cut.rms**2, abs=1e-12)
    assert np.all(cut.third <= cut.triplen + 1e-12)
    assert cut.fundamental.real == pytest.approx(cut.power)


def test_full_conduction_is_a_plain_sine_and_none_is_nothing() -> None:
    cut = phase_cut([0.0, np.pi])

    assert cut.fundamental == pytest.approx([1.0, 0.0], abs=1e-15)
    assert cut.rms == pytest.approx([1.0, 0.0], abs=1e-7)
    assert cut.triplen == pytest.approx([0.0, 0.0], abs=1e-7)  # root of a rounding error
    assert cut.displacement_factor[0] == pytest.approx(1.0)


def test_the_angle_for_a_share_of_power_gives_back_that_share() -> None:
    shares = np.concatenate([np.linspace(0.0, 1.0, 1001), [1e-9, 1.0 - 1e-9]])

    angles = firing_angle_rad(shares)

    assert phase_cut(angles).power == pytest.approx(shares, abs=1e-14)
    assert np.all(np.diff(angles[:1001]) < 0.0)


@pytest.mark.parametrize("angle", [-0.1, 3.2, np.nan])
def test_an_angle_outside_the_half_cycle_is_refused(angle: float) -> None:
    with pytest.raises(ValueError, match="between 0 and pi"):
        phase_cut(angle)


@pytest.mark.parametrize("share", [-0.1, 1.1, np.nan])
def test_a_share_outside_zero_to_one_is_refused(share: float) -> None:
    with pytest.raises(ValueError, match="between 0 and 1"):
        firing_angle_rad(share)


@pytest.mark.parametrize("order", [1, 2, 4])
def test_a_harmonic_that_a_half_wave_symmetric_current_has_not_is_refused(order: int) -> None:
    with pytest.raises(ValueError, match="odd"):
        harmonic_current(1.0, order)
