"""Sections of the song, with rehearsal letters, families and suggested names.

Each bar line has a novelty: how much the music after it differs from the music before (timbre, rhythm,
harmony), and whether a repetition begins or ends there. Dynamic programming finds the sections that best
balance novelty against the usual lengths of sections. Where the timbre clearly changes at another beat, an
edge moves off the bar line.
"""

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from audio.errors import Stopped
from audio.progress import never, no_progress
from audio.song.beats import Beats
from audio.song.chroma import HOP, chroma, span_means
from audio.song.onsets import RATE, song_samples
from audio.song.repetition import repetition_edges
from audio.song.section_names import describe
from audio.song.spectra import by_filters

_WINDOW = 2048
"""Samples of a Fourier window (93 ms); chosen by hand."""
_MELS = 40
"""Mel bands of the timbre; chosen by hand."""
_STEPS = 8
"""Steps per bar of the rhythm features: eighth notes of a bar of four."""
_BLOCK_S = 2.0
"""Length in seconds of the blocks that replace bars in a song without bars; about a usual bar."""
_NOVELTY_WEIGHT, _NOVELTY_OFFSET = 2.4, -1.2
"""Log-odds of a section edge per unit of novelty, and without novelty; fitted on songs with known
sections."""
_WINDOWS: tuple[dict[int, float], ...] = ({2: 1.0, 4: 1.0}, {2: 1.0, 4: 1.0}, {8: 0.5})
"""Bars compared before and after a line, with their weights: for timbre, rhythm, harmony. Chosen by hand;
harmony needs longer means, for chords change within them."""
_REPETITION_WEIGHT = 0.8
"""Weight of repetition edges beside those; of the few values tried, one that does well on the map's
scoreboard."""
# Share of sections by their length in bars (9452 sections of 912 songs; Nieto and others 2019): 8, 16, 4, 12
# are most of them, one in five is no multiple of four. The rest is spread by hand over other lengths: 7 of
# a hundred are longer than 16 bars.
_SHARES = {
    8: 0.449,
    16: 0.142,
    4: 0.124,
    12: 0.056,
    9: 0.031,
    10: 0.031,
    6: 0.025,
    7: 0.02,
    5: 0.015,
    2: 0.01,
}
_OTHER_SHARE, _SHORT_SHARE, _LONG_SHARE = 0.006, 0.002, 0.012
"""Share of each other length, of lengths under 4 bars, and of lengths just over 16 bars; spread by hand as
above."""
_HALVING_BARS = 4
"""Above 16 bars, the share halves with every so many bars; chosen by hand."""
_LONGEST = 120
"""Bars; longer sections are as unlikely as one of this length."""
_SHORTEST_BLOCKS = 4
"""Shortest section of a song without bars, in blocks (8 s); chosen by hand."""
_SHORT_START, _SHORT_END = -5.0, -3.0
"""Log prior of an intro and of a last chord of less than 4 bars; chosen by hand. From -4 to -6 the first
makes no difference on the songs of the map's scoreboard."""
_OFF_BAR_GAIN = 1.5
"""Ratio of explained variance at which a beat wins over the bar line. Chosen by hand: four of five sections
begin on a bar line."""
_SAME_LINE = 0.3
"""Share of a bar: bar lines nearer than this to a fixed edge are replaced by it; chosen by hand."""


@dataclass(frozen=True, slots=True)
class Span:
    """A section of the song."""

    letter: str
    """Rehearsal letter: A, B … Z, AA, AB …"""
    name: str
    """A suggested name: Verse 1, Chorus 2 …; Part 1, Part 2 … where there is no evidence for any."""
    start_s: float
    """Song time in seconds."""
    end_s: float
    """Song time in seconds; the start of the next section, or the end of the song."""
    family: str = ""
    """Letter of the musical form: sections that sound alike have the same one."""
    voice: bool | None = None
    """Whether a lead voice carries it; None where that is not known (so far always)."""


