"""Metre: how many beats each bar has, and which beats are downbeats.

On a downbeat the harmony changes, the bass enters and the drum pattern starts again; a metre shows in what
repeats after so many beats. The best sequence of bars, in which the metre may change, is found by the Viterbi
algorithm.
"""

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import uniform_filter1d

from audio.errors import Stopped
from audio.song.chroma import harmonic_change, span_means

# Log-odds of a metre compared with four, chosen by hand: of 912 songs 908 are in four and 4 in three (Nieto
# and others 2019), but the other metres are common in other music. Lower values lose bars of five and seven.
_METRES = {4: 0.0, 3: -2.0, 2: -6.0, 5: -4.0, 6: -6.0, 7: -6.0}
_CHANGE_COST = 12.0
"""Log-odds lost by a change of metre; a bar cut short costs two changes. Chosen by hand."""
_DOWNBEAT_START = 1.5
"""Log-odds that a song begins on a downbeat and not with an upbeat; chosen by hand."""
_SIMILARITY_WEIGHT = 2.0
"""Log-odds per unit of self-similarity at the lag of a bar; chosen by hand."""
_NEAR_BEATS = 32
"""Beats over which the self-similarity is averaged. Chosen by hand: fewer follow a change of metre faster but
mistake fills for one."""
_PLACES = (0.0, 0.25, 1 / 3, 0.5, 2 / 3, 0.75)
"""Places between a beat and the next at which the features are compared, as fractions of a beat."""
# Log-odds of a downbeat for each of downbeat_features, fitted on composed songs (tests/quality/map_fit.py).
# Rows: at the beat; against the beats beside it; against those two away. Columns: percussive onsets low,
# middle, high; all onsets low, middle, high; harmonic change at the frame, and over 1, 2, 4 beats.
DOWNBEAT_WEIGHTS = np.concatenate(
    [
        [-0.05, -0.11, 0.08, 0.13, -0.03, -0.0, -0.13, 0.01, -0.28, -0.2],
        [0.37, -0.63, -0.12, 0.49, 0.11, -0.39, -0.03, 0.26, 0.15, 0.78],
        [0.18, 0.22, -0.12, -0.03, 0.36, -0.01, 0.17, -0.15, 0.9, -0.06],
    ]
)
DOWNBEAT_OFFSET = -0.82
"""Log-odds of a downbeat where all features are 0; fitted with the weights."""
_SHORT_BAR_S, _SHORT_BAR_COST = 2.0, 0.5
"""Bars shorter than this many seconds are rare: log-odds lost per bar, times the octaves it is shorter,
squared. Chosen by hand."""


@dataclass(frozen=True, slots=True, eq=False)
class Bars:
    """Bars as indices into the beats."""

    starts: NDArray[np.intp]
    """Indices of the downbeats, rising."""
    metres: tuple[tuple[int, int], ...]
    """Index of the first bar of each metre, and its beats per bar; the first pair is for bar 0."""

    @property
    def beats_per_bar(self) -> int:
        """Beats per bar of most bars."""
        ends = [*(first for first, _ in self.metres[1:]), len(self.starts)]
        bars: Counter[int] = Counter()
        for (first, beats), end in zip(self.metres, ends, strict=True):
            bars[beats] += end - first
        return bars.most_common(1)[0][0] if bars else 4


def find_bars(
    features: NDArray[np.float64],
    frames: NDArray[np.float64],
    chroma_rows: NDArray[np.float64],
    beats_s: NDArray[np.float64],
    *,
    beats_per_bar: int | None = None,
    downbeat: int | None = None,
    begins: bool = True,
    stop: Callable[[], bool],
) -> Bars:
    """Find the bars of a song along its beats. Raises Stopped.

    ``frames`` and ``beats_s`` are the beats as frame numbers and in seconds of song time; ``features`` are
    metrical_level.onset_features (or their local_maximum), ``chroma_rows`` are those of chroma.chroma.
    ``beats_per_bar`` and ``downbeat``, the index of a beat, are taken as true. ``begins`` says that the first
    beat is the first of the song.
    """
    if stop():
        raise Stopped("Stopped while looking for the bars.")
    downbeat_log_odds = (
        downbeat_features(features, frames, chroma_rows, beats_s) @ DOWNBEAT_WEIGHTS + DOWNBEAT_OFFSET
    )
    metres = list(_METRES) if beats_per_bar is None else [beats_per_bar]
    similarity = _self_similarity(features, frames, metres)
    beat_s = float(np.median(np.diff(beats_s)))
    short = np.minimum(0.0, np.log2(np.array(metres) * beat_s / _SHORT_BAR_S))
    log_odds = downbeat_log_odds[:, None] - _SHORT_BAR_COST * short**2
    return _best_bars(log_odds, similarity, metres, downbeat, begins)


