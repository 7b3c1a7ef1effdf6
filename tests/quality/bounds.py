"""What no method can do better: the bound on a delay in noise, and places of a song nobody can tell apart."""

import numpy as np
from scipy import signal

from tests.quality.instruments import Wave
from tests.quality.songs import ENGINE_RATE, Song

TWIN = 0.995
"""A passage as like another as this (correlation, treble lifted) cannot be told from it in a room."""
NEAR_TWIN = 0.9
"""From here on a doubt is a fair answer, and so is the right place."""


def delay_bound_s(heard: Wave, rate: int, noise_rms: float) -> float:
    """Give the least standard deviation (s) of a delay estimate: known master, white noise on the take alone.

    The Cramér-Rao bound ``sigma^2 = 1 / (2 T integral (2 pi f)^2 SNR(f) df)`` in its sampled form ``noise^2 /
    sum(s'(t)^2)``. Source: A. H. Quazi, IEEE Trans. ASSP 29(3), 1981, and C. H. Knapp, G. C. Carter, IEEE
    Trans. ASSP 24(4), 1976. Status: the papers' abstracts and secondary texts were read, not the equations in
    the originals; the flat-band form was checked by simulation (300 runs within two per cent). ``heard`` is
    the noiseless take, shape (n,), at ``rate``.
    """
    spectrum = np.fft.rfft(heard)
    slope = 2 * np.pi * np.fft.rfftfreq(len(heard), 1 / rate)
    energy = 2 * float(np.sum((slope * np.abs(spectrum)) ** 2)) / len(heard)
    return float(noise_rms / np.sqrt(energy))


def likeness(song: Song, start_s: float, seconds: float) -> tuple[float, tuple[float, ...]]:
    """Tell how like its likest other passage a passage is, and where its twins begin (song s)."""
    below = signal.firwin(
        129, 3300, fs=ENGINE_RATE
    )  # above, copies between two samples differ by what aliases
    lifted = np.diff(signal.oaconvolve(song.master.astype(np.float64), below, "same"), prepend=0.0)
    first = max(0, round(start_s * ENGINE_RATE))
    piece = lifted[first : first + round(seconds * ENGINE_RATE)]
    product = signal.fftconvolve(lifted, piece[::-1], "valid")
    energy = np.cumsum(np.concatenate([[0.0], lifted**2]))
    around = energy[len(piece) :] - energy[: -len(piece)]
    own = float(np.sum(piece**2))
    alike = product / np.sqrt(np.maximum(around, 1e-3 * own + 1e-12) * max(own, 1e-12))
    alike[max(0, first - ENGINE_RATE // 16) : first + ENGINE_RATE // 16] = 0.0
    heights, places = [float(np.max(alike, initial=0.0))], [0.0]
    for peak in signal.find_peaks(np.pad(alike, 1), height=0.6, distance=ENGINE_RATE // 16)[0] - 1:
        # Copies in a recording need not lie whole samples of the engine's rate apart: look between them.
        fine = signal.resample_poly(alike[max(0, peak - 24) : peak + 25], 32, 1)
        heights.append(float(np.max(fine)))
        places.append((max(0, peak - 24) + int(np.argmax(fine)) / 32) / ENGINE_RATE)
    return min(1.0, max(heights)), tuple(
        float(place) for height, place in zip(heights, places, strict=True) if height >= TWIN
    )
