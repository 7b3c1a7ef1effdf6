"""Where the song turns: sections with rehearsal letters, families and a suggestion of what they are.

For each bar line, how much the music after it differs from the music before (sound colour, rhythm, harmony)
and whether chords that come again elsewhere begin or end there; then the row of sections that best balances
those turns against how long sections of songs usually are. Where the music clearly turns on another beat, an
edge is moved off the bar line.
"""

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from audio.errors import Stopped
from audio.progress import never, no_progress
from audio.song.beats import Beats
from audio.song.harmony import HOP, pitch_classes, span_means
from audio.song.onsets import RATE, song_samples
from audio.song.returns import returns
from audio.song.section_names import describe

_MELS = 40
_STEPS = 8
"""Places in a bar at which its rhythm is read."""
_BLOCK_S = 2.0
"""Length of what stands for a bar in a song without bars."""
_TURN_WEIGHT, _NO_TURN = 2.4, -1.2
"""How a step speaks for a turn (logarithm of the odds); fitted on songs with known sections."""
_WINDOWS: tuple[dict[int, float], ...] = ({2: 1.0, 4: 1.0}, {2: 1.0, 4: 1.0}, {8: 0.5})
"""Bars compared before and after a line, with their weights: for sound colour, rhythm, harmony."""
_RETURN_WEIGHT = 0.8
"""Weight of what comes back beside those; of some tried, one that does well on the map's board."""
# Share of sections by their length in bars (9452 sections of 912 songs; Nieto and others 2019): 8, 16, 4, 12
# are most of them, one in five is no multiple of four. The rest is spread by hand over other lengths: 7 in
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
_HALF_AS_MANY = 4
"""Bars by which a section over 16 is longer that is half as usual."""
_LONGEST = 120
_SHORTEST_BLOCKS = 4
_SHORT_START, _SHORT_END = -5.0, -3.0
"""How usual a short intro and a last chord are. From -4 to -6 the first makes no difference on the songs
of the map's board."""
_OFF_BAR_GAIN = 1.5
"""How much more the music must turn at another beat than on the bar line, where four in five begin."""
_SAME_LINE = 0.3
"""Of a bar: nearer to an edge that is given, there is no other line."""


@dataclass(frozen=True, slots=True)
class Span:
    """A section of the song."""

    letter: str
    """Rehearsal letter: A, B … Z, AA, AB …"""
    name: str
    """A suggestion of what it is: Verse 1, Chorus 2 …; Part 1, Part 2 … where nothing speaks for any."""
    start_s: float
    end_s: float
    family: str = ""
    """Letter of the form: sections that sound alike have the same."""
    voice: bool | None = None
    """Whether a lead voice carries it; None where that cannot be told."""


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
    """Sections of a song of shape (n,), from 0 to its end without gaps; at least one.

    Edges lie on beats where the song has any, most of them on starts of bars. ``fixed_edges_s`` are edges as
    they are; others are looked for only after ``from_s``. Raises BadSignal for silence, an empty or
    non-finite array; Stopped.
    """
    sound = song_samples(samples, rate)
    duration_s = samples.size / rate
    fixed = sorted({edge for edge in fixed_edges_s if 0.0 < edge < duration_s})
    edges_s = _with_edges(bar_edges(beats, duration_s), fixed)
    if len(edges_s) < 4 and not fixed:
        return (Span("A", "Part 1", 0.0, duration_s, "A"),)
    if stop():
        raise Stopped("Stopped while looking for the sections.")
    colour, features = _bar_features(sound, edges_s)
    progress(0.7)
    if stop():
        raise Stopped("Stopped while looking for the sections.")
    must = np.isin(edges_s, fixed)
    cuts = _best_row(
        turns(features), _length_gains(bars=beats.bars_s.size >= 2), must, (edges_s > from_s) | must
    )
    marks = np.array([0.0, *edges_s[cuts[1:-1]], duration_s])
    for i in range(1, len(cuts) - 1):
        if not must[cuts[i]]:
            marks[i] = _off_the_bar(
                colour, edges_s, cuts[i], beats.beats_s, (marks[i - 1], marks[i + 1]), from_s
            )
    told = describe(features, colour, cuts, marks)
    progress(1.0)
    return tuple(
        Span(letter(i), one.name, float(start), float(end), letter(one.family), one.voice)
        for i, (one, (start, end)) in enumerate(zip(told, pairwise(marks), strict=True))
    )


