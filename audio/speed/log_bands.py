"""Log-band energies: the energy of a sound in logarithmically spaced bands over time, to match at any speed.

Played faster, a sound's events come closer together and, if the playback was resampled, its bands move up.
Its waveform then correlates with nothing; its band energies do, once both are undone. Energies are stored as
a summed-area table over bands and time, so that a cell of any width at any position costs four look-ups.
"""

from dataclasses import dataclass

import numpy as np
import scipy.fft
import scipy.ndimage
import scipy.signal
from numpy.typing import NDArray

from audio.signals import Samples

STEPS_PER_OCTAVE = 24
"""Band edges in an octave, and speeds: one step of speed, 2.9 %, moves the bands by one edge. Chosen by
hand."""
LOWEST_HZ = 110.0
"""Small loudspeakers play nothing below."""
WIDTH = 4
"""Edges across a band: a sixth of an octave. Chosen by hand: wider bands forgive detuning, narrower ones tell
notes apart."""
FRAME_S = 0.04
"""Song seconds from one frame to the next; a cell is two frames long. Chosen by hand."""
HOP_S = 0.016
"""Seconds between two STFT frames."""
MEAN_S = 0.8
"""A band's level is taken relative to its running mean over this much (s of song): what lasts longer is the
spectrum of the room, not the music. Chosen by hand."""
FLOOR = 0.08
"""Share of a band's mean energy that is added to all of it, so that silence has no contrast. Chosen by
hand."""
PATCH_S = 0.064
"""Length of an STFT frame (s)."""
SMOOTHING_S = 32.0
"""Modulation spectra are whitened by their mean over 1 / this many seconds of modulation frequency (Hz).
Chosen by hand: single lines of so long a spectrum are chance."""

Array = NDArray[np.float32]


def edge_count(rate: int) -> int:
    """Number of band edges below half the rate."""
    return int(np.log2(0.49 * rate / LOWEST_HZ) * STEPS_PER_OCTAVE) + 1


def band_count(rate: int) -> int:
    """Number of bands, each beginning where the one before it ends."""
    return (edge_count(rate) - 1) // WIDTH


