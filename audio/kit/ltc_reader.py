"""Linear timecode in a recording: which frame begins when.

Steps are the zero crossings; their distances fall into two groups, whole bits and half bits. What lies
between is no timecode. Runs of words that count up by one are told; a lone word tells nothing.
"""

from collections import Counter
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage, signal

from audio.kit.ltc_words import SYNC, WORD, Label, base_of, counts, follows, label_in, user_bits
from audio.signals import Samples

AnySamples = NDArray[np.float32] | NDArray[np.float16]

LEAST_WORDS = 8
"""Words in a row that are believed. Chosen by hand: chance does not give two."""
_FINE_RATE = 48_000
"""Crossings are sought at this rate or more: of the engine's rate, a half bit has less than two samples."""
_SLOWEST, _FASTEST = 300.0, 12_000.0
"""Bits a second looked for: timecode at an eighth to four times its usual speed."""
_NEAR = 161
"""Over so many crossings the length of a bit is judged: more than the halves of a sync word."""
_FLAT = 0.1
"""Of its height nearby the signal must leave zero by this much to count as having crossed it."""
_PART_S = 60
"""Recordings are read in parts of so many seconds, and a little more, so that memory stays bounded."""
_BASES = (24, 25, 30)


@dataclass(frozen=True, slots=True)
class TimecodeRun:
    """Words that follow one another."""

    clip_s: NDArray[np.float64]
    """When each word begins, shape (n,)."""
    labels: tuple[Label, ...]
    base: int
    """Frames that labels count to a second; likely where the run is shorter than that second."""
    user: int = 0
    """The number in the user bits of most words."""

    @property
    def frames(self) -> NDArray[np.int64]:
        """Frames from midnight to each label, shape (n,)."""
        return np.array(counts(list(self.labels), self.base), np.int64)


def timecode_in(samples: Samples, rate: int, *, start_s: float = 0.0) -> list[TimecodeRun]:
    """Runs of timecode in a channel, in its order; empty where there is none.

    ``samples`` has shape (n,), ``rate`` samples a second (8000 and more); the first lies at ``start_s``.
    """
    if len(samples) < rate // 10 or not np.any(samples):
        return []
    times_s = _crossings(samples, rate)
    if len(times_s) < 2 * WORD:
        return []
    bits, begins_s = _bits(times_s)
    return _runs(*_words(bits, begins_s), start_s)


