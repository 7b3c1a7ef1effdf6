"""A block of a clip against the whole song: how much better than chance it fits in each place.

One block is never trusted: songs repeat themselves, and single blocks do jump to the wrong chorus. What
blocks agree on is found in audio/placement/lines.py.
"""

from dataclasses import dataclass

import numpy as np
import scipy.fft
import scipy.signal
from numpy.typing import NDArray

from audio.signals import Samples
from audio.whitening import whiten

BLOCK_S = 8.0
"""Length of a block: short enough that 300 ppm smear it by 2.4 ms only."""
HOP_S = 4.0
"""Blocks overlap by half, so that an 8 s pick-up fills at least one of them well."""
BIN_S = 0.002
"""Width of a lag bin: what a clock 500 ppm off moves in one hop."""
PEAKS_KEPT = 64
"""Best lag bins, and best neighbourhoods, of each block kept for the rivals."""
CELL = 20
"""Bins of a neighbourhood."""
EVIDENCE_KNEE = 40.0
"""Where the evidence of one block (log likelihood ratio) begins to be bent down to its logarithm: a line
needs the agreement of several blocks, and yet the strongest of many strong bins stays the strongest."""
FFT_SIZES = (131072, 163840, 196608, 262144)
"""Lengths of the song's pieces to choose from."""
AT_ONCE = 4
"""Transforms that the library works on at once: pieces come in multiples of that."""
OVERSAMPLING = 4
SILENT_NOISE = 1e-3
"""A flattened block makes some ten thousand of this; only one without sound makes less."""
AUDIBLE_S = 0.05
INAUDIBLE = 10 ** (-45 / 10)
"""Below this share of the song's power a moment of it is silent."""
SILENT = 10 ** (-50 / 20)
"""Below this share of the song's RMS its head and tail count as silence."""


@dataclass(frozen=True, slots=True, eq=False)
class SongIndex:
    """A song made ready for many clips."""

    rate: int
    duration_s: float
    samples: Samples
    """The song as it is, shape (n,)."""
    white: Samples
    """The flattened song, shape (n,)."""
    fine: Samples
    """The same at FINER times the rate, for places between samples."""
    spectra: NDArray[np.complex64]
    """Spectra of overlapping pieces of the flattened song, shape (pieces, size // 2 + 1)."""
    size: int
    """Length of such a piece (samples)."""
    head_s: float
    tail_s: float
    """Seconds of next to silence at the song's start and end."""
    audible: NDArray[np.bool_]
    """For each AUDIBLE_S of the song whether there is any sound."""

    @classmethod
    def build(cls, samples: Samples, rate: int) -> "SongIndex":
        """Flatten a song and transform it piece by piece; ``samples`` float32, shape (n,)."""
        white = whiten(samples, rate)
        block = int(BLOCK_S * rate)
        padded = np.concatenate([np.zeros(block, np.float32), white])
        size = min(FFT_SIZES, key=lambda size: _pieces(len(padded), size - block) * size)
        step, pieces = size - block, _pieces(len(padded), size - block)
        padded = np.pad(padded, (0, pieces * step + size - len(padded)))
        windows = np.lib.stride_tricks.sliding_window_view(padded, size)[: pieces * step : step]
        return cls(
            rate,
            len(samples) / rate,
            samples,
            white,
            scipy.signal.resample_poly(white, OVERSAMPLING, 1).astype(np.float32),
            scipy.fft.rfft(windows, axis=1),
            size,
            *_silent_ends(samples, rate),
            _audible(samples, rate),
        )


@dataclass(frozen=True, slots=True, eq=False)
class BlockPeaks:
    """The best lag bins of one block."""

    start_s: float
    """Where the block starts in the clip."""
    bins: NDArray[np.int32]
    """Shape (kept,): bins of *place in the song of the block's start*, from the song's start minus one
    block."""
    evidence: NDArray[np.float32]
    """Shape (kept,): log likelihood ratio of each, against chance."""


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
    """Tell for every lag bin how much better than chance the block fits there.

    Parameters
    ----------
    block : float32, shape (up to BLOCK_S * rate,)
        Flattened.

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
    # Half of the squares of normal noise are above 0.455: sturdy against the song's own peaks.
    noise = float(np.median(power[::61])) / 0.455
    return binned_evidence(power, noise, width)


def binned_evidence(power: Samples, noise: float, width: int) -> NDArray[np.float32]:
    """Evidence, for bins of ``width`` lags, that a correlation is more than chance.

    Two tests a bin: its highest correlation value (a clean, direct sound), and its energy over two bins (a
    sound smeared by reflections or by a clock that drifts). Each is a log likelihood ratio of a normal signal
    of unknown strength against noise; the better one counts, bent down above a knee.

    Parameters
    ----------
    power : float32, shape (..., n * width)
        Squared correlation.
    noise : float
        What chance gives on average.
    width : int
        A power of two.

    Returns
    -------
    float32, shape (..., n)
        Nothing but zeros where there is next to no noise, that is, no sound.
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
    # The logarithm is dear, and of most bins the energy says nothing.
    high = energy > 1.2
    ratio = energy[high]
    best[high] = np.maximum(best[high], width * (ratio - 1 - np.log(ratio)) - np.float32(2.0))
    high = best > EVIDENCE_KNEE
    best[high] = EVIDENCE_KNEE * (1 + 0.25 * np.log(best[high] / EVIDENCE_KNEE))
    return best


def best_bins(start_s: float, evidence: NDArray[np.float32]) -> BlockPeaks:
    """Keep the PEAKS_KEPT best bins of a block that starts at ``start_s`` of the clip, and the best bin of
    each of the PEAKS_KEPT best neighbourhoods: smeared sound would else fill all bins with one place."""
    kept = min(PEAKS_KEPT, len(evidence))
    bins = np.argpartition(evidence, -kept)[-kept:]
    cells = evidence[: len(evidence) // CELL * CELL].reshape(-1, CELL)
    if len(cells):
        highest = cells.argmax(axis=1)
        best = cells[np.arange(len(cells)), highest]
        kept = min(PEAKS_KEPT, len(cells))
        some = np.argpartition(best, -kept)[-kept:]
        bins = np.union1d(bins, some * CELL + highest[some])
    chosen: NDArray[np.int32] = bins.astype(np.int32)
    return BlockPeaks(start_s, chosen, evidence[chosen])


def block_starts(length: int, block: int, hop: int, unit: int) -> list[int]:
    """Starts of the blocks of a clip, multiples of ``unit`` samples; the last one ends with the clip."""
    last = max(0, length - block) // unit * unit
    starts = list(range(0, last + 1, hop))
    if last - starts[-1] > hop // 8:
        starts.append(last)
    return starts
