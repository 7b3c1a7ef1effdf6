"""Spectral whitening: phase kept, loud bins held down, silence left silent; and what is refused as a
signal."""

import numpy as np
import pytest
from scipy import signal

from audio import whitening
from audio.errors import BadSignal
from audio.signals import checked
from audio.whitening import whiten
from tests.audio.engine_songs import RATE, song
from tests.quality.damage import rms
from tests.quality.instruments import mix
from tests.quality.kit import Kit


def test_length_and_kind_are_kept() -> None:
    for length in (1, 100, 8000, 8123):
        white = whiten(np.random.default_rng(1).standard_normal(length).astype(np.float32), RATE)
        assert white.shape == (length,)
        assert white.dtype == np.float32
        assert np.isfinite(white).all()


def test_silence_stays_silent() -> None:
    """Digital silence, alone and beside music."""
    assert not whiten(np.zeros(2 * RATE, np.float32), RATE).any()
    half = song().master[10 * RATE : 14 * RATE].copy()
    half[2 * RATE :] = 0
    white = whiten(half, RATE)
    assert rms(white[: 2 * RATE]) > 0.5
    assert np.abs(white[2 * RATE + RATE // 4 :]).max() < 1e-3


def test_music_comes_out_at_about_one() -> None:
    white = whiten(song().master, RATE)
    for second in (10, 30, 50):
        assert 0.5 < rms(white[second * RATE :][: 4 * RATE]) < 2


@pytest.mark.parametrize("gain", [1e-4, 300.0])
def test_loudness_does_not_matter(gain: float) -> None:
    clip = song().master[10 * RATE : 16 * RATE]
    difference = whiten((gain * clip).astype(np.float32), RATE) - whiten(clip, RATE)
    assert np.abs(difference).max() < 0.01


def test_phase_is_kept() -> None:
    """The whitened signal lies on the signal: their correlation peaks at lag 0 and is even about it."""
    clip = song().master[20 * RATE : 40 * RATE]
    both = signal.correlate(whiten(clip, RATE), clip, "full", "fft")
    middle = len(clip) - 1
    assert int(both.argmax()) == middle
    before, top, after = both[middle - 1 : middle + 2]
    assert 0.5 * (before - after) / (before - 2 * top + after) == pytest.approx(0, abs=0.02)


def test_a_loud_drum_weighs_little() -> None:
    """Hits 20 dB above the music: before, they are nearly all of the energy; afterwards a part."""
    clip = 0.02 * song().master[20 * RATE : 28 * RATE].astype(np.float64)
    kit, hits = Kit(RATE, 3), np.zeros(len(clip))
    for beat in range(16):
        mix(hits, 0.25 + beat / 2, RATE, kit.hit("snare"))
    hits *= 10 * rms(clip) / rms(hits)
    before = np.corrcoef(clip, clip + hits)[0, 1]
    after = np.corrcoef(whiten(clip.astype(np.float32), RATE), whiten((clip + hits).astype(np.float32), RATE))
    assert before < 0.15
    assert after[0, 1] > 3 * before


def test_a_soft_tone_is_lifted_to_a_loud_one() -> None:
    """Phase transform (Knapp and Carter 1976): tones 26 dB apart come out within 6 dB."""
    time = np.arange(8 * RATE) / RATE
    noise = 0.003 * np.random.default_rng(1).standard_normal(time.size)
    pair = np.sin(2 * np.pi * 500 * time) + 0.05 * np.sin(2 * np.pi * 2000 * time) + noise

    def apart_db(wave: np.ndarray[tuple[int], np.dtype[np.float32]]) -> float:
        size = np.abs(np.fft.rfft(wave * np.hanning(len(wave))))
        return float(20 * np.log10(size[500 * 8] / size[2000 * 8]))

    assert apart_db(pair.astype(np.float32)) == pytest.approx(26.0, abs=0.1)
    assert abs(apart_db(whiten(pair.astype(np.float32), RATE))) < 6


def test_pieces_leave_no_seam(monkeypatch: pytest.MonkeyPatch) -> None:
    """Long signals are worked in pieces: around a joint the result is that of the whole."""
    clip = song().master[: 40 * RATE]
    whole = whiten(clip, RATE)
    monkeypatch.setattr(whitening, "PIECE_S", 13.0)
    joint = slice(int(12.95 * RATE), int(13.05 * RATE))
    pieces = whiten(clip, RATE)
    assert np.corrcoef(pieces[joint], whole[joint])[0, 1] > 0.97
    steps = np.abs(np.diff(pieces))
    assert steps[13 * RATE - 2 : 13 * RATE + 1].max() <= np.percentile(steps, 99.9)


@pytest.mark.parametrize(
    "samples", [np.zeros(0), np.zeros((2, 9)), np.array([1.0, np.nan]), np.array([-np.inf])]
)
def test_what_is_no_signal_is_refused(samples: np.ndarray[tuple[int], np.dtype[np.float64]]) -> None:
    with pytest.raises(BadSignal, match=r"^The take (holds|has) .*\.$"):
        checked(samples, "The take")  # type: ignore[arg-type]


def test_checked_gives_what_the_engine_takes() -> None:
    values = checked(np.arange(8)[::2], "The take")  # type: ignore[arg-type]
    assert values.dtype == np.float32
    assert values.flags.c_contiguous
    assert values.tolist() == [0, 2, 4, 6]
