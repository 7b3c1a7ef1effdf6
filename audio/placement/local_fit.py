"""The best fit near a given line: a local search around the position where a person put a take."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from audio.errors import Stopped
from audio.line import Line
from audio.placement.impulse_response import correlate_segments
from audio.placement.line_fit import fit_line
from audio.placement.search import SongIndex
from audio.placement.verdicts import STRENGTH_NEEDED
from audio.progress import never, no_progress
from audio.rate import check_rate
from audio.signals import Samples
from audio.speed.resampling import to_song_speed
from audio.whitening import whiten

REACH_S = 0.5
"""How far around the given line is searched (s of song). Chosen by hand: as far as a hand misses."""
SURE = 8.0
"""Standard deviations above chance from which on a fit is one (as REAL in `direct_sound`)."""
_SLOPES = np.arange(-300e-6, 301e-6, 25e-6)
"""Clock errors tried (s/s): a line drawn by hand knows nothing of them."""
_MARGIN_S = 2.0
"""Song to either side of the search, so that segments at its ends have neighbours."""
_SAME_SPEED = 500e-6
"""A line within this of the song's speed (no unit) is taken for clock drift, which the fit follows."""


@dataclass(frozen=True, slots=True)
class LocalFit:
    """The best fit near a given line."""

    line: Line
    """Anchored at the take's start."""
    uncertainty_s: float
    """Half-width (s) that holds the true position about 95 times in 100, anywhere in the take."""
    strength: float
    """Standard deviations above chance."""

    @property
    def song_start_s(self) -> float:
        """Song time of the take's start (s)."""
        return self.line.song_s

    @property
    def speed(self) -> float:
        """Seconds of song in one second of clip (no unit)."""
        return self.line.speed

    @property
    def clear(self) -> bool:
        """Whether it stands out by itself; a faint one is for a person to judge."""
        return self.strength >= STRENGTH_NEEDED


def fit_nearby(
    song: Samples,
    clip: Samples,
    rate: int,
    line: Line,
    span: tuple[float, float],
    *,
    stop: Callable[[], bool] = never,
    progress: Callable[[float], None] = no_progress,
) -> LocalFit | None:
    """Find the best fit of a take within REACH_S of a line; None where nothing fits there.

    Parameters
    ----------
    song, clip : float32, shapes (n,), (m,)
        The song and one channel of the clip, both at ``rate`` samples a second (ENGINE_RATE).
    line : Line
        The given line, in times of the clip's samples.
    span : (float, float)
        Start and end of the take (s from the clip's first sample).

    Raises
    ------
    BadSignal
        ``rate`` is not ENGINE_RATE.
    Stopped
    """
    check_rate(rate, "The song")
    # The clip is brought to the song's speed: the fit follows clock drift only.
    speed = line.speed if abs(line.speed - 1) > _SAME_SPEED else 1.0
    low_s, high_s = span[0] * speed, span[1] * speed
    white = whiten(to_song_speed(clip, rate, speed), rate)
    from_s = max(0.0, line.song_time(span[0]) - REACH_S - _MARGIN_S)
    to_s = line.song_time(span[1]) + REACH_S + _MARGIN_S
    part = song[round(from_s * rate) : max(0, round(to_s * rate))]
    if len(part) < rate or high_s - low_s <= 0:
        return None
    first_s = round(from_s * rate) / rate
    _look(stop, progress, 0.3)
    index = SongIndex.build(part, rate)
    _look(stop, progress, 0.5)
    middle = (low_s + high_s) / 2
    near = Line(middle, line.song_time(middle / speed) - first_s, line.speed / speed)
    rough = _rough(white, index, near, low_s, high_s)
    _look(stop, progress, 0.7)
    fit = None if rough is None else fit_line(white, index, rough, low_s, high_s)
    progress(1.0)
    if fit is None or fit.strength < SURE:
        return None
    # Reflections and the steps of the search may lead a little beyond its edges.
    if abs(fit.line.song_time(middle) - near.song_s) > REACH_S * 1.05:
        return None
    return LocalFit(
        line=Line(span[0], fit.line.song_time(low_s) + first_s, fit.line.speed * speed),
        uncertainty_s=fit.half_width_s(low_s, high_s) + fit.ambiguity_s,
        strength=fit.strength,
    )


def _rough(white: Samples, index: SongIndex, near: Line, low_s: float, high_s: float) -> Line | None:
    """The line near ``near`` with the highest peak of the take's impulse response."""
    segments = correlate_segments(white, index, near, low_s, high_s, REACH_S + 0.1)
    if segments is None:
        return None
    whitened = segments.whitened()
    reach, middle = round(REACH_S * whitened.rate), whitened.size // 2
    best = (0.0, near)
    for slope, impulse_response in zip(_SLOPES, whitened.sweep(_SLOPES, near.clip_s), strict=True):
        part = np.abs(impulse_response[middle - reach : middle + reach + 1])
        lag = int(part.argmax())
        line = Line(near.clip_s, near.song_s + (lag - reach) / whitened.rate, near.speed + float(slope))
        best = max(best, (float(part[lag]), line), key=lambda one: one[0])
    return best[1]


def _look(stop: Callable[[], bool], progress: Callable[[float], None], done: float) -> None:
    if stop():
        raise Stopped("Stopped.")
    progress(done)
