"""Candidate alignments of a clip with the song: lines on which its blocks agree.

Blocks that agree on one slowly drifting lag support each other. (A lag is a song time minus a clip time.) Of
a long clip only some blocks, the seeds, are correlated with the whole song. The candidate alignments through
them are followed through the blocks between, near the line only, which costs little. Blocks that no candidate
explains are correlated with the whole song as well, so that nothing is missed.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import groupby

import numpy as np
import scipy.fft

from audio.line import Line
from audio.placement.blocks import NEW_LINE_COST, Alignment, BlockMatch, Blocks, robust_line
from audio.placement.impulse_response import SEGMENT_S, correlate_segments
from audio.placement.search import BIN_S, BLOCK_S, HOP_S, SongIndex, binned_evidence
from audio.placement.viterbi import NOWHERE, Evidence, ViterbiPath
from audio.whitening import Whitened

SEED_EVERY = 12
"""Blocks from one seed to the next: 48 s. Chosen by hand: takes are longer than that, or found later."""
FEW_BLOCKS = 9
"""Up to so many, all blocks of a clip are correlated with the whole song."""
WIDER = 8
"""Seeds are compared in bins wider by this factor: from one to the next, a clock drifts further."""
STEADY = 40e-6
"""A candidate is followed again where that changed its slope by more (s/s) …"""
MOST_PASSES = 6
"""… so often at most, or until it ends. Chosen by hand."""
WORTH_FOLLOWING = 8.0
"""Evidence of a candidate through seeds from which on it is followed. Chosen by hand."""
FOLLOW_REACH_S = 0.1
"""Blocks are correlated this far to both sides of a candidate. Chosen by hand: reflections and the seeds'
wider bins shift lags by less."""
EXPLAINED = 12.0
"""Evidence near a candidate at which it explains a block: chance makes 5 …"""
EXPLAINED_SHARE = 0.5
"""… unless it is less than this share of the candidate's median block. Chosen by hand."""
SAME_LAG_S = 0.005
"""A peak of the whole-song correlation this close to a candidate lies on it."""
CHANCE = 6.0
"""Evidence that chance makes near a candidate."""
MOST_AT_ONCE = 256
"""Blocks searched in one path at most: in hours of clip nothing else would bound the memory."""


def find_alignments(
    white: Whitened, index: SongIndex, stop: Callable[[], bool], progress: Callable[[float], None]
) -> tuple[list[Alignment], Blocks]:
    """Find the alignments of a whitened clip, shape (n,).

    Returns
    -------
    alignments, blocks
        The alignments in clip order, and the blocks, of which some were correlated with the whole song.

    Raises
    ------
    Stopped
    """
    blocks = Blocks(white, index, stop, progress)
    candidates = _seeded_candidates(blocks) if len(blocks.starts) > FEW_BLOCKS else []
    explained = {number for candidate in candidates for number in candidate.explained}
    if explained:
        blocks.report(len(explained))
    found = _searched(blocks, [number for number in range(len(blocks.starts)) if number not in explained])
    if candidates and found:
        # A late find may continue under blocks that an earlier candidate seemed to explain.
        candidates += [_followed(blocks, matches, SEED_EVERY) for matches in found]
        candidates = [_with_peaks(blocks, candidate) for candidate in candidates]
    runs = _distributed(candidates, len(blocks.starts)) if candidates else found
    return [blocks.alignment(run) for run in runs], blocks


@dataclass(frozen=True, slots=True)
class _Candidate:
    """A candidate alignment: the matches of the blocks near it, by number."""

    matches: dict[int, BlockMatch]

    @property
    def explained(self) -> list[int]:
        """The blocks that lie on it about as clearly as its others do: they need no search in the whole
        song."""
        evidence = [match.evidence for match in self.matches.values()]
        least = max(EXPLAINED, EXPLAINED_SHARE * (float(np.median(evidence)) if evidence else 0.0))
        return [number for number, match in self.matches.items() if match.evidence >= least]


def _with_peaks(blocks: Blocks, candidate: _Candidate) -> _Candidate:
    """A candidate with the evidence of the whole-song correlation where a block has it and it is higher: else
    its blocks would count less than those of a candidate that was searched."""
    matches = dict(candidate.matches)
    for number, match in candidate.matches.items():
        if number in blocks.peaks:
            peaks = blocks.peaks[number]
            near = np.abs(peaks.song_s - match.song_s) < SAME_LAG_S
            evidence = float(peaks.evidence[near].max(initial=0.0))
            if evidence > match.evidence:
                matches[number] = BlockMatch(number, match.song_s, evidence)
    return _Candidate(matches)


