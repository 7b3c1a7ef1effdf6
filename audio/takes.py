"""The takes of a clip: lines found, fitted exactly, parted where the clock jumps, at the speed that explains most."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from audio.drift import LineFit, fit_line, rough_line
from audio.ends import take_ends
from audio.media import unheard
from audio.search import BLOCK_S, BlockPeaks, Line, SongIndex, find_lines
from audio.signals import Samples
from audio.speeds import HYPOTHESES, at_song_speed, excerpts

WORTH_A_FIT = 4.0
"""Evidence (log likelihood ratio) of a line below which it is not looked at: chance makes 12 at times."""
FAINTEST = 6.0
"""Standard deviations above chance below which a line is none."""
SAME_LINE_S = 0.15
"""Neighbouring lines closer than this may be one that reflections broke in two."""
SAME_PLACE_S = 0.001
"""Two fits that meet this closely are one line; a step as large as this is sound lost or added."""
FIRM = 9.0
"""Standard deviations above chance at which a fit is trusted to tell a step from a reflection."""
SHORTEST_S = 1.5
"""A take shorter than this is not told from a scrap."""
SMEARING = 60e-6
"""A clock this far off smears blocks so much that a second look at the right speed finds more."""
HOPEFUL = 15.0
"""Evidence in excerpts at which another speed is tried on the whole clip."""
EXCERPT_S = 24.0
EXCERPTS = 3


@dataclass(frozen=True, slots=True)
class Found:
    """A take in the clip at song speed (see :class:`Takes`)."""

    fit: LineFit
    start_s: float
    end_s: float


@dataclass(frozen=True, slots=True, eq=False)
class Takes:
    """All takes of a clip, in a clip resampled to the song's speed: divide its times by ``speed``."""

    speed: float
    flat: Samples
    found: list[Found]
    peaks: list[BlockPeaks]

    @property
    def explained(self) -> float:
        """How much of the clip is explained how well."""
        return sum(one.fit.strength * (one.end_s - one.start_s) for one in self.found) / self.speed


def find_takes(
    flat: Samples, index: SongIndex, stop: Callable[[], bool], progress: Callable[[float], None]
) -> Takes:
    """Find the takes of a flattened clip, float32 of shape (n,), at whatever speed it runs. Raises Stopped."""
    takes = _at_speed(flat, index, 1.0, stop, lambda f: progress(0.5 * f))
    if not takes.found:
        speed = _likely_speed(flat, index, stop, lambda f: progress(0.5 + 0.3 * f))
        if speed is None:
            return takes
        takes = _at_speed(flat, index, speed, stop, lambda f: progress(0.8 + 0.1 * f))
    best = max(takes.found, key=lambda one: one.fit.strength, default=None)
    if best is not None and abs(best.fit.line.speed - 1) > SMEARING:
        closer = _at_speed(
            flat, index, takes.speed * best.fit.line.speed, stop, lambda f: progress(0.9 + 0.1 * f)
        )
        if closer.explained > takes.explained:
            takes = closer
    progress(1.0)
    return takes


def _likely_speed(
    flat: Samples, index: SongIndex, stop: Callable[[], bool], progress: Callable[[float], None]
) -> float | None:
    """The speed at which excerpts of the clip fit best, if any fits."""
    best: tuple[float, float | None] = (HOPEFUL, None)
    for number, speed in enumerate(HYPOTHESES):
        evidence = 0.0
        for piece in excerpts(flat, index.rate, EXCERPT_S / speed, EXCERPTS):
            lines, _ = find_lines(at_song_speed(piece, index.rate, speed), index, stop, unheard)
            evidence += max((line.total for line in lines if line.total > 0), default=0.0)
        if evidence > best[0]:
            best = evidence, speed
        progress((number + 1) / len(HYPOTHESES))
    return best[1]


def _at_speed(
    flat: Samples, index: SongIndex, speed: float, stop: Callable[[], bool], progress: Callable[[float], None]
) -> Takes:
    clip = at_song_speed(flat, index.rate, speed)
    lines, peaks = find_lines(clip, index, stop, progress)
    runs: list[tuple[LineFit, float, float]] = []
    for group in _neighbours([line for line in lines if line.total > WORTH_A_FIT]):
        runs += _fits(clip, index, group)
    found = []
    low = 0.0
    for number, (fit, start, end) in enumerate(runs):
        high = len(clip) / index.rate
        if number + 1 < len(runs):
            high = min(high, runs[number + 1][1] + BLOCK_S)
        begin, finish = take_ends(clip, index, fit, start, end, low, high)
        if finish - begin >= SHORTEST_S:
            low = finish
            found.append(Found(fit, begin, finish))
    return Takes(speed, clip, found, peaks)


def _neighbours(lines: Sequence[Line]) -> list[list[Line]]:
    """Lines that follow each other with nearly the same lag."""
    groups: list[list[Line]] = []
    for line in lines:
        if groups:
            last = groups[-1][-1]
            step = (line.places_s[0] - line.starts_s[0]) - (last.places_s[-1] - last.starts_s[-1])
            if abs(step) < SAME_LINE_S and line.starts_s[0] - last.starts_s[-1] < 4 * BLOCK_S:
                groups[-1].append(line)
                continue
        groups.append([line])
    return groups


def _fits(clip: Samples, index: SongIndex, group: Sequence[Line]) -> list[tuple[LineFit, float, float]]:
    """Fit neighbouring lines: as one where they meet, apart where sound was lost between them."""
    out: list[tuple[LineFit, float, float]] = []
    joined: list[list[Line]] = []
    for line in group:
        alone = _fit(clip, index, [line])
        if joined and out:
            before = out[-1][0]
            at = float(line.starts_s[0])
            firm = alone is not None and alone[0].strength >= FIRM and before.strength >= FIRM
            apart = (
                alone is not None
                and abs(alone[0].line.song_time(at) - before.line.song_time(at)) > SAME_PLACE_S
            )
            if not (firm and apart):
                together = _fit(clip, index, [*joined[-1], line])
                if together is not None:
                    joined[-1].append(line)
                    out[-1] = together
                    continue
        if alone is not None:
            joined.append([line])
            out.append(alone)
    return out


def _fit(clip: Samples, index: SongIndex, lines: Sequence[Line]) -> tuple[LineFit, float, float] | None:
    line = Line(
        *(
            np.concatenate([getattr(one, name) for one in lines])
            for name in ("starts_s", "places_s", "evidence")
        )
    )
    start, end = float(line.starts_s[0]), min(float(line.starts_s[-1]) + BLOCK_S, len(clip) / index.rate)
    fit = fit_line(clip, index, rough_line(line), start, end)
    return (fit, start, end) if fit is not None and fit.strength >= FAINTEST else None
