"""The response of a take to the song along a line: what the song went through on its way to the microphone.

Short stretches of the clip are correlated with the song near the line; shifted onto the line and added up,
noise and live playing average out, and the direct sound and its reflections remain, as in the measurement
of a room.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import scipy.fft
import scipy.signal
from numpy.typing import NDArray

from audio.search import FINER, SongIndex
from audio.signals import Samples

COLOUR_FLOOR = 0.1
"""Of the song's mean power: where it has less, dividing by it would only raise noise."""
STRETCH_S = 1.0
"""Length of a stretch: 300 ppm smear it by 0.3 ms."""


@dataclass(frozen=True, slots=True)
class ClockLine:
    """Song time as a function of clip time: ``song_s + (t - clip_s) * speed``."""

    clip_s: float
    song_s: float
    speed: float

    def song_time(self, clip_s: float) -> float:
        """Song time (s) at a clip time (s).

        >>> ClockLine(10.0, 2.0, 2.0).song_time(11.0)
        4.0
        """
        return self.song_s + (clip_s - self.clip_s) * self.speed

    def moved(self, song_s: float) -> "ClockLine":
        """The same line, ``song_s`` seconds later in the song."""
        return ClockLine(self.clip_s, self.song_s + song_s, self.speed)


@dataclass(frozen=True, slots=True, eq=False)
class Stretches:
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
    colour: NDArray[np.float32]
    """Shape (size // 2 + 1,): the song's own power spectrum here, mean 1."""

    def evened(self) -> "Stretches":
        """The same stretches without the song's own colour.

        Long notes and echoes in the song ripple through a response on both sides of the direct sound;
        divided by the song's own spectrum, what is left is what happened on the way to the microphone.
        """
        even = 1 / (self.colour + COLOUR_FLOOR)
        raised = float(np.sqrt((self.colour * even**2).mean()))
        flat = np.ones_like(self.colour)
        return Stretches(self.rate, self.centre_s, self.spectra * even, self.noise * raised, self.size, flat)

    def some(self, which: NDArray[np.bool_]) -> "Stretches":
        """Only the stretches for which ``which``, shape (b,), is true."""
        return Stretches(
            self.rate, self.centre_s[which], self.spectra[which], self.noise[which], self.size, self.colour
        )

    def turned(self, slope: float, about_s: float) -> "Stretches":
        """The same stretches around the line turned by ``slope`` (s/s) about ``about_s``."""
        return Stretches(
            self.rate,
            self.centre_s,
            self.spectra * self._turn(slope, about_s),
            self.noise,
            self.size,
            self.colour,
        )

    def sweep(self, slopes: NDArray[np.float64], about_s: float) -> Iterator[NDArray[np.float32]]:
        """:func:`summed` for each of several evenly spaced slopes, far quicker than one by one."""
        if not len(slopes):
            return
        turned = self.spectra * self._turn(float(slopes[0]), about_s)
        step = self._turn(float(slopes[1] - slopes[0]), about_s) if len(slopes) > 1 else None
        for number in range(len(slopes)):
            if number and step is not None:
                turned *= step
            yield np.fft.fftshift(scipy.fft.irfft(turned.sum(axis=0), self.size)).astype(np.float32)

    def summed(self, slope: float, about_s: float) -> NDArray[np.float32]:
        """Add the stretches up along the line turned by ``slope`` (s/s) about ``about_s``; shape (size,).

        Lag 0 is in the middle, at ``size // 2``.
        """
        total = np.einsum("bf,bf->f", self.spectra, self._turn(slope, about_s))
        return np.fft.fftshift(scipy.fft.irfft(total, self.size)).astype(np.float32)

    @property
    def summed_noise(self) -> float:
        """RMS of one lag of the sum that chance alone would give."""
        return float(np.sqrt((self.noise**2).sum())) + 1e-12

    def _turn(self, slope: float, about_s: float) -> NDArray[np.complex64]:
        # A ramp of phase for each stretch, built by doubling: far cheaper than an exponential for each value.
        step = np.exp(2j * np.pi * self.rate / self.size * slope * (self.centre_s - about_s))
        turn = np.ones((len(step), 1), np.complex128)
        while turn.shape[1] < self.spectra.shape[1]:
            turn = np.concatenate([turn, turn * (step ** turn.shape[1])[:, None]], axis=1)
        return turn[:, : self.spectra.shape[1]].astype(np.complex64)