def find_sections(
    samples: NDArray[np.float32],
    rate: int,
    beats: Beats,
    *,
    fixed_edges_s: tuple[float, ...] = (),
    from_s: float = 0.0,
    stop: Callable[[], bool] = never,
    progress: Callable[[float], None] = no_progress,
) -> tuple[Span, ...]:
    """Find the sections of a song, from 0 to its end without gaps; at least one.

    ``samples`` has shape (n,), full scale 1.0, at ``rate`` samples a second; ``beats`` are its beats and
    bars. Edges lie on beats where the song has any, most of them on bar lines. ``fixed_edges_s`` are edges
    that must be there; others are found only after ``from_s``. Both are song times in seconds.

    Raises BadSignal for silence, an empty or non-finite array; Stopped when ``stop()`` returns True.
    """
    sound = song_samples(samples, rate)
    duration_s = samples.size / rate
    fixed = sorted({edge for edge in fixed_edges_s if 0.0 < edge < duration_s})
    edges_s = _with_edges(bar_edges(beats, duration_s), fixed)
    if len(edges_s) < 4 and not fixed:
        return (Span("A", "Part 1", 0.0, duration_s, "A"),)
    if stop():
        raise Stopped("Stopped while looking for the sections.")
    timbre, features = _bar_features(sound, edges_s, progress)
    progress(0.9)
    if stop():
        raise Stopped("Stopped while looking for the sections.")
    must = np.isin(edges_s, fixed)
    cuts = _best_segmentation(
        novelty(features), _length_log_prior(bars=beats.bars_s.size >= 2), must, (edges_s > from_s) | must
    )
    marks = np.array([0.0, *edges_s[cuts[1:-1]], duration_s])
    for i in range(1, len(cuts) - 1):
        if not must[cuts[i]]:
            marks[i] = _off_the_bar_line(
                timbre, edges_s, cuts[i], beats.beats_s, (marks[i - 1], marks[i + 1]), from_s
            )
    described = describe(features, timbre, cuts, marks)
    progress(1.0)
    return tuple(
        Span(letter(i), one.name, float(start), float(end), letter(one.family), one.voice)
        for i, (one, (start, end)) in enumerate(zip(described, pairwise(marks), strict=True))
    )


def bar_energy(samples: NDArray[np.float32], rate: int, edges_s: NDArray[np.float64]) -> NDArray[np.float64]:
    """Mean power between neighbouring edges in dB of full scale, shape (edges - 1,); -120 is silence.

    ``samples`` has shape (n,), full scale 1.0; ``edges_s`` are song times in seconds, rising.
    """
    places = np.clip(np.round(np.asarray(edges_s) * rate).astype(int), 0, samples.size)
    counts = np.maximum(np.diff(places), 1)
    # Stretch by stretch: sums over a whole song take its memory twice.
    sums = np.array([_sum_of_squares(samples[first:last]) for first, last in pairwise(places)])
    energy: NDArray[np.float64] = 10.0 * np.log10(np.maximum(sums / counts, 1e-12))
    return energy


def _sum_of_squares(samples: NDArray[np.float32]) -> float:
    exact = samples.astype(np.float64)
    return float(np.dot(exact, exact))


def letter(index: int) -> str:
    """Rehearsal letter of section ``index``.

    >>> [letter(i) for i in (0, 25, 26, 27, 52)]
    ['A', 'Z', 'AA', 'AB', 'BA']
    """
    text = ""
    index += 1
    while index:
        index, digit = divmod(index - 1, 26)
        text = chr(ord("A") + digit) + text
    return text


def bar_edges(beats: Beats, duration_s: float) -> NDArray[np.float64]:
    """Bar lines in seconds, from the first bar to the end of the last; in a song without bars, lines 2 s
    apart."""
    if beats.bars_s.size < 2:
        return np.linspace(0.0, duration_s, max(2, round(duration_s / _BLOCK_S) + 1))
    last = beats.end_s
    if duration_s - last < 0.5 * float(np.median(np.diff(beats.bars_s))):
        last = duration_s
    return np.append(beats.bars_s, last)


