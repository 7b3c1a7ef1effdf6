"""A likely speed made exact: the line of a clip through the song, first by texture, then by samples.

Texture tells where the song is heard to some hundredths of a second, and over a stretch of clip that gives
the speed to about a thousandth. Where the pitch went along with the speed, samples agree once the clip is
brought to it, and seconds of them tell it to 100 ppm; where they do not agree there, the guess was chance.
"""

from dataclasses import dataclass, replace

import numpy as np
import scipy.fft
from numpy.typing import NDArray

from audio.signals import Samples
from audio.speed.log_bands import (
    FRAME_S,
    STEPS_PER_OCTAVE,
    WIDTH,
    Array,
    BandEnergies,
    log_levels,
    whiten_modulation,
)
from audio.speed.resampling import to_song_speed
from audio.speed.speed_search import EXCERPT_S, SongBands, SpeedCandidate, patches_at, shared_bands
from audio.whitening import whiten

REACH = 16
"""Frames to either side of a line within which the song is looked for."""
GROUP = 8
"""Frames that are moved together while a slope is tried."""
STEEPEST = 0.03
"""How far off a speed read from the excerpts may be."""
PIECE_S = 8.0
PIECES = 4
"""Pieces of a clip, and their length in the song (s), whose samples are looked at."""
STRETCH_S = 0.25
"""Song seconds over which a speed that is not yet exact does not part samples of up to 1 kHz."""
OFF = 2.5e-3
"""How far off the speed may still be once texture has told it …"""
OFF_STEP = 1e-4
"""… and in which steps it is looked for."""
LONG_S = 36.0
SHORT_TRIES = (0.0, -1.6e-3, 1.6e-3, -3.2e-3, 3.2e-3, -4.8e-3, 4.8e-3)
"""How far off it may be from less than LONG_S seconds of song."""
KNEE = 60.0
"""Where the evidence of one piece begins to be bent down."""
PIECE_CHANCE = 8.0
"""Evidence that the best of all lags and slopes has in a piece by chance."""
LOOK_S = 0.12
"""Song seconds to either side in which samples are looked for; reverberation leads texture astray."""
QUIET_S = (0.1, 0.35)
"""Song seconds after a line in which there is only chance: reverberation comes from what was before."""


@dataclass(frozen=True, slots=True, eq=False)
class BandLags:
    """How well each frame of a clip fits the song around a line."""

    clip_s: NDArray[np.float64]
    """Shape (n,): middles of the frames in the clip."""
    fits: Array
    """Shape (n, 2 * REACH + 1): likeness with the song so many frames after the line, less REACH."""


def band_lags(
    clip: BandEnergies, song_bands: SongBands, candidate: SpeedCandidate, start_s: float, end_s: float
) -> BandLags | None:
    """Compare a stretch of a clip, frame by frame, with the song around a line; None outside the song."""
    speed = candidate.speed
    song = song_bands.even[patches_at(speed)]
    first = int(np.ceil((candidate.song_s + (start_s - candidate.clip_s) * speed) / FRAME_S))
    last = int(np.floor((candidate.song_s + (end_s - candidate.clip_s) * speed) / FRAME_S))
    first, last = max(0, first), min(len(song) - 1, last)
    if last - first < 2 * GROUP:
        return None
    frames = np.arange(first - 1, last + 2)
    times = np.asarray(candidate.clip_s + (frames * FRAME_S - candidate.song_s) / speed, np.float64)
    shift = 0 if candidate.pitch_kept else round(np.log2(speed) * STEPS_PER_OCTAVE)
    low, count = shared_bands(song_bands.rate, shift)
    heard = whiten_modulation(log_levels(clip.cells(times[None], low * WIDTH + shift, count))[0], 0.25)
    padded = np.zeros((last - first + 1 + 2 * REACH, count), np.float32)
    a, b = max(0, first - REACH), min(len(song), last + 1 + REACH)
    padded[a - (first - REACH) : b - (first - REACH)] = song[a:b, low : low + count]
    fits = np.stack(
        [np.einsum("nb,nb->n", heard, padded[lag : lag + len(heard)]) for lag in range(2 * REACH + 1)], axis=1
    )
    return BandLags(times[1:-1], fits.astype(np.float32))


