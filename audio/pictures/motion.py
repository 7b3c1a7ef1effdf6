"""Accents of playing, seen as motion setting in, held against the onsets of the song.

Whoever plays moves with the notes, unevenly, and never with all of them. So one accent tells nothing, and a
minute of them is told from another minute of the same song by few standard deviations: what comes of it are
proposals, never a placement. Whether a clip moves in the song's time at all is told by its own accents cut
into pieces and shuffled: those have the same strength and rhythm, but do not keep time over the whole clip.
"""

from dataclasses import dataclass

import numpy as np
import scipy.signal
from numpy.typing import NDArray
from scipy import ndimage

from audio.pictures.silent_series import SilentSeries

RATE = 50
"""Values a second of both curves."""
LEAST_S = 25.0
"""A shorter clip holds too few accents (s)."""
PROPOSALS = 5
APART_S = 0.3
"""Two proposals lie at least this far apart (s): less than a beat."""
KEEPS_TIME = 4.0
"""From here on a clip moves in the song's time: standard deviations above shuffled pieces of itself."""
_OVERLAP = 0.6
"""Of the clip, so much must lie within the song."""
_SHUFFLES = 24
_PIECE_S = (3.0, 6.0)

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Guess:
    """A place where a clip may run."""

    song_s: float
    """Song time at clip time 0; negative where the clip begins before the song."""
    strength: float
    """Relative to the best."""


@dataclass(frozen=True, slots=True)
class Guesses:
    """Where motion fits best, best first, and whether it keeps the song's time at all."""

    places: tuple[Guess, ...]
    keeps_time: float
    """Standard deviations above chance (no unit)."""


def song_accents(samples: NDArray[np.float32], rate: int) -> Floats:
    """How strongly notes begin, RATE values a second: spectral flux of log power (Bello et al. 2005)."""
    hop = rate // 100
    times, power = _power(samples, rate, hop)
    flux = np.maximum(0.0, np.diff(np.log1p(1000 * power), axis=1)).sum(0)
    grid = np.arange(0, len(samples) / rate, 1 / RATE)
    return _evened(ndimage.gaussian_filter1d(np.interp(grid, times[1:], flux), 1.0))


def clip_accents(seen: SilentSeries) -> Floats:
    """How strongly motion sets in, RATE values a second from clip time 0."""
    grid = np.arange(0, seen.clip_s[-1], 1 / RATE)
    # Motion between two pictures lies half a step before the later one.
    middle = seen.clip_s - np.diff(seen.clip_s, prepend=seen.clip_s[0]) / 2
    return _evened(ndimage.gaussian_filter1d(np.interp(grid, middle, seen.rise), 1.0))


def guesses(clip: Floats, song: Floats, seed: int = 0) -> Guesses:
    """Where a clip's accents fit the song's best, at the song's speed; none for a clip that is too short."""
    if len(clip) < LEAST_S * RATE:
        return Guesses((), 0.0)
    lags, fit = _fit(clip, song)
    if not len(fit):
        return Guesses((), 0.0)
    chance = np.random.default_rng(seed)
    null = [float(_fit(_shuffled(clip, chance), song)[1].max()) for _ in range(_SHUFFLES)]
    best = float(fit.max())
    spread = float(np.std(null)) or 1.0
    places: list[Guess] = []
    for at in np.argsort(fit)[::-1]:
        if len(places) == PROPOSALS or fit[at] <= 0:
            break
        if all(abs(lags[at] - one.song_s) >= APART_S for one in places):
            places.append(Guess(float(lags[at]), float(fit[at]) / best))
    return Guesses(tuple(places), (best - float(np.mean(null))) / spread)


def _fit(clip: Floats, song: Floats) -> tuple[Floats, Floats]:
    """Lags (s, song time at clip time 0) and how well the clip fits there."""
    whole = scipy.signal.correlate(song, clip, "full")
    lags = np.arange(len(whole)) - (len(clip) - 1)
    overlap = np.minimum(lags + len(clip), len(song)) - np.maximum(lags, 0)
    held = overlap >= _OVERLAP * len(clip)
    return lags[held] / RATE, whole[held] / np.sqrt(overlap[held])


def _shuffled(clip: Floats, chance: np.random.Generator) -> Floats:
    length = int(chance.uniform(*_PIECE_S) * RATE)
    rolled = np.roll(clip, int(chance.integers(len(clip))))
    pieces = [rolled[at : at + length] for at in range(0, len(rolled), length)]
    return np.concatenate([pieces[number] for number in chance.permutation(len(pieces))])


def _evened(curve: Floats) -> Floats:
    """The curve with mean 0 and power 1 over two seconds, clipped, so that no stretch decides alone."""
    size = 2 * RATE + 1
    mean = ndimage.uniform_filter1d(curve, size)
    power = ndimage.uniform_filter1d((curve - mean) ** 2, size)
    floor = 1e-3 * float(curve.std()) + 1e-9
    return np.asarray(np.clip((curve - mean) / (np.sqrt(power) + floor), -2.0, 4.0), np.float64)


def _power(samples: NDArray[np.float32], rate: int, hop: int) -> tuple[Floats, Floats]:
    size = 512
    _, times, spectrum = scipy.signal.stft(samples, rate, nperseg=size, noverlap=size - hop, boundary=None)
    return times, np.abs(spectrum) ** 2
