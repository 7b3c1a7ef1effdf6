"""A look-ahead true-peak limiter.

Peaks between samples count too: four points a sample by windowed-sinc interpolation, as ITU-R BS.1770 (annex
on true peak) asks of a meter. The gain falls in a straight line that ends at the peak, and recovers by a
fixed number of decibels a second.
"""

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float32]

CEILING_DB = -1.0
"""True-peak ceiling in dB of full scale: common practice for signals that go to a converter."""
LOOK_AHEAD_S = 0.004
"""Seconds over which the gain falls before a peak. Chosen by hand: shorter distorts, longer delays the sound
more."""
RELEASE_DB_S = 60.0
"""Recovery in dB a second. Chosen by hand: faster distorts bass, slower is heard as a dip in level."""
_POINTS = 4
"""Points per sample at which peaks are measured."""
_TAPS = 12
"""Samples on either side from which a point between samples is interpolated."""
_MARGIN_DB = 0.5
"""dB by which four points a sample may miss the peak of 20 kHz at 48 kHz: -20 log10(cos(π/4 · 20/48)) =
0.48."""


class Limiter:
    """Limits consecutive stereo blocks at ``rate`` frames a second; the output is ``delay`` frames late."""

    def __init__(self, rate: int, ceiling_db: float = CEILING_DB) -> None:
        self._most = 10 ** ((ceiling_db - _MARGIN_DB) / 20)
        self._length = max(1, round(LOOK_AHEAD_S * rate))
        self._fall = RELEASE_DB_S / rate
        self._kernels = _kernels()
        self.delay = self._length - 1 + _TAPS
        """Frames by which the output lags the input."""
        self.clear()

    def clear(self) -> None:
        """Reset, as if nothing had been processed."""
        self._past = np.zeros((self.delay + _TAPS, 2), np.float32)
        self._gains = np.zeros(2 * self._length - 2)
        """Gains in dB required by the frames in the delay and as many before them."""
        self._held = 0.0
        """Gain in dB at the end of the last block."""

    def process(self, block: FloatArray) -> FloatArray:
        """Limit the next frames, shape (n, 2), full scale 1.0; gives those that went in ``delay`` frames
        before."""
        count = len(block)
        if count == 0:
            return block
        whole = np.concatenate([self._past, block])
        peaks = self._peaks(whole[len(self._past) - 2 * _TAPS :])
        required = np.minimum(0.0, 20 * np.log10(self._most / np.maximum(peaks, 1e-9)))
        # Recovery at a fixed slope: the lowest of all earlier gains, each raised by the time since.
        slope = np.arange(1, count + 1) * self._fall
        held = np.minimum(0.0, np.minimum(np.minimum.accumulate(required - slope), self._held) + slope)
        self._held = float(held[-1])
        gains = np.concatenate([self._gains, held])
        self._gains = gains[count:]
        # The lowest gain in every window as long as the look-ahead, then the mean over the windows that hold
        # the frame: none of them is above what the frame requires, so their mean is not either.
        smooth = _sliding_mean(_sliding_minimum(gains, self._length), self._length)
        out = whole[_TAPS : _TAPS + count] * (10 ** (smooth / 20)).astype(np.float32)[:, None]
        self._past = whole[count:]
        return out

    def _peaks(self, frames: FloatArray) -> NDArray[np.float64]:
        """Highest absolute value at each frame and next to it, from ``_TAPS`` more frames on either side."""
        peaks: NDArray[np.float64] = np.abs(frames[_TAPS:-_TAPS]).max(axis=1).astype(np.float64)
        for side in range(2):
            row = frames[:, side].astype(np.float64)
            for kernel in self._kernels:
                between = np.abs(np.convolve(row, kernel, "valid"))
                # A peak between two frames limits both of them.
                np.maximum(peaks, between[1:], out=peaks)
                np.maximum(peaks, between[:-1], out=peaks)
        return peaks


def _kernels() -> list[NDArray[np.float64]]:
    """Interpolation filters for the points between two samples, ``2 * _TAPS`` long."""
    offsets = np.arange(-_TAPS + 1, _TAPS + 1)
    kernels = []
    for point in range(1, _POINTS):
        x = offsets - point / _POINTS
        kernel = np.sinc(x) * np.cos(np.pi * x / (2 * _TAPS + 1)) ** 2
        kernels.append((kernel / kernel.sum())[::-1])
    return kernels


def _sliding_minimum(values: NDArray[np.float64], length: int) -> NDArray[np.float64]:
    """Minimum of every ``length`` consecutive values."""
    out = values.copy()
    reach = 1
    while reach < length:
        step = min(reach, length - reach)
        out[step:] = np.minimum(out[step:], out[:-step])
        reach += step
    return out[length - 1 :]


def _sliding_mean(values: NDArray[np.float64], length: int) -> NDArray[np.float64]:
    """Mean of every ``length`` consecutive values."""
    sums = np.concatenate([[0.0], np.cumsum(values)])
    means: NDArray[np.float64] = (sums[length:] - sums[:-length]) / length
    return means
