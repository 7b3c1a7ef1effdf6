"""Tempo, beats and bars of a song."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d

from audio.progress import never, no_progress
from audio.song.chroma import chroma
from audio.song.free_time import free_until
from audio.song.metre import Bars, find_bars
from audio.song.metrical_level import best_level, local_maximum, metrical_levels, onset_features
from audio.song.onsets import FRAME_RATE, RATE, Onsets, find_onsets, song_samples
from audio.song.pulse import Pulse, periods, refine_to_onsets, track_beats

_QUIET_DB = 50.0
"""Frames this far below the song's loud ones are before its start or after its end. Chosen by hand: less cuts
off fade-outs, more takes tape hiss for music."""
_COUNT_IN_DB = 25.0
"""How far the level below 300 Hz in a count-in lies under that of the song; chosen by hand."""
_SHORTEST_S = 2.0
"""A shorter song has too few beats to track."""
_WINDOW_S, _LEAST_CORRELATION = 8.0, 0.25
"""Window in seconds, and the autocorrelation (0 to 1) it must reach for there to be a beat; see _steady."""
_LEAST_VARIANCE = 0.02
"""Of the normalised onset strength (about 1 in music): less is one held sound. Chosen by hand."""
_TOLERANCE = 7 / 6
"""Ratio by which a tempo given as a hint may be off: a sixth, less than the step to any other metrical
level."""
_OTHER_OCTAVE = (1.9, 2.1)
"""Ratios of tempo that count as double; exactly 2 but for a tempo that drifts."""


@dataclass(frozen=True, slots=True)
class Hints:
    """What a person knows about the song; taken as true."""

    from_s: float = 0.0
    """Song time in seconds. Only what follows is analysed; the answer holds beats and bars from here on."""
    downbeat_s: float | None = None
    """Song time in seconds of a downbeat; ignored if it lies outside the part that is analysed."""
    tempo_bpm: float | None = None
    """Tempo in beats per minute, right within a sixth."""
    beats_per_bar: int | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Beats:
    """Tempo, beats and bars, in seconds from the song's first sample."""

    tempo_bpm: float | None
    """Median tempo in beats per minute; None where there is no steady beat."""
    beats_s: NDArray[np.float64]
    """Song times in seconds, shape (beats,), rising."""
    bars_s: NDArray[np.float64]
    """Downbeats: the starts of bars 1, 2, 3 … in seconds, shape (bars,), rising. All of them are beats."""
    beats_per_bar: int
    """Of most bars."""
    end_s: float
    """End of the last bar in seconds: a bar length after its start, or the end of the song if that comes
    first."""
    other_tempo_bpm: float | None = None
    """Half or double the tempo, whichever is likelier to be the beat, in beats per minute; None where neither
    fits the tempo range."""
    metres: tuple[tuple[int, int], ...] = ((0, 4),)
    """Pairs of an index into bars_s and the beats per bar from there on; the first pair is for bar 1."""


def find_beats(
    samples: NDArray[np.float32],
    rate: int = 22050,
    *,
    hints: Hints = Hints(),
    stop: Callable[[], bool] = never,
    progress: Callable[[float], None] = no_progress,
) -> Beats:
    """Find tempo, beats and bars of a song.

    ``samples`` has shape (n,), full scale 1.0, at ``rate`` samples a second (22050 needs no resampling). A
    song without a steady beat (a pad, noise, free time) gives no tempo and empty arrays.

    Raises BadSignal for silence, an empty or non-finite array; Stopped when ``stop()`` returns True.
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
    """Move what was found in the rest of a song to the song's clock."""
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
    downbeat_s = None if hints.downbeat_s is None else hints.downbeat_s - round(hints.from_s * RATE) / RATE
    if downbeat_s is not None and not 0.0 <= downbeat_s < duration_s:
        downbeat_s = None
    onsets = find_onsets(sound)
    progress(0.25)
    chroma_rows = chroma(sound)
    features = onset_features(onsets, chroma_rows)
    progress(0.4)
    around = None if hints.tempo_bpm is None else 60.0 * FRAME_RATE / hints.tempo_bpm
    pulse = track_beats(
        features, periods(around), stop=stop, progress=lambda done: progress(0.4 + 0.4 * done)
    )
    if pulse.frames.size < 4 or not _steady(onsets, pulse):
        return nothing
    maxima = local_maximum(features)
    known = None if downbeat_s is None else float(onsets.frames(np.array([downbeat_s]))[0])
    tracked, steps = best_level(maxima, pulse.frames, pulse.periods, _allowed(hints.tempo_bpm), known)
    beats_s = onsets.seconds(refine_to_onsets(Pulse(tracked, steps), onsets))
    if downbeat_s is not None:
        beats_s = _moved_onto(beats_s, downbeat_s)
    beats_s = _along_the_song(beats_s, _sounding_s(onsets, duration_s))
    if beats_s.size < 4:
        return nothing
    progress(0.85)
    frames = onsets.frames(beats_s)
    bars = find_bars(
        maxima,
        frames,
        chroma_rows,
        beats_s,
        beats_per_bar=hints.beats_per_bar,
        downbeat=None if downbeat_s is None else int(np.abs(beats_s - downbeat_s).argmin()),
        begins=hints.from_s == 0.0,
        stop=stop,
    )
    if hints.from_s == 0.0:
        free_s = float(onsets.seconds(np.array(free_until(onsets, frames))))
        bars, beats_s = _from_the_beat(bars, beats_s, free_s)
        frames = onsets.frames(beats_s)
        bars = _from_bar(bars, _count_in_bars(onsets, beats_s[bars.starts]))
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
        other_tempo_bpm=_other_octave(maxima, frames),
        metres=bars.metres or ((0, bars.beats_per_bar),),
    )


