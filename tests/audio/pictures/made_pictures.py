"""Pictures as the sampling gives them, made of arrays."""

import numpy as np
from numpy.typing import NDArray

from audio.pictures.sampling import Picture

WEIGHTS = np.array([0.2126, 0.7152, 0.0722])
"""Of red, green and blue in luma (ITU-R BT.709)."""


def picture_of(clip_s: float, rgb: NDArray[np.uint8], run: int = 0) -> Picture:
    """A picture of RGB of shape (height, width, 3), in colour and looked at closely, too."""
    luma = np.clip(rgb @ WEIGHTS + 0.5, 0, 255).astype(np.uint8)
    return Picture(clip_s, luma, run, rgb, luma)
