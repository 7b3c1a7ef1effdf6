"""A limiter: what would pass the ceiling is turned down before it comes, and let up again slowly after.

Peaks are looked for between the samples too, where a converter would put them: four points a sample by
windowed-sinc interpolation, as ITU-R BS.1770 (annex on true peak) asks of a meter. The gain falls in a
straight line that ends at the peak, and rises by so many decibels a second.
"""

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float32]

CEILING_DB = -1.0
"""Common practice for what goes to a converter: 1 dB under full scale, true peak."""
LOOK_AHEAD_S = 0.004
RELEASE_DB_S = 60.0
_POINTS = 4
"""Points a sample."""
_TAPS = 12
"""Samples on either side that a point between samples is made from."""
_MARGIN_DB = 0.5
"""What four points a sample may miss of a tone of 20 kHz at 48 kHz: -20 log10(cos(π/4 · 20/48)) = 0.48."""


class Limiter:
    """Takes stereo blocks one after the other and gives as many frames back, ``delay`` frames late."""

    def __init__(self, rate: int, ceiling_db: float = CEILING_DB) -> None:
        self._most = 10 ** ((ceiling_db - _MARGIN_DB) / 20)
        self._length = max(1, round(LOOK_AHEAD_S * rate))
        self._fall = RELEASE_DB_S / rate
        self._kernels = _kernels()
        self.delay = self._length - 1 + _TAPS
        """Frames by which what comes out lags what goes in."""
        self.clear()

    def clear(self) -> None:
        """Forget what came before, as at a fresh start."""
        self._past = np.zeros((self.delay + _TAPS, 2), np.float32)
        self._gains = np.zeros(2 * self._length - 2)
        """Decibels that the frames in the delay, and as many before them, ask for."""
        self._held = 0.0

    def process(self, block: FloatArray) -> FloatArray:
        """The next frames, shape (n, 2), limited; those that went in ``delay`` frames before."""
        count = len(block)
        if count == 0:
            return block
        whole = np.concatenate([self._past, block])
        peaks = self._peaks(whole[len(self._past) - 2 * _TAPS :])
        asked = np.minimum(0.0, 20 * np.log10(self._most / np.maximum(peaks, 1e-9)))
        # Let up by a steady slope: the lowest of all earlier gains, each risen since then.
        slope = np.arange(1, count + 1) * self._fall
        held = np.minimum(0.0, np.minimum(np.minimum.accumulate(asked - slope), self._held) + slope)
        self._held = float(held[-1])
        gains = np.concatenate([self._gains, held])
        self._gains = gains[count:]
        # The lowest gain of every stretch as long as the look-ahead, and then the mean of the stretches that
        # hold the frame: none of them lies above what the frame asks for, so their mean does not.
        smooth = _sliding_mean(_sliding_minimum(gains, self._length), self._length)
        out = whole[_TAPS : _TAPS + count] * (10 ** (smooth / 20)).astype(np.float32)[:, None]
        self._past = whole[count:]
        return out

    def _peaks(self, frames: FloatArray) -> NDArray[np.float64]:
        """Highest absolute value at and just after each frame, given ``_TAPS`` frames before and after."""
        peaks: NDArray[np.float64] = np.abs(frames[_TAPS:-_TAPS]).max(axis=1).astype(np.float64)
        for side in range(2):
            row = frames[:, side].astype(np.float64)
            for kernel in self._kernels:
                between = np.abs(np.convolve(row, kernel, "valid"))
                # A peak between two frames holds both of them down.
                np.maximum(peaks, between[1:], out=peaks)
                np.maximum(peaks, between[:-1], out=peaks)
        return peaks


def _kernels() -> list[NDArray[np.float64]]:
    """Filters for the points between two samples, ``2 * _TAPS`` long."""
    offsets = np.arange(-_TAPS + 1, _TAPS + 1)
    kernels = []
    for point in range(1, _POINTS):
        x = offsets - point / _POINTS
        kernel = np.sinc(x) * np.cos(np.pi * x / (2 * _TAPS + 1)) ** 2
        kernels.append((kernel / kernel.sum())[::-1])
    return kernels


def _sliding_minimum(values: NDArray[np.float64], length: int) -> NDArray[np.float64]:
    """Lowest of every ``length`` values in a row."""
    out = values.copy()
    reach = 1
    while reach < length:
        step = min(reach, length - reach)
        out[step:] = np.minimum(out[step:], out[:-step])
        reach += step
    return out[length - 1 :]


def _sliding_mean(values: NDArray[np.float64], length: int) -> NDArray[np.float64]:
    sums = np.concatenate([[0.0], np.cumsum(values)])
    means: NDArray[np.float64] = (sums[length:] - sums[:-length]) / length
    return means