def _with_edges(edges_s: NDArray[np.float64], fixed: list[float]) -> NDArray[np.float64]:
    """Bar lines in seconds, in which each fixed edge replaces those next to it."""
    if not fixed:
        return edges_s
    bar_s = float(np.median(np.diff(edges_s)))
    apart = np.abs(edges_s[:, None] - np.array(fixed)[None, :]).min(axis=1) > _SAME_LINE * bar_s
    return np.array(sorted({*map(float, edges_s[apart]), *fixed, *map(float, edges_s[[0, -1]])}))


def _off_the_bar_line(
    timbre: NDArray[np.float64],
    edges_s: NDArray[np.float64],
    line: int,
    beats_s: NDArray[np.float64],
    between: tuple[float, float],
    from_s: float,
) -> float:
    """Song time of the beat, at most a bar from the line, at which the timbre changes; the line itself unless
    another beat is clearly better.

    ``between`` are the neighbouring edges in seconds. The best split of a stretch of frames is the one at
    which the means of both sides explain most of its variance.
    """
    at, low, high = (float(edges_s[i]) for i in (line, max(0, line - 2), min(len(edges_s) - 1, line + 2)))
    bar_s = (high - low) / 4
    low, high = max(low, between[0]), min(high, between[1])
    near = beats_s[
        (np.abs(beats_s - at) < 1.01 * bar_s)
        & (beats_s > max(low, from_s) + 0.5 * bar_s)
        & (beats_s < high - 0.5 * bar_s)
    ]
    if near.size == 0:
        return at
    first, last = int(low * RATE / HOP), int(high * RATE / HOP)
    rows = timbre[first:last]
    sums = np.concatenate([np.zeros((1, rows.shape[1])), np.cumsum(rows - rows.mean(axis=0), axis=0)])

    def explained(moment: float) -> float:
        place = min(max(1, round(moment * RATE / HOP) - first), len(rows) - 1)
        return float(np.sum(sums[place] ** 2)) / (place * (len(rows) - place) / len(rows))

    best = max(map(float, near), key=explained)
    return best if explained(best) > _OFF_BAR_GAIN * explained(at) else at


def _bar_features(
    sound: NDArray[np.float32], edges_s: NDArray[np.float64], progress: Callable[[float], None]
) -> tuple[NDArray[np.float64], list[NDArray[np.float64]]]:
    """Level of the mel bands in dB, shape (frames, bands); and timbre, rhythm and harmony of each bar, each
    of shape (bars, values), scaled to standard deviation 1 over the song."""
    import librosa

    mels = librosa.filters.mel(sr=RATE, n_fft=_WINDOW, n_mels=_MELS, fmin=30.0)
    mel = by_filters(sound, mels, _WINDOW, HOP)
    progress(0.2)
    level = librosa.power_to_db(mel, ref=np.max, top_db=70.0).astype(np.float64)
    rise = np.maximum(0.0, np.diff(level, axis=1, prepend=level[:, :1]))
    rise = np.stack([part.mean(axis=0) for part in np.array_split(rise, 3)])
    fine = np.interp(np.arange((len(edges_s) - 1) * _STEPS + 1) / _STEPS, np.arange(len(edges_s)), edges_s)
    progress(0.35)
    timbre = span_means(level.T, edges_s)
    rhythm = span_means(rise.T, fine - 0.5 * (fine[1] - fine[0])).reshape(len(edges_s) - 1, -1)
    harmony = span_means(chroma(sound), edges_s)
    return level.T, [_robust_scaled(timbre, 1.0), _robust_scaled(rhythm, 0.2), _robust_scaled(harmony, 0.1)]


def _robust_scaled(values: NDArray[np.float64], least: float) -> NDArray[np.float64]:
    """Values scaled to mean 0 and standard deviation 1, with outliers compressed by tanh.

    One break without drums must not make all other changes of the song look small. A standard deviation below
    ``least`` (in the unit of the values) is no more than the fluctuation of one held sound and is not scaled
    up.
    """
    centred = values - values.mean(axis=0)
    usual = 1.4826 * float(np.median(np.abs(centred))) + 0.1 * float(centred.std()) + 1e-9
    compressed = np.tanh(centred / (2.0 * usual))
    scaled: NDArray[np.float64] = compressed / (float(compressed.std()) + 1e-9)
    return scaled * min(1.0, float(centred.std()) / least)


