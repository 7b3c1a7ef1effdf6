"""Spectral whitening over time and frequency, so that a weak song can be found under loud drums."""

from collections import OrderedDict

import numpy as np
import scipy.fft
import scipy.signal
from numpy.typing import NDArray

from audio.signals import Samples

PIECE_S = 60.0
"""Long signals are whitened in pieces of this many seconds, so that memory stays bounded. Chosen by hand."""

OVERLAP = 4
"""STFT frames overlap by three quarters: 1 / OVERLAP of a frame is the hop."""

CACHED_PIECES = 8
"""Whitened pieces of a recording of hours that are cached. Chosen by hand."""


def whiten(samples: Samples, rate: int) -> Samples:
    """Give every bin of a short-time Fourier transform about the same magnitude, keeping its phase.

    A drum hit twenty decibels above the playback fills few bins; after whitening it weighs as little as they
    do, and the song between the hits can be matched. Two passes: frames of 32 ms whiten hits, frames of 128
    ms whiten tones. This is the phase transform of Knapp and Carter (IEEE Trans. ASSP 24(4), 1976) applied to
    short-time spectra instead of to one long one.

    Parameters
    ----------
    samples : float32, shape (n,)
    rate : int
        Samples a second.

    Returns
    -------
    float32, shape (n,)
        Scaled so that music has an RMS of about 1; digital silence stays silent.
    """
    piece = int(PIECE_S * rate)
    out = np.zeros(len(samples), np.float32)
    for start in range(0, len(samples), piece):
        out[start : start + piece] = _whiten_piece(samples, rate, start, piece)
    return out


class LazyWhitened:
    """A recording of hours, whitened where it is read: whole, it would take up too much memory.

    A slice of it is float32, the same as that slice of :func:`whiten` of the whole.

    >>> hiss = np.random.default_rng(1).standard_normal(20000).astype(np.float32)
    >>> bool(np.array_equal(LazyWhitened(hiss, 8000)[3000:9000], whiten(hiss, 8000)[3000:9000]))
    True
    """

    def __init__(self, samples: NDArray[np.floating], rate: int) -> None:
        self._samples = samples
        self._rate = rate
        self._piece = int(PIECE_S * rate)
        self._cache: OrderedDict[int, Samples] = OrderedDict()

    def __len__(self) -> int:
        return len(self._samples)

    def __getitem__(self, wanted: slice) -> Samples:
        start, stop, _ = wanted.indices(len(self))
        parts = []
        for number in range(start // self._piece, -(-max(start, stop) // self._piece)):
            base = number * self._piece
            parts.append(self._get(number)[max(0, start - base) : max(0, stop - base)])
        return np.concatenate(parts) if parts else np.zeros(0, np.float32)

    def _get(self, number: int) -> Samples:
        if number not in self._cache:
            self._cache[number] = _whiten_piece(self._samples, self._rate, number * self._piece, self._piece)
            while len(self._cache) > CACHED_PIECES:
                self._cache.popitem(last=False)
        self._cache.move_to_end(number)
        return self._cache[number]


Whitened = Samples | LazyWhitened
"""A whitened signal: its length, and float32 slices of it."""


def _whiten_piece(samples: NDArray[np.floating], rate: int, start: int, piece: int) -> Samples:
    margin = rate // 2
    low, high = max(0, start - margin), min(len(samples), start + piece + margin)
    part = samples[low:high].astype(np.float32, copy=False)
    white = _whiten_frames(_whiten_frames(part, rate // 31), rate * 16 // 125)
    return white[start - low : start - low + piece]


def _whiten_frames(samples: Samples, frame: int) -> Samples:
    """One pass with STFT frames of ``frame`` samples, rounded to a power of two."""
    length = 1 << round(np.log2(frame))
    hop = length // OVERLAP
    count = -(-(len(samples) + length) // hop)
    padded = np.zeros((count - 1) * hop + length, np.float32)
    padded[length - hop : length - hop + len(samples)] = samples
    window = scipy.signal.windows.hann(length, sym=False).astype(np.float32)
    frames = np.lib.stride_tricks.sliding_window_view(padded, length)[::hop] * window
    spectra = scipy.fft.rfft(frames, axis=1)
    # Far cheaper than the library's absolute value, which guards against overflow.
    size = np.sqrt(np.square(spectra.real) + np.square(spectra.imag))
    # Bins far below the median level are silence or coding holes; raising them would only add noise.
    size += 0.1 * np.median(size[::7]) + 1e-6 * size.max() + 1e-12
    spectra /= size
    back = scipy.fft.irfft(spectra, length, axis=1) * window
    out = np.zeros(len(padded) + length, np.float32)
    for part in range(OVERLAP):
        at = part * hop
        out[at : at + count * hop] += back[:, at : at + hop].reshape(-1)
    # A frame of magnitude 1 has this RMS, divided by what the overlapping windows add up to.
    scale = np.sqrt(length * 0.375) / (0.375 * OVERLAP)
    return np.asarray(out[length - hop : length - hop + len(samples)] * scale, np.float32)
