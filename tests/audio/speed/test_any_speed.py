"""Speeds that nobody announced, resampled or time-stretched, found from the sound alone."""

import numpy as np
import pytest

from audio.errors import Stopped
from audio.progress import no_progress
from audio.speed.any_speed import candidate_speeds
from tests.audio.speed_songs import (
    RATE,
    between_noise,
    resampled,
    roomy,
    song,
    song_bands,
    stretched,
)


def off_s(song_s: float, clip_s: float, before_s: float, from_s: float, speed: float) -> float:
    """How far off a place is, where the song starts at ``from_s`` after so many seconds of clip."""
    return song_s - (from_s + (clip_s - before_s) * speed)


@pytest.mark.parametrize("speed", [0.43, 24 / 25, 48 / 44.1, 1.37, 4.0])
def test_resampled_playback(speed: float) -> None:
    """48 / 44.1 is a player at the wrong rate, 24 / 25 film speed (common practice); 1.37 is nobody's."""
    clip = between_noise(roomy(resampled(song()[8 * RATE : 32 * RATE], speed)), 2.0, 3.0)
    best = candidate_speeds(clip, song_bands())[0]
    assert not best.pitch_kept
    assert (best.speed / speed - 1) * 1e6 == pytest.approx(0, abs=300)
    assert off_s(best.line.song_s, best.line.clip_s, 2.0, 8.0, speed) == pytest.approx(0, abs=0.05)


@pytest.mark.parametrize("speed", [0.6, 1.25, 2.5])
def test_time_stretched_playback(speed: float) -> None:
    clip = between_noise(roomy(stretched(song()[8 * RATE : 32 * RATE], speed)), 2.0, 3.0)
    best = candidate_speeds(clip, song_bands())[0]
    assert best.pitch_kept
    assert best.speed / speed == pytest.approx(1, abs=0.004)
    assert off_s(best.line.song_s, best.line.clip_s, 2.0, 8.0, speed) == pytest.approx(0, abs=0.1)


def test_a_few_seconds() -> None:
    """Eight seconds of song at 1.6, five of clip: the speed is as exact as the search by waveform needs
    it."""
    clip = between_noise(resampled(song()[20 * RATE : 28 * RATE], 1.6), 1.0, 1.0)
    best = candidate_speeds(clip, song_bands())[0]
    assert not best.pitch_kept
    assert (best.speed / 1.6 - 1) * 1e6 == pytest.approx(0, abs=300)


def _tones() -> np.ndarray:
    t = np.arange(20 * RATE) / RATE
    steps = np.repeat([440.0, 196.0, 329.6, 147.0, 1000.0], 4 * RATE)
    return np.asarray(0.3 * np.sin(2 * np.pi * steps * t), np.float32)


def test_nothing_where_the_song_is_not() -> None:
    noise = np.random.default_rng(5).standard_normal(25 * RATE).astype(np.float32)
    for clip in (song(seed=2), noise, 0 * noise, _tones(), resampled(song(seed=3), 1.25), noise[:100]):
        assert candidate_speeds(clip, song_bands()) == []


def test_loud_noise_over_it() -> None:
    """The song 6 dB under white noise."""
    run = resampled(song(), 1.25)
    level = float(np.sqrt(np.mean(run**2))) * 2
    best = candidate_speeds(between_noise(run, 2.0, 2.0, level), song_bands())[0]
    assert (best.speed / 1.25 - 1) * 1e6 == pytest.approx(0, abs=300)


def test_it_can_be_stopped_and_tells_how_far_it_is() -> None:
    reports: list[float] = []
    assert candidate_speeds(song(seed=2), song_bands(), lambda: False, reports.append) == []
    assert reports[-1] == 1.0
    assert reports == sorted(reports)
    with pytest.raises(Stopped):
        candidate_speeds(song(seed=2), song_bands(), lambda: True, no_progress)
