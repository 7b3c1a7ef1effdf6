"""What of a clip's sound is not the song: the band, talk, noises of the moment.

Two clips of one moment share it, two clips of different run-throughs do not, though the playback is the same
in both. So the playback is taken out: in short spectra, band by band, what a room makes of the song is
predicted from the song and its last third of a second, and what cannot be predicted is kept.
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import scipy.fft
import scipy.signal
from numpy.typing import NDArray

from audio.files.channels import AnyFloats
from audio.line import Line
from audio.placement.search import SongIndex
from audio.signals import Samples

PATCH = 1024
"""Samples of a short spectrum: at 8 kHz 128 ms …"""
HOP = 256
"""… a new one every 32 ms."""
TAPS = 10
"""Short spectra of the song, one hop apart, that one of the clip may depend on: a third of a second …"""
AHEAD = 2
"""… of which so many are later, for patches that overlap."""
PIECE_S = 12.0
"""A prediction holds for so long: by then automatic gain, a clock or a camera operator has moved."""
LOWEST_HZ = 250.0
"""Hum and rumble below it are no moment's own."""
FINER = 4
RIDGE = 1e-3
"""Of the song's power in a band: what keeps the prediction from leaning on next to nothing."""

Spectra = NDArray[np.complex64]


@dataclass(frozen=True, slots=True, eq=False)
class Residual:
    """The live sound of a stretch of a clip, on the song's clock as its placement has it."""

    first: int
    """Sample of the song's clock at which it begins; negative before the song."""
    samples: Samples
    """Shape (n,), RMS up to about 1: patches that the playback explains are next to nothing."""


def residual_sound(
    samples: AnyFloats,
    index: SongIndex,
    line: Line,
    start_s: float,
    end_s: float,
    *,
    between: bool = False,
) -> Residual | None:
    """Take the song out of a stretch of a clip, and put what is left on the song's clock.

    Parameters
    ----------
    samples : float32 or float16, shape (n,)
        The clip as it is, not flattened, at the index's rate.
    line : ClockLine
        Where in the song the clip runs, in times of ``samples``.
    start_s, end_s : float
        The stretch; it may reach beyond the take.
    between : bool
        Patches begin at multiples of HOP of the song's clock, or half-way between them. What this makes wrong
        is the same for two sounds on one grid: to be compared, one of them must lie between.

    Returns
    -------
    Live or None
        None for a stretch of less than a second.
    """
    rate = index.rate
    start_s, end_s = max(0.0, start_s), min(end_s, (len(samples) - 1) / rate)
    first = -int(-line.song_time(start_s) * rate // HOP) * HOP + (HOP // 2 if between else 0)
    count = int(line.song_time(end_s) * rate) - first
    if count < rate:
        return None
    clip = _on_song_clock(samples, rate, line, first, count)
    song = np.zeros(count, np.float32)
    low, high = max(0, first), min(len(index.samples), first + count)
    if high > low:
        song[low - first : high - first] = index.samples[low:high]
    heard = _spectra(clip)
    left = np.empty_like(heard)
    pieces = max(1, round(len(heard) * HOP / (PIECE_S * rate)))
    edges = np.linspace(0, len(heard), pieces + 1).astype(int)
    padded = np.pad(_spectra(song), ((TAPS - 1 - AHEAD, AHEAD), (0, 0)))
    past = np.lib.stride_tricks.sliding_window_view(padded, TAPS, axis=0)
    for begin, end in pairwise(edges):
        left[begin:end] = heard[begin:end] - _predicted(past[begin:end], heard[begin:end])
    return Residual(first, _whitened(left, heard, rate, count))


def _on_song_clock(samples: AnyFloats, rate: int, line: Line, first: int, count: int) -> Samples:
    """Samples ``first`` … ``first + count`` of the song's clock, read off the clip."""
    start = (line.clip_s + (first / rate - line.song_s) / line.speed) * rate
    low = max(0, int(start) - 32)
    high = min(len(samples), int(start + count / line.speed) + 32)
    fine = scipy.signal.resample_poly(samples[low:high].astype(np.float32, copy=False), FINER, 1)
    place = (start - low + np.arange(count) / line.speed) * FINER
    return np.asarray(np.interp(place, np.arange(len(fine)), fine), np.float32)


def _window() -> Samples:
    return np.asarray(np.sqrt(scipy.signal.windows.hann(PATCH, sym=False)), np.float32)


def _spectra(samples: Samples) -> Spectra:
    """Shape (patches, PATCH // 2 + 1)."""
    padded = np.pad(samples, (PATCH - HOP, PATCH))
    patches = np.lib.stride_tricks.sliding_window_view(padded, PATCH)[::HOP]
    return np.asarray(scipy.fft.rfft(patches * _window(), axis=1), np.complex64)


def _predicted(past: Spectra, clip: Spectra) -> Spectra:
    """What the song explains of the clip's short spectra.

    ``past``: shape (patches, bands, TAPS); ``clip``: shape (patches, bands). Loud live patches would pull the
    prediction their way, so each counts less the more of it was unexplained the first time.
    """
    song = np.ascontiguousarray(past.transpose(1, 0, 2))
    sound = np.ascontiguousarray(clip.T)[:, :, None]
    weight = np.ones(sound.shape, np.float32)
    predicted = np.zeros_like(sound)
    for _ in range(2):
        given = (song.conj() * weight).transpose(0, 2, 1)
        own, cross = given @ song, given @ sound
        power = np.trace(own, axis1=1, axis2=2).real / TAPS
        own += ((RIDGE * power + 1e-12)[:, None, None] * np.eye(TAPS)).astype(np.complex64)
        predicted = song @ np.linalg.solve(own, cross)
        unexplained = np.abs(sound - predicted) ** 2
        weight = 1 / (1 + unexplained / (np.median(unexplained, axis=1, keepdims=True) + 1e-12))
    return np.asarray(predicted[:, :, 0].T, np.complex64)


def _whitened(left: Spectra, clip: Spectra, rate: int, count: int) -> Samples:
    """Every patch at about one level, as in flattening, less the more of it the song explains."""
    size = np.abs(clip)
    share = np.minimum(1.0, np.abs(left) / (size + 1e-12))
    # Patches far below the usual level are silence or coding holes; lifting them would only add noise.
    spectra = left / (size + 0.1 * np.median(size) + 1e-12) * share
    spectra[:, : int(LOWEST_HZ * PATCH / rate)] = 0
    pieces = scipy.fft.irfft(spectra, PATCH, axis=1) * _window()
    parts = PATCH // HOP
    out = np.zeros((len(pieces) + parts - 1) * HOP, np.float32)
    for part in range(parts):
        at = part * HOP
        out[at : at + len(pieces) * HOP] += pieces[:, at : at + HOP].reshape(-1)
    # A patch of magnitude 1 has this RMS, less what the overlapping windows add up to.
    scale = np.sqrt(PATCH) / (parts / 2)
    return np.asarray(out[PATCH - HOP : PATCH - HOP + count] * scale, np.float32)