def novelty(features: list[NDArray[np.float64]]) -> NDArray[np.float64]:
    """Novelty of each bar line, less the mean of the two lines beside it: shape (bars + 1,), no unit.

    ``features`` are timbre, rhythm and harmony of each bar, of shape (bars, values).
    """
    found = _REPETITION_WEIGHT * _above_neighbours(repetition_edges(features[-1]))
    for values, windows in zip(features, _WINDOWS, strict=True):
        for width, share in windows.items():
            found += share * _above_neighbours(_mean_differences(values, width))
    return found


def _above_neighbours(values: NDArray[np.float64]) -> NDArray[np.float64]:
    """Each value less the mean of its two neighbours."""
    beside = np.pad(values, 1, mode="edge")
    over: NDArray[np.float64] = values - 0.5 * (beside[:-2] + beside[2:])
    return over


def _mean_differences(values: NDArray[np.float64], width: int) -> NDArray[np.float64]:
    """RMS difference between the means of ``width`` bars before and after each line; less where fewer are
    left."""
    bars = values.shape[0]
    sums = np.concatenate([np.zeros((1, values.shape[1])), np.cumsum(values, axis=0)])
    line = np.arange(bars + 1)
    low, high = np.maximum(0, line - width), np.minimum(bars, line + width)
    before = (sums[line] - sums[low]) / np.maximum(line - low, 1)[:, None]
    after = (sums[high] - sums[line]) / np.maximum(high - line, 1)[:, None]
    full = np.minimum(line - low, high - line) / width
    steps: NDArray[np.float64] = np.sqrt(np.mean((after - before) ** 2, axis=1) * full)
    return steps


def _length_log_prior(*, bars: bool) -> NDArray[np.float64]:
    """Log prior of a section by its length in bars; of blocks of time only the shortest length is known."""
    if not bars:
        gains = np.full(_LONGEST + 1, -4.0)
        gains[:_SHORTEST_BLOCKS] = -20.0
        return gains
    length = np.arange(_LONGEST + 1)
    shares = np.where(length < 4, _SHORT_SHARE, _OTHER_SHARE)
    shares = np.where(length > 16, _LONG_SHARE * 0.5 ** ((length - 16) / _HALVING_BARS), shares)
    for bars_long, share in _SHARES.items():
        shares[bars_long] = share
    return np.log(shares)


def _best_segmentation(
    line_novelty: NDArray[np.float64],
    length_log_prior: NDArray[np.float64],
    must: NDArray[np.bool_],
    may: NDArray[np.bool_],
) -> list[int]:
    """Indices of the bar lines at which the likeliest sections begin and end, from 0 to the last line.

    All lines that ``must`` be edges are, and only those that ``may`` be; both of shape (lines,).
    """
    lines = line_novelty.size
    edge_log_odds = _NOVELTY_WEIGHT * line_novelty + _NOVELTY_OFFSET
    edge_log_odds[-1] = 0.0
    score = np.full(lines, -np.inf)
    score[0] = 0.0
    previous = np.zeros(lines, int)
    earliest = 0
    for line in range(1, lines):
        if line < lines - 1 and not may[line]:
            continue
        for start in range(earliest, line):
            log_prior = length_log_prior[min(line - start, length_log_prior.size - 1)]
            if (line == lines - 1 or start == 0) and line - start < 4:
                log_prior = _SHORT_END if line == lines - 1 else _SHORT_START
            value = score[start] + log_prior + edge_log_odds[line]
            if value > score[line]:
                score[line], previous[line] = value, start
        if must[line]:
            earliest = line
    cuts = [lines - 1]
    while cuts[-1] > 0:
        cuts.append(int(previous[cuts[-1]]))
    return cuts[::-1]
