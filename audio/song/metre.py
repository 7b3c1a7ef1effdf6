"""Bars: how many beats each has, and which beat is the first.

A first beat is where the harmony changes, the bass sets in and the drums begin their pattern again; a metre
shows in what comes back after so many beats. The best row of bars through the song, in which the metre may
change, is found by dynamic programming.
"""

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import uniform_filter1d

from audio.errors import Stopped
from audio.song.harmony import change, span_means

# Logarithm of how usual a metre is beside 4, by hand: of 912 songs 908 are in four and 4 in three (Nieto and
# others 2019); other music knows the rest.
_METRES = {4: 0.0, 3: -2.0, 2: -6.0, 5: -4.0, 6: -6.0, 7: -6.0}
_CHANGE_COST = 12.0
"""Cost of another metre from a bar on; a bar cut short costs two of them."""
_ON_ONE = 1.5
"""A song that begins does so on one, if nothing speaks for an upbeat."""
_LIKENESS_WEIGHT = 2.0
_NEAR_BEATS = 32
_PLACES = (0.0, 0.25, 1 / 3, 0.5, 2 / 3, 0.75)
# How a sign speaks for a first beat (logarithm of the odds), against its mean and spread over the song: at
# the beat, against those beside it, against those two away; fitted on composed songs
# (tests/quality/map_fit.py). Columns: strokes low, middle, high; what sets in low, middle, high; harmony at
# once, and over 1, 2, 4 beats.
WEIGHTS = np.concatenate(
    [
        [-0.05, -0.11, 0.08, 0.13, -0.03, -0.0, -0.13, 0.01, -0.28, -0.2],
        [0.37, -0.63, -0.12, 0.49, 0.11, -0.39, -0.03, 0.26, 0.15, 0.78],
        [0.18, 0.22, -0.12, -0.03, 0.36, -0.01, 0.17, -0.15, 0.9, -0.06],
    ]
)
OFFSET = -0.82
_SHORT_BAR_S, _SHORT_BAR_COST = 2.0, 0.5
"""Bars shorter than this are rare: cost of each, times the octaves that it is shorter, squared."""


@dataclass(frozen=True, slots=True, eq=False)
class Bars:
    """Bars along a row of beats."""

    starts: NDArray[np.intp]
    """Numbers of the beats that start bars, rising."""
    metres: tuple[tuple[int, int], ...]
    """Number of the bar from which on, and beats of each; the first pair is for bar 0."""

    @property
    def beats_per_bar(self) -> int:
        """Beats of most bars."""
        ends = [*(first for first, _ in self.metres[1:]), len(self.starts)]
        bars: Counter[int] = Counter()
        for (first, beats), end in zip(self.metres, ends, strict=True):
            bars[beats] += end - first
        return bars.most_common(1)[0][0] if bars else 4


def find_bars(
    heard: NDArray[np.float64],
    frames: NDArray[np.float64],
    pitches: NDArray[np.float64],
    beats_s: NDArray[np.float64],
    *,
    beats_per_bar: int | None = None,
    one: int | None = None,
    begins: bool = True,
    stop: Callable[[], bool],
) -> Bars:
    """Bars of a song along its beats, given as frames of ``heard`` (counting.signs) and in seconds.

    ``pitches`` as harmony.pitch_classes gives them. ``beats_per_bar`` and ``one``, the number of a beat that
    starts a bar, are taken as they are; ``begins`` tells that the first beat is the song's. Raises Stopped.
    """
    if stop():
        raise Stopped("Stopped while looking for the bars.")
    evidence = first_beat_signs(heard, frames, pitches, beats_s) @ WEIGHTS + OFFSET
    metres = list(_METRES) if beats_per_bar is None else [beats_per_bar]
    likeness = _likeness(heard, frames, metres)
    beat_s = float(np.median(np.diff(beats_s)))
    short = np.minimum(0.0, np.log2(np.array(metres) * beat_s / _SHORT_BAR_S))
    return _row(evidence[:, None] - _SHORT_BAR_COST * short**2, likeness, metres, one, begins)


