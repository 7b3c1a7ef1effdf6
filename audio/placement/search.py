"""A block of a clip cross-correlated with the whole song: the evidence for each lag.

Evidence is a log-likelihood ratio against chance. One block is never trusted: songs repeat themselves, and
single blocks do match the wrong chorus. The alignments on which blocks agree are found in
audio/placement/alignments.py.
"""

from dataclasses import dataclass

import numpy as np
import scipy.fft
import scipy.signal
from numpy.typing import NDArray

from audio.rate import check_rate
from audio.signals import Samples
from audio.whitening import whiten

BLOCK_S = 8.0
"""Length of a block: short enough that 300 ppm smear it by 2.4 ms only."""
HOP_S = 4.0
"""Blocks overlap by half, so that an 8 s pick-up fills at least one of them well."""
BIN_S = 0.002
"""Width of a lag bin: what a clock 500 ppm off drifts in one hop."""
PEAKS_KEPT = 64
"""Best lag bins, and best cells, of each block kept for the rivals. Chosen by hand."""
CELL = 20
"""Bins of a cell: 40 ms. Chosen by hand."""
EVIDENCE_KNEE = 40.0
"""Evidence of one block above which it is compressed logarithmically: an alignment needs several blocks that
agree, and yet the strongest of many strong bins stays the strongest. Chosen by hand."""
FFT_SIZES = (131072, 163840, 196608, 262144)
"""Lengths of the song's pieces to choose from, products of small primes; the one with the least padding is
taken."""
AT_ONCE = 4
"""Transforms that the FFT library vectorises together: pieces come in multiples of that."""
OVERSAMPLING = 4
"""The whitened song is also kept at so many times the rate, for positions between samples."""
SILENT_NOISE = 1e-3
"""Noise power below which a block has no sound; a whitened block with sound has some ten thousand."""
AUDIBLE_S = 0.05
"""Resolution of ``SongIndex.audible``."""
INAUDIBLE = 10 ** (-45 / 10)
"""Below this share of the song's power a moment of it is silent: -45 dB. Chosen by hand."""
SILENT = 10 ** (-50 / 20)
"""Below this share of the song's RMS its head and tail count as silence: -50 dB. Chosen by hand."""


@dataclass(frozen=True, slots=True, eq=False)
class SongIndex:
    """A song prepared for many clips."""

    rate: int
    """Samples a second: ENGINE_RATE."""
    duration_s: float
    samples: Samples
    """The song as it is (not whitened), shape (n,)."""
    white: Samples
    """The whitened song, shape (n,)."""
    oversampled: Samples
    """The same at OVERSAMPLING times the rate."""
    spectra: NDArray[np.complex64]
    """Spectra of overlapping pieces of the whitened song, shape (pieces, size // 2 + 1)."""
    size: int
    """Length of such a piece (samples)."""
    head_s: float
    tail_s: float
    """Seconds of silence, or nearly so, at the song's start and end."""
    audible: NDArray[np.bool_]
    """For each AUDIBLE_S of the song whether there is any sound."""

    @classmethod
    def build(cls, samples: Samples, rate: int) -> "SongIndex":
        """Whiten a song and transform it piece by piece; ``samples`` float32, shape (n,).

        Raises
        ------
        BadSignal
            ``rate`` is not ENGINE_RATE.
        """
        check_rate(rate, "The song")
        # In this order: of a song of an hour each of these takes hundreds of megabytes for a while.
        head_s, tail_s = _silent_ends(samples, rate)
        audible = _audible(samples, rate)
        white = whiten(samples, rate)
        spectra, size = _spectra(white, int(BLOCK_S * rate))
        oversampled = scipy.signal.resample_poly(white, OVERSAMPLING, 1).astype(np.float32, copy=False)
        return cls(
            rate=rate,
            duration_s=len(samples) / rate,
            samples=samples,
            white=white,
            oversampled=oversampled,
            spectra=spectra,
            size=size,
            head_s=head_s,
            tail_s=tail_s,
            audible=audible,
        )


@dataclass(frozen=True, slots=True, eq=False)
class BlockPeaks:
    """The best lag bins of one block."""

    start_s: float
    """Clip time at which the block starts (s)."""
    bins: NDArray[np.int32]
    """Shape (kept,): lag bins, counted from one block before the song's start."""
    evidence: NDArray[np.float32]
    """Shape (kept,): log-likelihood ratio of each, against chance."""

    @property
    def song_s(self) -> NDArray[np.float64]:
        """Shape (kept,): song time (s) of the block's start in each bin."""
        return np.asarray((self.bins + 0.5) * BIN_S - BLOCK_S, np.float64)


