"""From slate codes read in frames to lines: song time as a straight line over clip time.

What is measured is when one code gives way to the next: between the middle of the last frame that shows the
one and the middle of the first that shows the other. A frame is taken to show the middle of its time; shutter
and rolling readout make that up to half a frame wrong, which no picture tells. Each change so confines the
line to a band. The line sought is that within most bands.

The speed is no measurement where it need not be: playback ran at the speed that the code tells, the camera at
a nominal rate, the file says at which it is shown. ``speed of playback × rate of the file ÷ rate of the
camera`` is then exact, and which of the nominal rates it was, the changes tell.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from audio.files.frame_timing import NOMINAL_RATES
from audio.line import Line
from audio.pictures.code_reader import FrameRead
from audio.pictures.slate_code import SlateCode

LEAST_CHANGES = 3
"""Changes of the code that make a line; two are joined by any."""
SURE_CHANGES = 4
SURE_SHARE = 0.75
"""Of the changes read, so many must lie on the line of a take that is sure."""
SURE_S = 0.02
"""The line must be known as well as this (s), half of a song-frame at 24 frames a second, or as three
quarters of the clip's own frame: no picture tells more than that for sure."""
DRIFT = 60e-6
"""How far the clocks of a camera and a player may lie apart by themselves, relative. Crystals are made to
±20 to ±50 ppm."""
_BLEND = 0.25
"""Of a frame: so much may a change lie outside its band, for a blend may be read as either code."""
_LONGEST = 6.0
"""Frames between two reads across which a change is still a measurement, next to their usual step."""
_AS_GOOD = 0.05
"""Share of the changes by which another speed may fit worse and still be possible."""

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class CodeLine:
    """Where a stretch of a clip runs in the song, by the codes in it."""

    line: Line
    """Anchored in the middle of its changes."""
    exact: Fraction | None
    """Its speed as a fraction; None where no nominal rate of a camera explains it."""
    speeds: tuple[float, ...]
    """All speeds that fit and have as good a reason, the line's among them."""
    half_width_s: float
    """Half-width in which the line's song time lies at its anchor (s)."""
    changes: int
    """How many changes of the code lie on the line."""
    others: int
    """How many were read that lie on no line."""
    frame_s: float
    """How long a frame of the clip lasts (s)."""
    code: SlateCode
    """The first code on it: song, take and the speed of the playback."""
    first_s: float
    last_s: float
    """Clip times (s) of the first and the last frame in which a code of the line was read."""

    def uncertainty_s(self, clip_s: float) -> float:
        """Half-width that holds the true song time at a clip time 95 times in 100 (s)."""
        away_s = abs(clip_s - self.line.clip_s)
        spread = max(abs(speed - self.line.speed) for speed in self.speeds)
        return self.half_width_s + away_s * (spread + DRIFT * self.line.speed)

    @property
    def sure(self) -> bool:
        """Whether enough codes agree, on a speed that has a reason."""
        enough = self.changes >= SURE_CHANGES
        agreed = self.changes >= SURE_SHARE * (self.changes + self.others)
        known = self.half_width_s <= max(SURE_S, 0.75 * self.frame_s * self.line.speed)
        return enough and agreed and self.exact is not None and known


@dataclass(frozen=True, slots=True)
class _Changes:
    """Moments at which a code gave way to another: the clip time of each lies between two (s)."""

    after_s: Floats
    before_s: Floats
    song_s: Floats

    def __getitem__(self, which: NDArray[np.bool_]) -> "_Changes":
        return _Changes(self.after_s[which], self.before_s[which], self.song_s[which])

    def __len__(self) -> int:
        return len(self.song_s)


@dataclass(frozen=True, slots=True)
class _Fit:
    """A line at one speed: song time at clip time 0 lies around ``offset_s``."""

    offset_s: float
    half_s: float
    on: NDArray[np.bool_]
    """Which changes lie on it."""

    @property
    def count(self) -> int:
        return int(self.on.sum())


