"""The blocks of one clip, correlated with the song on demand, and the alignments on which blocks agree."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from audio.errors import Stopped
from audio.line import Line
from audio.placement.search import (
    BIN_S,
    BLOCK_S,
    HOP_S,
    BlockPeaks,
    SongIndex,
    best_bins,
    block_evidence,
    block_starts,
)
from audio.placement.slope_search import CLOCK_SPREAD, SLOPE_LIMIT
from audio.placement.viterbi import Evidence
from audio.whitening import Whitened

NEW_LINE_COST = 18.0
"""Evidence that a new alignment must bring: the logarithm of the number of lag bins, and a margin for tails
that are not normal."""
REFLECTION_SD_S = 0.005
"""Standard deviation by which reflections shift the lag of a block. Chosen by hand."""
OUTLIER_S = 0.004
"""Residual at which a block's weight in the straight-line fit is halved. Chosen by hand."""
LEAST_CORRELATED = 3
"""Blocks of every take that are correlated with the whole song at least: their peaks show the rivals. Chosen
by hand."""


@dataclass(frozen=True, slots=True)
class BlockMatch:
    """A block and the position in the song that a candidate alignment gives it."""

    number: int
    """Index of the block."""
    song_s: float
    """Song time of the block's start (s)."""
    evidence: float
    """Log-likelihood ratio against chance."""


@dataclass(frozen=True, slots=True, eq=False)
class Alignment:
    """A run of blocks whose lags agree."""

    starts_s: NDArray[np.float64]
    """Shape (blocks,): clip time at which each block starts."""
    song_s: NDArray[np.float64]
    """Shape (blocks,): song time of that moment, to about half a bin."""
    evidence: NDArray[np.float64]
    """Shape (blocks,): log-likelihood ratio of each against chance."""

    @property
    def total(self) -> float:
        """Evidence of the whole alignment less NEW_LINE_COST."""
        return float(self.evidence.sum()) - NEW_LINE_COST


def robust_line(alignment: Alignment) -> Line:
    """Robust straight line through the blocks of an alignment (iteratively reweighted least squares).

    The prior on the slope is the spread of clocks: without it two blocks that reflections shift by some
    milliseconds could give any slope.
    """
    weight = np.maximum(alignment.evidence, 1e-3)
    lag = alignment.song_s - alignment.starts_s
    slope, offset = 0.0, 0.0
    middle = float(np.average(alignment.starts_s, weights=weight))
    prior = float(weight.mean()) * (REFLECTION_SD_S / CLOCK_SPREAD) ** 2
    for _ in range(5):
        offset = float(np.average(lag - slope * (alignment.starts_s - middle), weights=weight))
        spread = alignment.starts_s - middle
        power = float((weight * spread**2).sum())
        if power > 0:
            slope = float((weight * spread * (lag - offset)).sum() / (power + prior))
        slope = float(np.clip(slope, -SLOPE_LIMIT, SLOPE_LIMIT))
        residual = np.abs(lag - offset - slope * spread)
        weight = np.maximum(alignment.evidence, 1e-3) / (1 + (residual / OUTLIER_S) ** 2)
    return Line(middle, middle + offset, 1.0 + slope)


@dataclass
class Blocks:
    """The blocks of a clip, each correlated with the whole song when it is asked for."""

    white: Whitened
    """The whitened clip."""
    index: SongIndex
    stop: Callable[[], bool]
    progress: Callable[[float], None]
    starts: list[int] = field(init=False)
    """First sample of each block."""
    peaks: dict[int, BlockPeaks] = field(default_factory=dict)
    """Best bins of the blocks correlated so far, by number."""
    done: int = 0
    """Blocks that need no further work."""

    def __post_init__(self) -> None:
        rate = self.index.rate
        self.width = int(BIN_S * rate)
        self.starts = block_starts(len(self.white), int(BLOCK_S * rate), int(HOP_S * rate), self.width)

    def start_s(self, number: int) -> float:
        """Clip time at which a block starts (s)."""
        return self.starts[number] / self.index.rate

    def correlate(self, number: int) -> Evidence:
        """Correlate a block with the whole song and keep its best bins; the evidence of all bins. Raises
        Stopped."""
        if self.stop():
            raise Stopped("Stopped.")
        start = self.starts[number]
        piece = self.white[start : start + int(BLOCK_S * self.index.rate)]
        evidence = block_evidence(piece.astype(np.float32, copy=False), self.index)
        self.peaks[number] = best_bins(self.start_s(number), evidence)
        return evidence

    def report(self, more: int) -> None:
        """Report ``more`` blocks as done."""
        self.done += more
        self.progress(self.done / len(self.starts))

    def alignment(self, matches: Sequence[BlockMatch]) -> Alignment:
        """Matches of some blocks as one alignment."""
        return Alignment(
            np.array([self.start_s(match.number) for match in matches]),
            np.array([match.song_s for match in matches]),
            np.array([match.evidence for match in matches]),
        )

    def peaks_within(self, start_s: float, end_s: float) -> list[BlockPeaks]:
        """Best bins of the blocks between two clip times, of LEAST_CORRELATED of them at least if there are
        as many. Raises Stopped."""
        least = min(BLOCK_S, end_s - start_s) / 2
        inside = [
            number
            for number in range(len(self.starts))
            if min(end_s, self.start_s(number) + BLOCK_S) - max(start_s, self.start_s(number)) >= least
        ]
        left = [number for number in inside if number not in self.peaks]
        missing = min(LEAST_CORRELATED - (len(inside) - len(left)), len(left))
        for at in np.linspace(0, len(left) - 1, max(0, missing) + 2)[1:-1]:
            self.correlate(left[round(at)])
        return [self.peaks[number] for number in inside if number in self.peaks]
