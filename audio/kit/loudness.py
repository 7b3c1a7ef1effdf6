"""How loud a recording is: integrated loudness and true peak (ITU-R BS.1770-4; EBU R 128).

Filter coefficients are those of the recommendation's tables for 48 kHz (from memory, checked in the tests
against another meter).
"""

import numpy as np
from numpy.typing import NDArray
from scipy import signal

FloatArray = NDArray[np.float32]

RATE = 48_000
"""The only sample rate that the coefficients are for."""

_SHELF = ((1.53512485958697, -2.69169618940638, 1.19839281085285), (1.0, -1.69065929318241, 0.73248077421585))
_HIGH_PASS = ((1.0, -2.0, 1.0), (1.0, -1.99004745483398, 0.99007225036621))
_BLOCK_S, _STEP_S = 0.4, 0.1
_OFFSET = -0.691
_SILENCE_LUFS = -70.0
_BELOW_LU = 10.0
_POINTS = 4
"""Points a sample at which peaks are measured, as the recommendation has it."""


def loudness(sound: FloatArray) -> float:
    """Integrated loudness (LUFS) of a sound of shape (n, channels) at 48 kHz; -inf for silence."""
    weighted = sound.astype(np.float64)
    for numerator, denominator in (_SHELF, _HIGH_PASS):
        weighted = signal.lfilter(numerator, denominator, weighted, axis=0)
    step = round(_STEP_S * RATE)
    count = len(weighted) // step
    power = (weighted[: count * step] ** 2).sum(axis=1).reshape(count, step).sum(axis=1)
    inside = round(_BLOCK_S / _STEP_S)
    if count < inside:
        return float("-inf")
    blocks = np.convolve(power, np.ones(inside), "valid") / (inside * step)
    with np.errstate(divide="ignore"):
        levels = _OFFSET + 10 * np.log10(blocks)
    loud = levels > _SILENCE_LUFS
    if not loud.any():
        return float("-inf")
    gate = _OFFSET + 10 * np.log10(blocks[loud].mean()) - _BELOW_LU
    kept = loud & (levels > gate)
    return float(_OFFSET + 10 * np.log10(blocks[kept].mean()))


def true_peak_db(sound: FloatArray) -> float:
    """Highest value between samples too, in dB of full scale; -inf for silence. Shape (n, channels)."""
    step = 1 << 18
    around = 64
    highest = 0.0
    for at in range(0, len(sound), step):
        low = max(0, at - around)
        part = signal.resample_poly(sound[low : at + step + around], _POINTS, 1, axis=0)
        if len(part):
            highest = max(highest, float(np.abs(part).max()))
    highest = max(highest, float(np.abs(sound).max(initial=0.0)))
    return 20 * float(np.log10(highest)) if highest > 0 else float("-inf")
