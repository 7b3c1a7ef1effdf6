"""Samples read off between samples, against the formula they were made from."""

import numpy as np
import pytest

from audio.play.interpolation import reach, read_at

RATE = 48_000


def tones(seconds: np.ndarray, frequencies: tuple[float, ...]) -> np.ndarray:
    return sum((np.sin(2 * np.pi * f * seconds + f) for f in frequencies), np.zeros(len(seconds)))


@pytest.mark.parametrize("speed", [1.0, 1 + 60e-6, 1 - 220e-6, 0.5, 0.4, 25 / 24])
def test_tones_come_out_where_they_are(speed: float) -> None:
    samples = tones(np.arange(RATE) / RATE, (110.0, 997.0, 7000.0, 15_000.0)).astype(np.float32)
    places = 300.37 + np.arange(20_000) * speed
    want = tones(places / RATE, (110.0, 997.0, 7000.0, 15_000.0))
    # Against tones of full scale: -80 dB.
    np.testing.assert_allclose(read_at(samples, places, speed), want, atol=1e-4 * 4)


def test_read_off_faster_nothing_is_folded_back() -> None:
    """At twice the speed 20 kHz would be 40 kHz, and fold back to 8 kHz."""
    samples = tones(np.arange(RATE) / RATE, (20_000.0,)).astype(np.float32)
    out = read_at(samples, 500 + np.arange(20_000) * 2.0, 2.0)
    assert np.abs(out).max() < 1e-3


def test_outside_there_is_silence() -> None:
    samples = np.ones(100, np.float32)
    places = np.array([-500.0, -1.0 - reach(1.0), 100.0 + reach(1.0), 9e6])
    np.testing.assert_array_equal(read_at(samples, places), 0)
    assert read_at(np.zeros(0, np.float32), np.arange(5.0)).tolist() == [0.0] * 5
