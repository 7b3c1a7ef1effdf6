"""The live residual: a clip's sound with the song removed, that is, the band, talk, noises of the moment.

Two clips of one moment share it; two clips of different run-throughs do not, though the playback is the same
in both. In the short-time Fourier transform, in each frequency bin, a multi-tap linear prediction (least
squares) gives what the room makes of the song from the song's last third of a second. The prediction is
subtracted.
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
"""Samples of an STFT frame: 128 ms. Chosen by hand: longer frames model more reverberation in one tap,
shorter ones follow live playing better."""
HOP = 256
"""Samples from one frame to the next: 32 ms."""
TAPS = 10
"""Frames of the song that predict one frame of the clip: a third of a second of reverberation. Chosen by
hand: more taps also explain away live sound."""
AHEAD = 2
"""So many of them come later than the clip's frame, because frames overlap."""
PIECE_S = 12.0
"""A prediction is computed anew after this long: by then automatic gain, a clock or a camera operator has
moved. Chosen by hand."""
LOWEST_HZ = 250.0
"""Hum and rumble lie below it and are the same in every run-through. Chosen by hand."""
OVERSAMPLING = 4
"""Resampling onto the song's clock interpolates linearly between samples this much denser."""
RIDGE = 1e-3
"""Regularisation (ridge regression), as a share of the song's power in a bin. Chosen by hand."""

Spectra = NDArray[np.complex64]


@dataclass(frozen=True, slots=True, eq=False)
class Residual:
    """The live residual of a part of a clip, on the song's clock as its placement has it."""

    first: int
    """Sample of the song's clock at which it begins; negative before the song."""
    samples: Samples
    """Shape (n,), RMS up to about 1: frames that the playback explains are close to zero."""


def residual_sound(
    samples: AnyFloats,
    index: SongIndex,
    line: Line,
    start_s: float,
    end_s: float,
    *,
    half_hop: bool = False,
) -> Residual | None:
    """Subtract the song from a part of a clip, and put the residual on the song's clock.

    Parameters
    ----------
    samples : float32 or float16, shape (n,)
        The clip as it is, not whitened, at ENGINE_RATE.
    line : Line
        Where in the song the clip runs, in times of ``samples``.
    start_s, end_s : float
        The part (clip time of ``samples``); it may reach beyond the take.
    half_hop : bool
        Whether frames begin half-way between multiples of HOP of the song's clock, not on them. Artefacts of
        the frames repeat on the same grid, and two residuals on one grid would correlate by them alone: to be
        compared, one of the two must lie half a hop off.

    Returns
    -------
    Live or None
        None for a part shorter than a second.
    """
    rate = index.rate
    start_s, end_s = max(0.0, start_s), min(end_s, (len(samples) - 1) / rate)
    first = -int(-line.song_time(start_s) * rate // HOP) * HOP + (HOP // 2 if half_hop else 0)
    count = int(line.song_time(end_s) * rate) - first
    if count < rate:
        return None
    clip = _on_song_clock(samples, rate, line, first, count)
    song = np.zeros(count, np.float32)
    low, high = max(0, first), min(len(index.samples), first + count)
    if high > low:
        song[low - first : high - first] = index.samples[low:high]
    recorded = _spectra(clip)
    residual = np.empty_like(recorded)
    pieces = max(1, round(len(recorded) * HOP / (PIECE_S * rate)))
    edges = np.linspace(0, len(recorded), pieces + 1).astype(int)
    padded = np.pad(_spectra(song), ((TAPS - 1 - AHEAD, AHEAD), (0, 0)))
    past = np.lib.stride_tricks.sliding_window_view(padded, TAPS, axis=0)
    for begin, end in pairwise(edges):
        residual[begin:end] = recorded[begin:end] - _predicted(past[begin:end], recorded[begin:end])
    return Residual(first, _whitened(residual, recorded, rate, count))


def _on_song_clock(samples: AnyFloats, rate: int, line: Line, first: int, count: int) -> Samples:
    """The clip resampled onto the song's clock: its samples ``first`` … ``first + count``."""
    start = line.clip_time(first / rate) * rate
    low = max(0, int(start) - 32)
    high = min(len(samples), int(start + count / line.speed) + 32)
    fine = scipy.signal.resample_poly(samples[low:high].astype(np.float32, copy=False), OVERSAMPLING, 1)
    at = (start - low + np.arange(count) / line.speed) * OVERSAMPLING
    return np.asarray(np.interp(at, np.arange(len(fine)), fine), np.float32)


def _window() -> Samples:
    return np.asarray(np.sqrt(scipy.signal.windows.hann(PATCH, sym=False)), np.float32)


def _spectra(samples: Samples) -> Spectra:
    """The STFT, shape (frames, PATCH // 2 + 1)."""
    padded = np.pad(samples, (PATCH - HOP, PATCH))
    patches = np.lib.stride_tricks.sliding_window_view(padded, PATCH)[::HOP]
    return np.asarray(scipy.fft.rfft(patches * _window(), axis=1), np.complex64)


def _predicted(past: Spectra, clip: Spectra) -> Spectra:
    """What the song explains of the clip's STFT: weighted ridge regression in each frequency bin.

    ``past``: the song, shape (frames, bins, TAPS); ``clip``: shape (frames, bins). Loud live frames would
    bias the prediction, so a second pass gives each frame less weight the more of it was unexplained.
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


def _whitened(residual: Spectra, clip: Spectra, rate: int, count: int) -> Samples:
    """The residual back in time, whitened: every bin of every frame at the share of it that is
    unexplained."""
    size = np.abs(clip)
    share = np.minimum(1.0, np.abs(residual) / (size + 1e-12))
    # Bins far below the median level are silence or coding holes; raising them would only add noise.
    spectra = residual / (size + 0.1 * np.median(size) + 1e-12) * share
    spectra[:, : int(LOWEST_HZ * PATCH / rate)] = 0
    pieces = scipy.fft.irfft(spectra, PATCH, axis=1) * _window()
    parts = PATCH // HOP
    out = np.zeros((len(pieces) + parts - 1) * HOP, np.float32)
    for part in range(parts):
        at = part * HOP
        out[at : at + len(pieces) * HOP] += pieces[:, at : at + HOP].reshape(-1)
    # A frame of magnitude 1 has this RMS, divided by what the overlapping windows add up to.
    scale = np.sqrt(PATCH) / (parts / 2)
    return np.asarray(out[PATCH - HOP : PATCH - HOP + count] * scale, np.float32)
