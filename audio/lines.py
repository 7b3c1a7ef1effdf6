"""Where in the song a clip may run: the lines on which its blocks agree.

Blocks that agree on one slowly drifting lag support each other. A lag is a place in the song minus a place
in the clip. Of a long clip a few blocks, the scouts, are looked up in the whole song; the lines through them
are followed through the blocks between, near the line only, which costs next to nothing. What no line
explains is looked up in the whole song as well, so that nothing is passed over.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from itertools import groupby

import numpy as np
import scipy.fft
from numpy.typing import NDArray

from audio.errors import Stopped
from audio.focus import SLOPE_LIMIT
from audio.paths import NOWHERE, Evidence, Path, best_path
from audio.response import STRETCH_S, ClockLine, correlate_stretches
from audio.search import (
    BIN_S,
    BLOCK_S,
    HOP_S,
    BlockPeaks,
    SongIndex,
    best_bins,
    binned_evidence,
    block_evidence,
    block_starts,
)
from audio.signals import Samples

JUMP_COST = 18.0
"""Cost of beginning a line: the logarithm of the number of lag bins, and a margin for tails that are not
normal."""
SCOUT_EVERY = 12
"""Blocks from one scout to the next."""
FEW_BLOCKS = 9
"""Up to so many, all blocks of a clip are looked up in the whole song."""
WIDER = 8
"""Scouts are compared in bins wider by this: from one to the next, a clock moves further."""
LEAD_WORTH = 8.0
"""Evidence of a line through scouts from which on it is followed."""
FOLLOW_REACH_S = 0.1
"""How far to both sides of a line through scouts its blocks are compared."""
FOLLOW_COST = 12.0
"""Cost of beginning a line in there: far fewer bins."""
EXPLAINED = 12.0
"""Evidence near a followed line at which a block needs no look at the whole song: chance makes 5."""
LOOKED_UP = 3
"""Blocks of every line looked up in the whole song at least: they show the rivals."""

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


@dataclass(frozen=True, slots=True)
class _Spot:
    """A block on a line."""

    number: int
    place_s: float
    evidence: float
    begins: bool


def rough_line(line: Line) -> ClockLine:
    """A sturdy straight line through the blocks of a search line (weighted by evidence, slope within
    limits)."""
    weight = np.maximum(line.evidence, 1e-3)
    lag = line.places_s - line.starts_s
    slope, offset = 0.0, 0.0
    middle = float(np.average(line.starts_s, weights=weight))
    for _ in range(5):
        offset = float(np.average(lag - slope * (line.starts_s - middle), weights=weight))
        spread = line.starts_s - middle
        power = float((weight * spread**2).sum())
        if power > 0:
            slope = float((weight * spread * (lag - offset)).sum() / (power + 4e2))
        slope = float(np.clip(slope, -SLOPE_LIMIT, SLOPE_LIMIT))
        residual = np.abs(lag - offset - slope * spread)
        weight = np.maximum(line.evidence, 1e-3) / (1 + (residual / 0.004) ** 2)
    return ClockLine(middle, middle + offset, 1.0 + slope)


def find_lines(
    flat: Samples, index: SongIndex, stop: Callable[[], bool], progress: Callable[[float], None]
) -> tuple[list[Line], list[BlockPeaks]]:
    """Find the lines of a flattened clip.

    Parameters
    ----------
    flat : float32 or float16, shape (n,)

    Returns
    -------
    lines, peaks
        The lines in clip order, and the best bins of the blocks that were looked up in the whole song.

    Raises
    ------
    Stopped
    """
    blocks = _Blocks(flat, index, stop, progress)
    explained = _followed(blocks) if len(blocks.starts) > FEW_BLOCKS else {}
    others = [number for number in range(len(blocks.starts)) if number not in explained]
    found = _searched(blocks, others)
    cuts = sorted(run[0].number for run in found if _as_line(blocks, run).total > 0)
    lines = [_as_line(blocks, run) for run in (*found, *_parted(explained, cuts))]
    lines.sort(key=lambda line: float(line.starts_s[0]))
    for line in lines:
        if line.total > 0:
            blocks.look_up_some(line)
    return lines, [blocks.peaks[number] for number in sorted(blocks.peaks)]


@dataclass
class _Blocks:
    """The blocks of a clip, each looked up in the song when it is asked for."""

    flat: Samples
    index: SongIndex
    stop: Callable[[], bool]
    progress: Callable[[float], None]
    starts: list[int] = field(init=False)
    peaks: dict[int, BlockPeaks] = field(default_factory=dict)
    done: int = 0
    """Blocks that need no further look."""

    def __post_init__(self) -> None:
        rate = self.index.rate
        self.width = int(BIN_S * rate)
        self.starts = block_starts(len(self.flat), int(BLOCK_S * rate), int(HOP_S * rate), self.width)

    def start_s(self, number: int) -> float:
        return self.starts[number] / self.index.rate

    def look_up(self, number: int) -> Evidence:
        if self.stop():
            raise Stopped("Stopped.")
        start = self.starts[number]
        piece = self.flat[start : start + int(BLOCK_S * self.index.rate)]
        evidence = block_evidence(piece.astype(np.float32, copy=False), self.index)
        self.peaks[number] = best_bins(self.start_s(number), evidence)
        return evidence

    def tell(self, more: int) -> None:
        self.done += more
        self.progress(self.done / len(self.starts))

    def look_up_some(self, line: Line) -> None:
        """See that LOOKED_UP blocks of a line are looked up."""
        numbers = [number for number in range(len(self.starts)) if self.start_s(number) in line.starts_s]
        missing = min(LOOKED_UP, len(numbers)) - sum(number in self.peaks for number in numbers)
        left = [number for number in numbers if number not in self.peaks]
        for number in left[len(left) // 2 - missing // 2 :][: max(0, missing)]:
            self.look_up(number)


def _followed(blocks: _Blocks) -> dict[int, _Spot]:
    """Blocks that lie on a line through the scouts, by number."""
    scouts = range(SCOUT_EVERY // 2, len(blocks.starts) - 1, SCOUT_EVERY)
    path = Path(JUMP_COST)
    wide = BIN_S * WIDER
    for turn, number in enumerate(scouts):
        evidence = blocks.look_up(number)
        used = len(evidence) // WIDER * WIDER
        moved = SCOUT_EVERY * int(HOP_S / wide) if turn else 0
        path.add(evidence[:used].reshape(-1, WIDER).max(axis=1), moved)
        blocks.tell(0)
    leads: list[list[_Spot]] = []
    for (place, begins), number in zip(path.best(), scouts, strict=True):
        if place == NOWHERE:
            continue
        if begins:
            leads.append([])
        peaks = blocks.peaks[number]
        near = peaks.evidence[peaks.bins // WIDER == place]
        leads[-1].append(
            _Spot(number, (place + 0.5) * wide - BLOCK_S, float(near.max(initial=0.0)), False)
        )
    explained: dict[int, _Spot] = {}
    taken = {spot.number: lead for lead, spots in enumerate(leads) for spot in spots}
    for lead, spots in enumerate(leads):
        line = _as_line(blocks, spots)
        if line.total < LEAD_WORTH:
            continue
        low, high = spots[0].number, spots[-1].number
        numbers = [
            number
            for number in range(low - SCOUT_EVERY + 1, high + SCOUT_EVERY)
            if 0 <= number < len(blocks.starts) and taken.get(number, lead) == lead
        ]
        for spot in _along(blocks, rough_line(line), numbers):
            if spot.evidence > explained.get(spot.number, spot).evidence or spot.number not in explained:
                explained[spot.number] = spot
    blocks.tell(len(explained))
    return explained


def _along(blocks: _Blocks, line: ClockLine, numbers: Sequence[int]) -> list[_Spot]:
    """The blocks that clearly lie near a line."""
    index, rate = blocks.index, blocks.index.rate
    start_s, end_s = blocks.start_s(numbers[0]), blocks.start_s(numbers[-1]) + BLOCK_S
    stretches = correlate_stretches(blocks.flat, index, line, start_s, end_s, FOLLOW_REACH_S)
    if stretches is None:
        return []
    half = int(FOLLOW_REACH_S * rate)
    rows = np.floor(stretches.centre_s - start_s).astype(int)
    count = int(rows[-1]) + 1
    lags = np.zeros((count + 1, 2 * half), np.float32)
    noise = np.zeros(count + 1)
    shifted = np.fft.fftshift(scipy.fft.irfft(stretches.spectra, stretches.size, axis=1), axes=1)
    lags[rows + 1] = shifted[:, stretches.size // 2 - half : stretches.size // 2 + half]
    noise[rows + 1] = stretches.noise**2
    lags, noise = np.cumsum(lags, axis=0), np.cumsum(noise)
    local = []
    for number in numbers:
        first = round((blocks.start_s(number) - start_s) / STRETCH_S)
        last = min(count, first + round(BLOCK_S / STRETCH_S))
        first = min(first, last)
        power = (lags[last] - lags[first]) ** 2
        chance = float(noise[last] - noise[first])
        local.append(binned_evidence(power, chance, blocks.width))
    spots = []
    path = best_path(local, [0] * len(local), FOLLOW_COST)
    for number, evidence, (place, begins) in zip(numbers, local, path, strict=True):
        if place != NOWHERE and evidence[place] >= EXPLAINED:
            lag = (place + 0.5) * BIN_S - FOLLOW_REACH_S
            place_s = line.song_time(blocks.start_s(number)) + lag
            spots.append(_Spot(number, place_s, float(evidence[place]), begins))
    return spots


def _searched(blocks: _Blocks, numbers: Sequence[int]) -> list[list[_Spot]]:
    """The lines through blocks that nothing explains yet, each run of neighbours by itself."""
    runs: list[list[_Spot]] = []
    for _, group in groupby(enumerate(numbers), lambda pair: pair[1] - pair[0]):
        run = [number for _, number in group]
        path = Path(JUMP_COST)
        for turn, number in enumerate(run):
            moved = (blocks.starts[number] - blocks.starts[number - 1]) // blocks.width if turn else 0
            path.add(blocks.look_up(number), moved)
            blocks.tell(1)
        for (place, begins), number in zip(path.best(), run, strict=True):
            if place == NOWHERE:
                continue
            if begins:
                runs.append([])
            peaks = blocks.peaks[number]
            found = peaks.evidence[peaks.bins == place]
            runs[-1].append(
                _Spot(number, (place + 0.5) * BIN_S - BLOCK_S, float(found.max(initial=0.0)), begins)
            )
    return runs


def _parted(explained: dict[int, _Spot], cuts: Sequence[int]) -> list[list[_Spot]]:
    """The followed lines, parted where they begin anew and where another line lies between."""
    runs: list[list[_Spot]] = []
    last: _Spot | None = None
    for number in sorted(explained):
        spot = explained[number]
        if last is None or spot.begins or any(last.number < cut < number for cut in cuts):
            runs.append([])
        runs[-1].append(spot)
        last = spot
    return runs


def _as_line(blocks: _Blocks, spots: Sequence[_Spot]) -> Line:
    return Line(
        np.array([blocks.start_s(spot.number) for spot in spots]),
        np.array([spot.place_s for spot in spots]),
        np.array([spot.evidence for spot in spots]),
    )
