"""Signals made comparable: levels, and the flattening that lets a weak song be found under loud drums."""

import numpy as np
import scipy.fft
import scipy.signal
from numpy.typing import NDArray

from audio.errors import BadSignal

PIECE_S = 60.0
"""Long signals are flattened in pieces of this many seconds, so that memory stays bounded."""

OVERLAP = 4
"""Patches overlap by three quarters, so that their seams do not show."""

Samples = NDArray[np.float32]


def checked(samples: Samples, what: str) -> Samples:
    """Give the samples as a contiguous float32 array of shape (n,).

    Raises
    ------
    BadSignal
        The array is not one-dimensional, is empty or holds values that are not finite.
    """
    array = np.ascontiguousarray(samples, dtype=np.float32)
    if array.ndim != 1 or array.size == 0:
        raise BadSignal(f"{what} holds no sound.")
    if not np.isfinite(array).all():
        raise BadSignal(f"{what} holds values that are no numbers: export it again.")
    return array


def flatten(samples: Samples, rate: int) -> Samples:
    """Give every patch of time and frequency about the same weight, keeping its phase.

    A drum hit twenty decibels above the playback fills few patches; after flattening it weighs as little as
    they do, and the song between the hits can be matched. Two passes: 32 ms patches even out hits, 128 ms
    patches even out tones. This is the phase transform of Knapp and Carter (IEEE Trans. ASSP 24(4), 1976)
    applied to short-time spectra instead of to one long one.

    Parameters
    ----------
    samples : float32, shape (n,)
    rate : int
        Samples a second.

    Returns
    -------
    float32, shape (n,)
        Scaled so that a lively stretch has an RMS of about 1; digital silence stays silent.
    """
    piece = int(PIECE_S * rate)
    margin = rate // 2
    out = np.zeros(len(samples), np.float32)
    for start in range(0, len(samples), piece):
        low, high = max(0, start - margin), min(len(samples), start + piece + margin)
        even = _flatten_patches(_flatten_patches(samples[low:high], rate // 31), rate * 16 // 125)
        out[start : start + piece] = even[start - low : start - low + piece]
    return out


def _flatten_patches(samples: Samples, patch: int) -> Samples:
    """One pass over patches of ``patch`` samples."""
    length = 1 << round(np.log2(patch))
    hop = length // OVERLAP
    count = -(-(len(samples) + length) // hop)
    padded = np.zeros((count - 1) * hop + length, np.float32)
    padded[length - hop : length - hop + len(samples)] = samples
    window = scipy.signal.windows.hann(length, sym=False).astype(np.float32)
    patches = np.lib.stride_tricks.sliding_window_view(padded, length)[::hop] * window
    spectra = scipy.fft.rfft(patches, axis=1)
    # Far cheaper than the library's absolute value, which guards against overflow.
    size = np.sqrt(np.square(spectra.real) + np.square(spectra.imag))
    # Patches far below the usual level are silence or coding holes; lifting them would only add noise.
    size += 0.1 * np.median(size[::7]) + 1e-6 * size.max() + 1e-12
    spectra /= size
    back = scipy.fft.irfft(spectra, length, axis=1) * window
    out = np.zeros(len(padded) + length, np.float32)
    for part in range(OVERLAP):
        at = part * hop
        out[at : at + count * hop] += back[:, at : at + hop].reshape(-1)
    # A patch of magnitude 1 has this RMS, less what the overlapping windows add up to.
    scale = np.sqrt(length * 0.375) / (0.375 * OVERLAP)
    return np.asarray(out[length - hop : length - hop + len(samples)] * scale, np.float32)
