"""Soft starts and ends of the song: where a take runs on though the camera no longer hears the song.

A fade-out sinks into the noise of the room seconds before it ends, and a quiet intro may never come out of
it. That nothing is detected there speaks against the song only as far as it would have been detected. How
much of it should be, its share in the clip's level tells, band by band: where the song fades, or the band
plays louder, less. If that share of the song is missing, the playback was stopped.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import scipy.fft
import scipy.signal
from numpy.typing import NDArray
from scipy.ndimage import uniform_filter1d

STEP_S = 0.05
"""Resolution of the ends. Chosen by hand: a picture at 20 a second."""
CAUTION = 0.5
"""Share of what is usually detected that is expected further out, so that louder live playing does not look
like an end. Chosen by hand."""
BY_CHANCE = 3.0
"""Evidence (log-likelihood ratio) that chance makes."""
TOP_AND_TAIL_S = 0.3
"""A take that ends this close to the song's first or last sound is taken to run to it. Chosen by hand."""
BESIDE_S = 20.0
"""How the song's share in the clip's level goes with what is detected is measured over this much of the take.
Chosen by hand."""
BANDS_HZ = (125.0, 250.0, 500.0, 750.0, 1000.0, 1500.0, 2000.0, 2750.0, 3700.0)
"""Edges of the bands in which levels are compared: about what small loudspeakers play. Chosen by hand."""
FRAME = 1024
"""Samples of a frame whose level is measured: 128 ms at 8 kHz."""
SMOOTH_S = 1.0
"""Levels are averaged over this much: a beat or two, so that single hits do not count. Chosen by hand."""
MOST_SHARE = 1.5
"""A band in which the song stands out more than so many times better than beside it counts no further. Chosen
by hand."""

Recorded = NDArray[np.floating]
"""Samples as they were recorded; long recordings are kept in 16 bits."""


@dataclass(frozen=True, slots=True)
class Extent:
    """Where a take lies in its clip (s)."""

    start_s: float
    end_s: float
    """The part that its line was fitted to."""
    heard_from_s: float
    heard_until_s: float
    """The part in which the song is detected."""
    top_s: float
    tail_s: float
    """Where the song's first and last sound fall on its line, in the clip or outside."""


RunsThrough = Callable[[int, float, float, float], bool]
"""Whether nothing speaks against the take of a number, heard from one moment (s) to another, running on to a
third, which may lie before them or after."""


def settled_ends(
    takes: Sequence[Extent],
    length_s: float,
    runs_through: RunsThrough,
    silent_s: tuple[float, float] = (0.0, 0.0),
) -> list[tuple[float, float]]:
    """Where the takes of a clip ``length_s`` long begin and end (s), soft starts and ends among them.

    A take reaches on to the end of the song or of the clip, or it ends where it is no longer heard: at what
    moment in between a playback was stopped that nobody hears, no method can tell. Where another take follows
    before the song would have ended, the playback was stopped.

    Parameters
    ----------
    takes : sequence of Extent
        In the clip's order.
    silent_s : (float, float)
        Seconds of silence, or nearly so, at the song's start and end.
    """
    near_start, near_end = (TOP_AND_TAIL_S + seconds for seconds in silent_s)
    starts: list[float] = []
    for number, take in enumerate(takes):
        low = takes[number - 1].end_s if number else 0.0
        limit, heard = max(take.top_s, low), take.heard_from_s
        if heard - limit <= STEP_S or (number and take.top_s < low):
            starts.append(take.start_s)
            continue
        inside = min(take.heard_until_s, heard + BESIDE_S)
        near = take.top_s >= low and heard - limit < near_start
        starts.append(limit if near or runs_through(number, inside, heard, limit) else heard)
    ends: list[float] = []
    for number, take in enumerate(takes):
        last = number + 1 == len(takes)
        high = length_s if last else starts[number + 1]
        limit, heard = min(take.tail_s, high), take.heard_until_s
        if limit - heard <= STEP_S or (not last and take.tail_s > high):
            ends.append(min(take.end_s, high))
            continue
        inside = max(take.heard_from_s, heard - BESIDE_S)
        near = take.tail_s <= high and limit - heard < near_end
        ends.append(limit if near or runs_through(number, inside, heard, limit) else heard)
    return [(start, max(start, end)) for start, end in zip(starts, ends, strict=True)]


