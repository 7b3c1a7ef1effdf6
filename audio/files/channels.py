"""Which channels of a recording to use: not silent ones, timecode, or copies of another channel."""

from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float32]
AnyFloats = FloatArray | NDArray[np.float16]

SILENT_DBFS = -70.0
"""RMS level in dB of full scale below which a channel is taken to have nothing plugged in. Chosen by hand: a
higher limit drops soft rooms, a lower one keeps the noise of open inputs."""
DEAD_DBFS = -90.0
"""RMS level in dB of full scale of about one step of 16-bit sound: below it there is no signal."""
COPY = 0.98
"""Correlation coefficient from which channels count as copies: what differs between them is 14 dB down.
Chosen by hand."""

_CLIPPED = 0.999
"""Absolute sample value (full scale 1.0) from which a sample counts as clipped."""
_PIECE = 1 << 20
"""Samples that are worked on at once."""
_LONGEST_S = 2.0
"""Seconds of a piece that are tested for timecode; chosen by hand, they hold 48 frames of it or more."""
_EVERY = 16
"""One piece of so many is tested: timecode runs from the start to the end of a recording."""
_LTC_RATES = (24, 25, 30)
"""Frames a second of linear timecode (SMPTE ST 12-1); 23.976 and 29.97 lie within the tolerance."""
_LTC_BITS = 80
"""Bits per frame of linear timecode (SMPTE ST 12-1)."""


def timecode_share(samples: FloatArray, rate: int) -> float:
    """Share (0 to 1) of a channel, shape (n,), that looks like linear timecode.

    Linear timecode (SMPTE ST 12-1) has 80 bits a frame in bi-phase mark code: a 0 is one half-wave as long as
    the bit, a 1 is two half-waves of half that. The result is the share of distances between zero crossings
    that lie within 15 % of either, at the best of 24, 25 and 30 frames a second. A pure tone has only one of
    the two, so each must make up at least 15 %. About 1 for timecode, below 0.1 for music and noise.
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
    """Measures one channel piece by piece, at ``rate`` samples a second: level, clipping, timecode."""

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

    def add(self, piece: FloatArray) -> None:
        """Measure the next piece, shape (n,), about a second long, full scale 1.0."""
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
            if self._loud_pieces % _EVERY == 0:
                self._tested += 1
                self._timecode += timecode_share(piece[: int(_LONGEST_S * self._rate)], self._rate) > 0.8
            self._loud_pieces += 1

    @property
    def level_dbfs(self) -> float:
        """RMS level of all pieces so far in dB of full scale, without DC offset; -200 for none."""
        if self._count == 0:
            return -200.0
        return _dbfs(self._squares / self._count - (self._sum / self._count) ** 2)

    @property
    def has_signal(self) -> bool:
        """Whether at least two pieces of about a second are above SILENT_DBFS, which a click is not."""
        return self._loud_pieces >= min(2, self._pieces) > 0

    @property
    def timecode(self) -> bool:
        """Whether most of the pieces tested are linear timecode."""
        return self._tested > 0 and self._timecode * 2 > self._tested

    @property
    def some_timecode(self) -> bool:
        """Whether a piece tested is linear timecode: it may have come with the playback only."""
        return self._timecode > 0

    @property
    def preference(self) -> tuple[bool, bool, bool, float]:
        """Sort key: the greatest is the best channel to listen to. An unclipped channel beats a louder
        one."""
        unclipped = self._clipped < 1e-4 * max(1, self._count)
        return self.has_signal, not self.timecode, unclipped, self.level_dbfs


def _dbfs(power: float) -> float:
    """Mean square of samples of full scale 1.0 as a level in dB of full scale."""
    return 10 * float(np.log10(max(power, 1e-20)))


def correlation(first: AnyFloats, second: AnyFloats) -> float:
    """Correlation coefficient of two channels of one length, shape (n,); 0 where either is constant.

    Computed piece by piece, so that no copy of the channels is made.
    """
    sums = correlation_sums(first, second)
    n = max(1, first.size)
    mean_a, mean_b, aa, bb, ab = sums / n
    below = np.sqrt(max(0.0, aa - mean_a**2) * max(0.0, bb - mean_b**2))
    return float((ab - mean_a * mean_b) / below) if below > 1e-12 else 0.0


def correlation_sums(first: AnyFloats, second: AnyFloats) -> NDArray[np.float64]:
    """Sums over two channels of one length: of each, of the square of each, and of their products."""
    sums = np.zeros(5)
    for start in range(0, first.size, _PIECE):
        a = np.asarray(first[start : start + _PIECE], np.float32)
        b = np.asarray(second[start : start + _PIECE], np.float32)
        sums += (
            a.sum(dtype=np.float64),
            b.sum(dtype=np.float64),
            np.dot(a, a),
            np.dot(b, b),
            np.dot(a, b),
        )
    return sums


def distinct(rows: Sequence[AnyFloats], order: Iterable[int]) -> list[int]:
    """Rising indices of the channels that are no copy, of either polarity, of an earlier one in ``order``."""
    kept: list[int] = []
    for index in order:
        if all(abs(correlation(rows[index], rows[other])) < COPY for other in kept):
            kept.append(index)
    return sorted(kept)


def mix_down(rows: AnyFloats) -> FloatArray:
    """Mix the channels of a finished song, shape (channels, n), to one, shape (n,).

    The mean of all channels that are not silent. A channel of opposite polarity to the loudest is inverted
    first, because their sum would cancel what they share. Piece by piece, so that a song of an hour is not
    copied as a whole.
    """
    length = rows.shape[1]
    if len(rows) == 1:
        return np.asarray(rows[0], np.float32)
    squares = [correlation_sums(row, row)[4] for row in rows]
    lead = int(np.argmax(squares))
    signs = [
        -1.0 if index != lead and correlation(rows[lead], row) < -0.5 else 1.0
        for index, row in enumerate(rows)
    ]
    sounding = max(1, sum(_dbfs(one / max(1, length)) > DEAD_DBFS for one in squares))
    mixed = np.empty(length, np.float32)
    for start in range(0, length, _PIECE):
        piece = slice(start, start + _PIECE)
        total = np.asarray(rows[lead, piece], np.float32).copy()
        for index, row in enumerate(rows):
            if index != lead:
                total += np.float32(signs[index]) * np.asarray(row[piece], np.float32)
        mixed[piece] = total / sounding
    return mixed
