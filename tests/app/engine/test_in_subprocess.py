"""The song read in a process of its own: the same answer, and trouble comes through as a sentence."""

from pathlib import Path

import numpy as np
import pytest
import soundfile

from app.engine import tasks
from audio.errors import AudioError, Stopped


@pytest.fixture
def song(tmp_path: Path) -> Path:
    """Ten seconds of a click on every half second."""
    rate, path = 22050, tmp_path / "clicks.wav"
    samples = 0.001 * np.random.default_rng(3).standard_normal(10 * rate)
    for beat in range(20):
        samples[beat * rate // 2 :][:200] += np.hanning(200)
    soundfile.write(path, samples, rate)
    return path


def test_the_answer_is_the_same(song: Path) -> None:
    told: list[float] = []
    there = tasks.song_from_file(song, progress=told.append, in_subprocess=True, use_cache=False)
    assert there == tasks.song_from_file(song, use_cache=False)
    assert told == sorted(told)
    assert told


def test_trouble_comes_through(tmp_path: Path) -> None:
    with pytest.raises(AudioError) as here:
        tasks.song_from_file(tmp_path / "none.wav")
    with pytest.raises(type(here.value)) as there:
        tasks.song_from_file(tmp_path / "none.wav", in_subprocess=True)
    assert str(there.value) == str(here.value)


def test_it_can_be_stopped(song: Path) -> None:
    with pytest.raises(Stopped):
        tasks.song_from_file(song, stop=lambda: True, in_subprocess=True, use_cache=False)


def test_another_look_comes_through_too(song: Path) -> None:
    known = tasks.song_from_file(song)
    spot = known.map.bars_s[1]
    there = tasks.map_again(known, spot, in_subprocess=True)
    assert there == tasks.map_again(known, spot)
    before = [beat for beat in known.map.beats_s if beat < spot]
    assert there.beats_s[: len(before)] == tuple(before)
    assert there.beats_s[len(before)] == pytest.approx(spot, abs=0.05)
