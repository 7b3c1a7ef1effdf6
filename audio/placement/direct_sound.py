"""The direct sound told from its reflections: the moment that counts as *when* the song is heard."""

import numpy as np
import scipy.signal
from numpy.typing import NDArray

EARLY_S = 0.15
"""A reflection higher than the direct sound comes at most this much after it."""
DIRECT_SHARE = 0.45
"""A response value of this share of the highest is taken for the direct sound if it comes before it."""
STANDS_OUT = 1.3
"""A peak is sound if it tops by this factor all that there is before any sound can have arrived."""
SLIGHT = 0.55
"""A peak of less than this share of the highest is taken for the direct sound with doubt as far as the next
higher one."""
SLIGHT_IN_NOISE = 0.8
"""The same where the highest itself stands less than PLAIN standard deviations above chance: a band that
plays along leaves peaks of its own there."""
PLAIN = 20.0
REAL = 8.0
"""Standard deviations above chance at which a peak is sound, direct or not."""
ALIKE = 0.75
"""Where even the highest does not stand out, peaks of this share of it could be the direct sound as well."""
UPSAMPLING = 16
LEAD = 500
"""A forward response starts 1 / LEAD of a second before the direct sound …"""
HEARD = 20
"""… and ends 1 / HEARD of a second after it: later reflections are many and faint."""


def direct_sound(response: NDArray[np.float32], rate: int, noise: float = 0.0) -> tuple[float, float]:
    """Place of the direct sound in a response (samples, to a fraction), and what else it could be.

    The song reaches the microphone first on the straight way: of all peaks that stand out, the one latest
    in the song. Reflections can be higher, even 12 to 18 ms behind in a hard room. What stands out is
    judged by what is there before any sound can have arrived, at the response's end.

    Parameters
    ----------
    response : float32, shape (n,)
        Over lag: what comes later at the microphone lies earlier in the song.
    noise : float
        RMS of chance in it.

    Returns
    -------
    place, doubt : float
        ``doubt`` is the distance (samples) to the furthest other peak about as high, where none stands
        out; to the next higher one, where the chosen one is slight; to the furthest earlier arrival that the
        clutter may hide; else 0.

    >>> response = np.zeros(2000, np.float32); response[[190, 420]] = 1.0, 0.6
    >>> place, doubt = direct_sound(response, 8000)
    >>> round(place, 3), doubt
    (420.0, 0.0)
    """
    fine = np.abs(upsampled(response))
    main = int(fine.argmax())
    decided_against = int(EARLY_S * rate * UPSAMPLING)
    clutter = float(fine[main + decided_against :].max(initial=0))
    enough = max(DIRECT_SHARE * float(fine[main]), STANDS_OUT * clutter)
    peaks, _ = scipy.signal.find_peaks(fine[main : main + decided_against], height=enough)
    best = main + int(peaks[-1]) if len(peaks) else main
    doubt = 0.0
    if fine[best] < STANDS_OUT * clutter:
        # What stands so far above chance is sound; then only an earlier arrival can be the direct one.
        real = fine[best] > REAL * noise > 0
        near = slice(best if real else max(0, best - decided_against), best + decided_against)
        others, _ = scipy.signal.find_peaks(fine[near], height=ALIKE * float(fine[best]))
        doubt = float(np.abs(others + near.start - best).max(initial=0)) / UPSAMPLING
    elif fine[best] < (SLIGHT if fine[main] > PLAIN * noise else SLIGHT_IN_NOISE) * fine[main]:
        # So slight a peak may be a ripple of the song itself before the sound that counts.
        higher, _ = scipy.signal.find_peaks(fine[main - 1 : best], height=float(fine[best]) / ALIKE)
        doubt = float(best - (main - 1 + int(higher[-1]))) / UPSAMPLING if len(higher) else 0.0
    # A direct sound can be as low as DIRECT_SHARE of the highest. Where the clutter is higher than that, any
    # earlier peak so high may be it; elsewhere only one about as high as the chosen one, and not chosen.
    least = DIRECT_SHARE * float(fine[main])
    if clutter <= least:
        least = max(ALIKE * float(fine[best]), least)
    earlier, _ = scipy.signal.find_peaks(fine[best + 1 : best + decided_against], height=least)
    if len(earlier):
        doubt = max(doubt, (1 + int(earlier[-1])) / UPSAMPLING)
    return best / UPSAMPLING, doubt


def forward(response: NDArray[np.float32], direct: int, rate: int, noise: float) -> NDArray[np.float32]:
    """The part of a response that is worth keeping, forward in time: reflections lie after the direct sound.

    Parameters
    ----------
    response : float32, shape (n,)
        Over lag: what comes later at the microphone lies earlier in the song.
    direct : int
        Sample of the direct sound.
    noise : float
        RMS of chance; what is below three times that is taken for nothing.
    """
    lead = rate // LEAD
    out = response[max(0, direct + lead - rate // HEARD) : direct + lead + 1][::-1].copy()
    out[np.abs(out) < 3 * noise] = 0
    return out


def upsampled(response: NDArray[np.float32]) -> NDArray[np.float64]:
    """The response at UPSAMPLING times the rate, its upper band rounded off so that no side lobe looks
    like a peak."""
    spectrum = np.fft.rfft(response)
    taper = np.cos(np.linspace(0, np.pi / 2, len(spectrum)))
    full = np.zeros(len(response) * UPSAMPLING // 2 + 1, complex)
    full[: len(spectrum)] = spectrum * taper
    return np.fft.irfft(full, len(response) * UPSAMPLING) * UPSAMPLING


def vertex(values: NDArray[np.float64], best: int) -> float:
    """Offset of a parabola's top from its highest sample."""
    if best in (0, len(values) - 1):
        return 0.0
    a, b, c = values[best - 1 : best + 2]
    return float(np.clip((a - c) / (2 * (a - 2 * b + c) - 1e-30), -0.5, 0.5))
