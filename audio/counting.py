"""Which pulse is counted: half, double, three for two, on the beat or between the beats.

A chain of beats through the onsets may be any of several readings in which no onset is out of place. What tells them
apart is what a listener goes by: where drums strike and where sound that stays sets in, what alternates from beat to
beat, how often the harmony turns, and how fast songs usually go.
"""

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d, maximum_filter1d

from audio.harmony import HOP, change
from audio.onsets import FRAME_RATE, RATE, Onsets, evened
from audio.onsets import HOP as ONSET_HOP

# What a beat is worth by what is heard: at it, half-way to the next, at its quarters, at its thirds; a row for each
# of the signs. Fitted, as are TRAITS, on composed songs, each counted in all these ways (tests/quality/map_fit.py).
PATTERN = np.array(
    [
        [1.17, -0.45, -0.62, -0.44],
        [0.84, -1.24, 1.34, -0.36],
        [0.11, 0.65, -0.95, -0.2],
        [0.7, 0.48, -0.48, -0.72],
        [0.4, 0.42, -0.17, -0.25],
        [1.03, -0.45, -0.73, -0.32],
        [1.71, 0.79, -8.09, -5.44],
    ]
)
PACE = (0.95, -1.93)
"""And by its tempo: octaves over 115 beats a minute, and those squared."""
TRAITS = np.array(
    [0.8, 0.63, 0.2, 0.57, 0.3, 0.7, 1.28]
    + [-0.29, -0.71, 0.12, 0.18, 0.22, -0.4, 0.9]
    + [-0.49, 0.5, -0.58, -0.47, -0.23, -0.46, -5.9]
    + [-0.62, -0.48, -0.36, -0.73, -0.43, -0.35, -3.44]
    + [0.37, 1.18, 0.16, 0.19, -0.92, 0.01, 1.17]
    + [0.67, -0.55, 0.57, -0.07, -0.19, -0.33, 2.08]
    + [0.53, -1.95]
)
"""The same of a whole way to count, with what alternates from beat to beat and over four."""
PLACES = ((0.0,), (0.5,), (0.25, 0.75), (1 / 3, 2 / 3))
SLOWEST_BPM, FASTEST_BPM = 50.0, 245.0
USUAL_BPM = 115.0
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
_STAYS, _LEAPS = 8, 0.12
"""A tempo has leapt where so many beats before and after differ by so much (logarithm)."""
_LEAP = 0.5
"""Cost of an octave between stretches."""
_KNOWN_COST = 100.0


@dataclass(frozen=True, slots=True, eq=False)
class Reading:
    """One way to count."""

    step: float
    """Beats of the first answer from beat to beat."""
    bpm: float
    frames: NDArray[np.float64]
    worth: float
    """Logarithm of how likely it is beside the others."""


def signs(onsets: Onsets, pitches: NDArray[np.float64]) -> NDArray[np.float64]:
    """What is heard frame by frame, shape (7, frames): strokes low, middle, high; all that sets in low, middle,
    high; change of harmony."""
    turning = change(pitches, round(_CHANGE_S * RATE / HOP))
    turning = np.interp(np.arange(onsets.bands.shape[1]) * (ONSET_HOP / HOP), np.arange(turning.size), turning)
    rows = (gaussian_filter1d(evened(row), 1.0) for row in (*onsets.strokes, *onsets.bands))
    return np.stack([*rows, evened(turning)])


def nearby(heard: NDArray[np.float64]) -> NDArray[np.float64]:
    """The strongest of the signs near each frame: players are not exact."""
    return np.stack([maximum_filter1d(row, 2 * _REACH + 1) for row in heard])


def readings(near: NDArray[np.float64], frames: NDArray[np.float64]) -> list[Reading]:
    """All ways to count a chain of beats (frames, rising), the chain itself first; ``near`` as nearby gives it."""
    found = []
    number = np.arange(frames.size, dtype=np.float64)
    for step, phases in _READINGS:
        for phase in phases:
            places = np.arange(phase, frames.size - 0.999, step)
            if places.size < 4:
                continue
            moments = np.interp(places, number, frames)
            bpm = 60.0 * FRAME_RATE / float(np.median(np.diff(moments)))
            if SLOWEST_BPM < bpm < FASTEST_BPM or not found:
                found.append(Reading(step, bpm, moments, float(traits(near, moments, bpm) @ TRAITS)))
    return found