@dataclass(frozen=True, slots=True, eq=False)
class BandEnergies:
    """Energies of a sound, cumulated over bands and over time (a summed-area table)."""

    hop_s: float
    """Seconds from one STFT frame to the next."""
    sums: tuple[NDArray[np.float64], ...]
    """WIDTH arrays, the n-th with every WIDTH-th edge from the n-th on, shape (spectra + 1, edges): energy
    from the start to a moment, from 0 Hz to an edge; row r is the energy before ``(r - 0.5) * hop_s``."""

    def bands(self, seconds: NDArray[np.float64], first: int, count: int) -> NDArray[np.float64]:
        """Energy before each of some moments (s), shape (m,), in ``count`` bands from edge ``first`` on."""
        position = np.clip(seconds / self.hop_s + 0.5, 0, len(self.sums[0]) - 1.001)
        row = position.astype(np.int64)
        part = (position - row)[:, None]
        at = slice(first // WIDTH, first // WIDTH + count + 1)
        edges = self.sums[first % WIDTH][:, at]
        low = edges[row]
        low += part * (edges[row + 1] - low)
        return np.asarray(low[:, 1:] - low[:, :-1])

    def cells(self, seconds: NDArray[np.float64], first: int, count: int) -> Array:
        """Energy of the cells between each moment (s) and the next but one, shape (..., m) to (..., m - 2,
        count)."""
        before = self.bands(seconds.ravel(), first, count).reshape(*seconds.shape, count)
        cells = np.asarray(before[..., 2:, :] - before[..., :-2, :], np.float32)
        # A tiny energy, as a difference of large sums, can come out negative.
        return np.maximum(cells, 0, out=cells)


def band_energies(
    samples: Samples, rate: int, patch_s: float = PATCH_S, hop_s: float = HOP_S
) -> BandEnergies:
    """Band energies of a sound, float32 of shape (n,), by STFT frames of ``patch_s`` seconds, ``hop_s``
    apart."""
    length = round(patch_s * rate)
    hop = round(hop_s * rate)
    count = max(1, -(-len(samples) // hop))
    window = scipy.signal.windows.hann(length, sym=False).astype(np.float32)
    size = max(256, 1 << (length - 1).bit_length())
    edge = LOWEST_HZ * 2.0 ** (np.arange(edge_count(rate)) / STEPS_PER_OCTAVE) * size / rate
    at = edge.astype(np.int64)
    part = (edge - at).astype(np.float32)
    sums = np.zeros((count + 1, len(edge)))
    for low in range(0, count, 4096):
        high = min(count, low + 4096)
        first, last = low * hop - length // 2, (high - 1) * hop - length // 2 + length
        piece = samples[max(0, first) : max(0, last)]
        piece = np.pad(piece, (max(0, -first), last - max(0, first) - len(piece)))
        pieces = np.lib.stride_tricks.sliding_window_view(piece, length)[::hop] * window
        spectra = scipy.fft.rfft(pieces, size, axis=1)
        # Bins extend half a bin to either side: the sum below an edge ends within one.
        power = spectra.real**2 + spectra.imag**2
        power *= np.arange(power.shape[1], dtype=np.float32)
        total = np.cumsum(power, axis=1)
        below = total[:, at - 1]
        sums[low + 1 : high + 1] = below + part * (total[:, at] - below)
    np.cumsum(sums, axis=0, out=sums)
    return BandEnergies(hop / rate, tuple(np.ascontiguousarray(sums[:, n::WIDTH]) for n in range(WIDTH)))


def log_levels(cells: Array) -> Array:
    """Normalised log levels: how far each cell stands above its band's running mean, all frames alike strong.

    Parameters
    ----------
    cells : float32, shape (excerpts, frames, bands)

    Returns
    -------
    float32, shape (excerpts, frames, bands)
    """
    mean = cells.mean(axis=(0, 1))
    level = np.log(cells + (FLOOR * mean + np.float32(1e-20)))
    level -= running_mean(level, round(MEAN_S / FRAME_S / 2))
    level /= level.std(axis=1, keepdims=True) + np.float32(1e-3)
    # A drum hit fills all bands of one frame: at full weight it would outweigh everything else.
    level -= np.float32(0.5) * level.mean(axis=2, keepdims=True)
    weight = np.sqrt(np.square(level).mean(axis=2, keepdims=True))
    level /= weight + np.float32(0.5) * weight.mean(axis=1, keepdims=True) + np.float32(1e-6)
    return np.asarray(level, np.float32)


def running_mean(values: Array, reach: int) -> Array:
    """Mean over ``reach`` frames to either side, fewer at the ends; along the last axis but one."""
    frames = values.shape[-2]
    total = np.zeros((*values.shape[:-2], frames + 1, values.shape[-1]), np.float32)
    np.cumsum(values, axis=-2, out=total[..., 1:, :])
    at = np.arange(frames)
    low, high = np.maximum(0, at - reach), np.minimum(frames, at + reach + 1)
    span = (high - low).astype(np.float32)[:, None]
    return np.asarray((total[..., high, :] - total[..., low, :]) / span, np.float32)


def modulation_weights(spectra: NDArray[np.complex64], power: float) -> Array:
    """Weights, shape (1, n, 1), that whiten modulation spectra, which the beat would dominate otherwise.

    Parameters
    ----------
    spectra : complex64, shape (excerpts, n, bands)
        Of log levels over time.
    power : float
        Exponent on the power spectrum (no unit): 0.5 whitens fully, 0.25 half.
    """
    mean = (spectra.real**2 + spectra.imag**2).mean(axis=(0, 2))
    mean = mean / (mean.mean() + 1e-20) + 0.02
    return np.asarray(mean[None, :, None] ** -power, np.float32)


def whiten_modulation(levels: Array, power: float) -> Array:
    """Log levels, shape (frames, bands), with whitened modulation spectra; ``power`` as in
    `modulation_weights`."""
    size = scipy.fft.next_fast_len(len(levels) + 64, real=True)
    spectra = scipy.fft.rfft(levels, size, axis=0)
    # Single lines of so long a spectrum are chance: their power is smoothed over neighbours.
    mean = (spectra.real**2 + spectra.imag**2).mean(axis=1)
    mean = scipy.ndimage.uniform_filter1d(mean, max(1, round(size * FRAME_S / SMOOTHING_S)), mode="nearest")
    mean = mean / (mean.mean() + 1e-20) + 0.02
    weight = (mean**-power).astype(np.float32)[:, None]
    return np.asarray(scipy.fft.irfft(spectra * weight, size, axis=0)[: len(levels)], np.float32)
