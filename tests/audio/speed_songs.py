"""Small songs for tests of speed, made of plucked notes and hits, and playback of them by outside means."""

from functools import cache

import librosa
import numpy as np
import soxr
from numpy.typing import NDArray

from audio.speed.speed_search import SongBands

RATE = 8000
Samples = NDArray[np.float32]


@cache
def song(seed: int = 1, seconds: float = 42.0, beat_s: float = 0.0) -> Samples:
    """Notes and hits, six a second, at random moments or, given a beat, on its quarters; shape (n,)."""
    rng = np.random.default_rng(seed)
    out = np.zeros(round((seconds + 2) * RATE))
    times = np.sort(rng.uniform(0, seconds - 0.1, round(6 * seconds)))
    if beat_s:
        times = np.round(times / (beat_s / 4)) * (beat_s / 4)
    for time in times:
        length = rng.uniform(0.15, 0.9)
        t = np.arange(round(length * RATE)) / RATE
        if rng.uniform() < 0.25:
            wave = rng.standard_normal(len(t)) * np.exp(-t / 0.04)
        else:
            tone = 55 * 2 ** (rng.integers(12, 60) / 12)
            wave = sum(np.sin(2 * np.pi * tone * k * t + k) / k for k in range(1, 6) if tone * k < 3800)
            wave = wave * np.exp(-4 * t / length) * (1 - np.exp(-t / 0.003))
        first = round(time * RATE)
        out[first : first + len(t)] += rng.uniform(0.3, 1.0) * wave
    out = out[: round(seconds * RATE)]
    return (0.3 * out / np.abs(out).max()).astype(np.float32)


@cache
def song_bands(seed: int = 1, beat_s: float = 0.0) -> SongBands:
    """A song made ready."""
    return SongBands.of(song(seed, beat_s=beat_s), RATE)


def resampled(sound: Samples, speed: float) -> Samples:
    """The sound played at a speed, the pitch going along (soxr)."""
    return np.asarray(soxr.resample(sound, RATE * speed, RATE, quality="VHQ"), np.float32)


def stretched(sound: Samples, speed: float) -> Samples:
    """The sound played at a speed with its pitch kept (librosa's phase vocoder, patches of 64 ms)."""
    return np.asarray(librosa.effects.time_stretch(sound, rate=speed, n_fft=512), np.float32)


def between_noise(sound: Samples, before_s: float, after_s: float, level: float = 0.02) -> Samples:
    """The sound with white noise before, after and under it."""
    noise = np.random.default_rng(len(sound))
    whole = np.concatenate([np.zeros(round(before_s * RATE)), sound, np.zeros(round(after_s * RATE))])
    return (whole + level * noise.standard_normal(len(whole))).astype(np.float32)


def roomy(sound: Samples) -> Samples:
    """The sound in a hard room: noise that dies away by 60 dB in 0.7 s, 6 dB under the direct sound."""
    t = np.arange(round(0.7 * RATE)) / RATE
    tail = np.random.default_rng(3).standard_normal(len(t)) * 10 ** (-3 * t / 0.7)
    tail *= 0.5 / np.sqrt((tail**2).sum())
    tail[0] = 1.0
    return np.convolve(sound, tail)[: len(sound)].astype(np.float32)
