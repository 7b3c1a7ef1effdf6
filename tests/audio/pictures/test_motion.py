"""Accents of motion against the onsets of a song."""

from pathlib import Path

import numpy as np
import pytest

from audio.files.media import read_song
from audio.pictures.motion import KEEPS_TIME, Floats, clip_accents, guesses, song_accents
from audio.pictures.silent_series import SilentSeries, series_of

TRUE_S = -5.339
"""Song time at the start of the accordion's first clip, as sample_media/truth.json has it."""
SAMPLE = Path(__file__).parents[3] / "sample_media"


@pytest.fixture(scope="module")
def ferry() -> Floats:
    return song_accents(read_song(SAMPLE / "song.ogg", 8000), 8000)


def strikes(times_s: Floats, length_s: float) -> SilentSeries:
    """Motion that sets in at moments, under noise."""
    clip_s = np.arange(0, length_s, 0.04)
    rise = np.random.default_rng(3).exponential(0.3, len(clip_s))
    rise[np.searchsorted(clip_s, times_s[times_s < length_s - 0.1])] += 3.0
    return SilentSeries(clip_s, clip_s * 0, rise)


def test_a_clip_of_the_sample_without_its_sound(ferry: Floats) -> None:
    seen = series_of(SAMPLE / "clips" / "accordion" / "B0003.MP4")
    found = guesses(clip_accents(seen), ferry)
    assert found.keeps_time >= KEEPS_TIME
    assert min(abs(one.song_s - TRUE_S) for one in found.places) < 0.15


def test_what_does_not_follow_the_song_does_not_keep_its_time(ferry: Floats) -> None:
    rng = np.random.default_rng(5)
    for _ in range(3):
        seen = strikes(np.cumsum(rng.uniform(0.2, 0.9, 200)), 60.0)
        assert guesses(clip_accents(seen), ferry).keeps_time < KEEPS_TIME


def test_a_short_clip_gets_no_guesses(ferry: Floats) -> None:
    assert guesses(clip_accents(strikes(np.arange(0, 20, 0.5), 20.0)), ferry).places == ()


def test_strikes_with_every_onset_are_found() -> None:
    rng = np.random.default_rng(8)
    onsets = np.cumsum(rng.uniform(0.2, 0.8, 200))
    samples = np.zeros(8000 * 90, np.float32)
    for at_s in onsets[onsets < 89]:
        samples[int(8000 * at_s) : int(8000 * at_s) + 400] = rng.normal(0, 0.3, 400)
    found = guesses(clip_accents(strikes(onsets[onsets > 30] - 30, 40.0)), song_accents(samples, 8000))
    assert found.places[0].song_s == pytest.approx(30.0, abs=0.1)
    assert found.keeps_time > KEEPS_TIME
