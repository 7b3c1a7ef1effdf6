"""Tempo, beats and bars of a song."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d

from audio.progress import never, no_progress
from audio.song.counting import best_count, nearby, readings, signs
from audio.song.free_time import free_until
from audio.song.harmony import pitch_classes
from audio.song.metre import Bars, find_bars
from audio.song.onsets import FRAME_RATE, RATE, Onsets, find_onsets, song_samples
from audio.song.pulse import Pulse, follow, periods, settle

_QUIET_DB = 50.0
"""Below the song's loud frames by this much, it has not begun or is over."""
_COUNT_IN_DB = 25.0
"""How far the low end of a count-in lies below the song's."""
_SHORTEST_S = 2.0
_WINDOW_S, _LEAST_LIKENESS = 8.0, 0.25
_LEAST_VARIANCE = 0.02
"""Of evened onset strength (about 1 in music): less is one held sound."""
_ABOUT = 7 / 6
"""A tempo that is told may be off by a sixth."""
_OTHER_OCTAVE = (1.9, 2.1)


@dataclass(frozen=True, slots=True)
class Hints:
    """What somebody knows of the song; taken as true."""

    from_s: float = 0.0
    """Look only from here on: the answer holds beats and bars from this moment to the song's end."""
    one_at_s: float | None = None
    """A bar starts here; said of a moment that is not looked at, it says nothing."""
    tempo_bpm: float | None = None
    """About this tempo, within a sixth."""
    beats_per_bar: int | None = None


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
    """Of most bars."""
    end_s: float
    """Where the last bar ends: a bar length after its start, or with the song if that comes first."""
    other_tempo_bpm: float | None = None
    """The likelier one of half and double the tempo, for those who count so; None where neither can be."""
    metres: tuple[tuple[int, int], ...] = ((0, 4),)
    """Index into bars_s from which on, and beats per bar there; the first pair is for bar 1."""


def find_beats(
    samples: NDArray[np.float32],
    rate: int = 22050,
    *,
    hints: Hints = Hints(),
    stop: Callable[[], bool] = never,
    progress: Callable[[float], None] = no_progress,
) -> Beats:
    """Tempo, beats and bars of a song of shape (n,) at ``rate`` samples a second (22050 spares a resampling).

    A song without a beat (a pad, noise, free time) gives no tempo and empty arrays. Raises BadSignal for
    silence, an empty or non-finite array; Stopped.
    """
    sound = song_samples(samples, rate)
    duration_s = samples.size / rate
    begin = min(max(0, round(hints.from_s * RATE)), sound.size)
    if begin:
        rest = (
            _find(sound[begin:], hints, stop, progress)
            if np.abs(sound[begin:]).max(initial=0.0) > 1e-6
            else None
        )
        return _later(rest, begin / RATE, duration_s)
    return _find(sound, hints, stop, progress)


def _later(rest: Beats | None, by_s: float, duration_s: float) -> Beats:
    """What was found in the rest of a song, on the song's clock."""
    if rest is None:
        return Beats(None, np.zeros(0), np.zeros(0), 4, duration_s)
    return replace(rest, beats_s=rest.beats_s + by_s, bars_s=rest.bars_s + by_s, end_s=rest.end_s + by_s)


