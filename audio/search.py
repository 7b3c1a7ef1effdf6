"""Where in the song a clip may run: every block of the clip against the whole song, and the lines they form.

One block is never trusted: songs repeat themselves, and single blocks do jump to the wrong chorus. Blocks
that agree on one slowly drifting lag support each other; a restart or a stop ends a line, so that one clip
can hold several takes. A lag is a place in the song minus a place in the clip.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import scipy.fft
import scipy.signal
from numpy.typing import NDArray

from audio.errors import Stopped
from audio.signals import Samples, flatten

BLOCK_S = 8.0
"""Length of a block: short enough that 300 ppm smear it by 2.4 ms only."""
HOP_S = 4.0
"""Blocks overlap by half, so that an 8 s pick-up fills at least one of them well."""
BIN_S = 0.002
"""Width of a lag bin: what a clock 500 ppm off moves in one hop."""
PEAKS_KEPT = 64
"""Best lag bins of each block kept for the rivals."""
EVIDENCE_KNEE = 40.0
"""Where the evidence of one block (log likelihood ratio) begins to be bent down to its logarithm: a line
needs the agreement of several blocks, and yet the strongest of many strong bins stays the strongest."""
JUMP_COST = 18.0
"""Cost of beginning a line: the logarithm of the number of lag bins, and a margin for tails that are not
normal."""
FFT_SIZE = 1 << 17
FINER = 4
SILENT = 10 ** (-50 / 20)
"""Below this share of the song's RMS its head and tail count as silence."""


NOWHERE = -1
"""State of a block that lies on no line."""
BEGIN = 2
"""Step of a block with which a line begins."""


