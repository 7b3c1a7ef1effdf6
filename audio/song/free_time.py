"""A song may begin in free time: notes without a beat until the band sets in."""

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d

from audio.song.onsets import FRAME_RATE, Onsets

_WINDOW_S, _STEP_S = 8.0, 0.5
_BEATS = 8
"""The music of a window must come back after one to so many beats."""
_FREE = 0.48
"""Likeness below which a window has no beat: of composed songs that begin free none had more than 0.39, of
others, recordings among them, none less than 0.58."""


def free_until(onsets: Onsets, frames: NDArray[np.float64]) -> float:
    """Frame at which the beat sets in, 0.0 where the song begins with it or never gets one; ``frames`` of
    the beats."""
    strength = gaussian_filter1d(onsets.evened, 1.0)
    size, step = round(_WINDOW_S * FRAME_RATE), round(_STEP_S * FRAME_RATE)
    starts = range(0, strength.size - size, step)
    likeness: list[float] = []
    for start in starts:
        likeness.append(
            _likeness(strength[start : start + size], frames[(frames >= start) & (frames < start + size)])
        )
        if len(likeness) == 1 and likeness[0] >= _FREE:
            return 0.0
    steady = [one for one in likeness if one >= _FREE]
    if not steady or len(steady) < 0.5 * len(likeness):
        return 0.0
    first = next(i for i, one in enumerate(likeness) if one >= _FREE)
    # A window that lies half in free time is half as like itself.
    return first * step + size * max(0.0, 1.0 - _FREE / float(np.median(steady)))


def _likeness(window: NDArray[np.float64], beats: NDArray[np.float64]) -> float:
    """Highest autocorrelation of a window at whole numbers of beats; 1.0 if that cannot be told."""
    window = window - window.mean()
    energy = float(window @ window)
    if beats.size < 4 or energy < 1e-9:
        return 1.0
    beat = float(np.median(np.diff(beats)))
    lags = {round(beat * times) + near for times in range(1, _BEATS + 1) for near in (-2, -1, 0, 1, 2)}
    count = window.size
    return max(
        float(window[lag:] @ window[:-lag]) / energy * count / (count - lag)
        for lag in sorted(lags)
        if 0 < lag < 0.6 * count or lag == min(lags)
    )
