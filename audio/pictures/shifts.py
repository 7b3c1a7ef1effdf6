"""How far the whole picture moved from one frame to the next, by phase correlation of its tiles.

Phase correlation (Kuglin and Hines 1975) of one whole picture follows whatever has most detail. Here each
tile has its own correlation surface; their sum has its peak where most of the picture went, and the share of
tiles whose own peak is there tells a camera that moved from a player who did.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy import fft

ACROSS = 4
"""Tiles along the longer side of a picture, two along the shorter one; chosen by hand: a tile holds detail
enough, and most tiles of a picture hold more background than player."""
_FINEST = 0.3
"""Frequencies beyond it (cycles per pixel) are weighed down, by hand: noise and the coder's blocks."""
_MOSTLY = 0.85
"""Share of a tile that is looked at at least; by hand."""
_NEAR = 1.0
"""Pixels within which a tile's peak agrees with the whole's; by hand, the width of a peak."""
_FLAT = 1e-6
"""Variance of a tile (levels from 0 to 1) below which there is nothing to follow: a quarter code value."""


Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Shifts:
    """The movement of pictures against the one before, each of shape (k,)."""

    right: Floats
    """Pixels."""
    down: Floats
    agreed: Floats
    """Share of the tiles with detail that moved so, from 0 to 1; 0 where nothing has detail."""


def shifts_of(luma: NDArray[np.float32]) -> Shifts:
    """The shifts of consecutive pictures, all but the first: (k + 1, lines, columns), levels from 0 to 1.

    Lines and columns are 16 each at least.
    """
    count, lines, columns = luma.shape
    down, across = (2, ACROSS) if columns >= lines else (ACROSS, 2)
    side = high, wide = _quick(lines // down), _quick(columns // across)
    step_y, step_x = lines // down, columns // across
    cut = luma[:, : down * step_y, : across * step_x].reshape(count, down, step_y, across, step_x)
    flat = cut[:, :, :high, :, :wide].swapaxes(2, 3).reshape(count, -1, high * wide)
    flat = flat - flat.mean(axis=2, keepdims=True)
    held = np.einsum("ktp,ktp->kt", flat, flat) > _FLAT * high * wide
    window, weight = _windows(side)
    spectrum = fft.rfft2(flat.reshape(count, -1, high, wide) * window)
    cross = spectrum[1:] * spectrum[:-1].conj()
    size = np.square(cross.real)
    size += np.square(cross.imag)
    followed = held[1:] & held[:-1]
    cross *= weight * followed[:, :, None, None] / np.sqrt(size + 1e-18)
    surfaces = fft.irfft2(cross, s=side)
    whole = surfaces.sum(axis=1)
    line, column = _finer(whole)
    tops = surfaces.reshape(*surfaces.shape[:2], -1).argmax(axis=2)
    near = (
        np.hypot(
            _around(tops // wide - line[:, None], high),
            _around(tops % wide - column[:, None], wide),
        )
        <= _NEAR
    )
    with_detail = followed.sum(axis=1)
    moved = with_detail > 0
    return Shifts(
        np.where(moved, _around(column, wide), 0.0),
        np.where(moved, _around(line, high), 0.0),
        (near & followed).sum(axis=1) / np.maximum(with_detail, 1),
    )


def _quick(size: int) -> int:
    """A power of two where that is not much less: it is transformed twice as fast.

    >>> [_quick(one) for one in (36, 32, 24, 27)]
    [32, 32, 24, 27]
    """
    power = 1 << (size.bit_length() - 1)
    return power if power >= _MOSTLY * size else size


@lru_cache(maxsize=8)
def _windows(side: tuple[int, int]) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """What tiles are faded out by, and the weights of frequencies."""
    window = np.outer(np.hanning(side[0]), np.hanning(side[1])).astype(np.float32)
    lines, columns = fft.fftfreq(side[0])[:, None], fft.rfftfreq(side[1])[None, :]
    return window, np.exp(-0.5 * (lines**2 + columns**2) / (_FINEST / 2) ** 2).astype(np.float32)


def _around(value: Floats, size: int) -> Floats:
    """Where a cyclic distance lies in [-size/2, size/2).

    >>> [float(one) for one in _around(np.array([1.0, 31.0, -30.0]), 32)]
    [1.0, -1.0, 2.0]
    """
    return (np.asarray(value) + size / 2) % size - size / 2


def _finer(surfaces: NDArray[np.float32]) -> tuple[Floats, Floats]:
    """The lines and columns of peaks, to parts of a pixel: parabolas through them and their neighbours."""
    count, high, wide = surfaces.shape
    each = np.arange(count)
    tops = surfaces.reshape(count, -1).argmax(axis=1)
    line, column = tops // wide, tops % wide
    top = surfaces[each, line, column]

    def part(before: NDArray[np.float32], after: NDArray[np.float32]) -> Floats:
        bend = np.minimum(before - 2 * top + after, -1e-12)
        return np.asarray(np.clip(0.5 * (before - after) / bend, -0.5, 0.5), np.float64)

    return (
        line + part(surfaces[each, line - 1, column], surfaces[each, (line + 1) % high, column]),
        column + part(surfaces[each, line, column - 1], surfaces[each, line, (column + 1) % wide]),
    )
