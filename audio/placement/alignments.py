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
from audio.line import Line
from audio.placement.impulse_response import SEGMENT_S, correlate_segments
from audio.placement.search import (
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
from audio.placement.slope_search import CLOCK_SPREAD, SLOPE_LIMIT
from audio.placement.viterbi import NOWHERE, Evidence, ViterbiPath
from audio.whitening import Whitened

NEW_LINE_COST = 18.0
"""Cost of beginning a line: the logarithm of the number of lag bins, and a margin for tails that are not
normal."""
SEED_EVERY = 12
"""Blocks from one scout to the next."""
FEW_BLOCKS = 9
"""Up to so many, all blocks of a clip are looked up in the whole song."""
WIDER = 8
"""Scouts are compared in bins wider by this: from one to the next, a clock moves further."""
ASTRAY_S = 0.005
"""Standard deviation by which reflections lead a block astray."""
STEADY = 40e-6
"""A line that a look along it turns by more (s/s) is looked along again …"""
MOST_PASSES = 6
"""… so often at most, or until it ends."""
WORTH_FOLLOWING = 8.0
"""Evidence of a line through scouts from which on it is followed."""
FOLLOW_REACH_S = 0.1
"""How far to both sides of a line through scouts its blocks are compared."""
EXPLAINED = 12.0
"""Evidence near a followed line at which a block needs no look at the whole song: chance makes 5 …"""
USUAL = 0.5
"""… unless it is less than this share of what the line has otherwise."""
BESIDE_S = 0.005
"""A place in the song looked up this close to a followed line is on it."""
CHANCE = 6.0
"""Evidence that chance makes near a line."""
MOST_IN_A_RUN = 256
"""Blocks searched as one at most: in hours of clip nothing else would bound the memory."""
LOOKED_UP = 3
"""Blocks of every take looked up in the whole song at least: they show its rivals."""


@dataclass(frozen=True, slots=True, eq=False)
class Alignment:
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
        return float(self.evidence.sum()) - NEW_LINE_COST


@dataclass(frozen=True, slots=True)
class _BlockMatch:
    """A block on a line."""

    number: int
    place_s: float
    evidence: float


def robust_line(line: Alignment) -> Line:
    """A sturdy straight line through the blocks of a search line, weighted by evidence.

    Two blocks that reflections lead astray by some milliseconds would make any slope; what clocks are like is
    known beforehand.
    """
    weight = np.maximum(line.evidence, 1e-3)
    lag = line.places_s - line.starts_s
    slope, offset = 0.0, 0.0
    middle = float(np.average(line.starts_s, weights=weight))
    prior = float(weight.mean()) * (ASTRAY_S / CLOCK_SPREAD) ** 2
    for _ in range(5):
        offset = float(np.average(lag - slope * (line.starts_s - middle), weights=weight))
        spread = line.starts_s - middle
        power = float((weight * spread**2).sum())
        if power > 0:
            slope = float((weight * spread * (lag - offset)).sum() / (power + prior))
        slope = float(np.clip(slope, -SLOPE_LIMIT, SLOPE_LIMIT))
        residual = np.abs(lag - offset - slope * spread)
        weight = np.maximum(line.evidence, 1e-3) / (1 + (residual / 0.004) ** 2)
    return Line(middle, middle + offset, 1.0 + slope)


def find_alignments(
    white: Whitened, index: SongIndex, stop: Callable[[], bool], progress: Callable[[float], None]
) -> "tuple[list[Alignment], Blocks]":
    """Find the lines of a flattened clip.

    Parameters
    ----------
    flat : Flat, shape (n,)

    Returns
    -------
    lines, blocks
        The lines in clip order, and the blocks, of which some were looked up in the whole song.

    Raises
    ------
    Stopped
    """
    blocks = Blocks(white, index, stop, progress)
    candidates = _seeded_candidates(blocks) if len(blocks.starts) > FEW_BLOCKS else []
    explained = {number for lead in candidates for number in lead.explained}
    if explained:
        blocks.tell(len(explained))
    found = _searched(blocks, [number for number in range(len(blocks.starts)) if number not in explained])
    if candidates and found:
        # What was found later may have been taken for a part of what was followed first.
        candidates += [_followed(blocks, matches, SEED_EVERY) for matches in found]
        candidates = [blocks.with_full_evidence(lead) for lead in candidates]
    runs = _shared_out(candidates, len(blocks.starts)) if candidates else found
    return [_as_line(blocks, run) for run in runs], blocks


@dataclass
class Blocks:
    """The blocks of a clip, each looked up in the song when it is asked for."""

    white: Whitened
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
        self.starts = block_starts(len(self.white), int(BLOCK_S * rate), int(HOP_S * rate), self.width)

    def start_s(self, number: int) -> float:
        return self.starts[number] / self.index.rate

    def correlate(self, number: int) -> Evidence:
        if self.stop():
            raise Stopped("Stopped.")
        start = self.starts[number]
        piece = self.white[start : start + int(BLOCK_S * self.index.rate)]
        evidence = block_evidence(piece.astype(np.float32, copy=False), self.index)
        self.peaks[number] = best_bins(self.start_s(number), evidence)
        return evidence

    def tell(self, more: int) -> None:
        self.done += more
        self.progress(self.done / len(self.starts))

    def with_full_evidence(self, lead: "_Candidate") -> "_Candidate":
        """A lead whose blocks, where they are looked up, count as much for it as they do for any other."""
        matches = dict(lead.matches)
        for number, match in lead.matches.items():
            if number in self.peaks:
                peaks = self.peaks[number]
                near = np.abs((peaks.bins + 0.5) * BIN_S - BLOCK_S - match.place_s) < BESIDE_S
                evidence = float(peaks.evidence[near].max(initial=0.0))
                if evidence > match.evidence:
                    matches[number] = _BlockMatch(number, match.place_s, evidence)
        return _Candidate(matches)

    def peaks_within(self, start_s: float, end_s: float) -> list[BlockPeaks]:
        """The best bins of blocks in a stretch of the clip; at least LOOKED_UP of them, if there are as many.

        Raises Stopped.
        """
        least = min(BLOCK_S, end_s - start_s) / 2
        inside = [
            number
            for number in range(len(self.starts))
            if min(end_s, self.start_s(number) + BLOCK_S) - max(start_s, self.start_s(number)) >= least
        ]
        left = [number for number in inside if number not in self.peaks]
        missing = min(LOOKED_UP - (len(inside) - len(left)), len(left))
        for at in np.linspace(0, len(left) - 1, max(0, missing) + 2)[1:-1]:
            self.correlate(left[round(at)])
        return [self.peaks[number] for number in inside if number in self.peaks]


@dataclass(frozen=True, slots=True)
class _Candidate:
    """What one line says for the blocks near it, by number."""

    matches: dict[int, _BlockMatch]

    @property
    def explained(self) -> list[int]:
        """The blocks that need no look at the whole song: they lie on the line as well as its others do."""
        usual = float(np.median([match.evidence for match in self.matches.values()])) if self.matches else 0.0
        least = max(EXPLAINED, USUAL * usual)
        return [number for number, match in self.matches.items() if match.evidence >= least]


def _seeded_candidates(blocks: Blocks) -> list[_Candidate]:
    """The lines through the scouts, followed."""
    seeds = range(SEED_EVERY // 2, len(blocks.starts) - 1, SEED_EVERY)
    path = ViterbiPath(NEW_LINE_COST)
    wide = BIN_S * WIDER
    for turn, number in enumerate(seeds):
        evidence = blocks.correlate(number)
        used = len(evidence) // WIDER * WIDER
        moved = SEED_EVERY * int(HOP_S / wide) if turn else 0
        path.add(evidence[:used].reshape(-1, WIDER).max(axis=1), moved)
        blocks.tell(0)
    runs: list[list[_BlockMatch]] = []
    for (place, begins), number in zip(path.best(), seeds, strict=True):
        if place == NOWHERE:
            continue
        if begins:
            runs.append([])
        peaks = blocks.peaks[number]
        near = np.flatnonzero(peaks.bins // WIDER == place)
        match = _BlockMatch(number, (place + 0.5) * wide - BLOCK_S, 0.0)
        if len(near):
            best = near[peaks.evidence[near].argmax()]
            place_s = (float(peaks.bins[best]) + 0.5) * BIN_S - BLOCK_S
            match = _BlockMatch(number, place_s, float(peaks.evidence[best]))
        runs[-1].append(match)
    worth = [matches for matches in runs if _as_line(blocks, matches).total > WORTH_FOLLOWING]
    return [_followed(blocks, matches, SEED_EVERY - 1) for matches in worth]


def _followed(blocks: Blocks, matches: Sequence[_BlockMatch], beyond: int) -> _Candidate:
    """Follow a line as far as it goes: from ``beyond`` blocks before its first to ``beyond`` after its last,
    and on from there where the blocks at the end of that still lie on it."""
    line = robust_line(_as_line(blocks, matches))
    for _ in range(MOST_PASSES):
        lead = _followed_near(blocks, matches, line, beyond)
        on_it = sorted(lead.explained)
        if len(on_it) < 2:
            break
        low, high = matches[0].number - beyond, matches[-1].number + beyond
        ends = on_it[0] > max(0, low) or low <= 0, on_it[-1] < high or high >= len(blocks.starts) - 1
        closer = robust_line(_as_line(blocks, [lead.matches[number] for number in on_it]))
        if all(ends) and abs(closer.speed - line.speed) < STEADY:
            break
        line, beyond = closer, SEED_EVERY
        matches = [lead.matches[number] for number in on_it]
    return lead


def _followed_near(blocks: Blocks, matches: Sequence[_BlockMatch], line: Line, beyond: int) -> _Candidate:
    index, rate = blocks.index, blocks.index.rate
    low = max(0, matches[0].number - beyond)
    high = min(len(blocks.starts), matches[-1].number + beyond + 1)
    told = {match.number: match for match in matches}
    start_s, end_s = blocks.start_s(low), blocks.start_s(high - 1) + BLOCK_S
    segments = correlate_segments(blocks.white, index, line, start_s, end_s, FOLLOW_REACH_S)
    if segments is None:
        return _Candidate(told)
    half = int(FOLLOW_REACH_S * rate)
    rows = np.floor(segments.centre_s - start_s).astype(int)
    count = int(rows[-1]) + 1
    lags = np.zeros((count + 1, 2 * half), np.float32)
    noise = np.zeros(count + 1)
    shifted = np.fft.fftshift(scipy.fft.irfft(segments.spectra, segments.size, axis=1), axes=1)
    lags[rows + 1] = shifted[:, segments.size // 2 - half : segments.size // 2 + half]
    noise[rows + 1] = segments.noise**2
    lags, noise = np.cumsum(lags, axis=0), np.cumsum(noise)
    local = np.zeros((high - low, 2 * half // blocks.width), np.float32)
    for number in range(low, high):
        first = round((blocks.start_s(number) - start_s) / SEGMENT_S)
        last = min(count, first + round(BLOCK_S / SEGMENT_S))
        first = min(first, last)
        power = (lags[last] - lags[first]) ** 2
        local[number - low] = binned_evidence(power, float(noise[last] - noise[first]), blocks.width)
    for number, best in zip(range(low, high), _drifting(local), strict=True):
        evidence = float(local[number - low, best])
        if evidence > (told[number].evidence if number in told else 0.0):
            lag = (best + 0.5) * BIN_S - FOLLOW_REACH_S
            told[number] = _BlockMatch(number, line.song_time(blocks.start_s(number)) + lag, evidence)
    return _Candidate(told)


def _drifting(local: Evidence) -> list[int]:
    """The best bin of each block, never further than a bin from that of the block before: where sound is
    smeared over many bins, the best of each by itself would jump about."""
    scores = local[0].copy()
    came = np.zeros(local.shape, np.int8)
    for row in range(1, len(local)):
        padded = np.pad(scores, 1, constant_values=-np.inf)
        sides = np.stack([padded[1:-1], padded[:-2], padded[2:]])
        side = sides.argmax(axis=0)
        came[row] = np.array([0, -1, 1], np.int8)[side]
        scores = sides.max(axis=0) + local[row]
    path = [int(scores.argmax())]
    for row in range(len(local) - 1, 0, -1):
        path.append(path[-1] + int(came[row, path[-1]]))
    return path[::-1]


def _shared_out(candidates: Sequence[_Candidate], count: int) -> list[list[_BlockMatch]]:
    """Give every block to the lead that explains most, where changing from one to another has its cost."""
    told = np.zeros((count, len(candidates)), np.float32)
    for column, lead in enumerate(candidates):
        for number, match in lead.matches.items():
            told[number, column] = match.evidence
    came = np.zeros(told.shape, np.intp)
    scores, nowhere = np.full(len(candidates), -np.inf, np.float32), 0.0
    nowhere_came = np.zeros(count, np.intp)
    for number in range(count):
        best = int(scores.argmax())
        rest = max(nowhere, float(scores[best]))
        nowhere_came[number] = best if scores[best] > nowhere else NOWHERE
        begun = scores < rest - NEW_LINE_COST
        came[number] = np.where(begun, nowhere_came[number], np.arange(len(candidates)))
        scores = np.where(begun, np.float32(rest - NEW_LINE_COST), scores) + told[number]
        nowhere = rest
    state = int(scores.argmax()) if scores.max() > nowhere else NOWHERE
    runs: list[list[_BlockMatch]] = []
    last = NOWHERE
    for number in range(count - 1, -1, -1):
        if state != NOWHERE and number in candidates[state].matches:
            if state != last:
                runs.append([])
                last = state
            runs[-1].append(candidates[state].matches[number])
        before = nowhere_came[number] if state == NOWHERE else came[number][state]
        if before != state:
            last = NOWHERE
        state = int(before)
    return [trimmed for run in runs[::-1] if (trimmed := _trimmed(run[::-1]))]


def _trimmed(run: list[_BlockMatch]) -> list[_BlockMatch]:
    """A run without what chance has added at its ends."""
    more = [number for number, match in enumerate(run) if match.evidence > CHANCE]
    return run[more[0] : more[-1] + 1] if more else []


def _searched(blocks: Blocks, numbers: Sequence[int]) -> list[list[_BlockMatch]]:
    """The lines through blocks that nothing explains yet, each run of neighbours by itself.

    A line that runs over the end of a run is found in two pieces, which are one again once they are fitted.
    """
    runs: list[list[_BlockMatch]] = []
    for _, group in groupby(enumerate(numbers), lambda pair: (pair[1] - pair[0], pair[1] // MOST_IN_A_RUN)):
        run = [number for _, number in group]
        path = ViterbiPath(NEW_LINE_COST)
        for turn, number in enumerate(run):
            moved = (blocks.starts[number] - blocks.starts[number - 1]) // blocks.width if turn else 0
            path.add(blocks.correlate(number), moved)
            blocks.tell(1)
        for (place, begins), number in zip(path.best(), run, strict=True):
            if place == NOWHERE:
                continue
            if begins:
                runs.append([])
            peaks = blocks.peaks[number]
            found = peaks.evidence[peaks.bins == place]
            runs[-1].append(
                _BlockMatch(number, (place + 0.5) * BIN_S - BLOCK_S, float(found.max(initial=0.0)))
            )
    return [run for run in runs if _as_line(blocks, run).total > 0]


def _as_line(blocks: Blocks, matches: Sequence[_BlockMatch]) -> Alignment:
    return Alignment(
        np.array([blocks.start_s(match.number) for match in matches]),
        np.array([match.place_s for match in matches]),
        np.array([match.evidence for match in matches]),
    )
