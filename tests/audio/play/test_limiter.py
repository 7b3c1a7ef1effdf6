"""The limiter: nothing passes its ceiling, between the samples neither, and what is soft is left alone."""

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.signal import firwin, lfilter, resample

from audio.play.limiter import CEILING_DB, RELEASE_DB_S, Limiter

RATE = 48_000
CEILING = 10 ** (CEILING_DB / 20)


def in_blocks(limiter: Limiter, sound: NDArray[np.float32], seed: int) -> NDArray[np.float32]:
    """What comes out when the sound goes in in blocks of any length."""
    rng = np.random.default_rng(seed)
    out, at = [], 0
    while at < len(sound):
        length = int(rng.integers(1, 3000))
        out.append(limiter.process(sound[at : at + length]))
        at += length
    return np.concatenate(out)


def true_peak(sound: NDArray[np.float32]) -> float:
    """Highest absolute value at eight points a sample, by the Fourier series of the whole (its ends, where it
    does not repeat, left out)."""
    fine = resample(sound.astype(np.float64), 8 * len(sound))
    return float(np.abs(fine[8 * 2000 : -8 * 2000]).max())


def loud_sounds() -> dict[str, NDArray[np.float32]]:
    time = np.arange(2 * RATE) / RATE
    rng = np.random.default_rng(3)
    noise = lfilter(firwin(401, 20_000, fs=RATE), 1, rng.normal(0, 1, len(time)))
    hits = np.zeros(len(time))
    hits[5000::9000] = 4.0
    # A sine of a quarter of the rate whose samples miss all its peaks: 3 dB higher between the samples (the
    # usual example for true peak, as in the notes to ITU-R BS.1770; worked out from the formula).
    hidden = 1.4 * np.sin(np.pi / 4 + np.arange(len(time)) * np.pi / 2)
    swelling = 3 * time * np.sin(2 * np.pi * 440 * time)
    return {
        name: np.stack([one, one * 0.3], 1).astype(np.float32)
        for name, one in {"noise": noise, "hits": hits, "hidden": hidden, "swelling": swelling}.items()
    }


@pytest.mark.parametrize("name", ["noise", "hits", "hidden", "swelling"])
def test_nothing_passes_the_ceiling(name: str) -> None:
    sound = loud_sounds()[name]
    assert true_peak(sound) > 1.2
    out = in_blocks(Limiter(RATE), sound, seed=1)
    assert len(out) == len(sound)
    assert np.abs(out).max() <= CEILING
    # A hit of one sample has everything up to half the rate in it, which no meter of true peak claims to see.
    assert name == "hits" or true_peak(out) <= CEILING
    assert true_peak(out) > 0.8 * CEILING, "turned down no more than needed"


def test_what_is_soft_comes_out_as_it_was_only_later() -> None:
    sound = (0.5 * np.sin(np.arange(20_000) / 7)).astype(np.float32)
    pair = np.stack([sound, -sound], 1)
    limiter = Limiter(RATE)
    out = in_blocks(limiter, pair, seed=2)
    np.testing.assert_allclose(out[limiter.delay :], pair[: -limiter.delay], atol=1e-6)


def test_blocks_make_no_difference() -> None:
    sound = loud_sounds()["noise"]
    limiter = Limiter(RATE)
    whole = limiter.process(sound)
    np.testing.assert_allclose(in_blocks(Limiter(RATE), sound, seed=5), whole, atol=1e-5)
    limiter.clear()
    np.testing.assert_array_equal(limiter.process(sound), whole)


def test_after_a_peak_the_level_rises_slowly() -> None:
    """Twelve decibels over the ceiling: the gain comes back by so many decibels a second."""
    sound = np.full((RATE, 2), 0.2, np.float32)
    sound[10_000] = CEILING * 4
    limiter = Limiter(RATE)
    gain_db = 20 * np.log10(limiter.process(sound)[limiter.delay :, 0] / 0.2)
    risen = gain_db[10_000 + 4800] - gain_db[10_000 + 960]
    assert risen == pytest.approx(RELEASE_DB_S * 0.08, rel=0.02)
    assert gain_db[10_000 - limiter.delay] == pytest.approx(0, abs=1e-3)
