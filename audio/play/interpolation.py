"""Values between samples: a recording on another clock, without resampling all of it.

Windowed-sinc interpolation (32 samples, Kaiser window; the textbook method, e.g. J. O. Smith, "Digital Audio
Resampling"). For speeds above 1 the cut-off frequency is lowered with the speed, to prevent aliasing.
"""

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float32]

HALF = 16
"""Samples on either side of a position, at speeds of at most 1."""
_PHASES = 512
"""Tabulated positions between two samples; the table is interpolated linearly."""
_BETA = 9.0
"""Shape of the Kaiser window: about 90 dB of stop-band attenuation (textbook formula)."""
_STEPS = 32
"""Filters per unit of speed above 1; the cut-off is at most 3 % too low. Chosen by hand."""


def reach(speed: float) -> int:
    """Samples on either side of a position that its value depends on, at a speed."""
    return int(np.ceil(HALF * max(1.0, _step(speed)))) + 1


def read_at(samples: FloatArray, places: NDArray[np.float64], speed: float = 1.0) -> FloatArray:
    """Values of ``samples``, shape (n,), at fractional sample positions, shape (m,); outside there is
    silence.

    ``speed`` is the distance between neighbouring positions, in samples.
    """
    step = max(1.0, _step(speed))
    table = _table(step)
    half = reach(speed)
    base = np.floor(places).astype(np.int64)
    phase = (places - base) * _PHASES
    row = np.minimum(phase.astype(np.int64), _PHASES - 1)
    share = (phase - row).astype(np.float32)[:, None]
    weights = table[row] * (1 - share) + table[row + 1] * share
    first, last = int(base.min()) - half + 1, int(base.max()) + half + 1
    padded = np.zeros(last - first, np.float32)
    low, high = max(first, 0), min(last, len(samples))
    if high > low:
        padded[low - first : high - first] = samples[low:high]
    windows = np.lib.stride_tricks.sliding_window_view(padded, 2 * half)
    out: FloatArray = np.einsum("ij,ij->i", windows[base - half + 1 - first], weights)
    return out


def _step(speed: float) -> float:
    """The speed rounded up to a step of the filter table; 1.0 up to 0.2 % above 1, more than any clock is
    off."""
    return 1.0 if speed <= 1.002 else float(np.ceil(speed * _STEPS) / _STEPS)


@lru_cache(maxsize=8)
def _table(step: float) -> FloatArray:
    """Filters for positions 0, 1/512 … 1 after a sample, shape (513, 2 × reach)."""
    half = int(np.ceil(HALF * step)) + 1
    offsets = np.arange(-half + 1, half + 1)[None, :] - np.arange(_PHASES + 1)[:, None] / _PHASES
    window = np.i0(_BETA * np.sqrt(np.clip(1 - (offsets / half) ** 2, 0, 1))) / np.i0(_BETA)
    table = np.sinc(offsets / step) * window
    filters: FloatArray = (table / table.sum(axis=1, keepdims=True)).astype(np.float32)
    return filters
