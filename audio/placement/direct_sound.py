"""The direct sound and its reflections in an impulse response: the direct sound sets *when* the song
arrives."""

import numpy as np
import scipy.signal
from numpy.typing import NDArray

EARLY_S = 0.15
"""A reflection higher than the direct sound comes at most this much after it. Chosen by hand: 50 m of
detour."""
DIRECT_SHARE = 0.45
"""Least height of the direct sound, as a share of the highest peak. Chosen by hand: lower takes clutter for
it, higher misses it behind a hard room's reflections."""
CLEAR_OF_CLUTTER = 1.3
"""A peak is an arrival if it exceeds by this factor all that lies before any sound can have arrived. Chosen
by hand."""
SLIGHT = 0.55
"""A chosen peak below this share of the highest is ambiguous with the next higher one. Chosen by hand."""
SLIGHT_IN_NOISE = 0.8
"""The same where the highest peak itself stands less than PLAIN standard deviations above chance: live
playing makes peaks of its own there."""
PLAIN = 20.0
REAL = 8.0
"""Standard deviations above chance at which a peak is an arrival, direct or not."""
ALIKE = 0.75
"""Where even the highest peak does not stand clear of the clutter, peaks of this share of it could be the
direct sound as well. Chosen by hand."""
UPSAMPLING = 16
"""Peaks are located on a grid this much finer than samples."""
LEAD = 500
"""A causal impulse response starts 1 / LEAD of a second before the direct sound …"""
KEPT = 20
"""… and ends 1 / KEPT of a second after it: later reflections are many and faint."""


def direct_sound(impulse_response: NDArray[np.float32], rate: int, noise: float = 0.0) -> tuple[float, float]:
    """Position of the direct sound in an impulse response (samples, to a fraction), and its ambiguity.

    The direct sound arrives first: of all peaks that stand clear of the clutter, it is the one latest in the
    song. Reflections can be higher, even 12 to 18 ms later in a hard room. Clutter is what the impulse
    response holds before any sound can have arrived, at its end.

    Parameters
    ----------
    impulse_response : float32, shape (n,)
        Over lag: what arrives later at the microphone lies earlier in the song.
    noise : float
        RMS of chance in it.

    Returns
    -------
    position, ambiguity : float
        ``ambiguity`` is the distance (samples) to another peak that could be the direct sound: the furthest
        about as high, where none stands clear; the next higher one, where the chosen one is slight; the
        furthest earlier arrival that the clutter may hide; else 0.

    >>> impulse_response = np.zeros(2000, np.float32); impulse_response[[190, 420]] = 1.0, 0.6
    >>> position, ambiguity = direct_sound(impulse_response, 8000)
    >>> round(position, 3), ambiguity
    (420.0, 0.0)
    """
    fine = np.abs(upsampled(impulse_response))
    main = int(fine.argmax())
    early = int(EARLY_S * rate * UPSAMPLING)
    clutter = float(fine[main + early :].max(initial=0))
    enough = max(DIRECT_SHARE * float(fine[main]), CLEAR_OF_CLUTTER * clutter)
    peaks, _ = scipy.signal.find_peaks(fine[main : main + early], height=enough)
    best = main + int(peaks[-1]) if len(peaks) else main
    ambiguity = 0.0
    if fine[best] < CLEAR_OF_CLUTTER * clutter:
        # A peak so far above chance is an arrival; then only an earlier arrival can be the direct sound.
        real = fine[best] > REAL * noise > 0
        near = slice(best if real else max(0, best - early), best + early)
        others, _ = scipy.signal.find_peaks(fine[near], height=ALIKE * float(fine[best]))
        ambiguity = float(np.abs(others + near.start - best).max(initial=0)) / UPSAMPLING
    elif fine[best] < (SLIGHT if fine[main] > PLAIN * noise else SLIGHT_IN_NOISE) * fine[main]:
        # So slight a peak may be a ripple of the song's autocorrelation before the true direct sound.
        higher, _ = scipy.signal.find_peaks(fine[main - 1 : best], height=float(fine[best]) / ALIKE)
        ambiguity = float(best - (main - 1 + int(higher[-1]))) / UPSAMPLING if len(higher) else 0.0
    # Where the clutter hides a direct sound of DIRECT_SHARE, any earlier peak as high may be it; elsewhere
    # only an earlier peak about as high as the chosen one.
    least = DIRECT_SHARE * float(fine[main])
    if clutter <= least:
        least = max(ALIKE * float(fine[best]), least)
    earlier, _ = scipy.signal.find_peaks(fine[best + 1 : best + early], height=least)
    if len(earlier):
        ambiguity = max(ambiguity, (1 + int(earlier[-1])) / UPSAMPLING)
    return best / UPSAMPLING, ambiguity


def causal_part(
    impulse_response: NDArray[np.float32], direct: int, rate: int, noise: float
) -> NDArray[np.float32]:
    """The part of an impulse response around and after the direct sound, causal: reflections follow it.

    Parameters
    ----------
    impulse_response : float32, shape (n,)
        Over lag: what arrives later at the microphone lies earlier in the song.
    direct : int
        Sample of the direct sound.
    noise : float
        RMS of chance; values below three times that are set to zero.
    """
    lead = rate // LEAD
    out = impulse_response[max(0, direct + lead - rate // KEPT) : direct + lead + 1][::-1].copy()
    out[np.abs(out) < 3 * noise] = 0
    return out


def upsampled(impulse_response: NDArray[np.float32]) -> NDArray[np.float64]:
    """The impulse response at UPSAMPLING times the rate, its upper band tapered so that no side lobe looks
    like a peak."""
    spectrum = np.fft.rfft(impulse_response)
    taper = np.cos(np.linspace(0, np.pi / 2, len(spectrum)))
    full = np.zeros(len(impulse_response) * UPSAMPLING // 2 + 1, complex)
    full[: len(spectrum)] = spectrum * taper
    return np.fft.irfft(full, len(impulse_response) * UPSAMPLING) * UPSAMPLING


def vertex(values: NDArray[np.float64], best: int) -> float:
    """Offset (samples) of the vertex of a parabola through the highest sample and its neighbours."""
    if best in (0, len(values) - 1):
        return 0.0
    a, b, c = values[best - 1 : best + 2]
    return float(np.clip((a - c) / (2 * (a - 2 * b + c) - 1e-30), -0.5, 0.5))
