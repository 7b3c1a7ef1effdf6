"""What no method can do better: the bound on a delay in noise, and places of a song nobody can tell apart."""

import numpy as np
from scipy import signal, special

from tests.quality.instruments import Wave
from tests.quality.songs import ENGINE_RATE, Song

TWIN = 0.995
"""A passage as like another as this (correlation, treble lifted) cannot be told from it in a room."""
NEAR_TWIN = 0.9
"""From here on a doubt is a fair answer, and so is the right place."""
FAINT_DB = 35.0
"""So far under its own level a song drowns in the noise of a room."""


def faint_ends(song: Song, start_s: float, seconds: float) -> tuple[float, float]:
    """How long (s of song) a passage begins and ends fainter than FAINT_DB under its own level as a whole.

    Told in steps of a tenth of a second. Nobody can say whether a song that soft runs already.
    """
    step = ENGINE_RATE // 10
    blocks = song.master[: len(song.master) // step * step].reshape(-1, step).astype(np.float64)
    power = np.mean(blocks**2, axis=1)[max(0, round(start_s * 10)) : round((start_s + seconds) * 10)]
    heard = np.flatnonzero(power > np.mean(power) * 10 ** (-FAINT_DB / 10)) if len(power) else power
    if not len(heard):
        return 0.0, 0.0
    return float(heard[0]) / 10, float(len(power) - 1 - heard[-1]) / 10


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


def level_needed_db(seconds: float, song_s: float, band_hz: float = 3900.0) -> float:
    """The level (dB over white noise) from which the best correlator finds a clip 999 times in 1000.

    Below it some false peak is higher than the true one. Union bound (textbook), M = 2 B span places:
    ``P <= (M - 1) Q(sqrt(E / N0))`` with ``E / N0 = SNR T B``. That there is such a threshold: E. Weinstein,
    A. J. Weiss, IEEE Trans. ASSP 32(5), 1984, of which the abstract was read. Drums and shouts are no white
    noise: a mark to hold measured rates against, no limit.

    A clip of 0.95 s needs -20 dB in a song of 240 s, one of 9.5 s -30 dB (arithmetic):

    >>> [round(level_needed_db(t, 240.0), 1) for t in (0.095, 0.95, 9.5)]
    [-10.0, -20.0, -30.0]
    """
    needed = float(special.ndtri(1e-3 / (2 * band_hz * song_s - 1))) ** 2
    return float(10 * np.log10(needed / (seconds * band_hz)))


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
