"""The sound of a playback file: the song or a part of it, faster or slower, with what comes before it.

At another speed the song is resampled, so every sample lies exactly on its line. Where the pitch is kept it
goes through a phase vocoder instead (Signalsmith Stretch), which moves onsets by about a millisecond.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
import soxr
from numpy.typing import NDArray

from audio.errors import Stopped
from audio.kit.loudness import loudness, true_peak_db
from audio.play.clicks import click
from audio.progress import never

FloatArray = NDArray[np.float32]

CEILING_DB = -1.0
"""True peak that no playback file exceeds: common practice for what goes to a converter."""
POP_HZ = 1000.0
POP_LEVEL = 0.1
"""-20 dBFS, the usual alignment level (SMPTE RP 155; from memory)."""
EDGE_S = 0.005
"""Seconds of fade where the song is cut in or out, so that it does not click. Chosen by hand."""
_SEED = 1
"""The stretcher draws phases: with one seed the same song gives the same file."""


@dataclass(frozen=True, slots=True)
class Recipe:
    """What sounds when, in samples of the file."""

    length: int
    song_from: int
    song_to: int
    """First sample of the song that is heard, and the one after the last, in samples of the song."""
    song_at: int
    speed: Fraction
    pitch_kept: bool
    clicks: Sequence[tuple[int, bool]]
    """First sample of each click, and whether it is accented."""
    pop: tuple[int, int] | None


@dataclass(frozen=True, slots=True)
class Made:
    """A playback file's sound, and how loud it is."""

    sound: FloatArray
    """Shape (length, 2)."""
    gain_db: float
    """What the song was raised or lowered by."""
    loudness_lufs: float
    true_peak_db: float


def playback_sound(
    song: FloatArray,
    rate: int,
    recipe: Recipe,
    *,
    loudness_lufs: float | None = None,
    ceiling_db: float = CEILING_DB,
    stop: Callable[[], bool] = never,
) -> Made:
    """Make a playback file out of a song of shape (n, 2) at 48 kHz.

    Without a wanted loudness the song keeps its level, but for a true peak over the ceiling; with one it is
    raised or lowered as far as the ceiling allows, never limited or compressed: it sounds as it was mixed.
    Raises Stopped.
    """
    part = song[recipe.song_from : recipe.song_to].copy()
    fade = min(round(EDGE_S * rate), len(part) // 2)
    ramp = np.linspace(0.0, 1.0, fade, dtype=np.float32)[:, None]
    if recipe.song_from > 0:
        part[:fade] *= ramp
    if recipe.song_to < len(song):
        part[len(part) - fade :] *= ramp[::-1]
    if stop():
        raise Stopped("Making was stopped.")
    part = at_speed(part, rate, recipe.speed, pitch_kept=recipe.pitch_kept)
    if stop():
        raise Stopped("Making was stopped.")
    peak_db = true_peak_db(part)
    wanted_db = 0.0 if loudness_lufs is None else loudness_lufs - loudness(part)
    gain_db = min(wanted_db, ceiling_db - peak_db) if np.isfinite(peak_db) else 0.0
    sound = np.zeros((recipe.length, 2), np.float32)
    end = min(recipe.length, recipe.song_at + len(part))
    sound[recipe.song_at : end] = part[: end - recipe.song_at] * np.float32(10 ** (gain_db / 20))
    for first, accent in recipe.clicks:
        one = click(rate, accent=accent)[: max(0, recipe.length - first), None]
        sound[first : first + len(one)] += one
    if recipe.pop is not None:
        begin, after = recipe.pop
        time_s = np.arange(after - begin) / rate
        sound[begin:after] += (POP_LEVEL * np.sin(2 * np.pi * POP_HZ * time_s)).astype(np.float32)[:, None]
    over_db = true_peak_db(sound) - ceiling_db
    if over_db > 0:  # clicks over an upbeat
        sound *= np.float32(10 ** (-over_db / 20))
        gain_db -= over_db
    return Made(sound, gain_db, loudness(part) + gain_db, true_peak_db(sound))


def at_speed(sound: FloatArray, rate: int, speed: Fraction, *, pitch_kept: bool) -> FloatArray:
    """A sound of shape (n, channels) at another speed, from its first sample on."""
    if speed == 1:
        return sound
    if pitch_kept:
        from python_stretch.Signalsmith import Stretch

        stretch = Stretch(_SEED)
        stretch.preset(sound.shape[1], float(rate))
        stretch.setTimeFactor(float(speed))
        stretched = np.asarray(stretch.process(np.ascontiguousarray(sound.T)), np.float32)
        return np.ascontiguousarray(stretched.T)
    resampled: FloatArray = soxr.resample(sound, float(speed), 1.0, quality="VHQ")
    return resampled.astype(np.float32, copy=False)