def _spectra(white: Samples, block: int) -> tuple[NDArray[np.complex64], int]:
    """Spectra of overlapping pieces of a whitened song, with a block of silence before it; and their length.

    AT_ONCE are made at a time: all at once they would be copied.
    """
    padded = np.concatenate([np.zeros(block, np.float32), white])
    size = min(FFT_SIZES, key=lambda size: _pieces(len(padded), size - block) * size)
    step, pieces = size - block, _pieces(len(padded), size - block)
    whole = np.pad(padded, (0, pieces * step + size - len(padded)))
    windows = np.lib.stride_tricks.sliding_window_view(whole, size)[: pieces * step : step]
    out = np.empty((pieces, size // 2 + 1), np.complex64)
    for first in range(0, pieces, AT_ONCE):
        out[first : first + AT_ONCE] = scipy.fft.rfft(windows[first : first + AT_ONCE], axis=1)
    return out, size


def _pieces(length: int, step: int) -> int:
    return -(-length // (step * AT_ONCE)) * AT_ONCE


def _audible(samples: Samples, rate: int) -> NDArray[np.bool_]:
    step = int(AUDIBLE_S * rate)
    padded = np.pad(np.square(samples), (0, -len(samples) % step))
    power = padded.reshape(-1, step).mean(axis=1)
    return np.asarray(power > INAUDIBLE * power.mean(), np.bool_)


def _silent_ends(samples: Samples, rate: int) -> tuple[float, float]:
    loud = np.flatnonzero(np.abs(samples) > SILENT * np.sqrt(np.mean(samples.astype(np.float64) ** 2)))
    if not len(loud):
        return len(samples) / rate, 0.0
    return float(loud[0]) / rate, (len(samples) - 1 - float(loud[-1])) / rate


def block_evidence(block: Samples, index: SongIndex) -> NDArray[np.float32]:
    """Evidence for every lag bin that the block lies there.

    Parameters
    ----------
    block : float32, shape (up to BLOCK_S * rate,)
        Whitened.

    Returns
    -------
    float32, shape (bins,)
        See :func:`binned_evidence`. Bin 0 begins one block before the song's start.
    """
    full = int(BLOCK_S * index.rate)
    step = index.size - full
    spectrum = np.conj(scipy.fft.rfft(block, index.size))
    values = np.empty((len(index.spectra), step), np.float32)
    for row in range(0, len(values), 4 * AT_ONCE):
        some = slice(row, row + 4 * AT_ONCE)
        lags = scipy.fft.irfft(index.spectra[some] * spectrum, index.size, axis=1, overwrite_x=True)
        values[some] = lags[:, :step]
    width = int(BIN_S * index.rate)
    used = values.reshape(-1)[: (len(index.white) + full) // width * width]
    power = np.square(used, out=used)
    # Robust power: the median of the squares of normal noise is 0.455 of their mean.
    noise = float(np.median(power[::61])) / 0.455
    return binned_evidence(power, noise, width)


def binned_evidence(power: Samples, noise: float, width: int) -> NDArray[np.float32]:
    """Evidence, for bins of ``width`` lags, that a correlation is more than chance.

    Two tests per bin: its highest correlation value (a clean direct sound), and its energy over two bins (a
    sound smeared by reflections or by clock drift). Each is a log-likelihood ratio of a normal signal of
    unknown strength against noise; the better one counts, compressed above EVIDENCE_KNEE.

    Parameters
    ----------
    power : float32, shape (..., n * width)
        Squared correlation.
    noise : float
        Mean of ``power`` by chance.
    width : int
        A power of two.

    Returns
    -------
    float32, shape (..., n)
        All zeros where there is almost no noise, that is, no sound.
    """
    shape = (*power.shape[:-1], power.shape[-1] // width)
    if noise < SILENT_NOISE:
        return np.zeros(shape, np.float32)
    energy = np.einsum("ij->i", power.reshape(-1, width)).reshape(shape)
    highest = power
    while highest.shape[-1] > shape[-1]:
        highest = np.maximum(highest[..., 0::2], highest[..., 1::2])
    best = highest * np.float32(0.5 / noise) - np.float32(np.log(width) + 1.0)
    energy[..., :-1] += energy[..., 1:]
    energy *= np.float32(1 / (2 * width * noise))
    # The logarithm is expensive, and for most bins the energy test says nothing.
    high = energy > 1.2
    ratio = energy[high]
    best[high] = np.maximum(best[high], width * (ratio - 1 - np.log(ratio)) - np.float32(2.0))
    high = best > EVIDENCE_KNEE
    best[high] = EVIDENCE_KNEE * (1 + 0.25 * np.log(best[high] / EVIDENCE_KNEE))
    return best


def best_bins(start_s: float, evidence: NDArray[np.float32]) -> BlockPeaks:
    """The PEAKS_KEPT best bins of a block that starts at clip time ``start_s``, and the best bin of each of
    the PEAKS_KEPT best cells: otherwise smeared sound would fill all bins with one position."""
    count = min(PEAKS_KEPT, len(evidence))
    bins = np.argpartition(evidence, -count)[-count:]
    cells = evidence[: len(evidence) // CELL * CELL].reshape(-1, CELL)
    if len(cells):
        highest = cells.argmax(axis=1)
        best = cells[np.arange(len(cells)), highest]
        count = min(PEAKS_KEPT, len(cells))
        some = np.argpartition(best, -count)[-count:]
        bins = np.union1d(bins, some * CELL + highest[some])
    chosen: NDArray[np.int32] = bins.astype(np.int32)
    return BlockPeaks(start_s, chosen, evidence[chosen])


def block_starts(length: int, block: int, hop: int, unit: int) -> list[int]:
    """Starts (samples) of the blocks of a clip, multiples of ``unit``; the last block ends with the clip."""
    last = max(0, length - block) // unit * unit
    starts = list(range(0, last + 1, hop))
    if last - starts[-1] > hop // 8:
        starts.append(last)
    return starts
