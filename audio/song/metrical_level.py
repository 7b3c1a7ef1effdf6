"""Which metrical level is the beat: half or double the tempo, three for two, on the beat or off it.

Beats tracked through the onsets may be at any of several metrical levels that fit all onsets. What tells the
levels apart is what listeners go by: where percussive and sustained sounds begin, what alternates from beat
to beat, how often the harmony changes, and how fast songs usually are. A linear model turns these features
into log-odds.
"""

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d, maximum_filter1d

from audio.song.chroma import HOP, harmonic_change
from audio.song.click import click_grids
from audio.song.onsets import FRAME_RATE, RATE, Onsets, locally_normalised
from audio.song.onsets import HOP as ONSET_HOP

# Log-odds that a frame is a beat, for each feature (rows, as in onset_features) at each subdivision of the
# beat (columns: on it, half-way, at the quarters, at the thirds). Fitted on composed songs at many metrical
# levels, wrong ones such as five for two among them. The weights of harmonic change at quarters and thirds
# are reduced by hand: harmony changes too slowly to be placed so exactly.
BEAT_WEIGHTS = np.array(
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
TEMPO_WEIGHTS = (0.95, -1.93)
"""Log-odds for the tempo: per octave above 115 beats per minute, and per octave squared. Fitted with the
above."""
# Fitted on composed songs (tests/quality/map_fit.py) and on those of tests/audio/map_songs.py. Only the
# weight -6.0 of three against two is set by hand: that feature is nearly 0 at the right level, and about 1 at
# three for two.
LEVEL_WEIGHTS = np.concatenate(
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
"""Log-odds of a metrical level for each of its level_features."""
SUBDIVISIONS = ((0.0,), (0.5,), (0.25, 0.75), (1 / 3, 2 / 3))
"""Places between a beat and the next, as fractions of a beat."""
SLOWEST_BPM, FASTEST_BPM = 50.0, 245.0
"""Tempo range in beats per minute; chosen by hand to hold slow ballads and fast swing."""
USUAL_BPM = 115.0
"""Zero point of the tempo weights, near the middle of usual tempos (beats per minute)."""
_LEVELS = (
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
"""Metrical levels tried: beat period, and phases of the first beat, both in tracked beats."""
_CHANGE_S = 0.25
"""Seconds before and after a frame over which chroma is averaged for the harmonic change; chosen by hand."""
_REACH = 2
"""Frames (23 ms) by which players may be off the beat; chosen by hand."""
_WINDOW_BEATS, _TEMPO_JUMP = 8, 0.12
"""The tempo jumps where the median periods of this many beats before and after differ by this much (natural
logarithm, about 13 %). Chosen by hand: a smaller jump is drift, which the beats follow by themselves."""
_OCTAVE_COST = 0.5
"""Log-odds lost per octave of tempo between segments; chosen by hand."""
_SAME_TEMPO, _SLIP_COST = 0.06, 3.0
"""Octaves within which two tempos are the same, and log-odds lost by a phase slip at the same tempo; chosen
by hand."""
_KNOWN_COST = 100.0
"""Log-odds lost where no beat lies on a known one: more than all evidence, so that a hint is taken as
true."""


@dataclass(frozen=True, slots=True, eq=False)
class MetricalLevel:
    """The beats of one metrical level."""

    step: float
    """Its beat period in tracked beats: 2.0 is half the tempo."""
    bpm: float
    """Median tempo, beats per minute."""
    frames: NDArray[np.float64]
    """Its beats as frame numbers, rising."""
    log_odds: float
    """How likely it is the beat, compared with other levels (natural logarithm, up to a constant)."""


def onset_features(onsets: Onsets, chroma_rows: NDArray[np.float64]) -> NDArray[np.float64]:
    """Features of each frame, shape (7, frames): percussive onsets low, middle, high; all onsets low, middle,
    high; harmonic change. Locally normalised, no unit."""
    change = harmonic_change(chroma_rows, round(_CHANGE_S * RATE / HOP))
    change = np.interp(np.arange(onsets.bands.shape[1]) * (ONSET_HOP / HOP), np.arange(change.size), change)
    rows = (gaussian_filter1d(locally_normalised(row), 1.0) for row in (*onsets.percussive, *onsets.bands))
    return np.stack([*rows, locally_normalised(change)])


def local_maximum(features: NDArray[np.float64]) -> NDArray[np.float64]:
    """Largest value of each feature within two frames of each frame: players are not exact."""
    return np.stack([maximum_filter1d(row, 2 * _REACH + 1) for row in features])


def metrical_levels(maxima: NDArray[np.float64], frames: NDArray[np.float64]) -> list[MetricalLevel]:
    """All metrical levels of tracked beats (frame numbers, rising), the tracked one first.

    ``maxima`` is the local_maximum of the onset_features.
    """
    found: list[MetricalLevel] = []
    number = np.arange(frames.size, dtype=np.float64)
    for step, phases in _LEVELS:
        for phase in phases:
            places = np.arange(phase, frames.size - 0.999, step)
            if places.size < 4:
                continue
            moments = np.interp(places, number, frames)
            one = _level_at(maxima, moments, step)
            if SLOWEST_BPM < one.bpm < FASTEST_BPM or not found:
                found.append(one)
    return found


def _level_at(maxima: NDArray[np.float64], moments: NDArray[np.float64], step: float) -> MetricalLevel:
    """The level with these beats (frame numbers); ``step`` is its period in tracked beats."""
    bpm = 60.0 * FRAME_RATE / float(np.median(np.diff(moments)))
    return MetricalLevel(step, bpm, moments, float(level_features(maxima, moments, bpm) @ LEVEL_WEIGHTS))


def level_features(
    features: NDArray[np.float64], moments: NDArray[np.float64], bpm: float
) -> NDArray[np.float64]:
    """Features of a metrical level, one for each of LEVEL_WEIGHTS.

    ``moments`` are its beats as frame numbers, ``bpm`` is its tempo in beats per minute. The features are the
    means at each of SUBDIVISIONS, the alternation over two beats and over a bar, three against two, two
    against three, and the tempo.
    """
    steps = np.diff(moments, append=2 * moments[-1] - moments[-2])
    last = features.shape[1] - 1

    def at(place: float) -> NDArray[np.float64]:
        frames = np.clip(np.round(moments + place * steps).astype(int), 0, last)
        return features[:, frames]

    on_beat = at(0.0)
    values = [np.mean([at(place).mean(axis=1) for place in places], axis=0) for places in SUBDIVISIONS]
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
    """Evidence that the true beat is three in the time of two of these beats, and two in the time of three:
    shape (2,), no unit.

    Of three beats in the time of two, one lies two thirds after the first of the two and one lies one third
    after the second. Of two beats in the time of three, one lies half-way after the second of the three.
    """
    early, late = (_by_place(rows[:6], 2) for rows in (third, last))
    early, late = early[:, 1] - early[:, 0], late[:, 0] - late[:, 1]
    three = np.maximum(np.minimum(early, late), np.minimum(-early, -late)).mean()
    on, off = (_by_place(rows[:6], 3) for rows in (on_beat, half))
    on, off = on - on.mean(axis=1, keepdims=True), off - off.mean(axis=1, keepdims=True)
    two = np.minimum(on, np.roll(off, -1, axis=1)).max(axis=1).mean()
    return np.array([three, two])


def _by_place(rows: NDArray[np.float64], beats: int) -> NDArray[np.float64]:
    """Mean of each row at each beat of bars of ``beats`` beats, shape (rows, beats)."""
    count = rows.shape[1] // beats * beats
    means: NDArray[np.float64] = rows[:, :count].reshape(rows.shape[0], -1, beats).mean(axis=1)
    return means


def best_level(
    maxima: NDArray[np.float64],
    frames: NDArray[np.float64],
    periods: NDArray[np.float64],
    allowed: Callable[[float], bool],
    at: float | None,
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Beats at the likeliest metrical level: frame numbers and periods in frames.

    ``frames`` and ``periods`` are the tracked beats. Where their tempo jumps, each segment has its own level,
    and the best sequence of levels is found by the Viterbi algorithm. Only tempos (beats per minute) that are
    ``allowed`` count, unless none is; ``at`` is a frame known to be a beat.
    """
    segments = _segments(periods)
    levels = []
    for low, high in segments:
        found = metrical_levels(maxima, frames[low:high])
        levels.append([one for one in found if allowed(one.bpm)] or found[:1])
    lengths = np.array([frames[high - 1] - frames[low] for low, high in segments])
    shares = lengths / max(1.0, float(lengths.sum()))
    scores = [np.array([shares[0] * one.log_odds + _known(one, at) for one in levels[0]])]
    previous: list[NDArray[np.intp]] = []
    for before, here, share in zip(levels[:-1], levels[1:], shares[1:], strict=True):
        costs = np.array([[_step_cost(one, two) for one in before] for two in here])
        value = scores[-1][None, :] - costs
        previous.append(value.argmax(axis=1))
        scores.append(value.max(axis=1) + np.array([share * one.log_odds + _known(one, at) for one in here]))
    chosen = [int(scores[-1].argmax())]
    for back in previous[::-1]:
        chosen.append(int(back[chosen[-1]]))
    whole, steps = _joined([level[i] for level, i in zip(levels, chosen[::-1], strict=True)])
    return _on_the_click(maxima, whole, steps, at)


def _on_the_click(
    maxima: NDArray[np.float64], frames: NDArray[np.float64], steps: NDArray[np.float64], at: float | None
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Replace the beats by the likelier of two click grids, where there was a click.

    On one side of a slip the tracked beats were off-beats.
    """
    found = [_level_at(maxima, grid, 1.0) for grid in click_grids(frames)]
    if not found:
        return frames, steps
    best = max(found, key=lambda one: one.log_odds + _known(one, at))
    return best.frames, np.full(best.frames.size, 60.0 * FRAME_RATE / best.bpm)


def _step_cost(before: MetricalLevel, after: MetricalLevel) -> float:
    """Log-odds lost between the levels of two segments: for another tempo, or a slip at the same tempo."""
    octaves = abs(float(np.log2(after.bpm / before.bpm)))
    if octaves > _SAME_TEMPO:
        return _OCTAVE_COST * octaves
    period = 60.0 * FRAME_RATE * 2.0 / (before.bpm + after.bpm)
    between = float(after.frames[0] - before.frames[-1]) / period
    return _SLIP_COST * min(1.0, abs(between - round(between)) / 0.25)


def _joined(parts: list[MetricalLevel]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Join the beats of the segments and fill the gaps between them with beats; frame numbers and periods."""
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


def _known(level: MetricalLevel, at: float | None) -> float:
    """Log-odds (0 or less) of a level that has no beat at a frame known to be one."""
    if at is None or not level.frames[0] - 50 < at < level.frames[-1] + 50:
        return 0.0
    period = 60.0 * FRAME_RATE / level.bpm
    return -_KNOWN_COST * min(1.0, float(np.abs(level.frames - at).min()) / (0.25 * period))


def _segments(periods: NDArray[np.float64]) -> list[tuple[int, int]]:
    """Segments between jumps of the tempo, each as the numbers of its first beat and of the beat after its
    last."""
    count = len(periods)
    edges = [0]
    for beat in range(_WINDOW_BEATS, count - _WINDOW_BEATS):
        before = np.median(periods[beat - _WINDOW_BEATS : beat])
        after = np.median(periods[beat : beat + _WINDOW_BEATS])
        if abs(np.log(after / before)) > _TEMPO_JUMP and beat - edges[-1] >= _WINDOW_BEATS:
            edges.append(beat)
    return list(pairwise([*edges, count]))
