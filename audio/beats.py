"""Tempo, beats and bars of a song."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from audio.media import never, unheard
from audio.metre import find_bars
from audio.onsets import FRAME_RATE, Onsets, find_onsets, song_samples
from audio.pulse import follow, settle

_QUIET_DB = 50.0
_SHORTEST_S = 1.5


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
    progress(0.3)
    pulse = follow(onsets, stop=stop, progress=lambda done: progress(0.3 + 0.5 * done))
    if not _steady(onsets, pulse.frames):
        return nothing
    beats_s = onsets.seconds(settle(pulse, onsets))
    first_s, last_s = _heard(onsets, duration_s)
    beats_s = beats_s[(beats_s > first_s - 0.06) & (beats_s < last_s) & (beats_s > -0.02)]
    beats_s = np.maximum(beats_s, 0.0)
    beats_s = beats_s[np.concatenate([[True], np.diff(beats_s) > 0.1])] if beats_s.size else beats_s
    if beats_s.size < 4:
        return nothing
    bars = find_bars(sound, onsets, beats_s, stop=stop)
    bars_s = beats_s[bars.starts]
    beat_s = float(np.median(np.diff(beats_s)))
    progress(1.0)
    return Beats(
        tempo_bpm=60.0 / beat_s,
        beats_s=beats_s,
        bars_s=bars_s,
        beats_per_bar=bars.beats_per_bar,
        end_s=min(duration_s, float(bars_s[-1]) + bars.beats_per_bar * beat_s),
    )


def _heard(onsets: Onsets, duration_s: float) -> tuple[float, float]:
    """Where the music begins and ends: between the first and last frame near its usual level."""
    loud = np.flatnonzero(onsets.loudness_db > np.percentile(onsets.loudness_db, 90) - _QUIET_DB)
    if loud.size == 0:
        return 0.0, duration_s
    return float(loud[0] / FRAME_RATE), min(duration_s, float((loud[-1] + 1) / FRAME_RATE))


def _steady(onsets: Onsets, frames: NDArray[np.float64]) -> bool:
    """Tell whether there is a beat at all."""
    return frames.size >= 4
