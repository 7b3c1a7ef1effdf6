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
from audio.harmony import change, span_means
from audio.onsets import Onsets, evened

_METRES = (4, 3)
_FOUR_FAVOUR = 1.15
"""Songs in three are rare (4 of 912; Nieto and others 2019): three must explain the song this much better."""
_SLIP_COST = 8.0
"""Cost of a bar cut short or drawn out, in units of the evidence's spread."""
_HARMONY, _LOW, _HIGH_OFF = 1.0, 0.5, 0.25


@dataclass(frozen=True, slots=True, eq=False)
class Bars:
    """Bars along a row of beats."""

    starts: NDArray[np.intp]
    """Numbers of the beats that start bars, rising."""
    beats_per_bar: int
    clarity: float
    """How far the first beats stand out from the others, in units of chance."""


def find_bars(
    onsets: Onsets, pitches: NDArray[np.float64], beats_s: NDArray[np.float64], *, stop: Callable[[], bool]
) -> Bars:
    """Bars of a song along its beats; ``pitches`` as harmony.pitch_classes gives them. Raises Stopped."""
    if stop():
        raise Stopped("Stopped while looking for the bars.")
    edges_s = np.append(beats_s, 2 * beats_s[-1] - beats_s[-2])
    evidence = _first_beat_evidence(span_means(pitches, edges_s), onsets, beats_s)
    rows = [_row(evidence, beats) for beats in _METRES]
    return max(rows, key=lambda bars: bars.clarity * (_FOUR_FAVOUR if bars.beats_per_bar == 4 else 1.0))


def _first_beat_evidence(
    harmony: NDArray[np.float64], onsets: Onsets, beats_s: NDArray[np.float64]
) -> NDArray[np.float64]:
    """How much each beat looks like the first of a bar; mean 0, spread 1."""
    frames = np.round(onsets.frames(beats_s)).astype(int)[:, None] + np.arange(-2, 3)[None, :]
    frames = np.clip(frames, 0, onsets.bands.shape[1] - 1)
    low, _, high = (gaussian_filter1d(evened(band), 1.0)[frames].max(axis=1) for band in onsets.bands)
    turning = _scaled(change(harmony, 1)) + _scaled(change(harmony, 2))
    beside = 0.5 * (np.roll(high, 1) + np.roll(high, -1)) - high
    return _scaled(_HARMONY * _scaled(turning) + _LOW * _scaled(low) + _HIGH_OFF * _scaled(beside))


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
