"""The response of a take to the song along a line: what the song went through on its way to the microphone.

Short stretches of the clip are correlated with the song near the line; shifted onto the line and added up,
noise and live playing average out, and the direct sound and its reflections remain, as in the measurement
of a room.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import scipy.fft
import scipy.signal
from numpy.typing import NDArray

from audio.line import Line
from audio.placement.search import OVERSAMPLING, SongIndex
from audio.signals import Samples
from audio.whitening import Whitened

POWER_FLOOR = 0.1
"""Of the song's mean power: where it has less, dividing by it would only raise noise."""
SEGMENT_S = 1.0
"""Length of a stretch: 300 ppm smear it by 0.3 ms."""
SMEARS = 50e-6
"""A clock further off than this smears a stretch by more than half a sample at 8 kHz."""
OFFSETS = 8
"""Parts of a sample that rivals are looked at to."""


@dataclass(frozen=True, slots=True, eq=False)
class SegmentCorrelations:
    """Correlations of the stretches of a clip with the song around a line."""

    rate: int
    centre_s: NDArray[np.float64]
    """Shape (b,): middle of each stretch in the clip."""
    spectra: NDArray[np.complex64]
    """Shape (b, size // 2 + 1): spectra of the correlations, lag 0 on the line."""
    noise: NDArray[np.float64]
    """Shape (b,): RMS of one lag of each correlation that chance alone would give."""
    size: int
    """Number of lags; lag k > size // 2 means k - size."""
    song_power: NDArray[np.float32]
    """Shape (size // 2 + 1,): the song's own power spectrum here, mean 1."""

    def whitened(self) -> "SegmentCorrelations":
        """The same stretches without the song's own colour.

        Long notes and echoes in the song ripple through a response on both sides of the direct sound;
        divided by the song's own spectrum, what is left is what happened on the way to the microphone.
        """
        even = 1 / (self.song_power + POWER_FLOOR)
        raised = float(np.sqrt((self.song_power * even**2).mean()))
        white = np.ones_like(self.song_power)
        return SegmentCorrelations(
            self.rate, self.centre_s, self.spectra * even, self.noise * raised, self.size, white
        )

    def some(self, which: NDArray[np.bool_]) -> "SegmentCorrelations":
        """Only the stretches for which ``which``, shape (b,), is true."""
        return SegmentCorrelations(
            self.rate,
            self.centre_s[which],
            self.spectra[which],
            self.noise[which],
            self.size,
            self.song_power,
        )

    def rotated(self, slope: float, about_s: float, later_s: float = 0.0) -> "SegmentCorrelations":
        """The same stretches around the line turned by ``slope`` (s/s) about ``about_s`` (clip time), and
        moved ``later_s`` later in the song."""
        turns = self.rate / self.size * (slope * (self.centre_s - about_s) + later_s)
        turn = _ramps(turns, self.spectra.shape[1])
        return SegmentCorrelations(
            self.rate, self.centre_s, self.spectra * turn, self.noise, self.size, self.song_power
        )

    def grouped(self, count: int) -> "SegmentCorrelations":
        """Every ``count`` neighbours as one, for slopes so small that they hardly move in between."""
        edges = np.arange(0, len(self.centre_s), count)
        size = np.diff(np.append(edges, len(self.centre_s)))
        return SegmentCorrelations(
            self.rate,
            np.add.reduceat(self.centre_s, edges) / size,
            np.add.reduceat(self.spectra, edges, axis=0),
            np.sqrt(np.add.reduceat(self.noise**2, edges)),
            self.size,
            self.song_power,
        )

    def sweep(self, slopes: NDArray[np.float64], about_s: float) -> Iterator[NDArray[np.float32]]:
        """:func:`summed` for each of several evenly spaced slopes, far quicker than one by one."""
        if not len(slopes):
            return
        rotated = self.spectra * self._turn(float(slopes[0]), about_s)
        step = self._turn(float(slopes[1] - slopes[0]), about_s) if len(slopes) > 1 else None
        for number in range(len(slopes)):
            if number and step is not None:
                rotated *= step
            yield np.fft.fftshift(scipy.fft.irfft(rotated.sum(axis=0), self.size)).astype(np.float32)

    def summed(self) -> NDArray[np.float32]:
        """Add the stretches up along the line; shape (size,), lag 0 in the middle, at ``size // 2``."""
        return np.fft.fftshift(scipy.fft.irfft(self.spectra.sum(axis=0), self.size)).astype(np.float32)

    @property
    def summed_noise(self) -> float:
        """RMS of one lag of the sum that chance alone would give."""
        return float(np.sqrt((self.noise**2).sum())) + 1e-12

    def _turn(self, slope: float, about_s: float) -> NDArray[np.complex64]:
        turns = self.rate / self.size * slope * (self.centre_s - about_s)
        return _ramps(turns, self.spectra.shape[1])


