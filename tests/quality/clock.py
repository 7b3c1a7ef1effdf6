"""Playing a song at any speed from any moment, to a hundredth of a sample."""

import numpy as np
from scipy import signal

from tests.quality.instruments import Wave
from tests.quality.songs import WORK_RATE

_OVER = 4
"""The song is first brought to so many times its rate; six points of Lagrange then do to -70 dB."""


def play(feed: Wave, song_from_s: float, speed: float, count: int) -> Wave:
    """Give ``count`` samples at WORK_RATE; sample k is the song at ``song_from_s + speed * k / WORK_RATE``.

    ``feed`` is the song at WORK_RATE; silence before and after it. What would pass half the rate is filtered
    off (linear phase).
    """
    first = song_from_s * WORK_RATE
    if speed == 1.0 and first == round(first):
        return _stretch(feed, round(first), count)
    reach = 40
    left = int(np.floor(first)) - reach
    piece = _stretch(feed, left, int(np.ceil(count * speed)) + 2 * reach)
    half = round(24 * _OVER * max(1.0, speed))
    low_pass = signal.firwin(2 * half + 1, 0.96 / max(1.0, speed) / _OVER, window=("kaiser", 7.0))
    fine = signal.resample_poly(piece, _OVER, 1, window=low_pass)
    out = np.empty(count)
    for start in range(0, count, 1 << 18):
        k = np.arange(start, min(count, start + (1 << 18)))
        place = (first - left + speed * k) * _OVER
        whole = np.floor(place).astype(np.int64)
        out[k] = _lagrange(fine, whole, place - whole)
    return out


def _stretch(feed: Wave, start: int, count: int) -> Wave:
    out = np.zeros(count)
    first, last = max(0, start), min(len(feed), start + count)
    if last > first:
        out[first - start : last - start] = feed[first:last]
    return out


def _lagrange(fine: Wave, whole: Wave, part: Wave) -> Wave:
    nodes = range(-2, 4)
    total = np.zeros(len(part))
    for node in nodes:
        weight = np.ones(len(part))
        for other in nodes:
            if other != node:
                weight *= (part - other) / (node - other)
        total += weight * fine[whole + node]
    return total