def _allowed(hint_bpm: float | None) -> Callable[[float], bool]:
    """Whether a tempo agrees with the hint."""
    if hint_bpm is None:
        return lambda bpm: True
    return lambda bpm: 1 / _TOLERANCE < bpm / hint_bpm < _TOLERANCE


def _other_octave(maxima: NDArray[np.float64], frames: NDArray[np.float64]) -> float | None:
    """Tempo of the likelier one of the levels at half and double the tempo."""
    first, *others = metrical_levels(maxima, frames)
    low, high = _OTHER_OCTAVE
    octaves = [one for one in others if low < max(one.bpm / first.bpm, first.bpm / one.bpm) < high]
    return max(octaves, key=lambda one: one.log_odds).bpm if octaves else None


def _moved_onto(beats_s: NDArray[np.float64], downbeat_s: float) -> NDArray[np.float64]:
    """Move the nearest beat, and less so its neighbours, onto a known downbeat; all beats if it is far from
    any."""
    nearest = int(np.abs(beats_s - downbeat_s).argmin())
    by_s = downbeat_s - float(beats_s[nearest])
    period_s = float(np.median(np.diff(beats_s)))
    if abs(by_s) > 0.2 * period_s:
        return beats_s + by_s
    share = np.clip(1.0 - np.abs(np.arange(beats_s.size) - nearest) / 4.0, 0.0, 1.0)
    return beats_s + by_s * share


def _from_the_beat(
    bars: Bars, beats_s: NDArray[np.float64], free_s: float
) -> tuple[Bars, NDArray[np.float64]]:
    """Bars and beats from the bar that begins near the end of free time."""
    if free_s <= 0.0 or bars.starts.size < 4:
        return bars, beats_s
    bar_s = float(np.median(np.diff(beats_s[bars.starts])))
    first = int(np.searchsorted(beats_s[bars.starts], free_s - 0.5 * bar_s))
    if first == 0 or first + 2 > bars.starts.size:
        return bars, beats_s
    beat = int(bars.starts[first])
    rest = _from_bar(bars, first)
    return Bars(rest.starts - beat, rest.metres), beats_s[beat:]


def _from_bar(bars: Bars, first: int) -> Bars:
    """The bars from number ``first`` on."""
    metres = [(max(0, bar - first), beats) for bar, beats in bars.metres]
    rest = tuple(pair for i, pair in enumerate(metres) if i + 1 == len(metres) or metres[i + 1][0] > 0)
    return Bars(bars.starts[first:], rest)


def _along_the_song(beats_s: NDArray[np.float64], sounding_s: tuple[float, float]) -> NDArray[np.float64]:
    """Beats between the start and the end of the music, extended back to its start at the first beats'
    tempo."""
    if beats_s.size < 4:
        return beats_s
    first_s, last_s = sounding_s
    period_s = float(np.median(np.diff(beats_s[:9])))
    missing = max(0, int((beats_s[0] - first_s) / period_s + 0.15)) if period_s > 0 else 0
    beats_s = np.concatenate([beats_s[0] - period_s * np.arange(missing, 0, -1), beats_s])
    beats_s = beats_s[(beats_s > max(first_s, 0.0) - 0.06) & (beats_s < last_s)]
    return np.maximum(beats_s[np.diff(beats_s, prepend=-1.0) > 0.1], 0.0)


def _count_in_bars(onsets: Onsets, bars_s: NDArray[np.float64]) -> int:
    """How many bars at the start (at most two) are a count-in: sticks or clicks without low frequencies."""
    places = np.round(onsets.frames(bars_s)).astype(int)
    usual = float(np.percentile(onsets.low_level_db, 75))
    for bars in (2, 1):
        if bars + 1 >= places.size:
            continue
        before = onsets.low_level_db[: max(1, places[bars] - 3)]
        after = onsets.low_level_db[places[bars] : places[bars + 1]]
        if (
            np.percentile(before, 90) < usual - _COUNT_IN_DB
            and np.percentile(after, 90) > usual - 0.5 * _COUNT_IN_DB
        ):
            return bars
    return 0


def _sounding_s(onsets: Onsets, duration_s: float) -> tuple[float, float]:
    """Start and end of the music in seconds: the first and the last frame within 50 dB of its loud frames."""
    loud = np.flatnonzero(onsets.level_db > np.percentile(onsets.level_db, 90) - _QUIET_DB)
    if loud.size == 0:
        return 0.0, duration_s
    return float(loud[0] / FRAME_RATE), min(duration_s, float((loud[-1] + 1) / FRAME_RATE))


def _steady(onsets: Onsets, pulse: Pulse) -> bool:
    """Whether there is a steady beat: the onsets are repeated after one or two of the tracked beats.

    In windows of 8 s, the upper quartile of the autocorrelation at those lags is 0.5 to 0.9 in songs with a
    beat. Noise, single notes in free time and hits at random times stay below 0.2.
    """
    strength = gaussian_filter1d(onsets.normalised, 1.0)
    size = round(_WINDOW_S * FRAME_RATE)
    correlations = []
    for start in range(0, max(1, strength.size - size // 2), size // 2):
        window = strength[start : start + size]
        window = window - window.mean()
        energy = float(np.sum(window**2))
        within = (pulse.frames >= start) & (pulse.frames < start + size)
        if energy < _LEAST_VARIANCE * window.size or not within.any():
            correlations.append(0.0)
            continue
        beat = float(np.median(pulse.periods[within]))
        lags = [round(beat * times) + near for times in (1, 2) for near in (-1, 0, 1)]
        correlations.append(
            max(float(window[lag:] @ window[:-lag]) / energy for lag in lags if lag < window.size)
        )
    return float(np.percentile(correlations, 75)) > _LEAST_CORRELATION