def first_beat_signs(
    heard: NDArray[np.float64],
    frames: NDArray[np.float64],
    pitches: NDArray[np.float64],
    beats_s: NDArray[np.float64],
) -> NDArray[np.float64]:
    """How much each beat looks like the first of a bar, shape (beats, 30)."""
    harmony = span_means(pitches, np.append(beats_s, 2 * beats_s[-1] - beats_s[-2]))
    places = np.clip(np.round(frames).astype(int), 0, heard.shape[1] - 1)
    rows = np.concatenate(
        [heard[:, places].T, np.stack([change(harmony, width) for width in (1, 2, 4)], axis=1)], axis=1
    )
    rows = (rows - rows.mean(axis=0)) / (rows.std(axis=0) + 1e-9)
    padded = np.pad(rows, ((2, 2), (0, 0)), mode="reflect")
    count = len(rows)
    beside = 0.5 * (padded[1 : 1 + count] + padded[3 : 3 + count])
    further = 0.5 * (padded[:count] + padded[4 : 4 + count])
    signs: NDArray[np.float64] = np.concatenate([rows, rows - beside, rows - further], axis=1)
    return signs


def _likeness(
    heard: NDArray[np.float64], frames: NDArray[np.float64], metres: list[int]
) -> dict[int, NDArray[np.float64]]:
    """How well the music around each beat agrees with itself so many beats later, against other numbers."""
    steps = np.diff(frames, append=2 * frames[-1] - frames[-2])
    at = frames[:, None] + steps[:, None] * np.array(_PLACES)[None, :]
    at = np.clip(np.round(at).astype(int), 0, heard.shape[1] - 1)
    rows = np.moveaxis(heard[:, at], 0, 2).reshape(len(frames), -1)
    rows = (rows - rows.mean(axis=0)) / (rows.std(axis=0) + 1e-9)
    rows /= np.linalg.norm(rows, axis=1, keepdims=True) + 1e-9
    likeness = {}
    for beats in sorted({*_METRES, *metres}):
        lagged = np.zeros(len(rows))
        if len(rows) > beats:
            lagged[beats:] = np.sum(rows[beats:] * rows[:-beats], axis=1)
            lagged[:beats] = lagged[beats]
        likeness[beats] = uniform_filter1d(lagged, min(_NEAR_BEATS, len(rows)), mode="nearest")
    mean = np.mean(list(likeness.values()), axis=0)
    return {beats: likeness[beats] - mean for beats in metres}


def _row(
    evidence: NDArray[np.float64],
    likeness: dict[int, NDArray[np.float64]],
    metres: list[int],
    one: int | None,
    begins: bool,
) -> Bars:
    """The best row of bars; ``evidence`` for a first beat by beat and metre."""
    firsts = np.concatenate([[0], np.cumsum(metres)[:-1]])
    lasts = np.cumsum(metres) - 1
    states = int(lasts[-1]) + 1
    metre_of = np.repeat(np.arange(len(metres)), metres)
    usual = np.array([_METRES.get(beats, -6.0) for beats in metres])
    count = len(evidence)
    gain = np.stack([_LIKENESS_WEIGHT * likeness[metres[kind]] for kind in metre_of], axis=1)
    gain[:, firsts] += evidence
    if one is not None and 0 <= one < count:
        gain[one, np.setdiff1d(np.arange(states), firsts)] = -1e6
    worth = gain[0] + usual[metre_of]
    if begins:
        worth[firsts] += _ON_ONE
    came = np.zeros((count, states), np.intp)
    for beat in range(1, count):
        before = np.arange(states) - 1
        value = worth[before]
        ended = worth[lasts]
        best = int(ended.argmax())
        for kind, first in enumerate(firsts):
            other = ended[best] - (_CHANGE_COST if best != kind else 0.0) + min(0.0, 0.25 * usual[kind])
            same = ended[kind]
            before[first] = lasts[kind] if same >= other else lasts[best]
            value[first] = max(same, other)
        came[beat] = before
        worth = value + gain[beat]
    state = int(worth.argmax())
    path = np.zeros(count, np.intp)
    for beat in range(count - 1, -1, -1):
        path[beat] = state
        state = int(came[beat, state])
    starts = np.flatnonzero(np.isin(path, firsts))
    kinds = [metres[metre_of[state]] for state in path[starts]]
    changes = tuple((i, beats) for i, beats in enumerate(kinds) if i == 0 or kinds[i - 1] != beats)
    return Bars(starts=starts, metres=changes)
