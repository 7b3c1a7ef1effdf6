"""Beat tracking: the best sequence of beats through the onset features, at a tempo that may drift.

Dynamic programming over (frame, period) after Ellis 2007. The period is part of the state, as in the state
spaces of Krebs, Boeck and Widmer 2015, so that a live tempo can drift. A small pattern of features on the
beat and between beats (metrical_level.py) tells a beat from an off-beat and from double the tempo.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d

from audio.errors import Stopped
from audio.song.metrical_level import (
    BEAT_WEIGHTS,
    FASTEST_BPM,
    SLOWEST_BPM,
    SUBDIVISIONS,
    TEMPO_WEIGHTS,
    USUAL_BPM,
)
from audio.song.onsets import FRAME_RATE, Onsets

_STEP = 0.015
"""Natural logarithm of the ratio of neighbouring periods (1.5 %). Chosen by hand: finer costs time, coarser
loses the beat in songs whose tempo drifts."""
_NEAR = 4
"""Steps of period allowed from beat to beat (6 %)."""
_DRIFT_COST = 4000.0
"""Score lost by a change of period, times its natural logarithm squared. Chosen by hand: a step of 1.5 %
costs about as much as a good beat gains."""
_FRAME_COST = 0.02
"""Score lost by a beat that lies one frame off its period; small, for periods are rounded to frames."""
_JUMP_COST = 20.0
"""Score lost by any other change of tempo or phase: about a dozen good beats. Chosen by hand."""
_SCALE = 0.24
"""Score per unit of log-odds for a beat that lasts a second; balances the evidence against the costs above.
Chosen by hand."""


@dataclass(frozen=True, slots=True, eq=False)
class Pulse:
    """Tracked beats."""

    frames: NDArray[np.float64]
    """Frame numbers, shape (beats,), rising."""
    periods: NDArray[np.float64]
    """Period before each beat, in frames, shape (beats,)."""


def periods(around: float | None = None) -> NDArray[np.float64]:
    """The beat periods that are tried, in frames, rising: all, or those less than a sixth from ``around``
    (frames)."""
    count = int(np.log(FASTEST_BPM / SLOWEST_BPM) / _STEP) + 1
    rising: NDArray[np.float64] = 60.0 * FRAME_RATE / FASTEST_BPM * np.exp(np.arange(count) * _STEP)
    return rising if around is None else rising[np.abs(np.log(rising / around)) < np.log(7 / 6)]


class _Gains:
    """Score of a beat at each frame with each period, worked out stretch by stretch."""

    def __init__(self, features: NDArray[np.float64], tried: NDArray[np.float64]) -> None:
        self._lead = int(np.ceil(tried[-1]))
        padded = np.pad(features, ((0, 0), (self._lead, 0)))
        self._rows = [
            (weights @ padded / len(places), [np.round((1.0 - place) % 1.0 * tried) for place in places])
            for places, weights in zip(SUBDIVISIONS, BEAT_WEIGHTS.T, strict=True)
        ]
        octaves = np.log2(60.0 * FRAME_RATE / tried / USUAL_BPM)
        self._prior = TEMPO_WEIGHTS[0] * octaves + TEMPO_WEIGHTS[1] * octaves**2
        # Per second, not per beat: a fast tempo must not win by its number of beats.
        self._scale = tried * _SCALE / FRAME_RATE

    def of(self, first: int, last: int) -> NDArray[np.float64]:
        """Those of frames ``first`` to before ``last``, shape (frames, periods)."""
        at = np.arange(first, last)[:, None] + self._lead
        gains = np.zeros((last - first, self._scale.size))
        for row, backs in self._rows:
            for back in backs:
                gains += row[at - back.astype(int)[None, :]]
        gains += self._prior
        scaled: NDArray[np.float64] = gains * self._scale
        return scaled


def track_beats(
    features: NDArray[np.float64],
    tried: NDArray[np.float64],
    *,
    stop: Callable[[], bool],
    progress: Callable[[float], None],
) -> Pulse:
    """The best sequence of beats from the first to the last frame. Raises Stopped.

    ``features`` are metrical_level.onset_features, shape (7, frames); ``tried`` are the periods allowed, in
    frames, rising.
    """
    hops = np.round(tried).astype(int)
    lead = int(hops[-1]) + 1
    gains = _Gains(features, tried)
    frames, count = features.shape[1], tried.size
    reach = np.arange(-_NEAR, _NEAR + 1)
    near = np.arange(count)[:, None] + reach[None, :]
    cost = np.where((near >= 0) & (near < count), _DRIFT_COST * (reach * _STEP)[None, :] ** 2, np.inf)
    near = np.clip(near, 0, count - 1)
    # A beat depends only on frames at least one period back, so frames within the shortest period go at once.
    block = max(1, int(hops[0]) - 1)
    # Scores reach back one period; of older frames only the way back is kept, for songs may last an hour.
    kept = lead + block + 3
    score, shifted = np.zeros((kept, count)), np.zeros((kept, count))
    best = np.zeros(frames + lead)
    previous = np.zeros((frames, count), np.int16)
    """The period before each beat; -1 where tempo or phase jumped."""
    likeliest = np.zeros(frames, np.int16)
    """The best period at each frame, for jumps."""
    off = np.zeros((frames + 1, count), np.int8)
    """Frames by which a beat near each frame lies off it; the first row is for the frame before the song."""
    frame_cost = _FRAME_COST * np.array([1, 0, 1])[:, None, None]
    for number, first in enumerate(range(0, frames, block)):
        if number % 50 == 0:
            if stop():
                raise Stopped("Stopped while looking for the beat.")
            progress(first / frames)
        last_frame = min(frames, first + block)
        low, high = first + lead, last_frame + lead
        now, before = np.arange(low, high) % kept, np.arange(low - 1, high - 1) % kept
        back = np.arange(low, high)[:, None] - hops[None, :]
        value = shifted[(back % kept)[:, :, None], near[None]] - cost
        choice = value.argmax(axis=2)
        steady = np.take_along_axis(value, choice[:, :, None], 2)[:, :, 0]
        jump = best[back] - _JUMP_COST
        jumps = jump > steady
        previous[first:last_frame] = np.where(jumps, -1, near[np.arange(count)[None, :], choice])
        score[now] = np.maximum(jump, steady) + gains.of(first, last_frame)
        best[low:high] = score[now].max(axis=1)
        likeliest[first:last_frame] = score[now].argmax(axis=1)
        two_before = np.arange(low - 2, high - 2) % kept
        one_off = np.maximum(score[two_before], score[now]) - _FRAME_COST
        shifted[before] = np.maximum(score[before], one_off)
        around = np.stack([score[two_before], score[before], score[now]]) - frame_cost
        off[first:last_frame] = around.argmax(axis=0) - 1
    begins = max(lead, frames + lead - int(hops[-1]))
    tail = score[np.arange(begins, frames + lead) % kept]
    last, period = divmod(int(tail.argmax()), count)
    at = begins + last
    found: list[tuple[float, float]] = []
    while at >= lead:
        found.append((at - lead, tried[period]))
        by, at = int(previous[at - lead, period]), at - int(hops[period])
        if by >= 0:
            at += int(off[at - lead + 1, by]) if at >= lead - 1 else 0
        period = by if by >= 0 else int(likeliest[max(0, at - lead)])
    beats = np.array(found[::-1], dtype=np.float64).reshape(-1, 2)
    progress(1.0)
    return Pulse(frames=beats[:, 0], periods=beats[:, 1])


def refine_to_onsets(pulse: Pulse, onsets: Onsets) -> NDArray[np.float64]:
    """Refine beats from whole frames to fractional frame numbers, by the onsets near them.

    A beat with a clear onset moves to its peak, interpolated by a parabola. A beat without one moves to the
    line that is fitted through its neighbours.
    """
    strength = gaussian_filter1d(onsets.normalised, 1.0)
    at = pulse.frames.astype(int)
    reach = 3
    around = np.clip(at[:, None] + np.arange(-reach, reach + 1)[None, :], 1, strength.size - 2)
    peak = around[np.arange(at.size), strength[around].argmax(axis=1)]
    left, middle, right = strength[peak - 1], strength[peak], strength[peak + 1]
    curvature = left - 2 * middle + right
    vertex = 0.5 * (left - right) / np.minimum(curvature, -1e-9)
    onset = peak + np.where(curvature < -1e-9, vertex, 0.0)
    weight = np.where((middle >= left) & (middle >= right), np.clip(middle, 0.0, 1.0), 0.0) + 1e-3
    refined = pulse.frames.copy()
    width = 4
    for i in range(at.size):
        low, high = max(0, i - width), min(at.size, i + width + 1)
        count = np.arange(low, high) - i
        # Neighbours beyond a jump of tempo say nothing about this beat.
        same = np.abs(np.log(pulse.periods[low:high] / pulse.periods[i])) < 0.1
        share = weight[low:high] * same
        middle_count = np.average(count, weights=share)
        middle_onset = np.average(onset[low:high], weights=share)
        spread = np.average((count - middle_count) ** 2, weights=share)
        slope = np.average((count - middle_count) * (onset[low:high] - middle_onset), weights=share)
        slope = slope / spread if spread > 0.5 else pulse.periods[i]
        line = middle_onset - middle_count * slope
        own = weight[i] if abs(onset[i] - line) < 0.035 * FRAME_RATE else 0.0
        if abs(line - pulse.frames[i]) <= reach:
            refined[i] = own * onset[i] + (1 - own) * line
    return np.maximum.accumulate(refined)