def bar_energy(samples: NDArray[np.float32], rate: int, edges_s: NDArray[np.float64]) -> NDArray[np.float64]:
    """Mean power from edge (seconds, rising) to edge in dB of full scale, shape (edges - 1,); -120 is
    silence."""
    sums = np.concatenate([[0.0], np.cumsum(samples.astype(np.float64) ** 2)])
    places = np.clip(np.round(np.asarray(edges_s) * rate).astype(int), 0, samples.size)
    counts = np.maximum(np.diff(places), 1)
    energy: NDArray[np.float64] = 10.0 * np.log10(np.maximum(np.diff(sums[places]) / counts, 1e-12))
    return energy


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
    """Bar lines from the first bar to the end of the last; in a song without bars, lines 2 s apart."""
    if beats.bars_s.size < 2:
        return np.linspace(0.0, duration_s, max(2, round(duration_s / _BLOCK_S) + 1))
    last = beats.end_s
    if duration_s - last < 0.5 * float(np.median(np.diff(beats.bars_s))):
        last = duration_s
    return np.append(beats.bars_s, last)


def _with_edges(edges_s: NDArray[np.float64], fixed: list[float]) -> NDArray[np.float64]:
    """Bar lines with edges that are given in place of those next to them."""
    if not fixed:
        return edges_s
    bar_s = float(np.median(np.diff(edges_s)))
    apart = np.abs(edges_s[:, None] - np.array(fixed)[None, :]).min(axis=1) > _SAME_LINE * bar_s
    return np.array(sorted({*map(float, edges_s[apart]), *fixed, *map(float, edges_s[[0, -1]])}))