def correlate_stretches(
    flat: Samples, index: SongIndex, line: ClockLine, start_s: float, end_s: float, reach_s: float
) -> Stretches | None:
    """Correlate each second of a clip with the song within ``reach_s`` of a line.

    Parameters
    ----------
    flat : float32, shape (n,)
        The flattened clip.
    start_s, end_s : float
        Stretch of the clip to use, in clip samples' time.

    Returns
    -------
    Stretches or None
        None if no stretch lies within the song.
    """
    rate = index.rate
    length = int(STRETCH_S * rate)
    reach = int(reach_s * rate)
    first, last = max(0, round(start_s * rate)), min(len(flat), round(end_s * rate))
    starts = np.arange(first, max(first + 1, last - length // 2), length)
    size = 2 * scipy.fft.next_fast_len(reach + 1, real=True)
    long = scipy.fft.next_fast_len(length + size, real=True)
    clip = np.zeros((len(starts), length), np.float32)
    song = np.zeros((len(starts), length + size), np.float32)
    offset = np.zeros(len(starts))
    middle = np.zeros(len(starts))
    for row, start in enumerate(starts):
        piece = flat[start : min(last, start + length)]
        clip[row, : len(piece)] = piece
        place = line.song_time(start / rate) * rate
        base = round(place)
        # The line tilts within a stretch too: meet it in the stretch's middle.
        offset[row] = base - place - (line.speed - 1) * len(piece) / 2
        middle[row] = start + len(piece) / 2
        low = base - size // 2
        a, b = max(0, low), min(len(index.flat), low + length + size)
        if b > a:
            song[row, a - low : b - low] = index.flat[a:b]
    power = np.sqrt((clip.astype(np.float64) ** 2).sum(1) * (song**2).mean(1))
    live = power > 0
    if not live.any():
        return None
    clip, song, offset, power, middle = clip[live], song[live], offset[live], power[live], middle[live]
    spectra = scipy.fft.rfft(song, long, axis=1) * np.conj(scipy.fft.rfft(clip, long, axis=1))
    lags = scipy.fft.irfft(spectra, long, axis=1)[:, :size]
    lags = np.fft.ifftshift(lags, axes=1)
    shift = np.exp(-2j * np.pi / size * np.outer(offset, np.arange(size // 2 + 1)))
    moved = (scipy.fft.rfft(lags, axis=1) * shift).astype(np.complex64)
    return Stretches(rate, middle / rate, moved, power, size, _colour(song, size))


def _colour(song: NDArray[np.float32], size: int) -> NDArray[np.float32]:
    long = scipy.fft.next_fast_len(song.shape[1] + size, real=True)
    power = (np.abs(scipy.fft.rfft(song, long, axis=1)) ** 2).sum(axis=0)
    own = scipy.fft.irfft(power, long)
    lag = np.arange(-(size // 2), size // 2)
    colour = np.abs(scipy.fft.rfft(np.fft.ifftshift(own[lag] * np.hanning(size))))
    return np.asarray(colour / (colour.mean() + 1e-20), np.float32)


def song_on_line(index: SongIndex, line: ClockLine, first: int, count: int) -> Samples:
    """The flattened song as a perfect microphone would hear it at clip samples ``first`` … ``first + count``.

    Returns
    -------
    float32, shape (count,)
        Zero outside the song.
    """
    start = line.song_time(first / index.rate) * index.rate * FINER
    place = start + np.arange(count) * (line.speed * FINER)
    # Straight lines between samples four times as dense: right to -40 dB up to half the band.
    at = np.floor(place)
    part = (place - at).astype(np.float32)
    inside = (at >= 0) & (at < len(index.fine) - 1)
    here = np.where(inside, at, 0).astype(np.int64)
    low, high = index.fine[here], index.fine[np.minimum(here + 1, len(index.fine) - 1)]
    return np.where(inside, low + part * (high - low), np.float32(0))


def heard(index: SongIndex, line: ClockLine, response: Samples, lead: int, first: int, count: int) -> Samples:
    """The song as the take's microphone would hear it: :func:`song_on_line` through the take's response.

    Parameters
    ----------
    response : float32, shape (m,)
        Forward in time, the direct sound at sample ``lead``.
    """
    dry = song_on_line(index, line, first - len(response), count + 2 * len(response))
    wet = scipy.signal.oaconvolve(dry, response)
    return np.asarray(wet[len(response) + lead : len(response) + lead + count], np.float32)