def refined(clip: BandEnergies, song_bands: SongBands, candidate: SpeedCandidate) -> SpeedCandidate:
    """Read place and speed off the texture of all of the clip that the excerpts on a line span."""
    for steepest in (STEEPEST, STEEPEST / 6):
        half = EXCERPT_S / candidate.speed / 2
        lags = band_lags(clip, song_bands, candidate, candidate.span_s[0] - half, candidate.span_s[1] + half)
        if lags is None:
            return candidate
        candidate = best_slope(lags, candidate, steepest)
    return candidate


def best_slope(lags: BandLags, candidate: SpeedCandidate, steepest: float) -> SpeedCandidate:
    """The line on which the frames fit best, its speed off by no more than ``steepest``."""
    count = len(lags.fits) // GROUP
    groups = lags.fits[: count * GROUP].reshape(count, GROUP, -1).sum(axis=1)
    middles = lags.clip_s[: count * GROUP].reshape(count, GROUP).mean(axis=1)
    about = float(middles.mean())
    half = float(middles[-1] - middles[0]) / 2 * candidate.speed / FRAME_S
    # What the excerpts agree on leaves the ends no more than this.
    most = min(steepest, 0.75 * REACH / max(half, 1.0))
    slopes = np.linspace(-most, most, 2 * max(1, int(np.ceil(4 * most * half))) + 1)
    spectra = scipy.fft.rfft(groups, axis=1)
    size = groups.shape[1]
    rate = 2j * np.pi / size * np.arange(spectra.shape[1])
    moved = (middles - about) * candidate.speed / FRAME_S
    sums = np.stack([(spectra * np.exp(rate * (slope * moved)[:, None])).sum(axis=0) for slope in slopes])
    fine = scipy.fft.irfft(sums, 8 * size, axis=1)
    which, lag = divmod(int(fine.argmax()), fine.shape[1])
    off = (lag / 8 - REACH) * FRAME_S
    speed = candidate.speed * (1 + float(slopes[which]))
    song_s = candidate.song_s + (about - candidate.clip_s) * candidate.speed + off
    return replace(candidate, speed=speed, clip_s=about, song_s=song_s)


def from_waveform(
    samples: Samples, song_bands: SongBands, candidate: SpeedCandidate
) -> tuple[SpeedCandidate, float]:
    """Look for the song's samples on a line whose pitch went along with the speed.

    Returns
    -------
    guess, evidence
        The line to about 1 ms and 100 ppm, and its log likelihood ratio against chance.
    """
    song_s = (candidate.span_s[1] - candidate.span_s[0]) * candidate.speed + PIECE_S
    # Few seconds of texture leave the speed so open that it must be tried in several places.
    tries = (0.0,) if song_s > LONG_S else SHORT_TRIES
    near = [replace(candidate, speed=candidate.speed * (1 + off)) for off in tries]
    return max((_at_speed(samples, song_bands, one) for one in near), key=lambda told: told[1])


