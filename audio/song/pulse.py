"""The pulse: a chain of beats through the onset strengths, its period free to stray slowly.

Dynamic programming over (frame, period) in the way of Ellis 2007, with the period carried along as in the
state spaces of Krebs, Boeck and Widmer 2015, so that a live tempo can wander, and with a small pattern
of what stands on a beat and between two beats (counting.py), which tells a beat from an off-beat and from
its double.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d

from audio.errors import Stopped
from audio.song.counting import FASTEST_BPM, PACE, PATTERN, PLACES, SLOWEST_BPM, USUAL_BPM
from audio.song.onsets import FRAME_RATE, Onsets

_STEP = 0.015
_NEAR = 4
"""Periods lie 1.5 % apart; from beat to beat at most four steps."""
_STRAY_COST = 4000.0
"""Cost of a change of period, times its logarithm squared: 1.5 % costs as much as a good beat brings."""
_FRAME_COST = 0.02
_LEAP_COST = 20.0
"""Cost of any other change of tempo or place: about a dozen good beats."""
_SCALE = 0.24
"""Of what is heard, against the costs above, for a beat that lasts a second."""


@dataclass(frozen=True, slots=True, eq=False)
class Pulse:
    """Beats as frames, with the period each was reached by."""

    frames: NDArray[np.float64]
    periods: NDArray[np.float64]


def periods(around: float | None = None) -> NDArray[np.float64]:
    """The beat periods tried, in frames, rising: all, or those less than a sixth from ``around``."""
    count = int(np.log(FASTEST_BPM / SLOWEST_BPM) / _STEP) + 1
    rising: NDArray[np.float64] = 60.0 * FRAME_RATE / FASTEST_BPM * np.exp(np.arange(count) * _STEP)
    return rising if around is None else rising[np.abs(np.log(rising / around)) < np.log(7 / 6)]


def _gains(heard: NDArray[np.float64], tried: NDArray[np.float64]) -> NDArray[np.float64]:
    """What a beat at a frame is worth under a period, shape (frames, periods)."""
    frames = heard.shape[1]
    lead = int(np.ceil(tried[-1]))
    padded = np.pad(heard, ((0, 0), (lead, 0)))
    gains = np.zeros((frames, tried.size))
    at = np.arange(frames)[:, None] + lead
    for places, weights in zip(PLACES, PATTERN.T, strict=True):
        row = weights @ padded / len(places)
        for place in places:
            gains += row[at - np.round((1.0 - place) % 1.0 * tried).astype(int)[None, :]]
    octaves = np.log2(60.0 * FRAME_RATE / tried / USUAL_BPM)
    gains += PACE[0] * octaves + PACE[1] * octaves**2
    # By time, not by beat: a fast pulse must not win by its number.
    return gains * (tried * _SCALE / FRAME_RATE)


def follow(
    heard: NDArray[np.float64],
    tried: NDArray[np.float64],
    *,
    stop: Callable[[], bool],
    progress: Callable[[float], None],
) -> Pulse:
    """The best chain of beats from the first to the last frame of ``heard`` (counting.signs), its periods out
    of those ``tried``. Raises Stopped."""
    hops = np.round(tried).astype(int)
    lead = int(hops[-1]) + 1
    gains = _gains(heard, tried)
    frames, count = gains.shape
    reach = np.arange(-_NEAR, _NEAR + 1)
    near = np.arange(count)[:, None] + reach[None, :]
    cost = np.where((near >= 0) & (near < count), _STRAY_COST * (reach * _STEP)[None, :] ** 2, np.inf)
    near = np.clip(near, 0, count - 1)
    worth = np.zeros((frames + lead, count))
    shifted = np.zeros_like(worth)
    best = np.zeros(frames + lead)
    came_by = np.zeros((frames, count), np.int16)
    # A beat is a period after the last one: so many frames do not need one another and go at once.
    block = max(1, int(hops[0]) - 1)
    for number, first in enumerate(range(0, frames, block)):
        if number % 50 == 0:
            if stop():
                raise Stopped("Stopped while looking for the beat.")
            progress(first / frames)
        low, high = first + lead, min(frames, first + block) + lead
        back = np.arange(low, high)[:, None] - hops[None, :]
        value = shifted[back[:, :, None], near[None]] - cost
        choice = value.argmax(axis=2)
        kept = np.take_along_axis(value, choice[:, :, None], 2)[:, :, 0]
        leap = best[back] - _LEAP_COST
        leaps = leap > kept
        came_by[low - lead : high - lead] = np.where(leaps, -1, near[np.arange(count)[None, :], choice])
        worth[low:high] = np.maximum(leap, kept) + gains[low - lead : high - lead]
        best[low:high] = worth[low:high].max(axis=1)
        near_by = np.maximum(worth[low - 2 : high - 2], worth[low:high]) - _FRAME_COST
        shifted[low - 1 : high - 1] = np.maximum(worth[low - 1 : high - 1], near_by)
    tail = worth[max(lead, frames + lead - hops[-1]) :]
    last, period = divmod(int(tail.argmax()), count)
    at = worth.shape[0] - tail.shape[0] + last
    found: list[tuple[float, float]] = []
    while at >= lead:
        found.append((at - lead, tried[period]))
        by, at = int(came_by[at - lead, period]), at - int(hops[period])
        if by >= 0:
            at += int(np.argmax(worth[at - 1 : at + 2, by] - _FRAME_COST * np.array([1, 0, 1]))) - 1
        period = by if by >= 0 else int(worth[at].argmax())
    chain = np.array(found[::-1], dtype=np.float64).reshape(-1, 2)
    progress(1.0)
    return Pulse(frames=chain[:, 0], periods=chain[:, 1])


def settle(pulse: Pulse, onsets: Onsets) -> NDArray[np.float64]:
    """Beats moved from the frame grid onto the onsets near them, as fractions of frames.

    A beat with a clear onset goes to its peak; a beat without one goes to where its neighbours point.
    """
    strength = gaussian_filter1d(onsets.evened, 1.0)
    at = pulse.frames.astype(int)
    reach = 3
    around = np.clip(at[:, None] + np.arange(-reach, reach + 1)[None, :], 1, strength.size - 2)
    peak = around[np.arange(at.size), strength[around].argmax(axis=1)]
    left, middle, right = strength[peak - 1], strength[peak], strength[peak + 1]
    bend = left - 2 * middle + right
    onset = peak + np.where(bend < -1e-9, 0.5 * (left - right) / np.minimum(bend, -1e-9), 0.0)
    weight = np.where((middle >= left) & (middle >= right), np.clip(middle, 0.0, 1.0), 0.0) + 1e-3
    settled = pulse.frames.copy()
    width = 4
    for i in range(at.size):
        low, high = max(0, i - width), min(at.size, i + width + 1)
        count = np.arange(low, high) - i
        # Neighbours across a leap of tempo say nothing about this beat.
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
            settled[i] = own * onset[i] + (1 - own) * line
    return np.maximum.accumulate(settled)
