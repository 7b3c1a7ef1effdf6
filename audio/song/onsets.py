"""Where something begins in the song: how strongly notes set in, by band, frame by frame."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import uniform_filter1d

from audio.errors import BadSignal

RATE = 22050
"""The rate the song map works at; other rates are resampled to it."""
HOP = 256
FRAME_RATE = RATE / HOP
"""Frames a second, 86.1."""
_WINDOW = 1024
_MELS = 48
_LAG = 2
_FALL = 9
"""Frames in which a stroke has died away, 0.1 s."""
_FRONT = 16
"""Frames of silence put before the song."""
_BODY_HZ = 300.0
_LEAST_RISE_DB = 0.05
"""Mean rise below which a band is as good as steady."""
_LATENCY_S = 0.003
"""How late the strongest frame lies; measured on drums and struck notes (a bare click is told 9 ms early)."""


@dataclass(frozen=True, slots=True, eq=False)
class Onsets:
    """Onset strength of a song."""

    bands: NDArray[np.float64]
    """Shape (3, frames): low (kick, bass), middle, high (hats); unit mean where there is sound."""
    strokes: NDArray[np.float64]
    """Shape (3, frames): the same of what dies away at once, as drums do and held notes do not."""
    evened: NDArray[np.float64]
    """Shape (frames,): all bands together, evened out so that quiet passages count as much as loud ones."""
    loudness_db: NDArray[np.float64]
    """Shape (frames,): level of the whole sound."""
    body_db: NDArray[np.float64]
    """Shape (frames,): level below 300 Hz, where the instruments stand and a stick does not."""

    def seconds(self, frames: NDArray[np.float64]) -> NDArray[np.float64]:
        """Song time of frame numbers."""
        return frames / FRAME_RATE - _LATENCY_S

    def frames(self, seconds: NDArray[np.float64]) -> NDArray[np.float64]:
        """Frame numbers, with fractions, of moments of the song."""
        return (seconds + _LATENCY_S) * FRAME_RATE


def song_samples(samples: NDArray[np.float32], rate: int) -> NDArray[np.float32]:
    """The song at RATE, checked: one row of finite numbers that is not silent. Raises BadSignal."""
    if samples.ndim != 1 or samples.size == 0:
        raise BadSignal("The song holds no sound; choose a file that does.")
    if rate <= 0:
        raise BadSignal(f"A sample rate of {rate} is not possible; read the song again.")
    if not np.isfinite(samples).all():
        raise BadSignal("The song's sound has values that are not numbers; export the song again.")
    if float(np.abs(samples).max()) < 1e-6:
        raise BadSignal("The song is silent from start to end; choose the file with the music in it.")
    if rate == RATE:
        return samples.astype(np.float32, copy=False)
    import soxr

    moved: NDArray[np.float32] = soxr.resample(samples.astype(np.float32), rate, RATE)
    return moved


def find_onsets(samples: NDArray[np.float32]) -> Onsets:
    """Onset strength of samples at RATE: rise of the mel spectrum in dB against a little earlier.

    After Boeck and Widmer 2013: the earlier frame is taken as the largest of neighbouring bands, so that
    vibrato and glides do not count as onsets.
    """
    import librosa

    # Silence in front, so that a song cut to its first note has that note's onset.
    power = librosa.feature.melspectrogram(
        y=np.pad(samples, (_FRONT * HOP, 0)),
        sr=RATE,
        n_fft=_WINDOW,
        hop_length=HOP,
        n_mels=_MELS,
        fmin=30.0,
        fmax=10000.0,
    )
    level = librosa.power_to_db(power, ref=np.max, top_db=70.0)
    centres = librosa.mel_frequencies(n_mels=_MELS + 2, fmin=30.0, fmax=10000.0)[1:-1]
    edges = [0, int(np.searchsorted(centres, 180.0)), int(np.searchsorted(centres, 2500.0)), _MELS]
    bands = librosa.onset.onset_strength_multi(
        S=level, sr=RATE, lag=_LAG, max_size=3, channels=edges, center=False
    ).astype(np.float64)[: len(edges) - 1, _FRONT:]
    strokes = _strokes(level.astype(np.float64), edges)[:, _FRONT:]
    power = power[:, _FRONT:].astype(np.float64)
    # A single crash, or a song cut to its first note, must not make everything else look small.
    strong = np.percentile(bands, 98.0, axis=1, keepdims=True)
    bands = np.minimum(bands, 3.0 * strong + _LEAST_RISE_DB)
    bands = bands / np.maximum(bands.mean(axis=1, keepdims=True), _LEAST_RISE_DB)
    return Onsets(
        bands=bands,
        strokes=strokes,
        evened=evened(bands.sum(axis=0)),
        loudness_db=10 * np.log10(power.sum(axis=0) + 1e-10),
        body_db=10 * np.log10(power[centres < _BODY_HZ].sum(axis=0) + 1e-10),
    )


def _strokes(level: NDArray[np.float64], edges: list[int]) -> NDArray[np.float64]:
    """How far the level rises at a frame and falls again right after, mean by band, unit mean."""
    before = np.pad(level, ((0, 0), (_LAG, 0)), mode="edge")[:, : level.shape[1]]
    after = np.pad(level, ((0, 0), (0, _FALL)), mode="edge")[:, _FALL:]
    stroke = np.maximum(np.minimum(level - before, level - after), 0.0)
    means = np.stack([stroke[low:high].mean(axis=0) for low, high in pairwise(edges)])
    strong = np.percentile(means, 98.0, axis=1, keepdims=True)
    means = np.minimum(means, 3.0 * strong + _LEAST_RISE_DB)
    scaled: NDArray[np.float64] = means / np.maximum(means.mean(axis=1, keepdims=True), _LEAST_RISE_DB)
    return scaled


def evened(strength: NDArray[np.float64], seconds: float = 6.0) -> NDArray[np.float64]:
    """Strength above its surroundings in units of their spread, cut at 4."""
    size = max(3, round(seconds * FRAME_RATE))
    mean = uniform_filter1d(strength, size, mode="reflect")
    square = uniform_filter1d(strength**2, size, mode="reflect")
    spread = np.sqrt(np.maximum(square - mean**2, 0.0))
    floor = 0.2 * float(np.median(spread)) + 0.1
    level: NDArray[np.float64] = np.clip((strength - mean) / (spread + floor), -1.0, 4.0)
    return level