def downbeat_features(
    features: NDArray[np.float64],
    frames: NDArray[np.float64],
    chroma_rows: NDArray[np.float64],
    beats_s: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Features that tell downbeats from other beats, shape (beats, 30), one for each of DOWNBEAT_WEIGHTS.

    Arguments as in find_bars. Each feature is in standard deviations over the song, no unit.
    """
    harmony = span_means(chroma_rows, np.append(beats_s, 2 * beats_s[-1] - beats_s[-2]))
    places = np.clip(np.round(frames).astype(int), 0, features.shape[1] - 1)
    rows = np.concatenate(
        [features[:, places].T, np.stack([harmonic_change(harmony, width) for width in (1, 2, 4)], axis=1)],
        axis=1,
    )
    rows = (rows - rows.mean(axis=0)) / (rows.std(axis=0) + 1e-9)
    padded = np.pad(rows, ((2, 2), (0, 0)), mode="reflect")
    count = len(rows)
    beside = 0.5 * (padded[1 : 1 + count] + padded[3 : 3 + count])
    further = 0.5 * (padded[:count] + padded[4 : 4 + count])
    found: NDArray[np.float64] = np.concatenate([rows, rows - beside, rows - further], axis=1)
    return found


def _self_similarity(
    features: NDArray[np.float64], frames: NDArray[np.float64], metres: list[int]
) -> dict[int, NDArray[np.float64]]:
    """Self-similarity of the music around each beat at the lag of each metre, less the mean of all lags.

    Correlation coefficients of the features, averaged over 32 beats; by metre, shape (beats,) each.
    """
    steps = np.diff(frames, append=2 * frames[-1] - frames[-2])
    at = frames[:, None] + steps[:, None] * np.array(_PLACES)[None, :]
    at = np.clip(np.round(at).astype(int), 0, features.shape[1] - 1)
    rows = np.moveaxis(features[:, at], 0, 2).reshape(len(frames), -1)
    rows = (rows - rows.mean(axis=0)) / (rows.std(axis=0) + 1e-9)
    rows /= np.linalg.norm(rows, axis=1, keepdims=True) + 1e-9
    similarity = {}
    for beats in sorted({*_METRES, *metres}):
        lagged = np.zeros(len(rows))
        if len(rows) > beats:
            lagged[beats:] = np.sum(rows[beats:] * rows[:-beats], axis=1)
            lagged[:beats] = lagged[beats]
        similarity[beats] = uniform_filter1d(lagged, min(_NEAR_BEATS, len(rows)), mode="nearest")
    mean = np.mean(list(similarity.values()), axis=0)
    return {beats: similarity[beats] - mean for beats in metres}


def _best_bars(
    downbeat_log_odds: NDArray[np.float64],
    similarity: dict[int, NDArray[np.float64]],
    metres: list[int],
    downbeat: int | None,
    begins: bool,
) -> Bars:
    """The best sequence of bars (Viterbi). A state is a beat of a bar of one metre.

    ``downbeat_log_odds`` has the shape (beats, metres); ``similarity`` is that of _self_similarity.
    """
    firsts = np.concatenate([[0], np.cumsum(metres)[:-1]])
    lasts = np.cumsum(metres) - 1
    states = int(lasts[-1]) + 1
    metre_of = np.repeat(np.arange(len(metres)), metres)
    usual = np.array([_METRES.get(beats, -6.0) for beats in metres])
    count = len(downbeat_log_odds)
    gain = np.stack([_SIMILARITY_WEIGHT * similarity[metres[kind]] for kind in metre_of], axis=1)
    gain[:, firsts] += downbeat_log_odds
    if downbeat is not None and 0 <= downbeat < count:
        gain[downbeat, np.setdiff1d(np.arange(states), firsts)] = -1e6
    score = gain[0] + usual[metre_of]
    if begins:
        score[firsts] += _DOWNBEAT_START
    previous = np.zeros((count, states), np.intp)
    for beat in range(1, count):
        before = np.arange(states) - 1
        value = score[before]
        ended = score[lasts]
        best = int(ended.argmax())
        for kind, first in enumerate(firsts):
            other = ended[best] - (_CHANGE_COST if best != kind else 0.0) + min(0.0, 0.25 * usual[kind])
            same = ended[kind]
            before[first] = lasts[kind] if same >= other else lasts[best]
            value[first] = max(same, other)
        previous[beat] = before
        score = value + gain[beat]
    state = int(score.argmax())
    path = np.zeros(count, np.intp)
    for beat in range(count - 1, -1, -1):
        path[beat] = state
        state = int(previous[beat, state])
    starts = np.flatnonzero(np.isin(path, firsts))
    kinds = [metres[metre_of[state]] for state in path[starts]]
    changes = tuple((i, beats) for i, beats in enumerate(kinds) if i == 0 or kinds[i - 1] != beats)
    return Bars(starts=starts, metres=changes)
