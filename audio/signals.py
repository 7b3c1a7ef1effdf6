"""Signals as the engine takes them: one dtype, finite values."""

import numpy as np
from numpy.typing import NDArray

from audio.errors import BadSignal

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
        raise BadSignal(f"{what} has no sound.")
    if not np.isfinite(array).all():
        raise BadSignal(f"{what} holds values that are not numbers: export it again.")
    return array