@dataclass(frozen=True, slots=True)
class _Found:
    """A line with its changes, before it is told."""

    fit: _Fit
    speed: Fraction | float
    speeds: tuple[float, ...]
    on: _Changes


def code_lines(
    reads: Sequence[FrameRead], song: str, rate: Fraction, *, variable: bool = False
) -> tuple[CodeLine, ...]:
    """The lines on which the codes of one song lie, in the clip's order; those of others are left out.

    Parameters
    ----------
    reads : sequence of FrameRead
        As `audio.pictures.code_reader.codes_of` gives them.
    song : str
        As in the code; see `song_part`.
    rate : Fraction
        Nominal frames a second of the file. If it is ``variable``, its stamps are when frames were taken.
    """
    keyed = [(_key(read.code), read) for read in reads if read.code is not None and read.code.song == song]
    out = []
    for key in dict.fromkeys(own for own, _ in keyed):
        out += _lines([read for own, read in keyed if own == key], reads, key[1], rate, variable)
    return tuple(sorted(out, key=lambda one: one.first_s))


def _key(code: SlateCode) -> tuple[int, Fraction, bool]:
    """What codes of one showing have in common."""
    return code.take, code.speed, code.by_hand


def _lines(
    group: Sequence[FrameRead], reads: Sequence[FrameRead], playback: Fraction, rate: Fraction, variable: bool
) -> list[CodeLine]:
    """The lines among reads of one take of the page; a page started over makes several."""
    frame_s = _frame_s(reads, rate)
    left = _changes(group, reads, frame_s)
    found = []
    while len(left) >= LEAST_CHANGES:
        best = _best(left, frame_s, _speeds(playback, rate, variable), playback, rate)
        if best is None:
            break
        fit, speed, speeds = best
        found.append(_Found(fit, speed, speeds, left[fit.on]))
        left = left[~fit.on]
    return [_told(one, group, len(left), frame_s) for one in found]


def _told(found: _Found, group: Sequence[FrameRead], others: int, frame_s: float) -> CodeLine:
    """A line with the codes that were read on it."""
    begin_s, end_s = float(found.on.after_s.min()), float(found.on.before_s.max())
    line = Line(0.0, found.fit.offset_s, float(found.speed)).anchored((begin_s + end_s) / 2)
    # A code is on the line from its appearing until the next; one that stands still before or after is not.
    most_late_s = 2 * float(np.ptp(found.on.song_s)) / (len(found.on) - 1)
    reads = [
        (read.clip_s, read.code)
        for read in group
        if read.code is not None
        and -frame_s * line.speed <= line.song_time(read.clip_s) - read.code.song_s <= most_late_s
    ]
    return CodeLine(
        line=line,
        exact=found.speed if isinstance(found.speed, Fraction) else None,
        speeds=found.speeds,
        half_width_s=found.fit.half_s,
        changes=len(found.on),
        others=others,
        frame_s=frame_s,
        code=reads[0][1],
        first_s=reads[0][0],
        last_s=reads[-1][0],
    )


def _best(
    changes: _Changes,
    frame_s: float,
    speeds: Sequence[Fraction],
    playback: Fraction,
    rate: Fraction,
) -> tuple[_Fit, Fraction | float, tuple[float, ...]] | None:
    """The line on which most changes lie, its speed, and all speeds that may be it."""
    fits = {speed: _consensus(changes, float(speed), frame_s) for speed in speeds}
    most = max(fit.count for fit in fits.values())
    measured = _measured(changes)
    free = _consensus(changes, measured, frame_s) if measured > 0 else None
    if free is not None and free.count > 1.2 * most:
        return (free, measured, (measured,)) if free.count >= LEAST_CHANGES else None
    if most < LEAST_CHANGES:
        return None
    possible = [speed for speed, fit in fits.items() if fit.count >= most - _AS_GOOD * len(changes)]
    # The camera ran as its file says, or the playback was made for it to come out at the song's speed.
    possible.sort(key=lambda speed: (speed != playback, speed != 1, _family(playback * rate / speed, rate)))
    best = possible[0]
    if best in (playback, 1):
        # Then the rate's neighbour by 1001/1000 is not meant; any other may be.
        possible = [one for one in possible if one == best or one in (playback, 1) or not _beside(one, best)]
    return fits[best], best, tuple(float(speed) for speed in possible)


