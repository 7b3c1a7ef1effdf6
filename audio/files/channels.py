"""Which channels of a recording are worth hearing: not the silent ones, timecode, or copies of another."""

from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float32]
AnyFloats = FloatArray | NDArray[np.float16]

SILENT_DBFS = -70.0
"""A channel whose sound stays below this (RMS, full scale 1.0) is taken as one with nothing plugged in."""
DEAD_DBFS = -90.0
"""Below this there is no more than the last bit of 16: nothing to be made of it."""
COPY = 0.98
"""Channels at least this alike (correlation coefficient) tell the same: the rest is 14 dB down."""

_CLIPPED = 0.999
_LONGEST_S = 2.0
_EVERY = 16
_LTC_RATES = (24, 25, 30)
_LTC_BITS = 80


def timecode_share(samples: FloatArray, rate: int) -> float:
    """How much of a channel, shape (n,), looks like linear timecode: 0 to 1.

    Linear timecode (SMPTE ST 12-1) writes 80 bits a frame; a 0 is one half-wave of a bit's length, a 1 two
    of half that. Of the distances between zero crossings, the share within 15 % of one of the two is
    taken, at the best of 24, 25 and 30 frames a second; a plain tone has only one of the two, so both must
    make up at least 15 %. About 1 for timecode, below 0.1 for music and noise.
    """
    if samples.size < rate // 10:
        return 0.0
    centred = samples - samples.mean()
    rising = np.flatnonzero(np.signbit(centred[1:]) != np.signbit(centred[:-1]))
    if rising.size < 100:
        return 0.0
    before, after = centred[rising], centred[rising + 1]
    crossings = rising + before / (before - after)
    distances = np.diff(crossings)
    best = 0.0
    for frames in _LTC_RATES:
        bit = rate / (_LTC_BITS * frames)
        whole = float(np.mean(np.abs(distances / bit - 1) < 0.15))
        half = float(np.mean(np.abs(distances / (bit / 2) - 1) < 0.15))
        if min(whole, half) > 0.15:
            best = max(best, whole + half)
    return best


class Meter:
    """Listens to one channel piece by piece, at the rate of the file, and remembers what it is like."""

    def __init__(self, rate: int) -> None:
        self._rate = rate
        self._count = 0
        self._sum = 0.0
        self._squares = 0.0
        self._clipped = 0
        self._pieces = 0
        self._loud_pieces = 0
        self._tested = 0
        self._timecode = 0

    def hear(self, piece: FloatArray) -> None:
        """Take the next piece, shape (n,), about a second long."""
        if piece.size == 0:
            return
        squares = float(np.dot(piece, piece))
        total = float(piece.sum(dtype=np.float64))
        self._count += piece.size
        self._sum += total
        self._squares += squares
        self._clipped += int(np.count_nonzero(np.abs(piece) > _CLIPPED))
        self._pieces += 1
        if _dbfs(squares / piece.size - (total / piece.size) ** 2) > SILENT_DBFS:
            # One piece in sixteen is enough: timecode runs from the start to the end of a recording.
            if self._loud_pieces % _EVERY == 0:
                self._tested += 1
                self._timecode += timecode_share(piece[: int(_LONGEST_S * self._rate)], self._rate) > 0.8
            self._loud_pieces += 1

    @property
    def level_dbfs(self) -> float:
        """RMS of all so far without a constant offset, in dB below full scale; -200 for nothing."""
        if self._count == 0:
            return -200.0
        return _dbfs(self._squares / self._count - (self._sum / self._count) ** 2)

    @property
    def live(self) -> bool:
        """True where two pieces of about a second stand above the silence, so more than a click."""
        return self._loud_pieces >= min(2, self._pieces) > 0

    @property
    def timecode(self) -> bool:
        """True where most pieces looked at are linear timecode."""
        return self._tested > 0 and self._timecode * 2 > self._tested

    @property
    def worth(self) -> tuple[bool, bool, bool, float]:
        """Sorts channels: the greater, the better to listen to (an unclipped one beats a louder one)."""
        unclipped = self._clipped < 1e-4 * max(1, self._count)
        return self.live, not self.timecode, unclipped, self.level_dbfs


def _dbfs(power: float) -> float:
    return 10 * float(np.log10(max(power, 1e-20)))


def correlation(first: AnyFloats, second: AnyFloats) -> float:
    """Correlation coefficient of two channels of one length, shape (n,); 0 where either is constant.

    Worked piece by piece, so that nothing of the channels' size is made.
    """
    step = 1 << 20
    sums = np.zeros(5)
    for start in range(0, first.size, step):
        a = np.asarray(first[start : start + step], np.float32)
        b = np.asarray(second[start : start + step], np.float32)
        sums += (
            a.sum(dtype=np.float64),
            b.sum(dtype=np.float64),
            np.dot(a, a),
            np.dot(b, b),
            np.dot(a, b),
        )
    n = max(1, first.size)
    mean_a, mean_b, aa, bb, ab = sums / n
    below = np.sqrt(max(0.0, aa - mean_a**2) * max(0.0, bb - mean_b**2))
    return float((ab - mean_a * mean_b) / below) if below > 1e-12 else 0.0


def distinct(rows: Sequence[AnyFloats], order: Iterable[int]) -> list[int]:
    """Indices of the channels that are no copy of an earlier one in ``order``, of either polarity; rising."""
    kept: list[int] = []
    for index in order:
        if all(abs(correlation(rows[index], rows[other])) < COPY for other in kept):
            kept.append(index)
    return sorted(kept)


def mix_down(rows: FloatArray) -> FloatArray:
    """One channel, shape (n,), out of several of a finished song, shape (channels, n); changes ``rows``.

    The mean of all live ones; a channel of opposite polarity to the loudest is turned over before, for their
    sum would cancel what they share.
    """
    squares = [float(np.dot(row, row)) for row in rows]
    lead = int(np.argmax(squares))
    for index, row in enumerate(rows):
        if index != lead:
            rows[lead] += -row if correlation(rows[lead], row) < -0.5 else row
    live = max(1, sum(_dbfs(one / max(1, rows.shape[1])) > DEAD_DBFS for one in squares))
    mixed: FloatArray = rows[lead]
    mixed /= live
    return mixed
