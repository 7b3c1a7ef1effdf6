"""A candidate speed made exact: first by log-band energies, then by the waveform.

Band energies locate the song to some hundredths of a second; over the length of a take that gives the speed
to about a thousandth. If the playback was resampled, waveforms correlate once the clip is brought to that
speed, and seconds of them give it to 100 ppm. If they do not correlate, the candidate was chance.
"""

from dataclasses import dataclass, replace

import numpy as np
import scipy.fft
from numpy.typing import NDArray

from audio.line import Line
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
"""Frames to either side of a line within which the song is searched: 0.64 s. Chosen by hand."""
GROUP = 8
"""Frames that are shifted together while a slope is tried: within them the steepest slope shifts by a quarter
of a frame."""
STEEPEST = 0.03
"""How far off a speed measured from the excerpts may be (no unit)."""
PIECE_S = 8.0
PIECES = 4
"""Length (s of song) and number of the pieces of a clip whose waveforms are correlated. Chosen by hand."""
SEGMENT_S = 0.25
"""Song seconds over which a speed off by OFF keeps waveforms up to 1 kHz in phase."""
OFF = 2.5e-3
"""How far off the speed may still be after band energies have measured it (no unit) …"""
OFF_STEP = 1e-4
"""… and in which steps it is tried."""
LONG_S = 36.0
SHORT_TRIES = (0.0, -1.6e-3, 1.6e-3, -3.2e-3, 3.2e-3, -4.8e-3, 4.8e-3)
"""How far off it may be where less than LONG_S seconds of song were measured (no unit)."""
KNEE = 60.0
"""Evidence of one piece above which it is compressed logarithmically. Chosen by hand."""
PIECE_CHANCE = 8.0
"""Evidence (log-likelihood ratio) that the best of all lags and slopes of a piece has by chance."""
LOOK_S = 0.12
"""Song seconds to either side within which waveforms are correlated: reverberation shifts band energies by up
to this much."""
QUIET_S = (0.1, 0.35)
"""Song seconds after a line in which only chance correlates: reverberation lies on the other side."""


@dataclass(frozen=True, slots=True, eq=False)
class BandLags:
    """Correlation of each frame of a clip with the song around a line."""

    clip_s: NDArray[np.float64]
    """Shape (n,): clip times of the middles of the frames."""
    fits: Array
    """Shape (n, 2 * REACH + 1): column k is the correlation with the song k - REACH frames after the line."""


def band_lags(
    clip: BandEnergies, song_bands: SongBands, candidate: SpeedCandidate, start_s: float, end_s: float
) -> BandLags | None:
    """Correlate a part of a clip, frame by frame, with the song around a line; None outside the song."""
    speed = candidate.speed
    song = song_bands.levels[patches_at(speed)]
    first = int(np.ceil(candidate.line.song_time(start_s) / FRAME_S))
    last = int(np.floor(candidate.line.song_time(end_s) / FRAME_S))
    first, last = max(0, first), min(len(song) - 1, last)
    if last - first < 2 * GROUP:
        return None
    frames = np.arange(first - 1, last + 2)
    times = candidate.line.clip_time(np.asarray(frames * FRAME_S, np.float64))
    shift = 0 if candidate.pitch_kept else round(np.log2(speed) * STEPS_PER_OCTAVE)
    low, count = shared_bands(song_bands.rate, shift)
    levels = whiten_modulation(log_levels(clip.cells(times[None], low * WIDTH + shift, count))[0], 0.25)
    padded = np.zeros((last - first + 1 + 2 * REACH, count), np.float32)
    a, b = max(0, first - REACH), min(len(song), last + 1 + REACH)
    padded[a - (first - REACH) : b - (first - REACH)] = song[a:b, low : low + count]
    fits = np.stack(
        [np.einsum("nb,nb->n", levels, padded[lag : lag + len(levels)]) for lag in range(2 * REACH + 1)],
        axis=1,
    )
    return BandLags(times[1:-1], fits.astype(np.float32))


def refined(clip: BandEnergies, song_bands: SongBands, candidate: SpeedCandidate) -> SpeedCandidate:
    """Measure position and speed by the band energies of all of the clip that the excerpts on a line span."""
    for steepest in (STEEPEST, STEEPEST / 6):
        half = EXCERPT_S / candidate.speed / 2
        lags = band_lags(clip, song_bands, candidate, candidate.span_s[0] - half, candidate.span_s[1] + half)
        if lags is None:
            return candidate
        candidate = with_best_slope(lags, candidate, steepest)
    return candidate


