"""Introductions in free time (rubato): where the steady beat begins."""

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d

from audio.song.onsets import FRAME_RATE, Onsets

_WINDOW_S, _STEP_S = 8.0, 0.5
"""Length and hop of the analysis windows. Eight seconds hold two bars of a slow song."""
_MOST_BEATS = 8
"""Autocorrelation is taken at lags of 1 to this many beats: two bars of four."""
_FREE = 0.48
"""Autocorrelation (0 to 1) below which a window has no beat. Half-way between composed songs that begin free,
none above 0.39, and others, recordings among them, none below 0.58."""


def free_until(onsets: Onsets, frames: NDArray[np.float64]) -> float:
    """Frame number at which the beat begins; 0.0 where the song begins with it or never has one.

    ``frames`` are the tracked beats as frame numbers, rising.
    """
    strength = gaussian_filter1d(onsets.normalised, 1.0)
    size, step = round(_WINDOW_S * FRAME_RATE), round(_STEP_S * FRAME_RATE)
    starts = range(0, strength.size - size, step)
    correlations: list[float] = []
    for start in starts:
        correlations.append(
            _autocorrelation(
                strength[start : start + size], frames[(frames >= start) & (frames < start + size)]
            )
        )
        if len(correlations) == 1 and correlations[0] >= _FREE:
            return 0.0
    steady = [one for one in correlations if one >= _FREE]
    if not steady or len(steady) < 0.5 * len(correlations):
        return 0.0
    first = next(i for i, one in enumerate(correlations) if one >= _FREE)
    # A window that lies half in free time has half the autocorrelation.
    return first * step + size * max(0.0, 1.0 - _FREE / float(np.median(steady)))


def _autocorrelation(window: NDArray[np.float64], beats: NDArray[np.float64]) -> float:
    """Highest normalised autocorrelation of a window at lags of whole beats; 1.0 if there is too little in
    it."""
    window = window - window.mean()
    energy = float(window @ window)
    if beats.size < 4 or energy < 1e-9:
        return 1.0
    beat = float(np.median(np.diff(beats)))
    lags = {round(beat * times) + near for times in range(1, _MOST_BEATS + 1) for near in (-2, -1, 0, 1, 2)}
    count = window.size
    return max(
        float(window[lag:] @ window[:-lag]) / energy * count / (count - lag)
        for lag in sorted(lags)
        if 0 < lag < 0.6 * count or lag == min(lags)
    )
