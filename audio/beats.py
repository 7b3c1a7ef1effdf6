"""Tempo, beats and bars of a song."""

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d

from audio.harmony import pitch_classes
from audio.media import never, unheard
from audio.metre import Bars, find_bars
from audio.onsets import FRAME_RATE, Onsets, find_onsets, song_samples
from audio.pulse import Pulse, follow, periods, settle

_QUIET_DB = 50.0
"""Below the song's loud frames by this much, it has not begun or is over."""
_COUNT_IN_DB = 25.0
"""How far the low end of a count-in lies below the song's."""
_OTHER_COUNTS = (1 / 3, 1 / 2, 2 / 3, 3 / 2, 2.0)
"""Beats as long as these times the first answer's are tried too."""
_FEWEST_PERIODS = 8
_SHORTEST_S = 2.0
_WINDOW_S, _LEAST_LIKENESS = 8.0, 0.25
_LEAST_VARIANCE = 0.02
"""Of evened onset strength (about 1 in music): less is one held sound."""


@dataclass(frozen=True, slots=True, eq=False)
class Beats:
    """Tempo, beats and bars, in seconds from the song's first sample."""

    tempo_bpm: float | None
    """Beats a minute, the middle one of the song; None where there is no beat to follow."""
    beats_s: NDArray[np.float64]
    """Shape (beats,), rising."""
    bars_s: NDArray[np.float64]
    """Shape (bars,), rising: the starts of bar 1, 2, 3 …, all of them beats."""
    beats_per_bar: int
    end_s: float
    """Where the last bar ends: a bar length after its start, or with the song if that comes first."""


@dataclass(frozen=True, slots=True, eq=False)
class _Reading:
    """One way to count the song."""

    pulse: Pulse
    beats_s: NDArray[np.float64]
    bars: Bars

    @property
    def merit(self) -> float:
        """What the beats collect, and how clearly bars stand on them: a wrong count loses at least one."""
        return self.pulse.worth * float(np.sqrt(max(self.bars.clarity, 0.0)))


def find_beats(
    samples: NDArray[np.float32],
    rate: int = 22050,
    *,
    stop: Callable[[], bool] = never,
    progress: Callable[[float], None] = unheard,
) -> Beats:
    """Tempo, beats and bars of a song of shape (n,) at ``rate`` samples a second (22050 spares a resampling).

    A song without a beat (a pad, noise, free time) gives no tempo and empty arrays. Raises BadSignal for
    silence, an empty or non-finite array; Stopped.
    """
    sound = song_samples(samples, rate)
    duration_s = samples.size / rate
    nothing = Beats(None, np.zeros(0), np.zeros(0), 4, duration_s)
    if duration_s < _SHORTEST_S:
        return nothing
    onsets = find_onsets(sound)
    pitches = pitch_classes(sound)
    progress(0.3)
    heard = _heard(onsets, duration_s)

    def read(tried: NDArray[np.float64], begin: float, end: float) -> _Reading | None:
        pulse = follow(
            onsets, pitches, tried, stop=stop, progress=lambda done: progress(begin * (1 - done) + end * done)
        )
        beats_s = _along_the_song(onsets.seconds(settle(pulse, onsets)), heard)
        if beats_s.size < 4 or not _steady(onsets, pulse):
            return None
        return _Reading(pulse, beats_s, find_bars(onsets, pitches, beats_s, stop=stop))

    reading = read(periods(), 0.3, 0.6)
    if reading is None:
        return nothing
    # Half, double, and two against three are confusions in which no onset is out of place; the bars tell.
    usual = float(np.median(reading.pulse.periods))
    marks = [0.6 + 0.08 * number for number in range(len(_OTHER_COUNTS) + 1)]
    for ratio, (begin, end) in zip(_OTHER_COUNTS, pairwise(marks), strict=True):
        tried = periods(usual * ratio)
        other = read(tried, begin, end) if tried.size >= _FEWEST_PERIODS else None
        if other is not None and other.merit > reading.merit:
            reading = other
    beats_s, bars = reading.beats_s, reading.bars
    bars_s = beats_s[bars.starts[_counted_in(onsets, beats_s[bars.starts]) :]]
    beat_s = float(np.median(np.diff(beats_s)))
    progress(1.0)
    return Beats(
        tempo_bpm=60.0 / beat_s,
        beats_s=beats_s,
        bars_s=bars_s,
        beats_per_bar=bars.beats_per_bar,
        end_s=min(duration_s, float(bars_s[-1]) + bars.beats_per_bar * beat_s),
    )


def _along_the_song(beats_s: NDArray[np.float64], heard: tuple[float, float]) -> NDArray[np.float64]:
    """Beats where the music is, carried on backwards to its begin at the pace of the first ones."""
    if beats_s.size < 4:
        return beats_s
    first_s, last_s = heard
    pace_s = float(np.median(np.diff(beats_s[:9])))
    missing = max(0, int((beats_s[0] - first_s) / pace_s + 0.15)) if pace_s > 0 else 0
    beats_s = np.concatenate([beats_s[0] - pace_s * np.arange(missing, 0, -1), beats_s])
    beats_s = beats_s[(beats_s > max(first_s, 0.0) - 0.06) & (beats_s < last_s)]
    return np.maximum(beats_s[np.diff(beats_s, prepend=-1.0) > 0.1], 0.0)


def _counted_in(onsets: Onsets, bars_s: NDArray[np.float64]) -> int:
    """How many bars at the start (at most two) are a count-in: sticks or clicks with nothing below them."""
    places = np.round(onsets.frames(bars_s)).astype(int)
    usual = float(np.percentile(onsets.body_db, 75))
    for bars in (2, 1):
        if bars + 1 >= places.size:
            continue
        before = onsets.body_db[: max(1, places[bars] - 3)]
        after = onsets.body_db[places[bars] : places[bars + 1]]
        if (
            np.percentile(before, 90) < usual - _COUNT_IN_DB
            and np.percentile(after, 90) > usual - 0.5 * _COUNT_IN_DB
        ):
            return bars
    return 0


def _heard(onsets: Onsets, duration_s: float) -> tuple[float, float]:
    """Where the music begins and ends: between the first and last frame near its usual level."""
    loud = np.flatnonzero(onsets.loudness_db > np.percentile(onsets.loudness_db, 90) - _QUIET_DB)
    if loud.size == 0:
        return 0.0, duration_s
    return float(loud[0] / FRAME_RATE), min(duration_s, float((loud[-1] + 1) / FRAME_RATE))


def _steady(onsets: Onsets, pulse: Pulse) -> bool:
    """Tell whether there is a beat at all: the onsets come back after one or two of the beats found.

    In songs with a beat the best quarter of windows of 8 s agrees with itself at 0.5 to 0.9; noise, single
    notes in free time and hits at random times stay below 0.2.
    """
    strength = gaussian_filter1d(onsets.evened, 1.0)
    size = round(_WINDOW_S * FRAME_RATE)
    likeness = []
    for start in range(0, max(1, strength.size - size // 2), size // 2):
        window = strength[start : start + size]
        window = window - window.mean()
        energy = float(np.sum(window**2))
        within = (pulse.frames >= start) & (pulse.frames < start + size)
        if energy < _LEAST_VARIANCE * window.size or not within.any():
            likeness.append(0.0)
            continue
        beat = float(np.median(pulse.periods[within]))
        lags = [round(beat * times) + near for times in (1, 2) for near in (-1, 0, 1)]
        likeness.append(
            max(float(window[lag:] @ window[:-lag]) / energy for lag in lags if lag < window.size)
        )
    return float(np.percentile(likeness, 75)) > _LEAST_LIKENESS