def timecode_along(samples: AnySamples, rate: int, *, start_s: float = 0.0) -> list[TimecodeRun]:
    """`timecode_in` for a recording of hours, part by part; a run that goes on in the next part comes in two.

    ``samples`` may be 16-bit floats.
    """
    step = _PART_S * rate
    return [
        run
        for first in range(0, len(samples), step)
        for run in timecode_in(
            samples[first : first + step + rate // 10].astype(np.float32),
            rate,
            start_s=start_s + first / rate,
        )
    ]


def _crossings(samples: Samples, rate: int) -> NDArray[np.float64]:
    """When the signal crosses zero (s), between samples; wobbles about zero are left out."""
    up = -(-_FINE_RATE // rate)
    fine = samples if up == 1 else signal.resample_poly(samples, up, 1)
    fine_rate = rate * up
    level = ndimage.uniform_filter1d(np.abs(fine), fine_rate // 50)
    side = np.where(fine > _FLAT * level, 1, np.where(fine < -_FLAT * level, -1, 0)).astype(np.int8)
    clear = np.flatnonzero((side != 0) & (level > 1e-5))
    turns = np.flatnonzero(np.diff(side[clear]))
    if not len(turns):
        return np.zeros(0)
    before, after = clear[turns], clear[turns + 1]
    low, high = fine[before].astype(np.float64), fine[after].astype(np.float64)
    return (before + (after - before) * low / (low - high)) / fine_rate


def _bits(times_s: NDArray[np.float64]) -> tuple[NDArray[np.int8], NDArray[np.float64]]:
    """Bits, -1 where there is none, and when each begins (s)."""
    gaps_s = np.diff(times_s)
    # Of a stretch of timecode at least a sixth are halves (the sync word), and its longest are whole bits.
    whole_s = ndimage.percentile_filter(gaps_s, 90, _NEAR)
    usual = (whole_s > 1 / _FASTEST) & (whole_s < 1 / _SLOWEST)
    share = gaps_s / whole_s
    whole = usual & (share > 0.75) & (share < 1.35)
    half = usual & (share > 0.3) & (share <= 0.75)
    # Halves come in pairs, counted from where they begin.
    edges = np.flatnonzero(np.diff(np.concatenate([[False], half, [False]]).astype(np.int8)))
    starts, ends = edges[::2], edges[1::2]
    number = np.arange(len(gaps_s))
    run = np.searchsorted(starts, number, side="right") - 1
    in_run = number - starts[np.maximum(run, 0)] if len(starts) else np.zeros(len(gaps_s), int)
    second = half & (in_run % 2 == 1)
    odd = np.zeros(len(gaps_s), bool)
    odd_ends = ends[(ends - starts) % 2 == 1] - 1
    odd[odd_ends] = True
    bits = np.where(whole, 0, np.where(half, 1, -1)).astype(np.int8)
    bits[odd] = -1
    kept = ~second
    return bits[kept], times_s[:-1][kept]


def _words(
    bits: NDArray[np.int8], begins_s: NDArray[np.float64]
) -> tuple[list[Label], list[int], NDArray[np.float64], NDArray[np.int64]]:
    """Labels and user bits of whole words, when each begins, and at which bit."""
    if len(bits) < WORD:
        return [], [], np.zeros(0), np.zeros(0, np.int64)
    pattern = np.lib.stride_tricks.sliding_window_view(bits, len(SYNC))
    syncs = np.flatnonzero((pattern == SYNC).all(axis=1)) + len(SYNC) - WORD
    labels, users, firsts = [], [], []
    for first in syncs[syncs > 0]:
        if bits[first - 1] < 0:
            continue  # a step out of silence is smeared by filters on its way
        word = bits[first : first + WORD]
        label = label_in(word.astype(np.uint8)) if (word >= 0).all() else None
        if label is not None:
            labels.append(label)
            users.append(user_bits(word.astype(np.uint8)))
            firsts.append(int(first))
    found = np.array(firsts, np.int64)
    return labels, users, begins_s[found] if len(found) else np.zeros(0), found


def _runs(
    labels: list[Label],
    users: list[int],
    begins_s: NDArray[np.float64],
    firsts: NDArray[np.int64],
    start_s: float,
) -> list[TimecodeRun]:
    out: list[TimecodeRun] = []
    at = 0
    for number in range(1, len(labels) + 1):
        if number < len(labels) and _go_on(labels, firsts, number):
            continue
        if number - at >= LEAST_WORDS:
            run = labels[at:number]
            clip_s = begins_s[at:number]
            base = base_of(run) or _likely(run, clip_s)
            user = Counter(users[at:number]).most_common(1)[0][0]
            out.append(TimecodeRun(clip_s + start_s, tuple(run), base, user))
        at = number
    return out


def _go_on(labels: list[Label], firsts: NDArray[np.int64], number: int) -> bool:
    """Whether a word follows the one before, in bits and in its label."""
    together = int(firsts[number] - firsts[number - 1]) == WORD
    return together and any(follows(labels[number - 1], labels[number], base) for base in _BASES)


def _likely(labels: list[Label], clip_s: NDArray[np.float64]) -> int:
    """The base of a run within one second of labels, by how fast its words come."""
    most = max(label.frames for label in labels)
    frame_s = float(np.median([after - before for before, after in pairwise(clip_s)]))
    fitting = [base for base in _BASES if base > most] or [_BASES[-1]]
    return min(fitting, key=lambda base: abs(base * frame_s - 1))
