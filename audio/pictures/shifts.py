"""How far the whole picture moved from one frame to the next, by phase correlation of its tiles.

Phase correlation (Kuglin and Hines 1975) of one whole picture follows whatever has most detail. Here each
tile has its own correlation surface; their sum has its peak where most of the picture went, and the share of
tiles whose own peak is there tells a camera that moved from a player who did.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import fft

ACROSS = 4
"""Tiles along the longer side of a picture, two along the shorter one; chosen by hand: a tile holds detail
enough, and most tiles of a picture hold more background than player."""
_FINEST = 0.3
"""Frequencies beyond it (cycles per pixel) are weighed down, by hand: noise and the coder's blocks."""
_NEAR = 1.0
"""Pixels within which a tile's peak agrees with the whole's; by hand, the width of a peak."""
_FLAT = 1e-6
"""Variance of a tile (levels from 0 to 1) below which there is nothing to follow: a quarter code value."""


@dataclass(frozen=True, slots=True)
class Shift:
    """The movement of a picture against the one before."""

    right: float
    """Pixels."""
    down: float
    agreed: float
    """Share of the tiles with detail that moved so, from 0 to 1; 0 where nothing has detail."""


NONE = Shift(0.0, 0.0, 0.0)


class Shifts:
    """Shifts of pictures of one shape that are given one after the other."""

    def __init__(self, shape: tuple[int, int]) -> None:
        """``shape``: lines and columns, each at least 16."""
        down, across = (2, ACROSS) if shape[1] >= shape[0] else (ACROSS, 2)
        self._tiles = down, across
        self._side = shape[0] // down, shape[1] // across
        window = np.outer(np.hanning(self._side[0]), np.hanning(self._side[1]))
        self._window = window.astype(np.float32)
        lines = fft.fftfreq(self._side[0])[:, None]
        columns = fft.rfftfreq(self._side[1])[None, :]
        self._weight = np.exp(-0.5 * (lines**2 + columns**2) / (_FINEST / 2) ** 2).astype(np.float32)
        self._before: NDArray[np.complex64] | None = None
        self._held: NDArray[np.bool_] | None = None

    def forget(self) -> None:
        """The next picture does not follow the last one."""
        self._before = None

    def add(self, luma: NDArray[np.float32]) -> Shift | None:
        """The shift of a picture (lines, columns; from 0 to 1) against the last; None for the first."""
        (down, across), (high, wide) = self._tiles, self._side
        cut = luma[: down * high, : across * wide].reshape(down, high, across, wide).swapaxes(1, 2)
        flat = cut.reshape(-1, high * wide)
        flat = flat - flat.mean(axis=1, keepdims=True)
        held = np.einsum("tp,tp->t", flat, flat) > _FLAT * high * wide
        spectrum = fft.rfft2(flat.reshape(-1, high, wide) * self._window)
        before, self._before = self._before, spectrum
        held_before, self._held = self._held, held
        if before is None or held_before is None:
            return None
        followed = held & held_before
        if not followed.any():
            return NONE
        cross = spectrum[followed] * before[followed].conj()
        cross *= self._weight / (np.abs(cross) + 1e-9)
        surfaces = fft.irfft2(cross, s=self._side)
        whole = surfaces.sum(axis=0)
        at = np.unravel_index(int(whole.argmax()), whole.shape)
        line, column = _finer(whole, int(at[0]), int(at[1]))
        peaks = surfaces.reshape(len(surfaces), -1).argmax(axis=1)
        lines, columns = np.unravel_index(peaks, whole.shape)
        near = np.hypot(_around(lines - line, high), _around(columns - column, wide)) <= _NEAR
        return Shift(float(_around(column, wide)), float(_around(line, high)), float(np.mean(near)))


def _around(value: NDArray[np.float64] | float, size: int) -> NDArray[np.float64]:
    """Where a cyclic distance lies in [-size/2, size/2).

    >>> [float(one) for one in _around(np.array([1.0, 31.0, -30.0]), 32)]
    [1.0, -1.0, 2.0]
    """
    return (np.asarray(value) + size / 2) % size - size / 2


def _finer(surface: NDArray[np.float32], line: int, column: int) -> tuple[float, float]:
    """A peak's place to parts of a pixel: parabolas through it and its neighbours."""
    high, wide = surface.shape
    top = surface[line, column]

    def part(before: np.float32, after: np.float32) -> float:
        bend = before - 2 * top + after
        return 0.0 if bend >= 0 else float(0.5 * (before - after) / bend)

    return (
        line + part(surface[line - 1, column], surface[(line + 1) % high, column]),
        column + part(surface[line, column - 1], surface[line, (column + 1) % wide]),
    )
