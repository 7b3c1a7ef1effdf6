"""What is measured of one picture: levels, clipped and blocked shares, means of cells, gradient energies."""

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter

Plane = NDArray[np.float32]

LUMA = np.array([0.2126, 0.7152, 0.0722], np.float32)
"""Weights of red, green and blue in luma (ITU-R BT.709)."""
QUANTILES = (0.01, 0.1, 0.5, 0.9, 0.99)
"""Quantiles of luma that are kept."""
BANDS, COLUMNS = 24, 4
"""Cells whose means are kept. Bands: a sensor read in 1/30 s under 120 Hz light shows four waves, six bands
each. Columns tell light, which is alike in all, from what moves."""
CLIPPED = 250
"""Code value (of 255) from which a channel counts as clipped: the coder leaves white a few values lower."""
BLOCKED = 5
"""Luma (of 255) up to which a shadow counts as blocked; the same below."""
TILES = (4, 6)
"""Tiles in which gradient energy is measured, down and across the longer side: a player fills several."""
FINE, COARSE = 0.8 / 144, 2.4 / 144
"""Gaussian sigmas (in picture heights) before gradients are taken: 0.8 and 2.4 lines of 144. The finer holds
down noise; three times that is as coarse as small pictures bear."""


def luma_of(rgb: NDArray[np.uint8]) -> Plane:
    """Luma from 0 to 1, shape (height, width)."""
    return np.asarray(rgb.astype(np.float32) @ (LUMA / 255), np.float32)


def block_means(plane: Plane, rows: int, columns: int) -> Plane:
    """Means of rows x columns blocks that cover the picture, or fewer in a small one; shape (rows, columns).

    >>> block_means(np.arange(12, dtype=np.float32).reshape(2, 6), 1, 3).tolist()
    [[3.5, 5.5, 7.5]]
    """
    high, wide = plane.shape
    return np.asarray(_averaging(high, rows) @ plane @ _averaging(wide, columns).T, np.float32)


@lru_cache(maxsize=64)
def _averaging(size: int, blocks: int) -> Plane:
    """The matrix that averages ``size`` values in as many blocks."""
    blocks = min(blocks, size)
    of = np.arange(size) * blocks // size
    member = (of == np.arange(blocks)[:, None]).astype(np.float32)
    return np.asarray(member / member.sum(axis=1, keepdims=True), np.float32)


def halved(plane: Plane) -> Plane:
    """Means of 2 x 2 pixels; an odd last line or column is left out."""
    high, wide = plane.shape[0] // 2 * 2, plane.shape[1] // 2 * 2
    lines = plane[0:high:2] + plane[1:high:2]
    return np.asarray((lines[:, 0:wide:2] + lines[:, 1:wide:2]) * np.float32(0.25))


def quantiles_of(luma: Plane) -> Plane:
    """QUANTILES of luma, from a histogram of every second pixel in 256 steps; shape (5,)."""
    some = luma[::2, ::2].ravel()
    counts = np.bincount((some * np.float32(255) + np.float32(0.5)).astype(np.uint8), minlength=256)
    places = np.searchsorted(np.cumsum(counts), np.array(QUANTILES) * some.size)
    return np.asarray(places / 255, np.float32)


def clipped_share(rgb: NDArray[np.uint8]) -> float:
    """Share of pixels with two or three clipped channels: one alone is a colour, such as a red lamp.

    Asked of every second pixel.
    """
    red, green, blue = (rgb[::2, ::2, one] >= CLIPPED for one in range(3))
    return float(np.count_nonzero((red & green) | (green & blue) | (red & blue)) / red.size)


def blocked_share(luma: Plane) -> float:
    """Share of pixels that are black."""
    return float(np.count_nonzero(luma <= np.float32((BLOCKED + 0.5) / 255)) / luma.size)


def gradient_energies(luma: Plane) -> Plane:
    """Mean squared gradients per tile, along x and y, after the fine and the coarse smoothing.

    Shape (tiles, 2 directions, 2 smoothings), in (levels per picture height) squared. For a straight edge of
    height C that is blurred by a Gaussian of sigma b, smoothing by s leaves the slope C/(√(2π) r)
    exp(-x²/2r²), r² = b² + s², whose square integrates to C²/(2√π r): energies go as 1/r.
    """
    high, wide = luma.shape
    down, across = TILES if wide >= high else TILES[::-1]
    found = np.empty((down * across, 2, 2), np.float32)
    for scale, sigma in enumerate((FINE, COARSE)):
        smooth = gaussian_filter(luma, sigma * high, mode="nearest", truncate=3.0)
        for direction, axis in enumerate((1, 0)):
            slope = np.gradient(smooth, axis=axis) * np.float32(high)
            found[:, direction, scale] = block_means(slope * slope, down, across).ravel()
    return found