def nothing_against(
    agreement: NDArray[np.float64],
    power: NDArray[np.float64],
    share: NDArray[np.float64],
    heard: int,
    noise: float,
) -> bool:
    """Whether what is detected beyond the part that is heard speaks for the song, or cannot speak against it.

    Parameters
    ----------
    agreement, power : shape (n,)
        Of each step the product of the clip with what is predicted, and the power of what is predicted.
    share : shape (n, bands)
        How the song's level stands to the clip's; only its course counts.
    heard : int
        So many steps are of the part that is heard; the others follow outwards.
    noise : float
        Variance of ``agreement`` by chance, over ``power``.
    """
    if heard < 1 or heard >= len(power):
        return heard >= 1
    usual = np.exp(np.log(share[:heard]).mean(axis=0))
    expected = np.minimum(share / usual, MOST_SHARE).mean(axis=1)
    inside = expected[:heard]
    gain = float((agreement[:heard] * inside).sum() / ((inside**2 * power[:heard]).sum() + 1e-12))
    if gain <= 0:
        return False
    # Half of it is enough: what the band plays changes from bar to bar.
    expected = CAUTION * gain * expected[heard:]
    evidence = float((expected * agreement[heard:] - expected**2 * power[heard:] / 2).sum()) / noise
    return evidence > -BY_CHANCE


@dataclass(frozen=True, slots=True, eq=False)
class Moments:
    """Moments of a sound."""

    samples: Recorded
    """Shape (n,): as it is, not whitened."""
    at_s: NDArray[np.float64]
    """Shape (steps,)."""


def song_share(song: Moments, clip: Moments, rate: int, pitch: float, smooth: int) -> NDArray[np.float64]:
    """The song's power over that of the clip, at moments that belong to each other, in several bands.

    Parameters
    ----------
    pitch : float
        How much higher the song is in the clip (no unit).
    smooth : int
        Steps over which levels are averaged.

    Returns
    -------
    shape (steps, bands)
        Above 0; of no particular scale.
    """
    edges = [hz for hz in BANDS_HZ if hz * max(1.0, pitch) < 0.49 * rate]
    there = _band_power(song, rate, edges)
    # The song is taken to be no louder than it is on average before or after a moment: a quiet intro is not
    # as loud as what follows it, nor the last of a decay as what precedes it.
    sides = (smooth // 2 - 1, -(smooth // 2))
    before, after = (uniform_filter1d(there, smooth, 0, mode="constant", origin=side) for side in sides)
    there = np.maximum(np.minimum(before, after), 0.0)
    here = uniform_filter1d(_band_power(clip, rate, [hz * pitch for hz in edges]), smooth, 0, mode="nearest")
    return np.asarray((there + 1e-9 * there.max() + 1e-20) / (here + 1e-9 * here.max() + 1e-20))


def _band_power(sound: Moments, rate: int, edges_hz: Sequence[float]) -> NDArray[np.float64]:
    """Power in each band around each moment, shape (moments, bands); zeros outside the sound."""
    first = np.round(sound.at_s * rate).astype(np.int64) - FRAME // 2
    low, high = int(first.min()), int(first.max()) + FRAME
    part = np.zeros(high - low, np.float32)
    a, b = max(0, low), min(len(sound.samples), high)
    if b > a:
        part[a - low : b - low] = sound.samples[a:b]
    window = scipy.signal.windows.hann(FRAME, sym=False).astype(np.float32)
    frames = np.lib.stride_tricks.sliding_window_view(part, FRAME)[first - low] * window
    spectra = scipy.fft.rfft(frames, axis=1)
    power = np.square(spectra.real) + np.square(spectra.imag)
    bins = np.round(np.array(edges_hz) * FRAME / rate).astype(np.int64)
    return np.asarray(np.add.reduceat(power[:, : bins[-1]], bins[:-1], axis=1, dtype=np.float64))
