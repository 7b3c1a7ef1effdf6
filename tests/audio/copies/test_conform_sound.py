"""Conformed sound: every sample where the song's clock wants it, as long as the song, its level untouched."""

from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
import soundfile
from numpy.typing import NDArray

from audio.copies import conform_sound
from audio.copies.conform_sound import conformed
from audio.errors import NoSound, Stopped
from audio.play.playback import Line
from tests.audio.media_files import Recipe, make, noise

RATE = 48000
TONES = ((311.0, 0.3), (1234.5, 0.25), (7001.0, 0.2), (12345.0, 0.1))


def tones(song_s: NDArray[np.float64]) -> NDArray[np.float64]:
    """A song that is known at every moment, not only at its samples."""
    return np.asarray(sum(level * np.sin(2 * np.pi * hertz * song_s) for hertz, level in TONES))


def recorded(path: Path, line: Line, seconds: float, rate: int = RATE, *, late_s: float = 0.0) -> Path:
    """The tones as a clip's clock hears them; its first sample lies ``late_s`` after its first picture."""
    clip_s = np.arange(round(seconds * rate)) / rate + late_s
    song_s = line.song_start_s + (clip_s - line.clip_start_s) * line.speed
    soundfile.write(path, tones(song_s), rate, "FLOAT")
    return path


def whole(path: Path, line: Line, frames: int, rate: int = RATE) -> NDArray[np.float32]:
    blocks = list(conformed(path, line, frames, rate))
    assert all(block.shape[1] == 1 for block in blocks)
    return np.concatenate(blocks)[:, 0]


@pytest.mark.parametrize("speed", [1.0, 1 + 62e-6, 1 - 273e-6, 1001 / 1000, 24 / 25, 0.5, 2.0])
@pytest.mark.parametrize(("clip_rate", "song_rate"), [(48000, 48000), (48000, 44100), (44100, 48000)])
def test_every_sample_is_the_songs(speed: float, clip_rate: int, song_rate: int, tmp_path: Path) -> None:
    """Known tones, read off anywhere: what comes out is the song's own value, to 60 dB under its peak.

    The filter lets all of them through at every speed here but double: then the highest is 24.7 kHz in the
    clip and cannot be there.
    """
    line = Line("", 1.25, 5.5, 2.0003, speed)
    if speed == 2.0:
        line = Line("", 1.25, 3.5, 2.0003, speed)
    path = recorded(tmp_path / "a.wav", line, 6.0, clip_rate)
    frames = 9 * song_rate
    out = whole(path, line, frames, song_rate)
    assert len(out) == frames
    song_s = np.arange(frames) / song_rate
    end_s = line.song_start_s + (line.clip_end_s - line.clip_start_s) * speed
    inside = (song_s > line.song_start_s + 0.02) & (song_s < end_s - 0.02)
    outside = (song_s < line.song_start_s) | (song_s > end_s)
    assert np.count_nonzero(out[outside]) == 0
    assert inside.sum() > 2 * song_rate * min(1, speed)
    if speed < 1.5:
        off = out[inside] - tones(song_s[inside])
        assert float(np.abs(off).max()) < 1e-3
    # However the filter bends levels, nothing is moved: the lowest tone keeps its phase to a millionth of a
    # second.
    turn = np.exp(-2j * np.pi * TONES[0][0] * song_s[inside]) * np.hanning(inside.sum())
    late_s = np.angle(np.sum(out[inside] * turn) * 1j) / (2 * np.pi * TONES[0][0])
    assert abs(late_s) < 1e-6