@dataclass(frozen=True, slots=True, eq=False)
class SongIndex:
    """A song made ready for many clips."""

    rate: int
    duration_s: float
    samples: Samples
    """The song as it is, shape (n,)."""
    flat: Samples
    """The flattened song, shape (n,)."""
    fine: Samples
    """The same at FINER times the rate, for places between samples."""
    spectra: NDArray[np.complex64]
    """Spectra of overlapping pieces of the flattened song, shape (pieces, FFT_SIZE // 2 + 1)."""
    head_s: float
    tail_s: float
    """Seconds of next to silence at the song's start and end."""

    @classmethod
    def build(cls, samples: Samples, rate: int) -> "SongIndex":
        """Flatten a song and transform it piece by piece; ``samples`` float32, shape (n,)."""
        flat = flatten(samples, rate)
        block = int(BLOCK_S * rate)
        step = FFT_SIZE - block
        padded = np.concatenate([np.zeros(block, np.float32), flat])
        pieces = -(-len(padded) // step)
        padded = np.pad(padded, (0, pieces * step + FFT_SIZE - len(padded)))
        windows = np.lib.stride_tricks.sliding_window_view(padded, FFT_SIZE)[: pieces * step : step]
        fine = scipy.signal.resample_poly(flat, FINER, 1).astype(np.float32)
        head, tail = _silent_ends(samples, rate)
        return cls(
            rate, len(samples) / rate, samples, flat, fine, scipy.fft.rfft(windows, axis=1), head, tail
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


@dataclass(frozen=True, slots=True, eq=False)
class Line:
    """A run of blocks whose lags agree."""

    starts_s: NDArray[np.float64]
    """Shape (blocks,): where each block starts in the clip."""
    places_s: NDArray[np.float64]
    """Shape (blocks,): where it lies in the song, to about half a bin."""
    evidence: NDArray[np.float64]
    """Shape (blocks,): what each says for the line."""

    @property
    def total(self) -> float:
        """Evidence of the whole line less the cost of beginning one."""
        return float(self.evidence.sum()) - JUMP_COST


def _silent_ends(samples: Samples, rate: int) -> tuple[float, float]:
    loud = np.flatnonzero(np.abs(samples) > SILENT * np.sqrt(np.mean(samples.astype(np.float64) ** 2)))
    if not len(loud):
        return len(samples) / rate, 0.0
    return float(loud[0]) / rate, (len(samples) - 1 - float(loud[-1])) / rate


def block_evidence(block: Samples, index: SongIndex) -> NDArray[np.float32]:
    """Tell for every lag bin how much better than chance the block fits there.

    Two tests a bin: its highest correlation value (a clean, direct sound), and its energy over 4 ms (a sound
    smeared by reflections or by a clock that drifts). Each is a log likelihood ratio of a normal signal of
    unknown strength against unit noise; the better one counts.

    Parameters
    ----------
    block : float32, shape (BLOCK_S * rate,)
        Flattened; padded with zeros if the clip is shorter.

    Returns
    -------
    float32, shape (bins,)
        Bin 0 begins one block before the song's start.
    """
    step = FFT_SIZE - len(block)
    spectrum = np.conj(scipy.fft.rfft(block, FFT_SIZE))
    values = scipy.fft.irfft(index.spectra * spectrum, FFT_SIZE, axis=1)[:, :step].reshape(-1)
    width = int(BIN_S * index.rate)
    used = (len(index.flat) + len(block)) // width * width
    values = values[:used]
    power = values * values
    # The 40th hundredth of the squares of normal noise is 0.275: sturdy against the song's own peaks.
    noise = np.percentile(power[::7], 40) / 0.275
    if noise <= 0:
        return np.zeros(used // width, np.float32)
    power /= noise
    power = power.reshape(-1, width)
    peak = power.max(axis=1) / 2 - np.float32(np.log(width) + 1.0)
    energy = power.sum(axis=1)
    pair = energy.copy()
    pair[:-1] += energy[1:]
    degrees = 2 * width
    ratio = np.maximum(pair / degrees, 1.0)
    smeared = degrees / 2 * (ratio - 1 - np.log(ratio)) - 2.0
    best = np.maximum(peak, smeared)
    bent = EVIDENCE_KNEE * (1 + 0.25 * np.log(np.maximum(best, EVIDENCE_KNEE) / EVIDENCE_KNEE))
    return np.asarray(np.minimum(best, bent), np.float32)


def find_lines(
    flat: Samples, index: SongIndex, stop: Callable[[], bool], progress: Callable[[float], None]
) -> tuple[list[Line], list[BlockPeaks]]:
    """Find the best set of lines through all blocks of a flattened clip (dynamic programming).

    In each block the clip is either nowhere in the song or in one bin; staying on a line, give or take one
    bin, is free, beginning a line costs JUMP_COST. Memory: a quarter of a byte a block and bin.

    Returns
    -------
    lines, peaks
        The lines in clip order, and each block's best bins.

    Raises
    ------
    Stopped
    """
    width = int(BIN_S * index.rate)
    block = int(BLOCK_S * index.rate)
    starts = block_starts(len(flat), block, int(HOP_S * index.rate), width)
    peaks: list[BlockPeaks] = []
    steps: list[NDArray[np.uint8]] = []
    before: list[int] = []
    line: NDArray[np.float32] = np.empty(0, np.float32)
    nowhere = 0.0
    for number, start in enumerate(starts):
        if stop():
            raise Stopped("Stopped.")
        piece = flat[start : start + block]
        evidence = block_evidence(np.pad(piece, (0, block - len(piece))), index)
        peaks.append(_best_bins(start / index.rate, evidence))
        # A path that begins a line here, or is nowhere here, comes from the best state before.
        last = int(line.argmax()) if number else NOWHERE
        if number and line[last] <= nowhere:
            last = NOWHERE
        nowhere = nowhere if last == NOWHERE else float(line[last])
        step = np.full(len(evidence), BEGIN, np.int8)
        best = np.full(len(evidence), nowhere - JUMP_COST, np.float32)
        if number:
            moved = (start - starts[number - 1]) // width
            for side in (0, -1, 1):
                came = _shifted(line, moved + side)
                better = came > best
                best[better] = came[better]
                step[better] = side
        line = best + evidence
        steps.append(_packed(step))
        before.append(last)
        progress((number + 1) / len(starts))
    end = int(line.argmax())
    path = _trace(steps, before, end if line[end] > nowhere else NOWHERE, [s // width for s in starts])
    return _lines(path, peaks), peaks


def block_starts(length: int, block: int, hop: int, unit: int) -> list[int]:
    """Starts of the blocks of a clip, multiples of ``unit`` samples; the last one ends with the clip."""
    last = max(0, length - block) // unit * unit
    starts = list(range(0, last + 1, hop))
    if last - starts[-1] > hop // 8:
        starts.append(last)
    return starts


def _best_bins(start_s: float, evidence: NDArray[np.float32]) -> BlockPeaks:
    kept = min(PEAKS_KEPT, len(evidence))
    bins = np.argpartition(evidence, -kept)[-kept:].astype(np.int32)
    return BlockPeaks(start_s, bins, evidence[bins])


def _shifted(line: NDArray[np.float32], bins: int) -> NDArray[np.float32]:
    """The scores moved up by ``bins``; what moves past the end is lost."""
    out = np.full(len(line), -np.inf, np.float32)
    if bins < len(line):
        out[bins:] = line[: len(line) - bins]
    return out


def _packed(step: NDArray[np.int8]) -> NDArray[np.uint8]:
    """Steps -1, 0, 1 and BEGIN, four to a byte: of a clip of hours there are hundreds of millions."""
    codes = np.zeros(-(-len(step) // 4) * 4, np.uint8)
    codes[: len(step)] = step + 1
    four = codes.reshape(-1, 4)
    return np.asarray(four[:, 0] | four[:, 1] << 2 | four[:, 2] << 4 | four[:, 3] << 6, np.uint8)


def _unpacked(packed: NDArray[np.uint8], place: int) -> int:
    """One step of :func:`_packed`.

    >>> [_unpacked(_packed(np.array([-1, 2, 0, 1, 2], np.int8)), place) for place in range(5)]
    [-1, 2, 0, 1, 2]
    """
    return (int(packed[place // 4]) >> 2 * (place % 4) & 3) - 1


def _trace(
    steps: list[NDArray[np.uint8]], before: list[int], end: int, start_bins: list[int]
) -> list[tuple[int, bool]]:
    """Walk back from the best end: for each block its bin (or NOWHERE), and whether a line begins there."""
    path: list[tuple[int, bool]] = []
    state = end
    for number in range(len(steps) - 1, -1, -1):
        if state == NOWHERE:
            path.append((NOWHERE, False))
            state = before[number]
            continue
        step = _unpacked(steps[number], state)
        path.append((state, step == BEGIN))
        moved = start_bins[number] - start_bins[number - 1] if number else 0
        state = before[number] if step == BEGIN else state - moved - step
    return path[::-1]


def _lines(path: list[tuple[int, bool]], peaks: list[BlockPeaks]) -> list[Line]:
    """Gather the blocks of each line."""
    runs: list[list[tuple[float, float, float]]] = []
    for (place, begins), block in zip(path, peaks, strict=True):
        if place == NOWHERE:
            continue
        if begins:
            runs.append([])
        found = np.flatnonzero(block.bins == place)
        evidence = float(block.evidence[found[0]]) if len(found) else 0.0
        runs[-1].append((block.start_s, (place + 0.5) * BIN_S - BLOCK_S, evidence))
    return [Line(*(np.array(column) for column in zip(*run, strict=True))) for run in runs]
