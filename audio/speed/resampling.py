"""A clip resampled to the song's speed.

Speed is seconds of song in one second of clip: 2 where the playback on set ran twice as fast, 1001/1000 where
a player took a file of one rate for another.
"""

import math

import numpy as np
import soxr

from audio.signals import Samples


def to_song_speed(samples: Samples, rate: int, speed: float) -> Samples:
    """Resample a clip that runs at ``speed`` (no unit) so that it runs at 1; shape (n,) to about (n *
    speed,).

    >>> len(to_song_speed(np.zeros(8000, np.float32), 8000, 1.25))
    10000
    """
    if speed == 1:
        return samples
    out = soxr.resample(samples, rate, rate * speed, quality="HQ")
    length = math.floor(len(samples) * speed + 1e-6)
    return np.ascontiguousarray(np.pad(out, (0, max(0, length - len(out))))[:length], dtype=np.float32)
