"""Signals as the engine takes them: one sample rate, one dtype, finite values."""

import numpy as np
from numpy.typing import NDArray

from audio.errors import BadSignal

ENGINE_RATE = 8000
"""Samples a second at which songs and clips are compared; no other rate works.

Phones and loudspeakers carry the song best below 4 kHz, and the transforms of a song stay small. Chosen by
hand; lengths of transforms and of lag bins are powers of two that come out even at this rate."""

Samples = NDArray[np.float32]


def checked(samples: Samples, what: str) -> Samples:
    """Give the samples as a contiguous float32 array of shape (n,).

    Raises
    ------
    BadSignal
        The array is not one-dimensional, is empty or holds values that are not finite.
    """
    array = np.ascontiguousarray(samples, dtype=np.float32)
    if array.ndim != 1 or array.size == 0:
        raise BadSignal(f"{what} holds no sound.")
    if not np.isfinite(array).all():
        raise BadSignal(f"{what} holds values that are no numbers: export it again.")
    return array


def check_rate(rate: float, what: str) -> None:
    """Raise BadSignal unless ``rate`` (samples a second) is ENGINE_RATE.

    >>> check_rate(11025, "The song")
    Traceback (most recent call last):
    audio.errors.BadSignal: The song has 11025 samples a second, but placing needs 8000: resample it.
    """
    if rate != ENGINE_RATE:
        raise BadSignal(f"{what} has {rate} samples a second, but placing needs {ENGINE_RATE}: resample it.")