def _seeded_candidates(blocks: Blocks) -> list[_Candidate]:
    """The candidate alignments through the seeds, followed."""
    seeds = range(SEED_EVERY // 2, len(blocks.starts) - 1, SEED_EVERY)
    path = ViterbiPath(NEW_LINE_COST)
    wide_s = BIN_S * WIDER
    for position, number in enumerate(seeds):
        evidence = blocks.correlate(number)
        used = len(evidence) // WIDER * WIDER
        moved = SEED_EVERY * int(HOP_S / wide_s) if position else 0
        path.add(evidence[:used].reshape(-1, WIDER).max(axis=1), moved)
        blocks.report(0)
    runs: list[list[BlockMatch]] = []
    for (bin_, begins), number in zip(path.best(), seeds, strict=True):
        if bin_ == NOWHERE:
            continue
        if begins:
            runs.append([])
        peaks = blocks.peaks[number]
        near = np.flatnonzero(peaks.bins // WIDER == bin_)
        match = BlockMatch(number, (bin_ + 0.5) * wide_s - BLOCK_S, 0.0)
        if len(near):
            best = near[peaks.evidence[near].argmax()]
            match = BlockMatch(number, float(peaks.song_s[best]), float(peaks.evidence[best]))
        runs[-1].append(match)
    worth = [matches for matches in runs if blocks.alignment(matches).total > WORTH_FOLLOWING]
    return [_followed(blocks, matches, SEED_EVERY - 1) for matches in worth]


def _followed(blocks: Blocks, matches: Sequence[BlockMatch], beyond: int) -> _Candidate:
    """Follow an alignment as far as it goes: from ``beyond`` blocks before its first to ``beyond`` after its
    last, and on from there where the blocks at either end still lie on it."""
    line = robust_line(blocks.alignment(matches))
    for _ in range(MOST_PASSES):
        candidate = _matched_near(blocks, matches, line, beyond)
        on_it = sorted(candidate.explained)
        if len(on_it) < 2:
            break
        low, high = matches[0].number - beyond, matches[-1].number + beyond
        ends = on_it[0] > max(0, low) or low <= 0, on_it[-1] < high or high >= len(blocks.starts) - 1
        closer = robust_line(blocks.alignment([candidate.matches[number] for number in on_it]))
        if all(ends) and abs(closer.speed - line.speed) < STEADY:
            break
        line, beyond = closer, SEED_EVERY
        matches = [candidate.matches[number] for number in on_it]
    return candidate


def _matched_near(blocks: Blocks, matches: Sequence[BlockMatch], line: Line, beyond: int) -> _Candidate:
    """Correlate all blocks from ``beyond`` before the first match to ``beyond`` after the last with the song
    near a line, and keep the better of the old and the new match of each."""
    index, rate = blocks.index, blocks.index.rate
    low = max(0, matches[0].number - beyond)
    high = min(len(blocks.starts), matches[-1].number + beyond + 1)
    best_of = {match.number: match for match in matches}
    start_s, end_s = blocks.start_s(low), blocks.start_s(high - 1) + BLOCK_S
    segments = correlate_segments(blocks.white, index, line, start_s, end_s, FOLLOW_REACH_S)
    if segments is None:
        return _Candidate(best_of)
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
    for number, best in zip(range(low, high), _smooth_path(local), strict=True):
        evidence = float(local[number - low, best])
        if evidence > (best_of[number].evidence if number in best_of else 0.0):
            lag_s = (best + 0.5) * BIN_S - FOLLOW_REACH_S
            best_of[number] = BlockMatch(number, line.song_time(blocks.start_s(number)) + lag_s, evidence)
    return _Candidate(best_of)


def _smooth_path(local: Evidence) -> list[int]:
    """The bins of the blocks, shape (blocks, bins), with the most evidence, at most one bin apart from block
    to block (dynamic programming): where sound is smeared over many bins, the best of each would jump."""
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


def _distributed(candidates: Sequence[_Candidate], count: int) -> list[list[BlockMatch]]:
    """Give every block to one candidate or to none, so that most evidence is explained; each change from one
    candidate to another costs NEW_LINE_COST (Viterbi algorithm)."""
    evidence = np.zeros((count, len(candidates)), np.float32)
    for column, candidate in enumerate(candidates):
        for number, match in candidate.matches.items():
            evidence[number, column] = match.evidence
    came = np.zeros(evidence.shape, np.intp)
    scores, nowhere = np.full(len(candidates), -np.inf, np.float32), 0.0
    nowhere_came = np.zeros(count, np.intp)
    for number in range(count):
        best = int(scores.argmax())
        best_before = max(nowhere, float(scores[best]))
        nowhere_came[number] = best if scores[best] > nowhere else NOWHERE
        begun = scores < best_before - NEW_LINE_COST
        came[number] = np.where(begun, nowhere_came[number], np.arange(len(candidates)))
        scores = np.where(begun, np.float32(best_before - NEW_LINE_COST), scores) + evidence[number]
        nowhere = best_before
    state = int(scores.argmax()) if scores.max() > nowhere else NOWHERE
    runs: list[list[BlockMatch]] = []
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


def _trimmed(run: list[BlockMatch]) -> list[BlockMatch]:
    """A run without blocks at its ends that match by chance only."""
    clear = [position for position, match in enumerate(run) if match.evidence > CHANCE]
    return run[clear[0] : clear[-1] + 1] if clear else []


def _searched(blocks: Blocks, numbers: Sequence[int]) -> list[list[BlockMatch]]:
    """Alignments through blocks that no candidate explains, each run of neighbours searched by itself.

    An alignment that runs over the end of a run is found in two pieces, which are joined once they are
    fitted.
    """
    runs: list[list[BlockMatch]] = []
    for _, group in groupby(enumerate(numbers), lambda pair: (pair[1] - pair[0], pair[1] // MOST_AT_ONCE)):
        run = [number for _, number in group]
        path = ViterbiPath(NEW_LINE_COST)
        for position, number in enumerate(run):
            moved = (blocks.starts[number] - blocks.starts[number - 1]) // blocks.width if position else 0
            path.add(blocks.correlate(number), moved)
            blocks.report(1)
        for (bin_, begins), number in zip(path.best(), run, strict=True):
            if bin_ == NOWHERE:
                continue
            if begins:
                runs.append([])
            peaks = blocks.peaks[number]
            found = peaks.evidence[peaks.bins == bin_]
            match = BlockMatch(number, (bin_ + 0.5) * BIN_S - BLOCK_S, float(found.max(initial=0.0)))
            runs[-1].append(match)
    return [run for run in runs if blocks.alignment(run).total > 0]
