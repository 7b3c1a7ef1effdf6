"""What a sound is made of, moment by moment: the energy of its bands, for matching at any speed.

Played faster, a sound's moments come closer together and, unless the player keeps the pitch, its bands move
up. Its samples then agree with nothing; its texture does, once both are undone. Energies are kept summed up
over bands and over time, so that a cell of any width at any place costs four look-ups.
"""

from dataclasses import dataclass

import numpy as np
import scipy.fft
import scipy.ndimage
import scipy.signal
from numpy.typing import NDArray

from audio.signals import Samples

STEPS_PER_OCTAVE = 24
"""Edges of bands in an octave, and speeds: one step of speed moves the bands by one edge, 2.9 %."""
LOWEST_HZ = 110.0
"""Small loudspeakers give nothing below."""
WIDTH = 4
"""Edges across a band: a sixth of an octave."""
FRAME_S = 0.04
"""Song seconds from one frame to the next; a cell is two frames long."""
HOP_S = 0.016
"""Seconds between two spectra of a sound."""
SETTLE_S = 0.8
"""Song seconds of the mean that is taken off a band's level: what stays longer is colour, not texture."""
QUIET = 0.08
"""Share of a band's usual energy that is added to all of it, so that silence has no texture."""
PATCH_S = 0.064
"""Length of the patches whose spectra are taken."""
LINES_S = 32.0
"""How fast a texture varies is evened out in lines one over so many seconds wide."""

Array = NDArray[np.float32]


def edge_count(rate: int) -> int:
    """Number of band edges below half the rate."""
    return int(np.log2(0.49 * rate / LOWEST_HZ) * STEPS_PER_OCTAVE) + 1


def band_count(rate: int) -> int:
    """Number of bands, each beginning where the one before it ends."""
    return (edge_count(rate) - 1) // WIDTH


@dataclass(frozen=True, slots=True, eq=False)
class BandEnergies:
    """Energies of a sound summed up over bands and over time."""

    hop_s: float
    sums: tuple[NDArray[np.float64], ...]
    """WIDTH arrays, the n-th with every WIDTH-th edge from the n-th on, shape (spectra + 1, edges): energy
    from the start to a moment, from 0 Hz to an edge; row r is the energy before ``(r - 0.5) * hop_s``."""

    def bands(self, seconds: NDArray[np.float64], first: int, count: int) -> NDArray[np.float64]:
        """Energy before each of some moments, shape (m,), in ``count`` bands from edge ``first`` on."""
        place = np.clip(seconds / self.hop_s + 0.5, 0, len(self.sums[0]) - 1.001)
        row = place.astype(np.int64)
        part = (place - row)[:, None]
        at = slice(first // WIDTH, first // WIDTH + count + 1)
        edges = self.sums[first % WIDTH][:, at]
        low = edges[row]
        low += part * (edges[row + 1] - low)
        return np.asarray(low[:, 1:] - low[:, :-1])

    def cells(self, seconds: NDArray[np.float64], first: int, count: int) -> Array:
        """Energy of the cells between each moment and the next but one, shape (..., m) to (..., m - 2,
        count)."""
        before = self.bands(seconds.ravel(), first, count).reshape(*seconds.shape, count)
        cells = np.asarray(before[..., 2:, :] - before[..., :-2, :], np.float32)
        # Next to nothing, as a difference of large sums, can come out below it.
        return np.maximum(cells, 0, out=cells)


def band_energies(
    samples: Samples, rate: int, patch_s: float = PATCH_S, hop_s: float = HOP_S
) -> BandEnergies:
    """Sum up the energies of a sound, float32 of shape (n,), in patches of ``patch_s`` seconds."""
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
        # Bins stand for half a bin to either side: the sum before an edge ends within one.
        power = spectra.real**2 + spectra.imag**2
        power *= np.arange(power.shape[1], dtype=np.float32)
        total = np.cumsum(power, axis=1)
        below = total[:, at - 1]
        sums[low + 1 : high + 1] = below + part * (total[:, at] - below)
    np.cumsum(sums, axis=0, out=sums)
    return BandEnergies(hop / rate, tuple(np.ascontiguousarray(sums[:, n::WIDTH]) for n in range(WIDTH)))


def log_levels(cells: Array) -> Array:
    """Turn energies of cells into texture: how far each stands above its band's mean, all frames alike.

    Parameters
    ----------
    cells : float32, shape (excerpts, frames, bands)

    Returns
    -------
    float32, shape (excerpts, frames, bands)
    """
    usual = cells.mean(axis=(0, 1))
    level = np.log(cells + (QUIET * usual + np.float32(1e-20)))
    level -= running_mean(level, round(SETTLE_S / FRAME_S / 2))
    level /= level.std(axis=1, keepdims=True) + np.float32(1e-3)
    # A hit that fills all bands says when, but says it in one frame: it must not count as much as all else.
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
    """Weights, shape (1, n, 1), that even out how fast a texture usually varies: the beat would else rule.

    ``spectra``, shape (excerpts, n, bands), are those of textures over time.
    """
    usual = (spectra.real**2 + spectra.imag**2).mean(axis=(0, 2))
    usual = usual / (usual.mean() + 1e-20) + 0.02
    return np.asarray(usual[None, :, None] ** -power, np.float32)


def whiten_modulation(song_bands: Array, power: float) -> Array:
    """A texture, shape (frames, bands), evened in how fast it varies."""
    size = scipy.fft.next_fast_len(len(song_bands) + 64, real=True)
    spectra = scipy.fft.rfft(song_bands, size, axis=0)
    # Single lines of so long a spectrum are chance: neighbours share their weight.
    usual = (spectra.real**2 + spectra.imag**2).mean(axis=1)
    usual = scipy.ndimage.uniform_filter1d(usual, max(1, round(size * FRAME_S / LINES_S)), mode="nearest")
    usual = usual / (usual.mean() + 1e-20) + 0.02
    weight = (usual**-power).astype(np.float32)[:, None]
    return np.asarray(scipy.fft.irfft(spectra * weight, size, axis=0)[: len(song_bands)], np.float32)
