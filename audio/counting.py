"""Which pulse is counted: half, double, three for two, on the beat or between the beats.

A chain of beats through the onsets may be any of several readings in which no onset is out of place. What tells them
apart is what a listener goes by: where drums strike and where sound that stays sets in, what alternates from beat to
beat, how often the harmony turns, and how fast songs usually go.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d, maximum_filter1d

from audio.harmony import HOP, change
from audio.onsets import FRAME_RATE, RATE, Onsets, evened
from audio.onsets import HOP as ONSET_HOP

SLOWEST_BPM, FASTEST_BPM = 50.0, 245.0
_USUAL_BPM = 115.0
_READINGS = (
    (1.0, (0.0, 0.5, 1 / 3, 2 / 3)),
    (2.0, (0.0, 0.5, 1.0, 1.5)),
    (0.5, (0.0, 0.25, 1 / 6, 1 / 3)),
    (1.5, (0.0, 0.5, 1.0)),
    (2 / 3, (0.0, 1 / 3)),
    (3.0, (0.0, 1.0, 2.0)),
    (1 / 3, (0.0,)),
    (4.0, (0.0, 1.0, 2.0, 3.0)),
    (0.25, (0.0,)),
)
"""Beats so many of the first answer's apart, the first of them so many after its first."""
_CHANGE_S = 0.25
_REACH = 2
_PLACES = ((0.0,), (0.5,), (0.25, 0.75), (1 / 3, 2 / 3))


@dataclass(frozen=True, slots=True, eq=False)
class Reading:
    """One way to count."""

    step: float
    """Beats of the first answer from beat to beat."""
    frames: NDArray[np.float64]
    traits: NDArray[np.float64]
    """What speaks for and against it, as WEIGHTS wants it."""


def signs(onsets: Onsets, pitches: NDArray[np.float64]) -> NDArray[np.float64]:
    """What is heard frame by frame, shape (7, frames): strokes low, middle, high; all that sets in low, middle,
    high; change of harmony."""
    turning = change(pitches, round(_CHANGE_S * RATE / HOP))
    turning = np.interp(np.arange(onsets.bands.shape[1]) * (ONSET_HOP / HOP), np.arange(turning.size), turning)
    rows = [*(gaussian_filter1d(evened(row), 1.0) for row in (*onsets.strokes, *onsets.bands)), evened(turning)]
    return np.stack([maximum_filter1d(row, 2 * _REACH + 1) for row in rows])


def readings(heard: NDArray[np.float64], frames: NDArray[np.float64]) -> list[Reading]:
    """All ways to count a chain of beats (frames, rising), the chain itself first."""
    found = []
    number = np.arange(frames.size, dtype=np.float64)
    for step, phases in _READINGS:
        for phase in phases:
            places = np.arange(phase, frames.size - 1, step)
            if places.size < 8:
                continue
            moments = np.interp(places, number, frames)
            bpm = 60.0 * FRAME_RATE / float(np.median(np.diff(moments)))
            if SLOWEST_BPM < bpm < FASTEST_BPM:
                found.append(Reading(step, moments, _traits(heard, moments, bpm)))
    return found


def _traits(heard: NDArray[np.float64], moments: NDArray[np.float64], bpm: float) -> NDArray[np.float64]:
    steps = np.diff(moments, append=2 * moments[-1] - moments[-2])
    last = heard.shape[1] - 1

    def at(place: float) -> NDArray[np.float64]:
        frames = np.clip(np.round(moments + place * steps).astype(int), 0, last)
        return heard[:, frames]

    on_beat = at(0.0)
    values = [np.mean([at(place).mean(axis=1) for place in places], axis=0) for places in _PLACES]
    count = on_beat.shape[1] // 4 * 4
    by_four = on_beat[:, :count].reshape(heard.shape[0], -1, 4).mean(axis=1)
    by_two = np.abs(by_four[:, 0] + by_four[:, 2] - by_four[:, 1] - by_four[:, 3]) / 2
    by_four = np.maximum(np.abs(by_four[:, 0] - by_four[:, 2]), np.abs(by_four[:, 1] - by_four[:, 3]))
    octaves = np.log2(bpm / _USUAL_BPM)
    return np.concatenate([*values, by_two, by_four, [octaves, octaves**2]])