def _at_speed(
    samples: Samples, song_bands: SongBands, candidate: SpeedCandidate
) -> tuple[SpeedCandidate, float]:
    rate = song_bands.rate
    length = PIECE_S / candidate.speed
    low, high = candidate.span_s[0] - length / 2, candidate.span_s[1] + length / 2
    count = max(1, min(PIECES, int((high - low) / length)))
    slopes = np.arange(-OFF, OFF + OFF_STEP / 2, OFF_STEP)
    total = np.zeros(len(slopes))
    pieces = []
    for start in np.linspace(low, high - length, count) if count > 1 else [(low + high - length) / 2]:
        a, b = max(0, round(start * rate)), min(len(samples), round((start + length) * rate))
        if b - a < rate // 2:
            continue
        piece = to_song_speed(whiten(samples[a:b], rate), rate, candidate.speed)
        place = candidate.song_s + (a / rate - candidate.clip_s) * candidate.speed
        evidence, lag_s = _agreeing(piece, song_bands, place, slopes)
        total += evidence
        middle = (a + b) / 2 / rate
        pieces.append((middle, candidate.song_s + (middle - candidate.clip_s) * candidate.speed + lag_s))
    if not pieces:
        return candidate, 0.0
    best = int(total.argmax())
    clip_s, song_s = pieces[len(pieces) // 2][0], float(pieces[len(pieces) // 2][1][best])
    speed = candidate.speed * (1 + float(slopes[best]))
    return replace(candidate, speed=speed, clip_s=clip_s, song_s=song_s), float(total[best])


def _agreeing(
    piece: Samples, song_bands: SongBands, place_s: float, slopes: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """How far samples agree at each of several slopes, and where: log likelihood ratios and lags (s)."""
    rate = song_bands.rate
    reach = round(LOOK_S * rate)
    stretch = round(STRETCH_S * rate)
    count = len(piece) // stretch
    first = round(place_s * rate) - reach
    around = reach + round(QUIET_S[1] * rate)
    song = np.zeros(len(piece) + around, np.float32)
    a, b = max(0, first), min(len(song_bands.samples), first + len(song))
    if b - a < rate // 2 or not count:
        return np.zeros(len(slopes)), np.zeros(len(slopes))
    song[a - first : b - first] = whiten(song_bands.samples[a:b], rate)
    size = scipy.fft.next_fast_len(stretch + around, real=True)
    there = np.stack([song[n * stretch : n * stretch + stretch + around] for n in range(count)])
    here = piece[: count * stretch].reshape(count, stretch)
    spectra = scipy.fft.rfft(there, size, axis=1) * np.conj(scipy.fft.rfft(here, size, axis=1))
    moved = (np.arange(count) - (count - 1) / 2) * stretch
    rotation = np.exp(2j * np.pi / size * np.outer(slopes[0] * moved, np.arange(spectra.shape[1])))
    step = np.exp(2j * np.pi / size * np.outer((slopes[1] - slopes[0]) * moved, np.arange(spectra.shape[1])))
    spectra, step = (spectra * rotation).astype(np.complex64), step.astype(np.complex64)
    sums = np.empty((len(slopes), spectra.shape[1]), np.complex64)
    for row in range(len(slopes)):
        sums[row] = spectra.sum(axis=0)
        spectra *= step
    power = scipy.fft.irfft(sums, size, axis=1)[:, :around] ** 2
    # Tones agree a little at every lag, more than noise of their size would.
    chance = float(np.square(piece).sum()) * float(np.square(song).mean()) + 1e-20
    quiet = power[:, reach + round(QUIET_S[0] * rate) :].mean(axis=1, keepdims=True)
    power = power[:, : 2 * reach] / np.maximum(quiet, chance)
    peak = power.max(axis=1) / 2 - np.log(2 * reach)
    lag = power.argmax(axis=1)
    # A sound smeared by reflections shows in its energy over some milliseconds.
    wide = rate // 200
    total = np.concatenate([np.zeros((len(power), 1)), np.cumsum(power, axis=1)], axis=1)
    ratio = np.maximum((total[:, wide:] - total[:, :-wide]).max(axis=1) / wide, 1.0)
    smeared = wide / 2 * (ratio - 1 - np.log(ratio)) - np.log(2 * reach / wide)
    evidence = np.maximum(peak, smeared)
    # Bent down, so that no single piece decides, and yet the strongest slope stays the strongest.
    bent = KNEE * (1 + np.log(np.maximum(evidence, KNEE) / KNEE))
    return np.minimum(evidence, bent) - PIECE_CHANCE, (lag - reach) / rate