def _beside(one: Fraction, other: Fraction) -> bool:
    return one / other in (Fraction(1001, 1000), Fraction(1000, 1001))


def _family(camera: Fraction, rate: Fraction) -> bool:
    return (camera.denominator % 1001 == 0) != (rate.denominator % 1001 == 0)


def _speeds(playback: Fraction, rate: Fraction, variable: bool) -> list[Fraction]:
    """The speeds that a nominal rate of the camera gives; of a variable rate the stamps are the camera's."""
    if variable:
        return [playback]
    return list(dict.fromkeys(playback * rate / camera for camera in (rate, *NOMINAL_RATES)))


def _changes(group: Sequence[FrameRead], reads: Sequence[FrameRead], frame_s: float) -> _Changes:
    """Where codes of the group give way to each other, among all frames read."""
    at = {read.clip_s: number for number, read in enumerate(reads)}
    rows = []
    for before, read in pairwise(group):
        assert before.code is not None
        assert read.code is not None
        if before.code == read.code or read.clip_s - before.clip_s > _LONGEST * frame_s:
            continue
        if at[read.clip_s] - at[before.clip_s] == 2:
            # The one frame between is a blend of both: the change fell into it.
            rows.append((before.clip_s + frame_s, read.clip_s, read.code.song_s))
        else:
            rows.append((before.clip_s + frame_s / 2, read.clip_s + frame_s / 2, read.code.song_s))
    table = np.array(rows, np.float64).reshape(-1, 3)
    return _Changes(table[:, 0], table[:, 1], table[:, 2])


def _consensus(changes: _Changes, speed: float, frame_s: float) -> _Fit:
    """The offset at which most changes lie within their bands, at one speed."""
    slack = _BLEND * frame_s * speed + 0.0005
    low = changes.song_s - speed * changes.before_s
    high = changes.song_s - speed * changes.after_s
    ends = np.concatenate([low - slack, high + slack])
    steps = np.concatenate([np.ones(len(low)), -np.ones(len(high))])
    # Where one band ends as another begins, both hold.
    order = np.lexsort((-steps, ends))
    depth = np.cumsum(steps[order])
    top = int(np.argmax(depth))
    inside = (ends[order][top] + ends[order][min(top + 1, len(order) - 1)]) / 2
    on = (low - slack <= inside + 1e-9) & (inside - 1e-9 <= high + slack)
    begin, end = float(low[on].max()), float(high[on].min())
    # Bands that contradict each other by a blend leave the offset no better known than that.
    half_s = max(abs(end - begin) / 2, 0.001)
    # Shutter and readout are not known: a quarter of a frame either way is usual.
    return _Fit((begin + end) / 2, math.hypot(half_s, 0.25 * frame_s * speed), on)


def _measured(changes: _Changes) -> float:
    """The speed by the median of slopes between changes (Theil 1950, Sen 1968)."""
    at_s = (changes.after_s + changes.before_s) / 2
    first, second = np.triu_indices(len(changes), 1)
    apart_s = at_s[second] - at_s[first]
    far = apart_s >= 0.3 * np.ptp(at_s)
    slopes = (changes.song_s[second] - changes.song_s[first])[far] / apart_s[far]
    return float(np.median(slopes)) if len(slopes) else 0.0


def _frame_s(reads: Sequence[FrameRead], rate: Fraction) -> float:
    """How long a frame lasts in the clip (s)."""
    steps = np.diff([read.clip_s for read in reads])
    return float(np.median(steps)) if len(steps) else float(1 / rate)
