"""Flicker of mains light: a line in the spectrum at |2 × mains − n × rate|, in all of the picture, rolling.

Lamps swing at twice the mains frequency. A frame adds up the light of its exposure E, which leaves of a
swing the share |sin(π 2m E) / (π 2m E)|: nothing where E is a whole number of periods. Frames at a rate n see
what is left at 2m's alias. A sensor that is read row by row sees it later from row to row, as a wave that
rolls through the picture. Light that follows the music has other frequencies, harmonics, and all rows in
step; movement differs from column to column.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.signal import detrend

from audio.pictures.bumps import runs_of
from audio.pictures.stretches import Found, stretches
from audio.pictures.trace import Trace

MAINS_HZ = (50.0, 60.0)
_SLOWEST_HZ = 0.09
"""Slower aliases are not looked for: the light of a room changes as slowly. 59.94 under 120 Hz gives 0.12."""
_OFF_HZ = 0.25
"""How far a line may lie from where it should: mains keeps to 0.1 Hz, so twice the mains to 0.2."""
_WINDOW_S = 4.0
_PERIODS = 2.5
"""Periods of a slow line that a window must hold at least."""
_MOST = 0.25
"""Swing of the level beyond which it is no mains lamp but a flash; by hand."""
_LEAST = 0.004
"""Swing of the light below which nobody sees it, as a share of the picture's level."""
_ROLLING = 5.0, 0.6, 0.35
"""Where it rolls: how many times the coherent swing stands above that of other frequencies (median) and above
the largest of them, and which share of the swing at the line is in step over the picture. On made shoots
without flicker the first stayed below 4 and the last below 0.25."""
_CLEAR = 1.0, 8.0, 0.45
"""A roll of so many waves that stands out and is in step by so much is clear even where a camera or a player
moves more slowly by far more: nothing else goes through the picture in waves. By hand."""
_IN_STEP = 6.0, 1.7, 0.6
"""The same where all rows are in step, as with a light of the show."""
_ROLLS = 0.4
"""Waves in the picture from which it rolls."""
_WAVES = np.arange(-35, 36) / 10
"""Waves in the picture's height that are tried: 1/30 s of reading under 120 Hz is four."""
_DARK, _LIGHT = 0.04, 0.96
"""Levels between which cells are asked."""
_JOIN_S = 1.0
_IN_BURSTS = 0.6
"""Share of the bursts of a sparsely read clip that must show it."""


def aliases(rate: float) -> tuple[float, ...]:
    """Where the swings of 50 and 60 Hz mains appear at a frame rate (Hz), without those too slow to see.

    >>> [round(one, 3) for one in aliases(24000 / 1001)], aliases(25.0), aliases(50.0), aliases(60.0)
    ([4.096, 0.12], (5.0,), (20.0,), (20.0,))
    """
    found = (abs(2 * mains - round(2 * mains / rate) * rate) for mains in MAINS_HZ)
    return tuple(one for one in found if one >= _SLOWEST_HZ)


def flicker(seen: Trace) -> Iterator[Found]:
    """Stretches that flicker with the mains; ``measure`` is the swing as a share of the level, in percent."""
    runs = runs_of(seen)
    whole = len(runs) == 1 and runs[0].size + 1 >= 0.9 * seen.clip_s.size
    found: list[Found] = []
    for rows in runs:
        rate = 1 / float(np.median(np.diff(seen.clip_s[rows])))
        for line_hz in aliases(rate):
            found += _in_run(seen, rows, rate, line_hz)
    if not found:
        return
    if whole:
        yield from _merged(found)
    elif len(found) >= max(2, _IN_BURSTS * len(runs)):
        # Light is on all the time: what nearly every burst shows is in between, too.
        start_s, end_s = min(one.clip_start_s for one in found), max(one.clip_end_s for one in found)
        if len(found) == len(runs):
            start_s, end_s = float(seen.clip_s[0]), float(seen.clip_s[-1])
        yield Found(
            start_s,
            end_s,
            float(np.median([one.measure for one in found])),
        )


def _merged(found: list[Found]) -> Iterator[Found]:
    """Stretches that follow closely are one."""
    found.sort(key=lambda one: one.clip_start_s)
    last = found[0]
    for one in found[1:]:
        if one.clip_start_s <= last.clip_end_s + _JOIN_S:
            last = Found(
                last.clip_start_s,
                max(one.clip_end_s, last.clip_end_s),
                max(one.measure, last.measure),
            )
        else:
            yield last
            last = one
    yield last


@dataclass(frozen=True, slots=True)
class _Line:
    """A line in the spectrum of one window."""

    hertz: float
    waves: float
    swing: float
    """Share of the level, amplitude."""
    stands_out: float