def _off_the_bar(
    colour: NDArray[np.float64],
    edges_s: NDArray[np.float64],
    line: int,
    beats_s: NDArray[np.float64],
    between: tuple[float, float],
    from_s: float,
) -> float:
    """The beat, at most a bar from the line, at which the sound colour turns, if that is clearly not the
    line.

    Where a row of frames falls into two, the best parting is the one after which the means of both sides
    explain most of it.
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
    rows = colour[first:last]
    sums = np.concatenate([np.zeros((1, rows.shape[1])), np.cumsum(rows - rows.mean(axis=0), axis=0)])

    def explained(moment: float) -> float:
        place = min(max(1, round(moment * RATE / HOP) - first), len(rows) - 1)
        return float(np.sum(sums[place] ** 2)) / (place * (len(rows) - place) / len(rows))

    best = max(map(float, near), key=explained)
    return best if explained(best) > _OFF_BAR_GAIN * explained(at) else at


def _bar_features(
    sound: NDArray[np.float32], edges_s: NDArray[np.float64]
) -> tuple[NDArray[np.float64], list[NDArray[np.float64]]]:
    """Level of the mel bands in dB, shape (frames, bands); sound colour, rhythm and harmony of each bar,
    each of shape (bars, values), spread 1 over the song."""
    import librosa

    power = np.abs(librosa.stft(sound, n_fft=2048, hop_length=HOP)) ** 2
    mel = librosa.feature.melspectrogram(S=power, sr=RATE, n_mels=_MELS, fmin=30.0)
    level = librosa.power_to_db(mel, ref=np.max, top_db=70.0).astype(np.float64)
    rise = np.maximum(0.0, np.diff(level, axis=1, prepend=level[:, :1]))
    rise = np.stack([part.mean(axis=0) for part in np.array_split(rise, 3)])
    fine = np.interp(np.arange((len(edges_s) - 1) * _STEPS + 1) / _STEPS, np.arange(len(edges_s)), edges_s)
    colour = span_means(level.T, edges_s)
    rhythm = span_means(rise.T, fine - 0.5 * (fine[1] - fine[0])).reshape(len(edges_s) - 1, -1)
    harmony = span_means(pitch_classes(sound), edges_s)
    return level.T, [_even(colour, 1.0), _even(rhythm, 0.2), _even(harmony, 0.1)]


def _even(values: NDArray[np.float64], least: float) -> NDArray[np.float64]:
    """Values with mean 0 and spread 1 over all of them together; what stands far out is drawn in.

    One break without drums must not make all other turns of the song look small. A spread below ``least``
    is no more than the unsteadiness of one held sound and stays small.
    """
    centred = values - values.mean(axis=0)
    usual = 1.4826 * float(np.median(np.abs(centred))) + 0.1 * float(centred.std()) + 1e-9
    drawn_in = np.tanh(centred / (2.0 * usual))
    evened: NDArray[np.float64] = drawn_in / (float(drawn_in.std()) + 1e-9)
    return evened * min(1.0, float(centred.std()) / least)


def turns(features: list[NDArray[np.float64]]) -> NDArray[np.float64]:
    """How much more the music turns at each bar line than at the lines beside it, shape (bars + 1,);
    ``features`` end with the harmony."""
    found = _RETURN_WEIGHT * _over_beside(returns(features[-1]))
    for values, windows in zip(features, _WINDOWS, strict=True):
        for width, share in windows.items():
            found += share * _over_beside(_steps_between(values, width))
    return found


def _over_beside(values: NDArray[np.float64]) -> NDArray[np.float64]:
    beside = np.pad(values, 1, mode="edge")
    over: NDArray[np.float64] = values - 0.5 * (beside[:-2] + beside[2:])
    return over


def _steps_between(values: NDArray[np.float64], width: int) -> NDArray[np.float64]:
    """Distance between the means of so many bars before and after each line; less where fewer are left."""
    bars = values.shape[0]
    sums = np.concatenate([np.zeros((1, values.shape[1])), np.cumsum(values, axis=0)])
    line = np.arange(bars + 1)
    low, high = np.maximum(0, line - width), np.minimum(bars, line + width)
    before = (sums[line] - sums[low]) / np.maximum(line - low, 1)[:, None]
    after = (sums[high] - sums[line]) / np.maximum(high - line, 1)[:, None]
    full = np.minimum(line - low, high - line) / width
    steps: NDArray[np.float64] = np.sqrt(np.mean((after - before) ** 2, axis=1) * full)
    return steps


def _length_gains(*, bars: bool) -> NDArray[np.float64]:
    """Logarithm of how usual a section of so many lines is; blocks of time know only a shortest length."""
    if not bars:
        gains = np.full(_LONGEST + 1, -4.0)
        gains[:_SHORTEST_BLOCKS] = -20.0
        return gains
    length = np.arange(_LONGEST + 1)
    shares = np.where(length < 4, _SHORT_SHARE, _OTHER_SHARE)
    shares = np.where(length > 16, _LONG_SHARE * 0.5 ** ((length - 16) / _HALF_AS_MANY), shares)
    for bars_long, share in _SHARES.items():
        shares[bars_long] = share
    return np.log(shares)


def _best_row(
    turns: NDArray[np.float64],
    length_gains: NDArray[np.float64],
    must: NDArray[np.bool_],
    may: NDArray[np.bool_],
) -> list[int]:
    """Bar lines of the likeliest row of sections, from 0 to the last line, with all that ``must`` be there
    and no others but those that ``may``."""
    lines = turns.size
    turn = _TURN_WEIGHT * turns + _NO_TURN
    turn[-1] = 0.0
    worth = np.full(lines, -np.inf)
    worth[0] = 0.0
    came = np.zeros(lines, int)
    earliest = 0
    for line in range(1, lines):
        if line < lines - 1 and not may[line]:
            continue
        for start in range(earliest, line):
            length_gain = length_gains[min(line - start, length_gains.size - 1)]
            if (line == lines - 1 or start == 0) and line - start < 4:
                length_gain = _SHORT_END if line == lines - 1 else _SHORT_START
            value = worth[start] + length_gain + turn[line]
            if value > worth[line]:
                worth[line], came[line] = value, start
        if must[line]:
            earliest = line
    cuts = [lines - 1]
    while cuts[-1] > 0:
        cuts.append(int(came[cuts[-1]]))
    return cuts[::-1]
