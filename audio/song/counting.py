"""Which pulse is counted: half, double, three for two, on the beat or between the beats.

A chain of beats through the onsets may be any of several readings in which no onset is out of place. What
tells them apart is what a listener goes by: where drums strike and where sound that stays sets in, what
alternates from beat to beat, how often the harmony turns, and how fast songs usually go.
"""

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d, maximum_filter1d

from audio.song.click import click_grids
from audio.song.harmony import HOP, change
from audio.song.onsets import FRAME_RATE, RATE, Onsets, evened
from audio.song.onsets import HOP as ONSET_HOP

# What a beat is worth by what is heard: at it, half-way to the next, at its quarters, at its thirds; a row
# for each of the signs. Fitted on composed songs counted in many ways, wrong ones such as five for two among
# them; what the harmony says at quarters and thirds is eased by hand, for it turns too slowly to be placed
# so exactly.
PATTERN = np.array(
    [
        [1.17, -0.45, -0.62, -0.44],
        [0.84, -1.24, 1.34, -0.36],
        [0.11, 0.65, -0.95, -0.2],
        [0.7, 0.48, -0.48, -0.72],
        [0.4, 0.42, -0.17, -0.25],
        [1.03, -0.45, -0.73, -0.32],
        [1.71, 0.79, -3.0, -2.0],
    ]
)
PACE = (0.95, -1.93)
"""And by its tempo: octaves over 115 beats a minute, and those squared."""
# Fitted on composed songs (tests/quality/map_fit.py) and on those of tests/audio/map_songs.py; only that of
# three against two is set by hand: it is nearly 0 wherever the count is right, and about 1 where it is three
# for two.
TRAITS = np.concatenate(
    [
        [1.11, 0.77, 0.11, 0.54, 0.25, 1.16, 1.72],
        [-0.37, -1.34, 0.43, 0.36, 0.59, -0.68, 0.63],
        [-0.62, 1.13, -1.06, -0.21, -0.32, -0.71, -6.59],
        [-0.54, -0.17, -0.25, -0.86, -0.32, -0.25, -3.9],
        [0.48, 1.82, 0.63, 0.18, -1.61, 0.1, 1.45],
        [0.78, -0.78, 0.57, -0.37, -0.31, -0.39, 3.17],
        [-6.0, -1.7, 0.84, -2.22],
    ]
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
_SAME_PACE, _SLIP = 0.06, 3.0
"""Octaves to which a tempo is the same, and what a slip then costs."""
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
    """What is heard frame by frame, shape (7, frames): strokes low, middle, high; all that sets in, low,
    middle, high; change of harmony."""
    turning = change(pitches, round(_CHANGE_S * RATE / HOP))
    turning = np.interp(
        np.arange(onsets.bands.shape[1]) * (ONSET_HOP / HOP), np.arange(turning.size), turning
    )
    rows = (gaussian_filter1d(evened(row), 1.0) for row in (*onsets.strokes, *onsets.bands))
    return np.stack([*rows, evened(turning)])


def nearby(heard: NDArray[np.float64]) -> NDArray[np.float64]:
    """The strongest of the signs near each frame: players are not exact."""
    return np.stack([maximum_filter1d(row, 2 * _REACH + 1) for row in heard])


def readings(near: NDArray[np.float64], frames: NDArray[np.float64]) -> list[Reading]:
    """All ways to count a chain of beats (frames, rising), itself first; ``near`` as nearby gives it."""
    found: list[Reading] = []
    number = np.arange(frames.size, dtype=np.float64)
    for step, phases in _READINGS:
        for phase in phases:
            places = np.arange(phase, frames.size - 0.999, step)
            if places.size < 4:
                continue
            moments = np.interp(places, number, frames)
            one = _reading(near, moments, step)
            if SLOWEST_BPM < one.bpm < FASTEST_BPM or not found:
                found.append(one)
    return found


def _reading(near: NDArray[np.float64], moments: NDArray[np.float64], step: float) -> Reading:
    bpm = 60.0 * FRAME_RATE / float(np.median(np.diff(moments)))
    return Reading(step, bpm, moments, float(traits(near, moments, bpm) @ TRAITS))


def traits(heard: NDArray[np.float64], moments: NDArray[np.float64], bpm: float) -> NDArray[np.float64]:
    """What speaks for a way to count, as TRAITS weighs it."""
    steps = np.diff(moments, append=2 * moments[-1] - moments[-2])
    last = heard.shape[1] - 1

    def at(place: float) -> NDArray[np.float64]:
        frames = np.clip(np.round(moments + place * steps).astype(int), 0, last)
        return heard[:, frames]

    on_beat = at(0.0)
    values = [np.mean([at(place).mean(axis=1) for place in places], axis=0) for places in PLACES]
    fours, threes = (_by_place(on_beat, beats) for beats in (4, 3))
    third = threes.max(axis=1) - threes.min(axis=1)
    by_two = np.maximum(np.abs(fours[:, 0] + fours[:, 2] - fours[:, 1] - fours[:, 3]) / 2, third / 2)
    by_bar = np.maximum(np.abs(fours[:, 0] - fours[:, 2]), np.abs(fours[:, 1] - fours[:, 3]))
    by_bar = np.maximum(by_bar, third)
    crossed = _crossed(on_beat, at(1 / 3), at(0.5), at(2 / 3))
    octaves = np.log2(bpm / USUAL_BPM)
    return np.concatenate([*values, by_two, by_bar, crossed, [octaves, octaves**2]])


def _crossed(
    on_beat: NDArray[np.float64],
    third: NDArray[np.float64],
    half: NDArray[np.float64],
    last: NDArray[np.float64],
) -> NDArray[np.float64]:
    """How much three beats stand against two counted, and two against three: shape (2,).

    Of three beats in the time of two counted, one is two thirds after the first and one a third after the
    second; of two in the time of three counted, one is half-way after the second.
    """
    early, late = (_by_place(rows[:6], 2) for rows in (third, last))
    early, late = early[:, 1] - early[:, 0], late[:, 0] - late[:, 1]
    three = np.maximum(np.minimum(early, late), np.minimum(-early, -late)).mean()
    on, off = (_by_place(rows[:6], 3) for rows in (on_beat, half))
    on, off = on - on.mean(axis=1, keepdims=True), off - off.mean(axis=1, keepdims=True)
    two = np.minimum(on, np.roll(off, -1, axis=1)).max(axis=1).mean()
    return np.array([three, two])


def _by_place(rows: NDArray[np.float64], beats: int) -> NDArray[np.float64]:
    """Mean of each row by the place in bars of so many beats, shape (rows, beats)."""
    count = rows.shape[1] // beats * beats
    means: NDArray[np.float64] = rows[:, :count].reshape(rows.shape[0], -1, beats).mean(axis=1)
    return means


def best_count(
    near: NDArray[np.float64],
    frames: NDArray[np.float64],
    periods: NDArray[np.float64],
    allowed: Callable[[float], bool],
    at: float | None,
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """The likeliest way to count a chain of beats: frames and periods.

    Stretch by stretch where its tempo leaps. Only tempos (beats a minute) that are ``allowed``, if any has
    one; ``at`` is a frame that is known to be a beat.
    """
    stretches = _stretches(periods)
    kinds = []
    for low, high in stretches:
        found = readings(near, frames[low:high])
        kinds.append([one for one in found if allowed(one.bpm)] or found[:1])
    lengths = np.array([frames[high - 1] - frames[low] for low, high in stretches])
    shares = lengths / max(1.0, float(lengths.sum()))
    worth = [np.array([shares[0] * one.worth + _known(one, at) for one in kinds[0]])]
    came: list[NDArray[np.intp]] = []
    for before, kind, share in zip(kinds[:-1], kinds[1:], shares[1:], strict=True):
        costs = np.array([[_step_cost(one, two) for one in before] for two in kind])
        value = worth[-1][None, :] - costs
        came.append(value.argmax(axis=1))
        worth.append(value.max(axis=1) + np.array([share * one.worth + _known(one, at) for one in kind]))
    chosen = [int(worth[-1].argmax())]
    for back in came[::-1]:
        chosen.append(int(back[chosen[-1]]))
    whole, steps = _joined([kind[i] for kind, i in zip(kinds, chosen[::-1], strict=True)])
    return _on_the_click(near, whole, steps, at)


def _on_the_click(
    near: NDArray[np.float64], frames: NDArray[np.float64], steps: NDArray[np.float64], at: float | None
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """The beats of a click, where there was one: on one side of a slip they were between the beats."""
    found = [_reading(near, grid, 1.0) for grid in click_grids(frames)]
    if not found:
        return frames, steps
    best = max(found, key=lambda one: one.worth + _known(one, at))
    return best.frames, np.full(best.frames.size, 60.0 * FRAME_RATE / best.bpm)


def _step_cost(before: Reading, after: Reading) -> float:
    """What it costs that two stretches are counted so: another tempo, or a slip at the same tempo."""
    octaves = abs(float(np.log2(after.bpm / before.bpm)))
    if octaves > _SAME_PACE:
        return _LEAP * octaves
    period = 60.0 * FRAME_RATE * 2.0 / (before.bpm + after.bpm)
    between = float(after.frames[0] - before.frames[-1]) / period
    return _SLIP * min(1.0, abs(between - round(between)) / 0.25)


def _joined(parts: list[Reading]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Stretches one after the other, the gaps between them filled with beats."""
    frames = [parts[0].frames]
    steps = [np.full(len(parts[0].frames), 60.0 * FRAME_RATE / parts[0].bpm)]
    for one in parts[1:]:
        period = 60.0 * FRAME_RATE / one.bpm
        last = float(frames[-1][-1])
        new = one.frames[one.frames > last + 0.5 * period]
        if new.size == 0:
            continue
        missing = max(0, round((float(new[0]) - last) / period) - 1)
        between = np.linspace(last, float(new[0]), missing + 2)[1:-1]
        frames += [between, new]
        steps += [np.full(between.size + new.size, period)]
    return np.concatenate(frames), np.concatenate(steps)


def _known(reading: Reading, at: float | None) -> float:
    """What it costs a reading to have no beat where one is known to be."""
    if at is None or not reading.frames[0] - 50 < at < reading.frames[-1] + 50:
        return 0.0
    period = 60.0 * FRAME_RATE / reading.bpm
    return -_KNOWN_COST * min(1.0, float(np.abs(reading.frames - at).min()) / (0.25 * period))


def _stretches(periods: NDArray[np.float64]) -> list[tuple[int, int]]:
    """First and last but one number of the beats between leaps of the tempo."""
    count = len(periods)
    edges = [0]
    for beat in range(_STAYS, count - _STAYS):
        before, after = np.median(periods[beat - _STAYS : beat]), np.median(periods[beat : beat + _STAYS])
        if abs(np.log(after / before)) > _LEAPS and beat - edges[-1] >= _STAYS:
            edges.append(beat)
    return list(pairwise([*edges, count]))