def _in_run(seen: Trace, rows: NDArray[np.intp], rate: float, line_hz: float) -> list[Found]:
    count = round(min(max(_WINDOW_S, 1.2 * _PERIODS / line_hz), rows.size / rate) * rate)
    if count / rate < max(1.8, _PERIODS / line_hz):
        return []
    found = []
    starts = range(0, rows.size - count + 1, max(1, count // 2))
    for start in starts:
        part = rows[start : start + count]
        line = _line(_relative(seen.cells[part]), rate, line_hz)
        if line is not None:
            found.append((start, line))
    if not found:
        return []
    best = max((one for _, one in found), key=lambda one: one.stands_out)
    shown = _shown(seen, rows, rate, best)
    marked = np.zeros(rows.size, bool)
    for start, _ in found:
        marked[max(0, start - count // 2) : start + count + count // 2] = True
    return [
        Found(
            float(seen.clip_s[rows[first]]),
            float(seen.clip_s[rows[last]]),
            100 * best.swing,
        )
        for first, last in stretches(
            marked & shown, seen.clip_s[rows], join_s=_JOIN_S, least_s=min(1.0, 0.9 * rows.size / rate)
        )
    ]


def _relative(cells: NDArray[np.float32]) -> NDArray[np.float64]:
    """How each cell's level swings around its mean, NaN where it is too dark or too light; (t, 24, 4)."""
    mean = cells.mean(axis=0)
    usable = (mean > _DARK) & (mean < _LIGHT)
    logs = detrend(np.log(np.maximum(cells, 1 / 255)).astype(np.float64), axis=0)
    return np.where(usable, logs, np.nan)


def _wave(swings: NDArray[np.complex128]) -> NDArray[np.float64]:
    """Coherent swing of (f, 24, 4) for every number of waves; (f, waves)."""
    usable = np.isfinite(swings)
    count = max(1, int(np.count_nonzero(usable[0])))
    bands = np.where(usable, swings, 0).sum(axis=2)
    turn = np.exp(-2j * np.pi * np.outer(np.arange(bands.shape[1]) / bands.shape[1], _WAVES))
    return np.asarray(np.abs(bands @ turn) / count)


def _line(relative: NDArray[np.float64], rate: float, line_hz: float) -> _Line | None:
    """The line where it should be, if there is one."""
    count = len(relative)
    if np.isfinite(relative[0]).mean() < 0.25:
        return None
    step = rate / count / 2
    hertz = np.arange(1, round(rate / 2 / step)) * step
    window = np.hanning(count)
    window *= 2 / window.sum()
    turn = np.exp(-2j * np.pi * np.outer(hertz, np.arange(count) / rate)) * window
    swings = np.asarray(np.tensordot(turn, relative, axes=(1, 0)), np.complex128)
    waves = _wave(swings)
    off = np.abs(hertz - line_hz)
    slow = line_hz < 1
    near = off <= (0.5 * line_hz if slow else max(_OFF_HZ, step))
    if not near.any():
        return None
    at, wave = np.unravel_index(int(np.where(near[:, None], waves, 0).argmax()), waves.shape)
    swing = float(waves[at, wave])
    power = float(np.nanmean(np.abs(swings[at]) ** 2))
    coherent = swing**2 / max(power, 1e-12)
    away = (np.abs(hertz - hertz[at]) > 5 * step) & (hertz > min(0.7, line_hz / 2))
    others = waves[away].max(axis=1)
    if not others.size:
        return None
    out = swing / max(float(np.median(others)), 1e-6)
    rolls = abs(float(_WAVES[wave])) >= _ROLLS
    clear = abs(float(_WAVES[wave])) >= _CLEAR[0] and out >= _CLEAR[1] and coherent >= _CLEAR[2]
    least_out, above, in_step = _ROLLING if rolls else _IN_STEP
    if (
        not _LEAST <= swing <= _MOST
        or out < least_out
        or coherent < in_step
        or (swing < above * float(others.max()) and not clear)
    ):
        return None
    if not rolls and (slow or not _steady(relative, rate, float(hertz[at]))):
        return None
    return _Line(float(hertz[at]), float(_WAVES[wave]), swing, out)


def _steady(relative: NDArray[np.float64], rate: float, hertz: float) -> bool:
    """Whether a swing that does not roll is as even as mains: the same in every cell, throughout."""
    count = len(relative)
    halves = [
        np.nanmedian(np.abs(_swing(relative[start : start + count // 2], rate, hertz)))
        for start in (0, count // 2)
    ]
    cells = np.abs(_swing(relative, rate, hertz))
    cells = cells[np.isfinite(cells)]
    spread = float(np.quantile(cells, 0.8) - np.quantile(cells, 0.2)) / max(float(np.median(cells)), 1e-6)
    return max(halves) < 1.3 * min(halves) and spread < 0.5


def _swing(relative: NDArray[np.float64], rate: float, hertz: float) -> NDArray[np.complex128]:
    window = np.hanning(len(relative))
    window *= 2 / window.sum()
    turn = np.exp(-2j * np.pi * hertz * np.arange(len(relative)) / rate) * window
    return np.asarray(np.tensordot(turn, relative, axes=(0, 0)))


def _shown(seen: Trace, rows: NDArray[np.intp], rate: float, line: _Line) -> NDArray[np.bool_]:
    """At which rows the line has half its swing or more."""
    relative = _relative(seen.cells[rows])
    usable = np.isfinite(relative[0])
    turn = np.exp(-2j * np.pi * line.waves * np.arange(relative.shape[1]) / relative.shape[1])
    along = (np.where(usable, relative, 0) * turn[None, :, None]).sum(axis=(1, 2)) / max(1, usable.sum())
    along = along * np.exp(-2j * np.pi * line.hertz * np.arange(rows.size) / rate)
    length = min(rows.size, max(5, round(max(0.6, 1.5 / line.hertz) * rate)))
    smooth = np.hanning(length + 2)[1:-1]
    weight = np.convolve(np.ones(rows.size), smooth, mode="same")
    swing = 2 * np.abs(np.convolve(along, smooth, mode="same")) / weight
    return np.asarray(swing >= 0.5 * line.swing)