def _ramps(turns: NDArray[np.float64], count: int) -> NDArray[np.complex64]:
    """For each row a phase that grows by so many turns a step, shape (rows, count).

    Built by doubling: far cheaper than an exponential for each value.

    >>> _ramps(np.array([0.25]), 4).round(6).tolist()
    [[(1+0j), 1j, (-1+0j), (-0-1j)]]
    """
    step = np.exp(2j * np.pi * turns)
    ramp = np.ones((len(step), count), np.complex64)
    done = 1
    while done < count:
        more = min(done, count - done)
        factor = (step**done).astype(np.complex64)[:, None]
        np.multiply(ramp[:, :more], factor, out=ramp[:, done : done + more])
        done += more
    return ramp


@dataclass(frozen=True, slots=True, eq=False)
class _Rows:
    """The stretches of a clip, one a row."""

    starts: NDArray[np.int64]
    lengths: NDArray[np.int64]
    samples: NDArray[np.float32]
    """Shape (rows, a stretch), zeros where the last is shorter."""


def _clip_rows(white: Whitened, rate: int, start_s: float, end_s: float) -> _Rows:
    length = int(SEGMENT_S * rate)
    first, last = max(0, round(start_s * rate)), min(len(white), round(end_s * rate))
    starts = np.arange(first, max(first + 1, last - length // 2), length)
    clip = np.zeros((len(starts), length), np.float32)
    lengths = np.zeros(len(starts), np.int64)
    for row, start in enumerate(starts):
        piece = white[start : min(last, start + length)]
        clip[row, : len(piece)] = piece
        lengths[row] = len(piece)
    return _Rows(starts, lengths, clip)


def _song_rows(
    index: SongIndex, line: Line, rows: _Rows, size: int
) -> tuple[NDArray[np.float32], NDArray[np.float64]]:
    """The song around each row's place on the line, ``size // 2`` samples to either side, and by how much
    (samples) the row lies off a whole sample."""
    rate = index.rate
    length = rows.samples.shape[1]
    if abs(line.speed - 1) > SMEARS:
        # On the clip's own clock, where nothing smears.
        first = int(rows.starts[0]) - size // 2
        dry = song_along_line(index, line, first, int(rows.starts[-1] - rows.starts[0]) + length + size)
        windows = np.lib.stride_tricks.sliding_window_view(dry, length + size)
        return windows[rows.starts - rows.starts[0]], np.zeros(len(rows.starts))
    song = np.zeros((len(rows.starts), length + size), np.float32)
    place = line.song_time(rows.starts / rate) * rate
    base = np.round(place).astype(np.int64)
    for row, low in enumerate((base - size // 2).tolist()):
        a, b = max(0, low), min(len(index.white), low + length + size)
        if b > a:
            song[row, a - low : b - low] = index.white[a:b]
    # The line tilts within a stretch too: meet it in the stretch's middle.
    return song, base - place - (line.speed - 1) * rows.lengths / 2


def correlate_segments(
    white: Whitened, index: SongIndex, line: Line, start_s: float, end_s: float, reach_s: float
) -> SegmentCorrelations | None:
    """Correlate each second of a clip with the song within ``reach_s`` of a line.

    Parameters
    ----------
    flat : Flat, shape (n,)
        The flattened clip.
    start_s, end_s : float
        Stretch of the clip to use, in clip samples' time.

    Returns
    -------
    Stretches or None
        None if no stretch lies within the song.
    """
    rate = index.rate
    rows = _clip_rows(white, rate, start_s, end_s)
    size = 2 * scipy.fft.next_fast_len(int(reach_s * rate) + 1, real=True)
    song, offset = _song_rows(index, line, rows, size)
    power = np.sqrt(_energy(rows.samples) * _energy(song) / song.shape[1])
    live = power > 0
    if not live.any():
        return None
    clip, song, offset, power = rows.samples[live], song[live], offset[live], power[live]
    long = scipy.fft.next_fast_len(song.shape[1], real=True)
    spectra = scipy.fft.rfft(song, long, axis=1)
    song_power = _song_power(spectra, long, size)
    spectra *= np.conj(scipy.fft.rfft(clip, long, axis=1))
    lags = scipy.fft.irfft(spectra, long, axis=1, overwrite_x=True)[:, :size]
    moved = scipy.fft.rfft(np.fft.ifftshift(lags, axes=1), axis=1)
    moved *= _ramps(-offset / size, size // 2 + 1)
    middle = (rows.starts + rows.lengths / 2)[live] / rate
    return SegmentCorrelations(rate, middle, moved, power, size, song_power)


def impulse_responses(
    white: Whitened, index: SongIndex, lines: Sequence[Line], start_s: float, end_s: float, reach_s: float
) -> Iterator[tuple[NDArray[np.float32], float]]:
    """What :meth:`Stretches.summed` gives along each of several lines, and its noise, quicker than by itself.

    Yields
    ------
    response, noise : float32 of shape (size,), float
        Lag 0 is at ``size // 2``; within about ``reach_s`` to either side. Zeros outside the song.
    """
    rate = index.rate
    rows = _clip_rows(white, rate, start_s, end_s)
    size = 2 * int(reach_s * rate)
    long = scipy.fft.next_fast_len(rows.samples.shape[1] + size, real=True)
    clip = np.conj(scipy.fft.rfft(rows.samples, long, axis=1))
    energy = _energy(rows.samples)
    for line in lines:
        song, offset = _song_rows(index, line, rows, size)
        noise = float(np.sqrt((energy * _energy(song)).sum() / song.shape[1])) + 1e-12
        spectra = scipy.fft.rfft(song, long, axis=1)
        spectra *= clip
        # Rows that lie about as far off a whole sample are moved together.
        steps = np.round(offset * OFFSETS).astype(np.int64)
        kinds = np.unique(steps)
        sums = np.array([spectra[steps == kind].sum(axis=0) for kind in kinds])
        sums *= _ramps(-kinds / OFFSETS / long, sums.shape[1])
        yield scipy.fft.irfft(sums.sum(axis=0), long)[:size].astype(np.float32), noise


def _energy(rows: NDArray[np.float32]) -> NDArray[np.float64]:
    return np.asarray(np.einsum("ij,ij->i", rows, rows), np.float64)


def _song_power(spectra: NDArray[np.complex64], long: int, size: int) -> NDArray[np.float32]:
    """The power spectrum of the rows whose spectra are given, as finely as ``size`` lags tell it; mean 1."""
    power = np.square(spectra.real).sum(axis=0) + np.square(spectra.imag).sum(axis=0)
    own = scipy.fft.irfft(power, long)
    lag = np.arange(-(size // 2), size // 2)
    song_power = np.abs(scipy.fft.rfft(np.fft.ifftshift(own[lag] * np.hanning(size))))
    return np.asarray(song_power / (song_power.mean() + 1e-20), np.float32)


def song_along_line(index: SongIndex, line: Line, first: int, count: int) -> Samples:
    """The flattened song as a perfect microphone would hear it at clip samples ``first`` … ``first + count``.

    Returns
    -------
    float32, shape (count,)
        Zero outside the song.
    """
    start = line.song_time(first / index.rate) * index.rate * OVERSAMPLING
    place = start + np.arange(count) * (line.speed * OVERSAMPLING)
    # Straight lines between samples four times as dense: right to -40 dB up to half the band.
    at = np.floor(place)
    part = (place - at).astype(np.float32)
    inside = (at >= 0) & (at < len(index.fine) - 1)
    here = np.where(inside, at, 0).astype(np.int64)
    low, high = index.fine[here], index.fine[np.minimum(here + 1, len(index.fine) - 1)]
    return np.where(inside, low + part * (high - low), np.float32(0))


def predicted_signal(
    index: SongIndex, line: Line, response: Samples, lead: int, first: int, count: int
) -> Samples:
    """The song as the take's microphone would hear it: :func:`song_on_line` through the take's response.

    Parameters
    ----------
    response : float32, shape (m,)
        Forward in time, the direct sound at sample ``lead``.
    """
    dry = song_along_line(index, line, first - len(response), count + 2 * len(response))
    wet = scipy.signal.oaconvolve(dry, response)
    return np.asarray(wet[len(response) + lead : len(response) + lead + count], np.float32)
