"""Chroma (strength of the twelve pitch classes) along the song, and how much it changes: harmonic change."""

import numpy as np
from numpy.typing import NDArray

from audio.song.onsets import RATE
from audio.song.spectra import by_filters

HOP = 512
"""Samples between rows (23 ms): harmony changes slowly."""
_WINDOW = 4096
"""Samples of a Fourier window (186 ms): resolves semitones down to about 90 Hz."""


def chroma(sound: NDArray[np.float32]) -> NDArray[np.float64]:
    """Log-compressed chroma of samples at RATE, shape (frames, 12), HOP samples a frame. No unit.

    The mean over the twelve classes is subtracted, so that noise and drums, which excite all of them, leave
    little.
    """
    import librosa

    classes = librosa.filters.chroma(sr=RATE, n_fft=_WINDOW, tuning=0.0)
    energy = by_filters(sound, classes, _WINDOW, HOP)
    level = np.log1p(10.0 * energy / (float(np.median(energy)) + 1e-9)).astype(np.float64).T
    centred: NDArray[np.float64] = level - level.mean(axis=1, keepdims=True)
    return centred


def harmonic_change(rows: NDArray[np.float64], width: int) -> NDArray[np.float64]:
    """Harmonic change at each row of chroma, shape (rows,), from 0 to 2. No unit.

    One minus the cosine between the mean of the ``width`` rows before and the mean of those after. It is
    scaled down where the later rows are weak: a chord that dies away is no change.
    """
    count = rows.shape[0]
    padded = np.pad(rows, ((width, width), (0, 0)), mode="edge")
    sums = np.concatenate([np.zeros((1, rows.shape[1])), np.cumsum(padded, axis=0)])
    before = sums[width : width + count] - sums[:count]
    after = sums[2 * width : 2 * width + count] - sums[width : width + count]
    strength = np.linalg.norm(after, axis=1)
    cosine = np.sum(before * after, axis=1) / (np.linalg.norm(before, axis=1) * strength + 1e-9)
    changes: NDArray[np.float64] = (1.0 - cosine) * strength / (strength + float(np.median(strength)) + 1e-9)
    return changes


def span_means(rows: NDArray[np.float64], edges_s: NDArray[np.float64]) -> NDArray[np.float64]:
    """Mean row between neighbouring edges, shape (edges - 1, columns).

    ``edges_s`` are song times in seconds, rising; ``rows`` of shape (frames, columns) lie HOP samples apart.
    """
    places = np.clip(np.round(edges_s * RATE / HOP).astype(int), 0, rows.shape[0] - 1)
    ends = np.maximum(places[1:], places[:-1] + 1)
    sums = np.concatenate([np.zeros((1, rows.shape[1])), np.cumsum(rows, axis=0)])
    means: NDArray[np.float64] = (sums[ends] - sums[places[:-1]]) / (ends - places[:-1])[:, None]
    return means