def with_best_slope(lags: BandLags, candidate: SpeedCandidate, steepest: float) -> SpeedCandidate:
    """The candidate with the slope and lag at which its frames add up best, its speed changed by no more than
    ``steepest`` (share)."""
    count = len(lags.fits) // GROUP
    groups = lags.fits[: count * GROUP].reshape(count, GROUP, -1).sum(axis=1)
    middles = lags.clip_s[: count * GROUP].reshape(count, GROUP).mean(axis=1)
    about = float(middles.mean())
    half = float(middles[-1] - middles[0]) / 2 * candidate.speed / FRAME_S
    # At no slope may the ends leave the lags that were computed.
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
    return replace(candidate, line=Line(about, candidate.line.song_time(about) + off, speed))


def from_waveform(
    samples: Samples, song_bands: SongBands, candidate: SpeedCandidate
) -> tuple[SpeedCandidate, float]:
    """Correlate waveforms on a candidate's line, as if the playback had been resampled.

    Returns
    -------
    candidate, evidence
        With its line to about 1 ms and 100 ppm, and the log-likelihood ratio of the waveforms against chance.
    """
    song_s = (candidate.span_s[1] - candidate.span_s[0]) * candidate.speed + PIECE_S
    # A few seconds of band energies leave the speed so uncertain that several values must be tried.
    tries = (0.0,) if song_s > LONG_S else SHORT_TRIES
    near = [replace(candidate, line=candidate.line.with_speed(candidate.speed * (1 + off))) for off in tries]
    return max((_at_speed(samples, song_bands, one) for one in near), key=lambda tried: tried[1])


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
        evidence, lag_s = _waveform_evidence(piece, song_bands, candidate.line.song_time(a / rate), slopes)
        total += evidence
        middle = (a + b) / 2 / rate
        pieces.append((middle, candidate.line.song_time(middle) + lag_s))
    if not pieces:
        return candidate, 0.0
    best = int(total.argmax())
    clip_s, song_s = pieces[len(pieces) // 2][0], float(pieces[len(pieces) // 2][1][best])
    speed = candidate.speed * (1 + float(slopes[best]))
    return replace(candidate, line=Line(clip_s, song_s, speed)), float(total[best])


def _waveform_evidence(
    piece: Samples, song_bands: SongBands, song_s: float, slopes: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Log-likelihood ratio of a piece's waveform against chance, and its lag (s), at each of several
    slopes."""
    rate = song_bands.rate
    reach = round(LOOK_S * rate)
    segment = round(SEGMENT_S * rate)
    count = len(piece) // segment
    first = round(song_s * rate) - reach
    around = reach + round(QUIET_S[1] * rate)
    song = np.zeros(len(piece) + around, np.float32)
    a, b = max(0, first), min(len(song_bands.samples), first + len(song))
    if b - a < rate // 2 or not count:
        return np.zeros(len(slopes)), np.zeros(len(slopes))
    song[a - first : b - first] = whiten(song_bands.samples[a:b], rate)
    size = scipy.fft.next_fast_len(segment + around, real=True)
    there = np.stack([song[n * segment : n * segment + segment + around] for n in range(count)])
    here = piece[: count * segment].reshape(count, segment)
    spectra = scipy.fft.rfft(there, size, axis=1) * np.conj(scipy.fft.rfft(here, size, axis=1))
    moved = (np.arange(count) - (count - 1) / 2) * segment
    rotation = np.exp(2j * np.pi / size * np.outer(slopes[0] * moved, np.arange(spectra.shape[1])))
    step = np.exp(2j * np.pi / size * np.outer((slopes[1] - slopes[0]) * moved, np.arange(spectra.shape[1])))
    spectra, step = (spectra * rotation).astype(np.complex64), step.astype(np.complex64)
    sums = np.empty((len(slopes), spectra.shape[1]), np.complex64)
    for row in range(len(slopes)):
        sums[row] = spectra.sum(axis=0)
        spectra *= step
    power = scipy.fft.irfft(sums, size, axis=1)[:, :around] ** 2
    # Tones correlate a little at every lag, more than noise of their power would.
    chance = float(np.square(piece).sum()) * float(np.square(song).mean()) + 1e-20
    quiet = power[:, reach + round(QUIET_S[0] * rate) :].mean(axis=1, keepdims=True)
    power = power[:, : 2 * reach] / np.maximum(quiet, chance)
    peak = power.max(axis=1) / 2 - np.log(2 * reach)
    lag = power.argmax(axis=1)
    # Reflections smear the peak: then its energy over 5 ms tells more than its height.
    wide = rate // 200
    total = np.concatenate([np.zeros((len(power), 1)), np.cumsum(power, axis=1)], axis=1)
    ratio = np.maximum((total[:, wide:] - total[:, :-wide]).max(axis=1) / wide, 1.0)
    smeared = wide / 2 * (ratio - 1 - np.log(ratio)) - np.log(2 * reach / wide)
    evidence = np.maximum(peak, smeared)
    # Compressed, so that no single piece decides, and yet the strongest slope stays the strongest.
    compressed = KNEE * (1 + np.log(np.maximum(evidence, KNEE) / KNEE))
    return np.minimum(evidence, compressed) - PIECE_CHANCE, (lag - reach) / rate
