"""What is measured of pictures: levels, clipped and blocked shares, means of cells, how sharp edges are."""

from functools import lru_cache
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

Plane = NDArray[np.float32]
Number = TypeVar("Number", np.float32, np.int16)

QUANTILES = (0.01, 0.1, 0.5, 0.9, 0.99)
"""Quantiles of luma that are kept."""
BANDS, COLUMNS = 24, 4
"""Cells whose means are kept. Bands: a sensor read in 1/30 s under 120 Hz light shows four waves, six bands
each. Columns tell light, which is alike in all, from what moves."""
CLIPPED = 249
"""Luma (of 255) from which a highlight counts as clipped. The coder leaves white a few values lower; where
red and green are clipped, blue has too little weight to keep luma down (ITU-R BT.709)."""
BLOCKED = 5
"""Luma (of 255) up to which a shadow counts as blocked; the same below."""
TILES = (4, 6)
"""Tiles in which edges are measured, down and across the longer side: a player fills several."""
BLOCK = 4
"""Pixels (each way) whose mean is taken for the coarse gradient."""
_PIXEL = 1 / 12
"""Variance in pixels of the box that a pixel is."""
FINE_VARIANCE = 4 / 12
"""That of a central difference between pixels, a box of two, …"""
COARSE_VARIANCE = (BLOCK**2 + (2 * BLOCK) ** 2) / 12 - _PIXEL
"""… and of one between means of blocks: a box of a block and one of two, less the pixel's own."""
AVERAGED = (BLOCK**2 - 1) / 12
"""That of averaging over a block's pixels."""


def block_means(planes: Plane, rows: int, columns: int) -> Plane:
    """Means of rows x columns blocks that cover pictures, or fewer in small ones: (…, rows, columns).

    >>> block_means(np.arange(12, dtype=np.float32).reshape(2, 6), 1, 3).tolist()
    [[3.5, 5.5, 7.5]]
    """
    high, wide = planes.shape[-2:]
    across = planes.reshape(-1, wide) @ _averaging(wide, columns).T
    return np.asarray(_averaging(high, rows) @ across.reshape(*planes.shape[:-1], -1), np.float32)


@lru_cache(maxsize=64)
def _averaging(size: int, blocks: int) -> Plane:
    """The matrix that averages ``size`` values in as many blocks."""
    blocks = min(blocks, size)
    of = np.arange(size) * blocks // size
    member = (of == np.arange(blocks)[:, None]).astype(np.float32)
    return np.asarray(member / member.sum(axis=1, keepdims=True), np.float32)


def halved(planes: Plane) -> Plane:
    """Means of 2 x 2 pixels of pictures (k, height, width); an odd last line or column is left out."""
    high, wide = (size // 2 * 2 for size in planes.shape[1:])
    lines = planes[:, 0:high:2] + planes[:, 1:high:2]
    return np.asarray((lines[:, :, 0:wide:2] + lines[:, :, 1:wide:2]) * np.float32(0.25))


def histograms(luma: NDArray[np.uint8]) -> NDArray[np.intp]:
    """How often each of 256 values is in pictures of shape (k, height, width): (k, 256).

    Every second pixel is asked, each way.
    """
    some = luma[:, ::2, ::2].reshape(len(luma), -1) + 256 * np.arange(len(luma))[:, None]
    return np.bincount(some.ravel(), minlength=256 * len(luma)).reshape(-1, 256)


def quantiles_of(counts: NDArray[np.intp]) -> Plane:
    """QUANTILES of luma from 0 to 1, of `histograms`; shape (k, 5)."""
    summed = np.cumsum(counts, axis=1)[:, None, :]
    wanted = np.array(QUANTILES)[None, :, None] * summed[..., -1:]
    return np.asarray(np.count_nonzero(summed < wanted, axis=2) / 255, np.float32)


def clipped_share(counts: NDArray[np.intp]) -> Plane:
    """Share of pixels with clipped highlights, of `histograms`; shape (k,)."""
    return np.asarray(counts[:, CLIPPED:].sum(axis=1) / counts.sum(axis=1), np.float32)


def blocked_share(counts: NDArray[np.intp]) -> Plane:
    """Share of pixels that are black, of `histograms`; shape (k,)."""
    return np.asarray(counts[:, : BLOCKED + 1].sum(axis=1) / counts.sum(axis=1), np.float32)


def edge_energies(luma: NDArray[np.uint8]) -> Plane:
    """Energies of fine and coarse gradients per tile, along x and y; shape (tiles, 2 directions, 2).

    The fine gradient is that between pixels, the coarse one that between means of blocks of 4 x 4. Both are
    squared (levels from 0 to 1 per pixel) and averaged over the tile with the coarse square as weight: so
    strong edges speak, not the grain between them. What the fine square is where the coarse one is small is
    noise and taken off.

    For a straight edge of height C blurred by a Gaussian of sigma b, smoothing of variance v leaves the slope
    C/(√(2π) r) exp(-x²/2r²), r² = b² + v; see `audio.pictures.softness` for what follows.
    """
    high, wide = (size // BLOCK * BLOCK for size in luma.shape)
    blocks = _block_sums(luma[:high, :wide].astype(np.uint16)).astype(np.float32) / np.float32(BLOCK**2)
    down, across = TILES if wide >= high else TILES[::-1]
    found = np.zeros((down * across, 2, 2), np.float32)
    if min(blocks.shape) < 3:
        return found
    signed = luma[:high, :wide].astype(np.int16)
    for direction, axis in enumerate((1, 0)):
        coarse = _central(blocks, axis) / np.float32(BLOCK)
        slope = _central(signed, axis)
        slope = np.abs(slope, out=slope).astype(np.uint16)
        fine = _block_sums((slope * slope).astype(np.uint32)).astype(np.float32) / np.float32(BLOCK**2)
        coarse, fine = np.square(coarse) / np.float32(4), fine / np.float32(4)
        some = coarse[::2, ::2]  # enough of them to tell the noise
        calm = some <= np.median(some)
        fine = np.maximum(fine - np.median(fine[::2, ::2][calm]), 0)
        found[:, direction, 0] = block_means(fine * coarse, down, across).ravel()
        found[:, direction, 1] = block_means(coarse * coarse, down, across).ravel()
    return found / np.float32(255**4)


def _central(plane: NDArray[Number], axis: int) -> NDArray[Number]:
    """Differences between the neighbours on either side; 0 at the edges."""
    found = np.zeros_like(plane)
    if axis:
        found[:, 1:-1] = plane[:, 2:] - plane[:, :-2]
    else:
        found[1:-1] = plane[2:] - plane[:-2]
    return found


def _block_sums(plane: NDArray[np.uint16] | NDArray[np.uint32]) -> NDArray[np.uint32]:
    """Sums of blocks of 4 x 4."""
    lines = plane[0::4] + plane[1::4] + plane[2::4] + plane[3::4]
    return np.asarray(lines[:, 0::4] + lines[:, 1::4] + lines[:, 2::4] + lines[:, 3::4])