def _find(
    sound: NDArray[np.float32], hints: Hints, stop: Callable[[], bool], progress: Callable[[float], None]
) -> Beats:
    duration_s = sound.size / RATE
    nothing = Beats(None, np.zeros(0), np.zeros(0), hints.beats_per_bar or 4, duration_s)
    if duration_s < _SHORTEST_S:
        return nothing
    one_s = None if hints.one_at_s is None else hints.one_at_s - round(hints.from_s * RATE) / RATE
    if one_s is not None and not 0.0 <= one_s < duration_s:
        one_s = None
    onsets = find_onsets(sound)
    pitches = pitch_classes(sound)
    heard = signs(onsets, pitches)
    progress(0.4)
    around = None if hints.tempo_bpm is None else 60.0 * FRAME_RATE / hints.tempo_bpm
    pulse = follow(heard, periods(around), stop=stop, progress=lambda done: progress(0.4 + 0.4 * done))
    if pulse.frames.size < 4 or not _steady(onsets, pulse):
        return nothing
    near = nearby(heard)
    known = None if one_s is None else float(onsets.frames(np.array([one_s]))[0])
    chain, steps = best_count(near, pulse.frames, pulse.periods, _allowed(hints.tempo_bpm), known)
    beats_s = onsets.seconds(settle(Pulse(chain, steps), onsets))
    if one_s is not None:
        beats_s = _through(beats_s, one_s)
    beats_s = _along_the_song(beats_s, _heard(onsets, duration_s))
    if beats_s.size < 4:
        return nothing
    progress(0.85)
    frames = onsets.frames(beats_s)
    bars = find_bars(
        near,
        frames,
        pitches,
        beats_s,
        beats_per_bar=hints.beats_per_bar,
        one=None if one_s is None else int(np.abs(beats_s - one_s).argmin()),
        begins=hints.from_s == 0.0,
        stop=stop,
    )
    if hints.from_s == 0.0:
        free_s = float(onsets.seconds(np.array(free_until(onsets, frames))))
        bars, beats_s = _from_the_beat(bars, beats_s, free_s)
        frames = onsets.frames(beats_s)
        bars = _without(bars, _counted_in(onsets, beats_s[bars.starts]))
    bars_s = beats_s[bars.starts]
    beat_s = float(np.median(np.diff(beats_s)))
    last = bars.metres[-1][1] * float(np.median(np.diff(beats_s[-9:]))) if bars.metres else 0.0
    progress(1.0)
    return Beats(
        tempo_bpm=60.0 / beat_s,
        beats_s=beats_s,
        bars_s=bars_s,
        beats_per_bar=bars.beats_per_bar,
        end_s=min(duration_s, float(bars_s[-1]) + last) if bars_s.size else duration_s,
        other_tempo_bpm=_other_octave(near, frames),
        metres=bars.metres or ((0, bars.beats_per_bar),),
    )


def _allowed(told_bpm: float | None) -> Callable[[float], bool]:
    """Which tempos may be answered."""
    if told_bpm is None:
        return lambda bpm: True
    return lambda bpm: 1 / _ABOUT < bpm / told_bpm < _ABOUT


def _other_octave(near: NDArray[np.float64], frames: NDArray[np.float64]) -> float | None:
    """The likelier of half and double of beats as they are counted."""
    first, *others = readings(near, frames)
    low, high = _OTHER_OCTAVE
    octaves = [one for one in others if low < max(one.bpm / first.bpm, first.bpm / one.bpm) < high]
    return max(octaves, key=lambda one: one.worth).bpm if octaves else None


def _through(beats_s: NDArray[np.float64], one_s: float) -> NDArray[np.float64]:
    """Beats of which one lies there: the nearest is moved and those around it, or all if it is far off."""
    nearest = int(np.abs(beats_s - one_s).argmin())
    by_s = one_s - float(beats_s[nearest])
    pace_s = float(np.median(np.diff(beats_s)))
    if abs(by_s) > 0.2 * pace_s:
        return beats_s + by_s
    share = np.clip(1.0 - np.abs(np.arange(beats_s.size) - nearest) / 4.0, 0.0, 1.0)
    return beats_s + by_s * share


def _from_the_beat(
    bars: Bars, beats_s: NDArray[np.float64], free_s: float
) -> tuple[Bars, NDArray[np.float64]]:
    """Bars and beats from the bar on that begins about when free time ends."""
    if free_s <= 0.0 or bars.starts.size < 4:
        return bars, beats_s
    bar_s = float(np.median(np.diff(beats_s[bars.starts])))
    first = int(np.searchsorted(beats_s[bars.starts], free_s - 0.5 * bar_s))
    if first == 0 or first + 2 > bars.starts.size:
        return bars, beats_s
    beat = int(bars.starts[first])
    kept = _without(bars, first)
    return Bars(kept.starts - beat, kept.metres), beats_s[beat:]


def _without(bars: Bars, first: int) -> Bars:
    """The bars from one on."""
    metres = [(max(0, bar - first), beats) for bar, beats in bars.metres]
    kept = tuple(pair for i, pair in enumerate(metres) if i + 1 == len(metres) or metres[i + 1][0] > 0)
    return Bars(bars.starts[first:], kept)


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
