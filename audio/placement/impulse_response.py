"""The impulse response from song to microphone, estimated along a line.

Segments of the clip are cross-correlated with the song near the line. Shifted onto the line and added up,
noise and live playing average out, and the direct sound and its reflections remain, as in room acoustics
measurements.
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
"""Added to the song's power spectrum, of mean 1, before dividing by it: where the song has less power,
division would only raise noise. Chosen by hand."""
SEGMENT_S = 1.0
"""Length of a segment: 300 ppm smear it by 0.3 ms."""
SMEARING_DRIFT = 50e-6
"""A clock further off than this (no unit) smears a segment by almost half a sample at 8 kHz."""
SLOPES_AT_ONCE = 16
"""Sums that are transformed together, which the FFT library does far quicker than one by one."""
ALONG_AT_ONCE = 1 << 14
"""Samples interpolated at a time: what is worked on then stays in the processor's cache."""
SUB_SAMPLE_STEPS = 8
"""Sub-sample offsets of segments are rounded to this part of a sample where rivals are compared. Chosen by
hand."""


@dataclass(frozen=True, slots=True, eq=False)
class SegmentCorrelations:
    """Cross-correlations of the segments of a clip with the song around a line, as spectra over lag."""

    rate: int
    """Samples a second."""
    centre_s: NDArray[np.float64]
    """Shape (b,): clip time of the middle of each segment (s)."""
    spectra: NDArray[np.complex64]
    """Shape (b, size // 2 + 1): spectra of the correlations, lag 0 on the line."""
    noise: NDArray[np.float64]
    """Shape (b,): RMS of one lag of each correlation that chance alone would give."""
    size: int
    """Number of lags; lag k > size // 2 means k - size."""
    song_power: NDArray[np.float32]
    """Shape (size // 2 + 1,): the song's own power spectrum here, mean 1."""

    def whitened(self) -> "SegmentCorrelations":
        """The same correlations divided by the song's own power spectrum (deconvolution).

        The song's autocorrelation, its long notes and echoes, otherwise ripples on both sides of the direct
        sound.
        """
        weight = 1 / (self.song_power + POWER_FLOOR)
        raised = float(np.sqrt((self.song_power * weight**2).mean()))
        white = np.ones_like(self.song_power)
        return SegmentCorrelations(
            self.rate, self.centre_s, self.spectra * weight, self.noise * raised, self.size, white
        )

    def select(self, which: NDArray[np.bool_]) -> "SegmentCorrelations":
        """Only the segments for which ``which``, shape (b,), is true."""
        return SegmentCorrelations(
            self.rate,
            self.centre_s[which],
            self.spectra[which],
            self.noise[which],
            self.size,
            self.song_power,
        )

    def rotated(self, slope: float, about_s: float, later_s: float = 0.0) -> "SegmentCorrelations":
        """The same correlations around the line rotated by ``slope`` (s/s) about clip time ``about_s``, and
        shifted ``later_s`` later in the song: a phase rotation of the spectra."""
        cycles = self.rate / self.size * (slope * (self.centre_s - about_s) + later_s)
        phase = _phase_ramps(cycles, self.spectra.shape[1])
        return SegmentCorrelations(
            self.rate, self.centre_s, self.spectra * phase, self.noise, self.size, self.song_power
        )

    def grouped(self, count: int) -> "SegmentCorrelations":
        """Every ``count`` neighbours summed, for slopes so small that they hardly shift in between."""
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
        """:meth:`summed` for each of several evenly spaced slopes (s/s), far quicker than one by one."""
        if not len(slopes):
            return
        rotated = self.spectra * self._phase(float(slopes[0]), about_s)
        step = self._phase(float(slopes[1] - slopes[0]), about_s) if len(slopes) > 1 else None
        half = self.size - self.size // 2
        for first in range(0, len(slopes), SLOPES_AT_ONCE):
            sums = np.empty((min(SLOPES_AT_ONCE, len(slopes) - first), rotated.shape[1]), np.complex64)
            for row in range(len(sums)):
                if first + row and step is not None:
                    rotated *= step
                rotated.sum(axis=0, out=sums[row])
            lags = scipy.fft.irfft(sums, self.size, axis=1)
            yield from np.concatenate([lags[:, half:], lags[:, :half]], axis=1)

    def summed(self) -> NDArray[np.float32]:
        """The impulse response: the sum over all segments; shape (size,), lag 0 at ``size // 2``."""
        return np.fft.fftshift(scipy.fft.irfft(self.spectra.sum(axis=0), self.size)).astype(np.float32)

    @property
    def summed_noise(self) -> float:
        """RMS of one lag of the sum that chance alone would give."""
        return float(np.sqrt((self.noise**2).sum())) + 1e-12

    def _phase(self, slope: float, about_s: float) -> NDArray[np.complex64]:
        cycles = self.rate / self.size * slope * (self.centre_s - about_s)
        return _phase_ramps(cycles, self.spectra.shape[1])


