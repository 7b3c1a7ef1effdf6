"""A shoot made for measuring: a song, and clips that hear it in a hard room, in noise, on drifting clocks."""

import os
from pathlib import Path

import numpy as np
import scipy.signal
import soundfile
from numpy.typing import NDArray

from tests.bench.camera_files import camera_file
from tests.quality.songs import WORK_RATE, composed

RATE = 48000
DISTINCT = 3
"""Clips with sound of their own; further ones are other names of them, which cost the engine the same."""
DRIFTS_PPM = (0, 12, -25, 40, -55)
ECHO_S = 0.4
"""Time in which the room's echo falls by 60 dB."""
NOISE = 0.8
"""Noise (RMS) for each part of what the room makes of the song."""


def make_shoot(folder: Path, clips: int, minutes: float, megabits: float) -> None:
    """Write ``song.wav`` and ``clips/C0001.MP4`` …: the song from its top, after seconds of mere noise."""
    song = scipy.signal.resample_poly(composed("ballad", 1).room_feed, RATE // WORK_RATE, 1)
    soundfile.write(folder / "song.wav", 0.9 * song / np.abs(song).max(), RATE, subtype="PCM_16")
    (folder / "clips").mkdir()
    for number in range(clips):
        path = folder / "clips" / f"C{number + 1:04d}.MP4"
        if number >= DISTINCT:
            os.link(folder / "clips" / f"C{number % DISTINCT + 1:04d}.MP4", path)
            continue
        sound = _heard(song, number, round(minutes * 60 * RATE))
        second = 0.9 * sound + 0.01 * np.random.default_rng(number).standard_normal(len(sound))
        camera_file(path, np.stack([sound, second.astype(np.float32)]), RATE, minutes * 60, megabits=megabits)


def make_long_clip(folder: Path) -> None:
    """Write ``long.mp4``: three hours of two channels, mostly noise, the song once in 30 minutes."""
    song, rate = soundfile.read(folder / "song.wav", dtype="float32")
    chance = np.random.default_rng(7)
    sound = chance.standard_normal((2, 30 * 60 * rate), dtype=np.float32) * np.float32(0.02)
    sound[:, 60 * rate : 60 * rate + len(song)] += np.float32(0.5) * song
    camera_file(folder / "long.mp4", sound, rate, 3 * 3600, megabits=1.0)


def _heard(song: NDArray[np.float64], number: int, length: int) -> NDArray[np.float32]:
    """What camera ``number`` records, shape (length,)."""
    chance = np.random.default_rng(100 + number)
    at = (np.arange(length) - (5 + 3 * number) * RATE) * (1 + DRIFTS_PPM[number % len(DRIFTS_PPM)] * 1e-6)
    direct = np.interp(at, np.arange(len(song)), song, left=0.0, right=0.0)
    time_s = np.arange(round(ECHO_S * RATE)) / RATE
    echo = chance.standard_normal(len(time_s)) * 10 ** (-3 * time_s / ECHO_S) * 0.02
    echo[0] = 1.0
    wet = scipy.signal.oaconvolve(direct, echo)[:length]
    sound = wet + NOISE * np.sqrt(np.mean(wet**2)) * chance.standard_normal(length)
    return (0.5 * sound / np.abs(sound).max()).astype(np.float32)
