"""Loudness and true peak against pyloudnorm of the registry, and against worked examples."""

import numpy as np
import pyloudnorm
import pytest
from scipy import signal

from audio.kit.loudness import RATE, loudness, true_peak_db


def test_a_sine_of_full_scale() -> None:
    """BS.1770-4, annex 1: 997 Hz at 0 dBFS in one channel reads -3.01 LKFS."""
    time_s = np.arange(10 * RATE) / RATE
    row = np.sin(2 * np.pi * 997 * time_s).astype(np.float32)
    assert loudness(np.stack([row, np.zeros_like(row)], axis=1)) == pytest.approx(-3.01, abs=0.02)


@pytest.mark.parametrize("seed", range(4))
def test_as_another_meter_reads_it(seed: int) -> None:
    rng = np.random.default_rng(seed)
    sound = rng.standard_normal((12 * RATE, 2)) * 0.1
    sound = signal.lfilter([1.0], [1.0, -0.95 + 0.3 * seed / 4], sound, axis=0)
    sound[4 * RATE : 6 * RATE] *= 0.01  # a pause that is gated out
    sound *= np.linspace(0.2, 1.0, len(sound))[:, None]
    sound = (sound / np.abs(sound).max()).astype(np.float32)
    other = pyloudnorm.Meter(RATE).integrated_loudness(sound)
    assert loudness(sound) == pytest.approx(other, abs=0.1)


def test_silence_has_no_loudness() -> None:
    assert loudness(np.zeros((RATE, 2), np.float32)) == float("-inf")
    assert true_peak_db(np.zeros((RATE, 2), np.float32)) == float("-inf")


def test_peaks_between_samples_count() -> None:
    """BS.1770-4, annex 2: at a quarter of the rate samples may miss a peak by 3 dB."""
    time = np.arange(RATE)
    row = np.sin(np.pi / 2 * time + np.pi / 4)[:, None] * np.hanning(RATE)[:, None]
    assert 20 * np.log10(np.abs(row).max()) == pytest.approx(-3.01, abs=0.01)
    assert true_peak_db(row.astype(np.float32)) == pytest.approx(0.0, abs=0.1)