def test_drift_does_not_add_up(tmp_path: Path) -> None:
    """Three minutes at 273 ppm would be 49 ms; pieces of the clip are read one after the other."""
    line = Line("", 0.0, 180.0, 0.0, 1 + 273e-6)
    path = recorded(tmp_path / "a.wav", line, 180.0, 16000)
    frames = 180 * 16000
    before = conform_sound._PIECE_S
    out = whole(path, line, frames, 16000)
    try:
        conform_sound._PIECE_S = 20.0
        assert np.abs(whole(path, line, frames, 16000) - out).max() < 1e-4
    finally:
        conform_sound._PIECE_S = before
    song_s = np.arange(frames) / 16000
    for at in (1.0, 90.0, 179.0):
        near = np.flatnonzero(np.abs(song_s - at) < 0.4)
        turn = np.exp(-2j * np.pi * TONES[0][0] * song_s[near]) * np.hanning(len(near))
        late_s = np.angle(np.sum(out[near] * turn) * 1j) / (2 * np.pi * TONES[0][0])
        assert abs(late_s) < 2e-6


def test_what_lies_before_and_after_the_song_is_left_out(tmp_path: Path) -> None:
    line = Line("", 0.0, 6.0, -1.5, 1.0)
    path = recorded(tmp_path / "a.wav", line, 6.0)
    out = whole(path, line, 2 * RATE)
    assert len(out) == 2 * RATE
    song_s = np.arange(2 * RATE) / RATE
    assert np.abs(out - tones(song_s)).max() < 1e-3


def test_loud_sound_is_not_clipped_and_soft_not_raised(tmp_path: Path) -> None:
    for level in (3.0, 1e-4):
        sound = np.full(RATE, level) * np.sin(2 * np.pi * 440 * np.arange(RATE) / RATE)
        soundfile.write(tmp_path / "a.wav", sound, RATE, "FLOAT")
        out = whole(tmp_path / "a.wav", Line("", 0.0, 1.0, 0.0, 1.0), RATE)
        assert float(np.abs(out).max()) == pytest.approx(level, rel=1e-3)


def test_sound_that_starts_after_the_picture_stays_late(tmp_path: Path) -> None:
    sound = noise(2.0)
    path = make(tmp_path / "a.mov", Recipe([sound], sound_delay_s=Fraction(1, 2), picture_s=3.0))
    out = whole(path, Line("", 0.0, 2.4, 1.0, 1.0), 4 * RATE)
    assert np.count_nonzero(out[: round(1.49 * RATE)]) == 0
    got = out[2 * RATE : 3 * RATE]
    assert np.abs(got - sound[RATE // 2 : RATE // 2 + RATE]).max() < 1e-3


def test_silent_files_and_stopping_are_told(tmp_path: Path) -> None:
    path = make(tmp_path / "a.mov", Recipe())
    with pytest.raises(NoSound):
        whole(path, Line("", 0.0, 1.0, 0.0, 1.0), RATE)
    sounding = make(tmp_path / "b.mov", Recipe([noise(2.0)]))
    with pytest.raises(Stopped):
        list(conformed(sounding, Line("", 0.0, 1.0, 0.0, 1.0), RATE, RATE, stop=lambda: True))


def test_the_smooth_lag_of_a_moving_microphone_is_followed(tmp_path: Path) -> None:
    line = Line("", 0.0, 12.0, 1.0, 1 + 40e-6)
    moments = np.arange(0.25, 12.0, 0.5)
    sway = 0.006 * np.sin(2 * np.pi * moments / 9)
    clip_s = np.arange(12 * RATE) / RATE
    song_s = line.song_start_s + clip_s * line.speed + 0.006 * np.sin(2 * np.pi * clip_s / 9)
    path = tmp_path / "a.wav"
    soundfile.write(path, tones(song_s), RATE, "FLOAT")
    lags = list(zip(moments.tolist(), sway.tolist(), strict=True))
    (along,) = [np.concatenate(list(conformed(path, line, 13 * RATE, RATE, lags)))[:, 0]]
    straight = whole(path, line, 13 * RATE)
    at = np.arange(3 * RATE, 11 * RATE)
    turn = np.exp(-2j * np.pi * TONES[0][0] * at / RATE)

    def worst_late_s(out: NDArray[np.float32]) -> float:
        parts = (out[at] * turn).reshape(80, -1).mean(axis=1)
        return float(np.abs(np.angle(parts * 1j)).max() / (2 * np.pi * TONES[0][0]))

    assert worst_late_s(along) < 0.0001
    assert worst_late_s(straight) > 0.001