def _phase_ramps(cycles: NDArray[np.float64], count: int) -> NDArray[np.complex64]:
    """For each row a phase that grows by so many cycles a step, shape (rows, count).

    Built by doubling: far cheaper than an exponential for each value.

    >>> _phase_ramps(np.array([0.25]), 4).round(6).tolist()
    [[(1+0j), 1j, (-1+0j), (-0-1j)]]
    """
    step = np.exp(2j * np.pi * cycles)
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
    """The segments of a clip, one a row."""

    starts: NDArray[np.int64]
    lengths: NDArray[np.int64]
    """Shape (rows,): first sample and number of samples of each."""
    samples: NDArray[np.float32]
    """Shape (rows, SEGMENT_S * rate), zeros where the last is shorter."""


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
    """The song around each row's position on the line, ``size // 2`` samples to either side, and the
    sub-sample offset of the row (samples)."""
    rate = index.rate
    length = rows.samples.shape[1]
    if abs(line.speed - 1) > SMEARING_DRIFT:
        # The song is resampled to the clip's clock, where nothing smears.
        first = int(rows.starts[0]) - size // 2
        dry = song_along_line(index, line, first, int(rows.starts[-1] - rows.starts[0]) + length + size)
        windows = np.lib.stride_tricks.sliding_window_view(dry, length + size)
        return windows[rows.starts - rows.starts[0]], np.zeros(len(rows.starts))
    song = np.zeros((len(rows.starts), length + size), np.float32)
    position = line.song_time(rows.starts / rate) * rate
    base = np.round(position).astype(np.int64)
    for row, low in enumerate((base - size // 2).tolist()):
        a, b = max(0, low), min(len(index.white), low + length + size)
        if b > a:
            song[row, a - low : b - low] = index.white[a:b]
    # The clock drifts within a segment too: the offset is that of its middle.
    return song, base - position - (line.speed - 1) * rows.lengths / 2


def correlate_segments(
    white: Whitened, index: SongIndex, line: Line, start_s: float, end_s: float, reach_s: float
) -> SegmentCorrelations | None:
    """Cross-correlate each segment of a clip with the song within ``reach_s`` of a line.

    Parameters
    ----------
    white : Whitened, shape (n,)
        The whitened clip.
    start_s, end_s : float
        Part of the clip to use, in times of its samples (s).

    Returns
    -------
    SegmentCorrelations or None
        None if no segment lies within the song.
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
    moved *= _phase_ramps(-offset / size, size // 2 + 1)
    middle = (rows.starts + rows.lengths / 2)[live] / rate
    return SegmentCorrelations(rate, middle, moved, power, size, song_power)


def impulse_responses(
    white: Whitened, index: SongIndex, lines: Sequence[Line], start_s: float, end_s: float, reach_s: float
) -> Iterator[tuple[NDArray[np.float32], float]]:
    """:meth:`SegmentCorrelations.summed` along each of several lines, and its noise, quicker than one by one.

    Yields
    ------
    impulse_response, noise : float32 of shape (size,), float
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
        # Rows with about the same sub-sample offset are shifted together.
        steps = np.round(offset * SUB_SAMPLE_STEPS).astype(np.int64)
        kinds = np.unique(steps)
        sums = np.array([spectra[steps == kind].sum(axis=0) for kind in kinds])
        sums *= _phase_ramps(-kinds / SUB_SAMPLE_STEPS / long, sums.shape[1])
        yield scipy.fft.irfft(sums.sum(axis=0), long)[:size].astype(np.float32), noise


def _energy(rows: NDArray[np.float32]) -> NDArray[np.float64]:
    return np.asarray(np.einsum("ij,ij->i", rows, rows), np.float64)


def _song_power(spectra: NDArray[np.complex64], long: int, size: int) -> NDArray[np.float32]:
    """Power spectrum, of mean 1, of the rows with these spectra, at the resolution that ``size`` lags
    give."""
    power = np.square(spectra.real).sum(axis=0) + np.square(spectra.imag).sum(axis=0)
    own = scipy.fft.irfft(power, long)
    lag = np.arange(-(size // 2), size // 2)
    song_power = np.abs(scipy.fft.rfft(np.fft.ifftshift(own[lag] * np.hanning(size))))
    return np.asarray(song_power / (song_power.mean() + 1e-20), np.float32)


def song_along_line(index: SongIndex, line: Line, first: int, count: int) -> Samples:
    """The whitened song resampled along a line: its value at clip samples ``first`` … ``first + count``.

    Returns
    -------
    float32, shape (count,)
        Zero outside the song.
    """
    start = line.song_time(first / index.rate) * index.rate * OVERSAMPLING
    step = line.speed * OVERSAMPLING
    last = len(index.oversampled) - 1
    out = np.zeros(count, np.float32)
    # Positions within the song, by number: those outside stay zero.
    begin, end = (int(np.clip(np.ceil((edge - start) / step), 0, count)) for edge in (0, last))
    # Linear interpolation of a signal oversampled four times: right to -40 dB up to half the band.
    for low in range(begin, end, ALONG_AT_ONCE):
        high = min(end, low + ALONG_AT_ONCE)
        position = start + np.arange(low, high) * step
        at = np.clip(position.astype(np.int64), 0, last - 1)
        part = (position - at).astype(np.float32)
        here = index.oversampled[at]
        out[low:high] = here + part * (index.oversampled[at + 1] - here)
    return out


def predicted_signal(
    index: SongIndex, line: Line, impulse_response: Samples, direct_at: int, first: int, count: int
) -> Samples:
    """The signal predicted at the microphone: :func:`song_along_line` convolved with an impulse
    impulse_response.

    Parameters
    ----------
    impulse_response : float32, shape (m,)
        Causal, the direct sound at sample ``direct_at``.
    """
    dry = song_along_line(index, line, first - len(impulse_response), count + 2 * len(impulse_response))
    wet = scipy.signal.oaconvolve(dry, impulse_response)
    return np.asarray(
        wet[len(impulse_response) + direct_at : len(impulse_response) + direct_at + count], np.float32
    )
