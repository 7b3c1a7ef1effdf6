"""Pitch classes sounding through the song, and how much they change from moment to moment."""

import numpy as np
from numpy.typing import NDArray

from audio.song.onsets import RATE

HOP = 512
_WINDOW = 4096


def pitch_classes(sound: NDArray[np.float32]) -> NDArray[np.float64]:
    """How strongly each pitch class sounds, shape (frames, 12), HOP samples a frame.

    Log-compressed, and the mean over the classes taken off, so that noise and drums leave little.
    """
    import librosa

    chroma = librosa.feature.chroma_stft(
        y=sound, sr=RATE, n_fft=_WINDOW, hop_length=HOP, tuning=0.0, norm=None
    )
    level = np.log1p(10.0 * chroma / (float(np.median(chroma)) + 1e-9)).astype(np.float64).T
    centred: NDArray[np.float64] = level - level.mean(axis=1, keepdims=True)
    return centred


def change(rows: NDArray[np.float64], width: int) -> NDArray[np.float64]:
    """How much the mean of ``width`` rows from each row on differs in direction from that of the rows before.

    Shape (rows,): one minus the cosine, less where little sounds then: a chord that dies away is no change.
    """
    count = rows.shape[0]
    padded = np.pad(rows, ((width, width), (0, 0)), mode="edge")
    sums = np.concatenate([np.zeros((1, rows.shape[1])), np.cumsum(padded, axis=0)])
    before = sums[width : width + count] - sums[:count]
    after = sums[2 * width : 2 * width + count] - sums[width : width + count]
    loud = np.linalg.norm(after, axis=1)
    cosine = np.sum(before * after, axis=1) / (np.linalg.norm(before, axis=1) * loud + 1e-9)
    changes: NDArray[np.float64] = (1.0 - cosine) * loud / (loud + float(np.median(loud)) + 1e-9)
    return changes


def span_means(rows: NDArray[np.float64], edges_s: NDArray[np.float64]) -> NDArray[np.float64]:
    """Mean row from each edge (seconds, rising) to the next, shape (spans, columns); rows lie HOP apart."""
    places = np.clip(np.round(edges_s * RATE / HOP).astype(int), 0, rows.shape[0] - 1)
    ends = np.maximum(places[1:], places[:-1] + 1)
    sums = np.concatenate([np.zeros((1, rows.shape[1])), np.cumsum(rows, axis=0)])
    means: NDArray[np.float64] = (sums[ends] - sums[places[:-1]]) / (ends - places[:-1])[:, None]
    return means
