"""Bars: how many beats each has, and which beat is the first.

A first beat is where the harmony changes and where the low voices set in; the best row of bars through the
song is found by dynamic programming, for each metre tried, and the metre whose bars explain more is taken.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d

from audio.errors import Stopped
from audio.onsets import RATE, Onsets, evened

_METRES = (4, 3)
_FOUR_FAVOUR = 1.15
"""Songs in three are rare (4 of 912; Nieto and others 2019): three must explain the song this much better."""
_SLIP_COST = 8.0
"""Cost of a bar cut short or drawn out, in units of the evidence's spread."""
_HARMONY, _LOW, _HIGH_OFF = 1.0, 0.5, 0.25
_CHROMA_WINDOW, _CHROMA_HOP = 4096, 512


@dataclass(frozen=True, slots=True, eq=False)
class Bars:
    """Bars along a row of beats."""

    starts: NDArray[np.intp]
    """Numbers of the beats that start bars, rising."""
    beats_per_bar: int
    clarity: float
    """How far the first beats stand out from the others, in units of chance."""


def find_bars(
    sound: NDArray[np.float32], onsets: Onsets, beats_s: NDArray[np.float64], *, stop: Callable[[], bool]
) -> Bars:
    """Bars of a song (samples at RATE) along its beats. Raises Stopped."""
    if stop():
        raise Stopped("Stopped while looking for the bars.")
    evidence = _first_beat_evidence(beat_harmony(sound, beats_s), onsets, beats_s)
    rows = [_row(evidence, beats) for beats in _METRES]
    return max(rows, key=lambda bars: bars.clarity * (_FOUR_FAVOUR if bars.beats_per_bar == 4 else 1.0))


def beat_harmony(sound: NDArray[np.float32], beats_s: NDArray[np.float64]) -> NDArray[np.float64]:
    """Pitch classes sounding from each beat to the next, log-compressed and centred, shape (beats, 12)."""
    import librosa

    chroma = librosa.feature.chroma_stft(
        y=sound, sr=RATE, n_fft=_CHROMA_WINDOW, hop_length=_CHROMA_HOP, tuning=0.0, norm=None
    )
    level = np.log1p(10.0 * chroma / (float(np.median(chroma)) + 1e-9)).astype(np.float64)
    edges = np.append(beats_s, 2 * beats_s[-1] - beats_s[-2]) * RATE / _CHROMA_HOP
    places = np.clip(np.round(edges).astype(int), 0, level.shape[1] - 1)
    sums = np.concatenate([np.zeros((1, 12)), np.cumsum(level.T, axis=0)])
    ends = np.maximum(places[1:], places[:-1] + 1)
    harmony = (sums[ends] - sums[places[:-1]]) / (ends - places[:-1])[:, None]
    centred: NDArray[np.float64] = harmony - harmony.mean(axis=1, keepdims=True)
    return centred


def _first_beat_evidence(
    harmony: NDArray[np.float64], onsets: Onsets, beats_s: NDArray[np.float64]
) -> NDArray[np.float64]:
    """How much each beat looks like the first of a bar; mean 0, spread 1."""
    frames = np.round(onsets.frames(beats_s)).astype(int)[:, None] + np.arange(-2, 3)[None, :]
    frames = np.clip(frames, 0, onsets.bands.shape[1] - 1)
    low, _, high = (gaussian_filter1d(evened(band), 1.0)[frames].max(axis=1) for band in onsets.bands)
    change = _scaled(_change(harmony, 1)) + _scaled(_change(harmony, 2))
    beside = 0.5 * (np.roll(high, 1) + np.roll(high, -1)) - high
    return _scaled(_HARMONY * _scaled(change) + _LOW * _scaled(low) + _HIGH_OFF * _scaled(beside))


def _change(harmony: NDArray[np.float64], width: int) -> NDArray[np.float64]:
    """One minus the cosine between the beats before and from each beat on; less where little sounds then.

    A chord that dies away is no change of harmony.
    """
    padded = np.pad(harmony, ((width, width), (0, 0)), mode="edge")
    sums = np.concatenate([np.zeros((1, 12)), np.cumsum(padded, axis=0)])
    count = harmony.shape[0]
    before = sums[width : width + count] - sums[:count]
    after = sums[2 * width : 2 * width + count] - sums[width : width + count]
    loud = np.linalg.norm(after, axis=1)
    cosine = np.sum(before * after, axis=1) / (np.linalg.norm(before, axis=1) * loud + 1e-9)
    change: NDArray[np.float64] = (1.0 - cosine) * loud / (loud + float(np.median(loud)) + 1e-9)
    return change


def _scaled(values: NDArray[np.float64]) -> NDArray[np.float64]:
    scaled: NDArray[np.float64] = (values - values.mean()) / (values.std() + 1e-9)
    return scaled


def _row(evidence: NDArray[np.float64], beats: int) -> Bars:
    """The best row of bars of so many beats; a slip costs, so that it is taken only where the music turns."""
    count = evidence.size
    gain = np.tile(-evidence[:, None] / (beats - 1), (1, beats))
    gain[:, 0] = evidence
    worth = gain[0].copy()
    came = np.zeros((count, beats), np.intp)
    for beat in range(1, count):
        leap = int(worth.argmax())
        kept = np.roll(worth, 1)
        slips = worth[leap] - _SLIP_COST > kept
        came[beat] = np.where(slips, leap, np.roll(np.arange(beats), 1))
        worth = np.where(slips, worth[leap] - _SLIP_COST, kept) + gain[beat]
    place = int(worth.argmax())
    clarity = float(worth[place]) / np.sqrt(count / (beats - 1))
    places = np.zeros(count, np.intp)
    for beat in range(count - 1, -1, -1):
        places[beat] = place
        place = int(came[beat, place])
    return Bars(starts=np.flatnonzero(places == 0), beats_per_bar=beats, clarity=clarity)
