"""Speeds a clip may run at against the song, and a clip brought to the song's speed.

Speed is song seconds for each clip second: 2 where the playback on set ran twice as fast, 1001/1000 where a
player took a file of one rate for another.
"""

import math

import numpy as np
import soxr

from audio.signals import Samples

DRIFTS = tuple(1 + ppm * 1e-6 for ppm in (-300, 300, -150, 150))
"""Clocks so far off that a block smears; cheap phones reach 300 ppm."""
SLIPS = (1000 / 1001, 1001 / 1000, 24 / 25, 25 / 24)
"""Common practice: a pull-down slip either way, and film speed against 25 frames a second."""
PLAYBACKS = (1.25, 1.5, 1.6, 2.0, 2.5, 0.8, 0.5)
"""Common practice: playback sped up for slow motion (30, 36 and 48 for 24, 40 for 25, 60 for 24), or
slowed."""
HYPOTHESES = (*DRIFTS, *SLIPS, *PLAYBACKS)


def at_song_speed(flat: Samples, rate: int, speed: float) -> Samples:
    """Resample a clip that runs at ``speed`` so that it runs at 1; shape (n,) to about (n * speed,).

    >>> len(at_song_speed(np.zeros(8000, np.float32), 8000, 1.25))
    10000
    """
    if speed == 1:
        return flat
    out = soxr.resample(flat, rate, rate * speed, quality="HQ")
    length = math.floor(len(flat) * speed + 1e-6)
    return np.ascontiguousarray(np.pad(out, (0, max(0, length - len(out))))[:length], dtype=np.float32)


def excerpts(flat: Samples, rate: int, seconds: float, most: int) -> list[Samples]:
    """Up to ``most`` stretches of a clip, evenly spread; the whole clip if it is no longer than they are.

    >>> [len(piece) for piece in excerpts(np.zeros(100, np.float32), 1, 20, 3)]
    [20, 20, 20]
    """
    length = int(seconds * rate)
    if len(flat) <= length * most:
        return [flat]
    starts = np.linspace(0, len(flat) - length, most + 2)[1:-1].astype(int)
    return [flat[start : start + length] for start in starts]
