"""Playing a song at any speed from any moment, to a hundredth of a sample."""

import numpy as np
from scipy import signal

from tests.quality.instruments import Wave
from tests.quality.songs import WORK_RATE

_OVER = 4
"""The song is first brought to so many times its rate; six points of Lagrange then do to -70 dB."""
_REACH = 40


def play(feed: Wave, song_from_s: float, speed: float, count: int) -> Wave:
    """Give ``count`` samples at WORK_RATE; sample k is the song at ``song_from_s + speed * k / WORK_RATE``.

    ``feed`` is the song at WORK_RATE; silence before and after it. What would pass half the rate is filtered
    off (linear phase).
    """
    first = song_from_s * WORK_RATE
    if speed == 1.0:
        return _moved(feed, first, count)
    reach = _REACH + round(24 * max(1.0, speed))
    left = int(np.floor(first)) - reach
    piece = stretch_of(feed, left, int(np.ceil(count * speed)) + 2 * reach)
    if speed > 1:
        below = _low_pass(round(24 * speed), 0.96 / speed)
        piece = signal.oaconvolve(piece, below.astype(piece.dtype), "same")
    fine = signal.resample_poly(
        piece, _OVER, 1, window=_low_pass(24 * _OVER, 0.96 / _OVER).astype(piece.dtype)
    )
    out = np.empty(count, dtype=piece.dtype)
    for start in range(0, count, 1 << 16):
        k = np.arange(start, min(count, start + (1 << 16)))
        place = (first - left + speed * k) * _OVER
        whole = np.floor(place).astype(np.int64)
        out[k] = _lagrange(fine, whole, (place - whole).astype(piece.dtype))
    return out


def delayed(wave: Wave, late_s: Wave) -> Wave:
    """A wave at WORK_RATE that comes so late (s, shape of ``wave``) at each moment; early where negative."""
    fine = signal.resample_poly(wave, _OVER, 1, window=_low_pass(24 * _OVER, 0.96 / _OVER).astype(wave.dtype))
    fine = np.pad(fine, 3)
    out = np.empty(len(wave), dtype=wave.dtype)
    for start in range(0, len(wave), 1 << 16):
        k = np.arange(start, min(len(wave), start + (1 << 16)))
        place = np.clip((k - late_s[k] * WORK_RATE) * _OVER, 0, len(fine) - 7) + 3
        whole = np.floor(place).astype(np.int64)
        out[k] = _lagrange(fine, whole, (place - whole).astype(wave.dtype))
    return out


def _low_pass(half: int, share: float) -> Wave:
    """Linear phase, ``2 * half + 1`` taps, up to a share of the highest frequency."""
    return np.asarray(signal.firwin(2 * half + 1, share, window=("kaiser", 7.0)))


def _moved(feed: Wave, first: float, count: int) -> Wave:
    """The song as it is, from any part of a sample on."""
    whole = int(np.floor(first))
    if first == whole:
        return stretch_of(feed, whole, count)
    piece = stretch_of(feed, whole - _REACH, count + 2 * _REACH)
    at = np.arange(-_REACH, _REACH + 1) + (first - whole)
    taps = np.sinc(at) * np.kaiser(2 * _REACH + 1, 7.0)
    return np.asarray(signal.oaconvolve(piece, taps.astype(piece.dtype), "valid"))


def stretch_of(feed: Wave, start: int, count: int) -> Wave:
    """Samples of a song from one on, silence where it has none."""
    out = np.zeros(count, dtype=feed.dtype)
    first, last = max(0, start), min(len(feed), start + count)
    if last > first:
        out[first - start : last - start] = feed[first:last]
    return out


def _lagrange(fine: Wave, whole: Wave, part: Wave) -> Wave:
    nodes = range(-2, 4)
    total = np.zeros(len(part), dtype=part.dtype)
    for node in nodes:
        weight = np.ones(len(part), dtype=part.dtype)
        for other in nodes:
            if other != node:
                weight *= (part - other) / (node - other)
        total += weight * fine[whole + node]
    return total
