"""What a script gets from `import audio` alone; its worked example runs with the docstring."""

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import soundfile

import audio
from audio.errors import BadSignal, Stopped, Unreadable
from tests.audio import engine_songs
from tests.audio.engine_songs import RATE


def test_importing_it_loads_nothing_heavy() -> None:
    heavy = {"numpy", "scipy", "av", "librosa", "soundfile"}
    program = f"import audio, sys; print(sorted({heavy!r} & set(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_the_better_channel_of_an_array_is_placed() -> None:
    rng = np.random.default_rng(2)
    clip = engine_songs.run(21.25, 25.0)
    channels = np.stack([0.05 * rng.standard_normal(clip.size).astype(np.float32), clip])
    found = audio.place_clip(channels, engine_songs.song().master, rate=RATE)
    assert found.verdict == "placed"
    assert found.channel == 1
    (take,) = found.takes
    # Half a frame at 50 a second is 10 ms.
    assert take.song_start_s - take.clip_start_s == pytest.approx(21.25, abs=0.005)


def test_a_clip_of_noise_is_not_placed() -> None:
    noise = 0.1 * np.random.default_rng(7).standard_normal(20 * RATE).astype(np.float32)
    assert audio.place_clip(noise, engine_songs.song().master, rate=RATE).verdict == "no song"


def test_a_file_is_mapped_like_its_samples(tmp_path: Path) -> None:
    samples = engine_songs.song().master[: 30 * RATE]
    soundfile.write(tmp_path / "song.wav", samples, RATE, "FLOAT")
    there, here = audio.map_song(tmp_path / "song.wav"), audio.map_song(samples, rate=RATE)
    assert there.beats.beats_s.size == here.beats.beats_s.size > 20
    assert np.abs(there.beats.beats_s - here.beats.beats_s).max() < 0.006
    assert here.sections[-1].end_s == pytest.approx(30.0)


@pytest.mark.parametrize(
    ("samples", "words"),
    [
        (np.zeros(RATE), "silent"),
        (np.zeros(0), "not a row"),
        (np.full(RATE, np.nan), "not finite"),
        (np.ones((2, 2, RATE)), "not a row"),
    ],
    ids=["silent", "empty", "not numbers", "three axes"],
)
def test_bad_arrays_get_a_sentence(samples: np.ndarray, words: str) -> None:
    with pytest.raises(BadSignal, match=words):
        audio.place_clip(samples.astype(np.float32), engine_songs.song().master, rate=RATE)
    with pytest.raises(BadSignal):
        audio.map_song(samples.astype(np.float32))


def test_a_missing_file_gets_a_sentence(tmp_path: Path) -> None:
    for call in (audio.read_song, audio.map_song, lambda path: audio.place_clip(path, path)):
        with pytest.raises(Unreadable, match="not there"):
            call(tmp_path / "gone.wav")


def test_stop_and_progress() -> None:
    seen: list[float] = []
    song = engine_songs.song().master
    audio.place_clip(engine_songs.run(5.0, 12.0), song, rate=RATE, progress=seen.append)
    assert seen == sorted(seen)
    assert seen[-1] == 1.0
    with pytest.raises(Stopped):
        audio.place_clip(engine_songs.run(5.0, 12.0), song, rate=RATE, stop=lambda: True)
    with pytest.raises(Stopped):
        audio.map_song(song, rate=RATE, stop=lambda: True)