def traits(heard: NDArray[np.float64], moments: NDArray[np.float64], bpm: float) -> NDArray[np.float64]:
    """What speaks for a way to count, as TRAITS weighs it."""
    steps = np.diff(moments, append=2 * moments[-1] - moments[-2])
    last = heard.shape[1] - 1

    def at(place: float) -> NDArray[np.float64]:
        frames = np.clip(np.round(moments + place * steps).astype(int), 0, last)
        return heard[:, frames]

    on_beat = at(0.0)
    values = [np.mean([at(place).mean(axis=1) for place in places], axis=0) for places in PLACES]
    count = on_beat.shape[1] // 4 * 4
    by_four = on_beat[:, :count].reshape(heard.shape[0], -1, 4).mean(axis=1)
    by_two = np.abs(by_four[:, 0] + by_four[:, 2] - by_four[:, 1] - by_four[:, 3]) / 2
    by_four = np.maximum(np.abs(by_four[:, 0] - by_four[:, 2]), np.abs(by_four[:, 1] - by_four[:, 3]))
    octaves = np.log2(bpm / USUAL_BPM)
    return np.concatenate([*values, by_two, by_four, [octaves, octaves**2]])


def best_count(near: NDArray[np.float64], frames: NDArray[np.float64], periods: NDArray[np.float64], allowed: Callable[[float], bool], at: float | None) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """The likeliest way to count a chain of beats, stretch by stretch where its tempo leaps: frames and periods.

    Only tempos (beats a minute) that are ``allowed``, if any reading has one; ``at`` is a frame that is known to be a beat.
    """
    edges = _stretches(periods)
    kinds = [[r for r in readings(near, frames[low:high]) if allowed(r.bpm)] or readings(near, frames[low:high])[:1] for low, high in pairwise(edges)]
    shares = np.diff(edges) * np.array([float(np.median(periods[low:high])) for low, high in pairwise(edges)])
    shares = shares / shares.sum()
    worth = [np.zeros(0)]
    came: list[NDArray[np.intp]] = []
    for place, (kind, share) in enumerate(zip(kinds, shares, strict=True)):
        own = np.array([share * r.worth + _known(r, at) for r in kind])
        if place == 0:
            worth = [own]
            continue
        bpm, before = np.array([r.bpm for r in kind]), np.array([r.bpm for r in kinds[place - 1]])
        value = worth[-1][None, :] - _LEAP * np.abs(np.log2(bpm[:, None] / before[None, :]))
        came.append(value.argmax(axis=1))
        worth.append(own + value.max(axis=1))
    chosen = [int(worth[-1].argmax())]
    for back in came[::-1]:
        chosen.append(int(back[chosen[-1]]))
    parts = [kind[i].frames for kind, i in zip(kinds, chosen[::-1], strict=True)]
    whole = np.concatenate(parts)
    steps = np.concatenate([np.full(len(part), np.median(np.diff(part)) if len(part) > 1 else 40.0) for part in parts])
    apart = np.diff(whole, prepend=-1e9) > 0.5 * steps
    return whole[apart], steps[apart]


def _known(reading: Reading, at: float | None) -> float:
    """What it costs a reading to have no beat where one is known to be."""
    if at is None or not reading.frames[0] - 50 < at < reading.frames[-1] + 50:
        return 0.0
    period = 60.0 * FRAME_RATE / reading.bpm
    return -_KNOWN_COST * min(1.0, float(np.abs(reading.frames - at).min()) / (0.25 * period))


def _stretches(periods: NDArray[np.float64]) -> list[int]:
    """Numbers of the beats at which the tempo leaps and stays, with both ends."""
    count = len(periods)
    edges = [0]
    for beat in range(_STAYS, count - _STAYS):
        before, after = np.median(periods[beat - _STAYS : beat]), np.median(periods[beat : beat + _STAYS])
        if abs(np.log(after / before)) > _LEAPS and beat - edges[-1] >= _STAYS:
            edges.append(beat)
    return [*edges, count]
